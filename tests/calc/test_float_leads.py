"""Which leg a float breaks, from four readings to ground.

Held against a second method: the control circuit solved node by node (transformer, relay coil 7.2 kohm, float, meter of
10 Mohm), for both legs, both grounded sides, and the faults that matter. Circuit theory.
"""

import pytest

from seasonlog.calc.float_leads import float_wiring
from seasonlog.errors import RatingError

COIL, METER, CLOSED, OPEN = 7200.0, 10e6, 0.1, 1e12
VOLTS = 120.0


def lead_volts(float_leg: str, float_ohms: float, *, splice: float = OPEN) -> tuple[float, float]:
    """Volts to ground at the two float leads; the grounded side of the secondary is at zero.

    Leads: `relay side`, then `other side`. `splice` is a leak from the relay-side lead to ground [ohm].
    """
    to_relay = 1 / (1 / splice + 1 / METER)
    if float_leg == "neutral":  # 120 V - coil - relay-side lead - float - ground
        below = 1 / (1 / float_ohms + 1 / to_relay)
        return VOLTS * below / (COIL + below), 0.0
    below = 1 / (1 / COIL + 1 / to_relay)  # 120 V - float - relay-side lead - coil - ground
    return VOLTS * below / (float_ohms + below), VOLTS


@pytest.mark.parametrize("leg", ["neutral", "hot"])
def test_the_leg_is_found_from_a_healthy_circuit(leg: str) -> None:
    found = float_wiring(lead_volts(leg, CLOSED), lead_volts(leg, OPEN), VOLTS)
    assert found.leg == leg


def test_a_neutral_leg_reads_0_and_0_closed_then_one_lead_live() -> None:
    """Published figures of the trade, neutral leg: 0 / 0 closed; 120 / 0 open."""
    assert float_wiring((0, 0), (120, 0), 120).says.startswith("the float breaks the neutral leg")
    assert lead_volts("neutral", OPEN)[0] == pytest.approx(120, abs=0.1)


def test_a_hot_leg_reads_120_on_both_closed() -> None:
    found = float_wiring((120, 120), (0, 120), 120)
    assert "line conductor goes under water" in found.says


def test_a_wet_splice_on_a_neutral_leg_shows_as_dead_in_both_positions() -> None:
    """The dry-fire case: the splice holds the relay in with the float open (leak of 10 ohm)."""
    found = float_wiring(lead_volts("neutral", CLOSED, splice=10.0), lead_volts("neutral", OPEN, splice=10.0), VOLTS)
    assert found.leg == "neutral"
    assert "could run dry" in found.says


def test_a_half_wet_splice_is_told_as_in_between() -> None:
    """A leak of 7.2 kohm puts the open lead at 60 V: neither dead nor live."""
    opened = lead_volts("neutral", OPEN, splice=7200.0)
    assert opened[0] == pytest.approx(60, abs=0.1)
    found = float_wiring(lead_volts("neutral", CLOSED, splice=7200.0), opened, VOLTS)
    assert found.leg == "unknown"
    assert "splice is wet" in found.says


@pytest.mark.parametrize(
    ("closed", "opened", "leg", "words"),
    [
        ((120, 0), (120, 0), "unknown", "the float is open, or its lead is"),
        ((120, 120), (120, 120), "hot", "did not open, or its leads are shorted"),
        ((0, 0), (120, 120), "neutral", "read them again"),
        ((120, 120), (0, 0), "hot", "read them again"),
        ((0, 0), (0, 0), "neutral", "could run dry"),
        ((60, 60), (60, 60), "unknown", "no ground"),
    ],
)
def test_readings_of_a_faulty_circuit_say_what_to_do(closed, opened, leg: str, words: str) -> None:
    found = float_wiring(closed, opened, 120)
    assert found.leg == leg
    assert words in found.says


def test_impossible_volts_are_refused() -> None:
    for closed, control in (((-1, 0), 120), ((float("nan"), 0), 120), ((0, 0), 0)):
        with pytest.raises(RatingError):
            float_wiring(closed, (0, 0), control)
