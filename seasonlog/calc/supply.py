"""The supply: how far its volts may stray, and how uneven three lines are."""

import math
from collections.abc import Sequence

from seasonlog.calc.heater import Band
from seasonlog.calc.units import MOST_VOLTS, SQRT3, phase_count, positive, within
from seasonlog.errors import RatingError

RANGE_A_PERCENT = 5.0
"""Source: ANSI C84.1 service voltage Range A (from memory): nominal +/-5 %."""


DEAD_LINE_PERCENT = 10.0
"""Volts less even than this are a lost line, not an uneven supply. A dead line makes 50 % (circuit theory)."""


def service_range(nominal_volts: float, percent: float = RANGE_A_PERCENT) -> Band:
    """Volts a healthy supply stays within.

    Args:
        nominal_volts: Nominal system volts [V].
        percent: Allowed to each side [%].

    Raises:
        RatingError: a value is impossible.

    Source:
        ANSI C84.1 Range A (from memory).
    """
    positive(nominal_volts, "supply volts", "V", MOST_VOLTS)
    share = within(percent, "voltage range", "%", 0.0, 50.0) / 100.0
    return Band(nominal_volts * (1.0 - share), nominal_volts * (1.0 + share))


def at_heater(nominal_volts: float, heater_volts: float, phases: int) -> float:
    """Nominal volts a heater is joined to: those of the panel, or line to neutral of it [V].

    A single-phase heater whose plate says 1/sqrt 3 of the panel's volts (277 of 480, 120 of 208) is meant for line to
    neutral.

    Args:
        nominal_volts: Of the panel, line to line [V].
        heater_volts: On the heater's plate [V].
        phases: Of the heater, 1 or 3.

    Raises:
        RatingError: a value is impossible.

    Source:
        Circuit theory; within 3 %, common practice, no source.
    """
    positive(nominal_volts, "supply volts", "V", MOST_VOLTS)
    to_neutral = nominal_volts / SQRT3
    close = abs(positive(heater_volts, "heater volts", "V", MOST_VOLTS) / to_neutral - 1.0) <= 0.03
    return to_neutral if phase_count(phases) == 1 and close else nominal_volts


def unbalance_percent(values: Sequence[float]) -> float:
    """How uneven three lines are: largest deviation from the mean, in percent of the mean.

    Args:
        values: The three readings, any one unit; not negative, not all zero.

    Raises:
        RatingError: not three numbers, or their mean is not above zero.

    Source:
        NEMA MG-1 definition for volts. Largest minus smallest would be twice as large: not that.

    Example:
        >>> round(unbalance_percent([462, 463, 455]), 2)
        1.09
    """
    if len(values) != 3 or not all(math.isfinite(v) and v >= 0 for v in values) or math.fsum(values) == 0:
        shown = ", ".join(f"{v:g}" for v in values)
        raise RatingError(f"unbalance wants three readings, none negative and not all zero; got {shown or 'none'}")
    mean = math.fsum(values) / 3.0
    return 100.0 * max(abs(v - mean) for v in values) / mean


def unbalance_uncertainty_percent(mean: float, resolution: float) -> float:
    """Expanded uncertainty of an unbalance read with one meter on one range [%].

    The meter's own error is common to the three readings and cancels; what is left is the last digit of each.

    Args:
        mean: Mean of the three readings.
        resolution: Value of one count, same unit.

    Source:
        JCGM 100 (from memory): half a count rectangular in each line; sensitivities 2/3, 1/3, 1/3 of 100/mean.
    """
    positive(mean, "mean of the three lines", "", 1e6)
    spread = math.sqrt((2.0 / 3.0) ** 2 + 2.0 * (1.0 / 3.0) ** 2)
    return 2.0 * (100.0 / mean) * (resolution / 2.0 / math.sqrt(3.0)) * spread


def is_even(volts: Sequence[float]) -> bool:
    """Whether volts between the lines are those of three live lines; less even than that, one of them is dead."""
    return len(volts) != 3 or unbalance_percent(volts) <= DEAD_LINE_PERCENT


def mean_volts(volts: Sequence[float]) -> float:
    """Volts of a supply as read [V]: the mean; where one line is dead, what the live pair shows.

    Args:
        volts: One value, or A-B, B-C, C-A; none of them all zero [V].

    Source:
        Circuit theory: a dead line sits between the live ones, and the mean would be two thirds of the supply.
    """
    return math.fsum(volts) / len(volts) if is_even(volts) else max(volts)
