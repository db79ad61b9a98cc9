"""How cold a place is: degree-hours below a temperature, winter design temperatures, records."""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from seasonlog.calc.units import temperature, within
from seasonlog.errors import RatingError

DAILY_MINIMUM_PERCENT = 1.4
"""Percentile of all daily lowest temperatures that stands for the hourly 99.6 % value. Source: measured on one typical
year of Chicago O'Hare, where it is the 1.37th; no published rule."""


def degree_hours(air_degf: Iterable[float], base_degf: float) -> float:
    """Degree-hours below a base, from hourly temperatures [degF h].

    Args:
        air_degf: One temperature for each hour [degF].
        base_degf: The base [degF].

    Raises:
        RatingError: a value is impossible.

    Source:
        Definition: sum of max(0, base - T).
    """
    temperature(base_degf, "base")
    return math.fsum(base_degf - each for each in _air(air_degf) if each < base_degf)


def hours_below(air_degf: Iterable[float], base_degf: float) -> int:
    """How many hours are colder than a base. Arguments as `degree_hours`."""
    temperature(base_degf, "base")
    return sum(each < base_degf for each in _air(air_degf))


def day_mean(low_degf: float, high_degf: float, base_degf: float) -> float:
    """Degree-hours of a day below a base, as if all of it had the middle of its lowest and highest [degF h]."""
    return 24.0 * max(0.0, base_degf - (low_degf + high_degf) / 2.0)


def day_sine(low_degf: float, high_degf: float, base_degf: float) -> float:
    """Degree-hours of a day below a base, along one sine wave from its lowest to its highest [degF h].

    Source:
        Single-sine degree-day method, textbook; the integral of the wave below the base.
    """
    swing = (high_degf - low_degf) / 2.0
    under = base_degf - (low_degf + high_degf) / 2.0
    if under >= swing:
        return 24.0 * under
    if under <= -swing:
        return 0.0
    angle = math.asin(under / swing)
    return 24.0 / math.pi * (under * (math.pi / 2.0 + angle) + swing * math.cos(angle))


FORMS = {"mean": day_mean, "sine": day_sine}
"""How a day's degree-hours are worked from its lowest and highest. Against the hours of Chicago O'Hare's typical year,
bases 40 to 50 degF: mean -0.5 to -1.3 %, sine +2.5 to +4.5 %."""


def degree_hours_of_days(days: Iterable[tuple[float, float]], base_degf: float, form: str = "mean") -> float:
    """Degree-hours below a base, from daily lowest and highest temperatures [degF h].

    Args:
        days: Lowest and highest of each day [degF].
        base_degf: The base [degF].
        form: One of `FORMS`.

    Raises:
        RatingError: a value is impossible, a day's highest is below its lowest, or the form is unknown.
    """
    temperature(base_degf, "base")
    if form not in FORMS:
        raise RatingError(f"form {form!r} is not known; one of {', '.join(FORMS)} is wanted")
    return math.fsum(FORMS[form](*_day(low, high), base_degf) for low, high in days)


def percentile(values: Iterable[float], percent: float) -> float:
    """The temperature that so many percent of all lie below, straight between ranks.

    Args:
        values: One or more temperatures [degF].
        percent: 0 to 100.

    Raises:
        RatingError: there are none, one is impossible, or the percent is.

    Source:
        Rank 1 + (n - 1) p, as NCEI's normals take it (Normals Calculation Methodology 2020).
    """
    ranked = sorted(_air(values))
    if not ranked:
        raise RatingError("a percentile of no temperatures is asked for; one or more is wanted")
    rank = within(percent, "percentile", "%", 0.0, 100.0) / 100.0 * (len(ranked) - 1)
    low = min(int(rank), len(ranked) - 2) if len(ranked) > 1 else 0
    high = min(low + 1, len(ranked) - 1)
    return ranked[low] + (rank - low) * (ranked[high] - ranked[low])


def design_degf(air_degf: Iterable[float], percent: float = 99.6) -> float:
    """Winter design temperature from hourly values: colder only in the rest of the hours [degF].

    99.6 % leaves some 35 hours of a year colder than this, 99 % some 88.

    Args:
        air_degf: One temperature for each hour [degF], whole years.
        percent: 99.6 or 99 by custom.

    Source:
        ASHRAE Handbook Fundamentals, climatic design information: annual percentiles (excerpts read). From one typical
        year expect it within 3 degF of the long record.
    """
    return percentile(air_degf, 100.0 - within(percent, "design percentile", "%", 50.0, 100.0))


def design_degf_of_days(lowest_degf: Iterable[float]) -> float:
    """An estimate of the 99.6 % winter design temperature where only daily lowest temperatures are known [degF].

    Args:
        lowest_degf: Lowest of each day [degF], whole years.

    Source:
        1.4th percentile of the daily lowest; see `DAILY_MINIMUM_PERCENT`.
    """
    return percentile(lowest_degf, DAILY_MINIMUM_PERCENT)


@dataclass(frozen=True, slots=True)
class Coldest:
    """The coldest of each year."""

    record_degf: float
    mean_degf: float
    deviation_degf: float | None
    """Standard deviation of the yearly lowest [degF]; None with one year."""
    years: int


def coldest(lowest_of_years: Sequence[float]) -> Coldest:
    """Record, mean and spread of the yearly lowest temperatures.

    Args:
        lowest_of_years: Lowest of each year [degF]; one or more.

    Raises:
        RatingError: there are none, or one is impossible.
    """
    if not lowest_of_years:
        raise RatingError("the coldest of no years is asked for; one year or more is wanted")
    count = len(lowest_of_years)
    mean = math.fsum(_air(lowest_of_years)) / count
    squares = math.fsum((each - mean) ** 2 for each in lowest_of_years)
    return Coldest(min(lowest_of_years), mean, math.sqrt(squares / (count - 1)) if count > 1 else None, count)


def _day(low_degf: float, high_degf: float) -> tuple[float, float]:
    if temperature(high_degf, "highest of a day") < temperature(low_degf, "lowest of a day"):
        raise RatingError(f"a day's highest {high_degf:g} degF is below its lowest {low_degf:g} degF; check the file")
    return low_degf, high_degf


def _air(values: Iterable[float]) -> Iterator[float]:
    return (temperature(each, "outdoor air") for each in values)
