"""What a heater should show a meter and what its wiring should be, for the circuits of the register.

Values: circuit theory and the check values of `tests/calc/test_branch.py`; agreement to the digits printed.
"""

import pytest

from seasonlog.domain.wiring import expected, wiring
from seasonlog.errors import RatingError
from seasonlog.services.limits import practice_table
from tests.domain.register_samples import made


def test_a_healthy_heater_at_its_own_and_at_other_volts() -> None:
    circuit = made("circuit")
    own, other = expected(circuit, practice_table()), expected(circuit, practice_table(), 460.0)
    assert (own.line_amps, own.kw, own.ohms) == pytest.approx((21.65, 18.0, 25.6), abs=0.005)
    assert (own.ohms_low, own.ohms_high) == pytest.approx((23.67, 28.44), abs=0.01)
    assert (other.line_amps, other.kw) == pytest.approx((20.75, 16.53), abs=0.005)
    assert other.ohms == own.ohms


@pytest.mark.parametrize(
    ("kw", "volts", "phases", "terminals", "amps", "ocpd", "awg", "subdivide"),
    [
        ("18", "480", "3", "75", 27.1, 30, "10", False),
        ("36", "480", "3", "60", 54.1, 60, "6", False),
        ("15", "240", "3", "60", 45.1, 50, "6", False),
        ("36", "480", "3", "75", 54.1, 60, "6", False),
        ("18", "208", "3", "75", 62.5, 70, "6", True),
        ("9", "240", "1", "75", 46.9, 50, "8", False),
    ],
)
def test_the_branch_by_the_tables(
    kw: str, volts: str, phases: str, terminals: str, amps: float, ocpd: int, awg: str, subdivide: bool
) -> None:
    found = wiring(made("circuit", kw=kw, volts=volts, phases=phases, terminal_degc=terminals))
    assert found.minimum_amps == pytest.approx(amps, abs=0.05)
    assert (found.ocpd_amps, found.conductor_awg, found.subdivide) == (ocpd, awg, subdivide)
    assert found.edition
    assert f"{ocpd} A" in found.says


def test_what_is_installed_is_held_against_it() -> None:
    assert wiring(made("circuit", breaker_amps="30", conductor_awg="10", terminal_degc="75")).faults == ()
    small = wiring(made("circuit", breaker_amps="25", conductor_awg="12", terminal_degc="75")).faults
    assert any("27.06" in each for each in small)
    assert any("12 AWG" in each for each in small)


def test_the_control_run_is_told_where_it_is_known() -> None:
    run = {"coil_volts": "24", "coil_inrush_va": "70", "control_awg": "18", "control_run_ft": "50"}
    (line,) = wiring(made("circuit", control_volts="24", **run)).control
    assert "longest run 106 ft" in line or "longest run 107 ft" in line
    assert wiring(made("circuit", control_volts="24")).control == ()


def test_a_heater_beyond_the_tables_is_refused_in_words() -> None:
    with pytest.raises(RatingError, match="split the heater"):
        wiring(made("circuit", kw="900", volts="208"))
