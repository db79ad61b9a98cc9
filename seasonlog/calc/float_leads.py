"""Which side of the level relay's coil a float breaks, from the volts of its two leads to ground.

With the float closed a neutral-leg float reads 0 / 0 and a hot-leg float full control volts on both. With the float
open both read one lead live and one dead: that reading alone tells nothing about the leg.
"""

from dataclasses import dataclass

from seasonlog.calc.units import MOST_VOLTS, positive, within

LIVE_SHARE = 0.85
"""Least share of control volts that counts as live. Source: coil limits, IEC 60947-4-1 (from memory)."""
DEAD_SHARE = 0.10
"""Largest share that counts as dead. Common practice, no source."""

Pair = tuple[float, float]


@dataclass(frozen=True, slots=True)
class FloatWiring:
    """What the four readings say."""

    leg: str
    """`hot`, `neutral` or `unknown`."""
    says: str
    """One sentence, with what to do next where something is wrong."""


def float_wiring(closed: Pair, opened: Pair, control_volts: float) -> FloatWiring:
    """The leg a float breaks, from volts to ground with the float proved closed and again open.

    Args:
        closed: The two leads with the float closed, basin full [V].
        opened: The same leads, same order, with the float open [V].
        control_volts: Rated control volts [V].

    Raises:
        RatingError: a reading or the control volts are impossible.

    Source:
        Circuit theory, secondary grounded on one side, meter of 10 Mohm.
    """
    positive(control_volts, "control volts", "V", MOST_VOLTS)
    shut = "".join(_state(volts, control_volts) for volts in closed)
    open_ = "".join(_state(volts, control_volts) for volts in opened)
    return _shut_reading(shut, open_)


def _state(volts: float, control_volts: float) -> str:
    share = within(volts, "float lead volts", "V", 0.0, MOST_VOLTS) / control_volts
    return "1" if share >= LIVE_SHARE else "0" if share <= DEAD_SHARE else "m"


def _shut_reading(shut: str, open_: str) -> FloatWiring:
    if "m" in shut or "m" in open_:
        return FloatWiring(
            "unknown",
            "a lead sits between dead and live: the secondary may have no ground, or the splice is wet; "
            "measure the control transformer to ground first",
        )
    if shut in ("01", "10"):
        return FloatWiring(
            "unknown", "one lead live, one dead with the float closed: the float is open, or its lead is"
        )
    leg = "hot" if shut == "11" else "neutral"
    return FloatWiring(leg, _open_reading(leg, open_))


def _open_reading(leg: str, open_: str) -> str:
    if open_ in ("01", "10"):
        return _AGREES[leg]
    if open_ == "11":
        return _STAYS_LIVE[leg]
    return _STAYS_DEAD[leg]


_AGREES = {
    "hot": "if the relay is in: the float breaks the hot leg, or the secondary is grounded on the wrong side, and a "
    "line conductor goes under water (a wet splice there blows the fuse, heater off); if the relay is out: the return "
    "of a neutral-leg float is open",
    "neutral": "the float breaks the neutral leg: a wet splice on the relay-side lead keeps the relay in with an empty "
    "basin, and no fuse blows; prove it by the low-level test",
}
_STAYS_LIVE = {
    "hot": "both leads stay live with the float open: the float did not open, or its leads are shorted together; "
    "the heater could run dry",
    "neutral": "dead on both leads with the float closed, live on both with it open: not the readings of one float; "
    "read them again",
}
_STAYS_DEAD = {
    "hot": "live on both leads with the float closed, dead on both with it open: control power was lost between the "
    "readings, or they are not the leads of one float; read them again",
    "neutral": "both leads dead in either position: no control power, the float did not open, its leads are shorted "
    "together, or the relay-side lead is grounded; the heater could run dry",
}
