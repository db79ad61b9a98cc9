"""A basin held by a thermostat: how long the heater is on and off, what that takes, and the loss learned back from it.

Well-mixed water, one loss coefficient, steady air. No ice: below 32 degF the numbers only say that the heater is short.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from seasonlog.calc.basin import WATER_BTU_PER_LB_DEGF
from seasonlog.calc.units import BTUH_PER_KW, MOST_KW, positive, temperature, within
from seasonlog.errors import RatingError

MOST_WATER_LB = 1e8
MOST_UA = 1e7
LEAST_SPAN_HOURS = 1.0 / 60.0
"""A thermostat that would switch more often than this is a slip of the finger. Common sense, no source."""


class Cycle(StrEnum):
    """What the heater does in steady air."""

    SWITCHES = "switches"
    ALWAYS_ON = "always_on"
    """The heater is too small to reach cut-out."""
    NEVER_ON = "never_on"
    """The air keeps the water above cut-in."""


@dataclass(frozen=True, slots=True)
class HeldBasin:
    """A basin, its loss coefficient, its heater and where its thermostat switches."""

    water_lb: float
    ua_btuh_per_degf: float
    """Heat lost for each degree the water is warmer than the air [Btu/h degF]."""
    kw: float
    """Power that reaches the water [kW]."""
    cut_in_degf: float
    cut_out_degf: float

    def __post_init__(self) -> None:
        """Refuse what cannot be.

        Raises:
            RatingError: a value is impossible, cut-out is not above cut-in, or it would switch every few seconds.
        """
        positive(self.water_lb, "water in the basin", "lb", MOST_WATER_LB)
        positive(self.ua_btuh_per_degf, "loss coefficient", "Btu/h degF", MOST_UA)
        positive(self.kw, "heater power", "kW", MOST_KW)
        within(self.cut_in_degf, "cut-in", "degF", 32.0, 200.0)
        within(self.cut_out_degf, "cut-out", "degF", 32.0, 200.0)
        if not self.cut_out_degf > self.cut_in_degf:
            edges = f"cut-out {self.cut_out_degf:g} degF is not above cut-in {self.cut_in_degf:g} degF"
            raise RatingError(f"{edges}; check which is which")
        if self.water_lb * WATER_BTU_PER_LB_DEGF * self.differential_degf < self.kw * BTUH_PER_KW * LEAST_SPAN_HOURS:
            says = (
                f"{self.kw:g} kW would warm {self.water_lb:g} lb of water by the whole differential of "
                f"{self.differential_degf:g} degF within a minute; check the water, the power and the two edges"
            )
            raise RatingError(says)

    @property
    def differential_degf(self) -> float:
        """Cut-out above cut-in [degF]."""
        return self.cut_out_degf - self.cut_in_degf

    @property
    def time_constant_hours(self) -> float:
        """Heat kept over heat lost: M cp / UA [h]."""
        return self.water_lb * WATER_BTU_PER_LB_DEGF / self.ua_btuh_per_degf

    @property
    def rise_degf(self) -> float:
        """How far above the air the heater would hold the water if it were always on: P / UA [degF]."""
        return self.kw * BTUH_PER_KW / self.ua_btuh_per_degf


@dataclass(frozen=True, slots=True)
class Cycling:
    """What the heater does, hour after hour, in steady air."""

    state: Cycle
    on_hours: float
    """On in one cycle [h]; infinite when always on."""
    off_hours: float
    duty: float
    """Share of the time it is on, 0 to 1."""
    kwh_per_day: float
    mean_degf: float
    """Mean water temperature; where the water settles when the heater does not switch [degF]."""

    @property
    def period_hours(self) -> float:
        """From cut-in to cut-in [h]; infinite when it does not switch."""
        return self.on_hours + self.off_hours

    @property
    def cycles_per_day(self) -> float:
        """Cut-ins in a day."""
        return 24.0 / self.period_hours


def cycling(held: HeldBasin, air_degf: float) -> Cycling:
    """On and off times of the heater in steady air.

    A heater too small to reach cut-out and air too warm to reach cut-in are answers, not errors.

    Args:
        held: Basin, heater and thermostat.
        air_degf: Outdoor air, steady [degF].

    Raises:
        RatingError: the air is impossible.

    Source:
        Heat balance M cp dT/dt = P - UA (T - Ta), solved exactly between the two edges.

    Example:
        >>> round(cycling(HeldBasin(6243, 500, 12, 40, 48), 0).duty, 4)
        0.5375
    """
    settles = temperature(air_degf, "outdoor air") + held.rise_degf
    if air_degf >= held.cut_in_degf:
        return Cycling(Cycle.NEVER_ON, 0.0, math.inf, 0.0, 0.0, air_degf)
    if settles <= held.cut_out_degf:
        return Cycling(Cycle.ALWAYS_ON, math.inf, 0.0, 1.0, 24.0 * held.kw, settles)
    on = held.time_constant_hours * math.log1p(held.differential_degf / (settles - held.cut_out_degf))
    off = held.time_constant_hours * math.log1p(held.differential_degf / (held.cut_in_degf - air_degf))
    duty = on / (on + off)
    return Cycling(Cycle.SWITCHES, on, off, duty, 24.0 * held.kw * duty, air_degf + duty * held.rise_degf)


def learned_ua(duty: float, kw: float, mean_degf: float, air_degf: float) -> float:
    """The loss coefficient, from how much of the time a heater was on [Btu/h degF].

    Over whole cycles what went in went out. With the true mean water temperature this is exact in steady air; with the
    middle between cut-in and cut-out it is off by less than 3 % for 8 degF between them and air below 30 degF.

    Args:
        duty: Share of the time the heater was on, above 0 to 1.
        kw: Power that reached the water [kW].
        mean_degf: Mean water temperature [degF].
        air_degf: Mean outdoor air over the same hours [degF].

    Raises:
        RatingError: a value is impossible, or the water was not at least 1 degF warmer than the air.

    Source:
        Heat balance over whole cycles: UA = duty P / (Tmean - Ta).
    """
    within(duty, "share of the time on", "", 1e-6, 1.0)
    positive(kw, "heater power", "kW", MOST_KW)
    warmer = temperature(mean_degf, "mean water") - temperature(air_degf, "outdoor air")
    if not warmer >= 1.0:
        says = f"the water is only {warmer:g} degF warmer than the air; nothing can be learned from less than 1 degF"
        raise RatingError(says)
    return duty * kw * BTUH_PER_KW / warmer


@dataclass(frozen=True, slots=True)
class Observation:
    """What was seen of one heater over some hours: how much it took and how cold it was."""

    mean_kw: float
    """Mean power over the hours: duty times power, or kWh over hours [kW]."""
    water_degf: float
    air_degf: float

    @classmethod
    def from_kwh(cls, kwh: float, hours: float, water_degf: float, air_degf: float) -> "Observation":
        """From a meter's kWh over some hours.

        Raises:
            RatingError: a value is impossible.
        """
        taken = positive(kwh, "energy", "kWh", 1e8)
        return cls(taken / positive(hours, "hours watched", "h", 1e5), water_degf, air_degf)

    @property
    def ua_btuh_per_degf(self) -> float:
        """The loss coefficient this one gives [Btu/h degF]. Errors as `learned_ua`."""
        return learned_ua(1.0, self.mean_kw, self.water_degf, self.air_degf)


@dataclass(frozen=True, slots=True)
class LearnedUa:
    """A loss coefficient learned from several observations, and how far they differ [Btu/h degF]."""

    ua_btuh_per_degf: float
    lowest: float
    highest: float
    count: int
    standard_error: float | None
    """None with one observation: one tells nothing of the spread."""


def fitted_ua(observations: Sequence[Observation]) -> LearnedUa:
    """One loss coefficient that fits all observations best, and their spread.

    Args:
        observations: One or more.

    Raises:
        RatingError: there is none, or one of them is impossible.

    Source:
        Least squares of a line through the origin, heat against temperature difference; textbook formula.
    """
    if not observations:
        raise RatingError("no observation is given; one round with the heater's share of time on and the air is needed")
    singles = [each.ua_btuh_per_degf for each in observations]
    warmer = [each.water_degf - each.air_degf for each in observations]
    square = math.fsum(d * d for d in warmer)
    ua = math.fsum(one * d * d for one, d in zip(singles, warmer, strict=True)) / square
    error = None
    if len(singles) > 1:
        misses = math.fsum(((one - ua) * d) ** 2 for one, d in zip(singles, warmer, strict=True))
        error = math.sqrt(misses / (len(singles) - 1) / square)
    return LearnedUa(ua, min(singles), max(singles), len(singles), error)
