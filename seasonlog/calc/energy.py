"""Heat of a season: what an idle basin takes to be held at a temperature, hour by hour of a weather record.

Only hours colder than the water count: at and above the set point the sun and the air keep it. Air pressure is taken
at sea level, which is on the high side for a high-lying place.
"""

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Generic, NamedTuple, Protocol, TypeVar

from seasonlog.calc.basin import (
    LEAST_WATER_DEGF,
    MOST_WATER_DEGF,
    SURFACE_OF_POOL,
    Basin,
    Exposure,
    Weather,
    exposure,
)
from seasonlog.calc.climate import Climate, Daily, Hourly, season_of
from seasonlog.calc.cycling import MOST_UA, HeldBasin
from seasonlog.calc.units import BTUH_PER_KW, positive, temperature, within
from seasonlog.errors import RatingError

SEASON_SHELTER = 0.3
"""Share of the station's wind that reaches water behind casing and louvers. An assumption, no source."""
ACTIVITY_HIGH, ACTIVITY_LOW = 1.0, SURFACE_OF_POOL
"""The pool equation as published, and as measured on undisturbed pools."""
MOST_RATE = 1000.0
"""Largest believable price of a kWh in any currency. Common sense, no source."""


class Air(Protocol):
    """Weather as far as every loss needs it."""

    @property
    def air_degf(self) -> float:
        """Dry bulb [degF]."""
        ...


A = TypeVar("A", bound=Air)
_AnyAir = TypeVar("_AnyAir", bound=Air, contravariant=True)


class HeatLoss(Protocol[_AnyAir]):
    """What a basin loses."""

    def __call__(self, water_degf: float, weather: _AnyAir, /) -> float:
        """Water [degF] and weather to heat lost [kW]."""
        ...


class Span(NamedTuple, Generic[A]):
    """Some hours of one weather, or of what it does to one basin."""

    hours: float
    weather: A


@dataclass(frozen=True, slots=True)
class Heat:
    """What holding the water took."""

    kwh: float
    peak_kw: float
    """The most in any one span: the windiest cold hour, beyond the winter design temperature."""
    hours: float
    """Hours looked at."""
    cold_hours: float
    """Of them, hours with the air colder than the water."""

    def shared(self, idle_percent: float) -> "Heat":
        """The same for a tower that is idle only part of the hours; a running tower needs no basin heater.

        Args:
            idle_percent: Share of the cold hours it stands idle [%], above 0 to 100.

        Raises:
            RatingError: the share is impossible.
        """
        share = positive(idle_percent, "idle share of the hours", "%", 100.0) / 100.0
        return replace(self, kwh=self.kwh * share, cold_hours=self.cold_hours * share)


def basin_loss(basin: Basin, activity: float, shelter: float = SEASON_SHELTER) -> HeatLoss[Weather]:
    """The full model of a basin: sheltered wind at the water, free wind at walls and floor.

    Args:
        basin: Its size and walls.
        activity: Factor on the pool equation, `ACTIVITY_HIGH` or `ACTIVITY_LOW`.
        shelter: Share of the free wind that reaches the water, 0 to 1.

    Raises:
        RatingError: a value is impossible.

    Source:
        See `basin.loss`.
    """
    seen, lost = _seen(basin, shelter), exposed_loss(activity)
    return lambda water_degf, weather: lost(water_degf, seen(weather))


def exposed_loss(activity: float) -> HeatLoss[Exposure]:
    """The same for weather that `exposed` has worked already. Arguments and errors as `basin_loss`."""
    within(activity, "activity factor", "", 0.1, 2.0)

    return lambda water_degf, met: sum(met.paths(water_degf, activity)) / BTUH_PER_KW


def exposed(basin: Basin, spans: Iterable[Span[Weather]], shelter: float = SEASON_SHELTER) -> list[Span[Exposure]]:
    """What each weather does to a basin, worked once for every water temperature and activity asked about later.

    Arguments and errors as `basin_loss`.
    """
    seen = _seen(basin, shelter)
    return [Span(span.hours, seen(span.weather)) for span in spans]


def _seen(basin: Basin, shelter: float) -> Callable[[Weather], Exposure]:
    within(shelter, "share of the wind that reaches the water", "", 0.0, 1.0)
    return lambda weather: exposure(basin, weather, shelter * weather.wind_mph, weather.wind_mph)


def linear_loss(ua_btuh_per_degf: float) -> HeatLoss[Air]:
    """A loss that only follows the temperature difference, as learned from rounds.

    Args:
        ua_btuh_per_degf: Heat for each degree the water is warmer than the air [Btu/h degF].

    Raises:
        RatingError: it is impossible.

    Source:
        Definition: Q = UA (Tw - Ta).
    """
    kw_per_degf = positive(ua_btuh_per_degf, "loss coefficient", "Btu/h degF", MOST_UA) / BTUH_PER_KW
    return lambda water_degf, weather: kw_per_degf * (water_degf - weather.air_degf)


def season_heat(lost: HeatLoss[A], water_degf: float, spans: Iterable[Span[A]]) -> Heat:
    """Heat that holds the water at a temperature through some hours.

    Args:
        lost: Heat lost in one weather [kW].
        water_degf: Temperature held [degF], 32 to 200.
        spans: Hours and their weather.

    Raises:
        RatingError: the temperature is impossible.

    Source:
        Sum of max(0, loss) over the hours colder than the water.
    """
    within(water_degf, "temperature held", "degF", LEAST_WATER_DEGF, MOST_WATER_DEGF)
    total = cold = peak = 0.0
    kwh = []
    for hours, weather in spans:
        total += hours
        if weather.air_degf < water_degf:
            cold += hours
            kw = lost(water_degf, weather)
            if kw > 0.0:
                kwh.append(hours * kw)
                if kw > peak:
                    peak = kw
    return Heat(math.fsum(kwh), peak, total, cold)


@dataclass(frozen=True, slots=True)
class Filling:
    """Weather a file does not tell."""

    wind_mph: float = 10.0
    """Mean free wind in winter. Common practice, no source; Chicago O'Hare's typical year has 10.3 mph."""
    humidity_percent: float = 80.0
    """Customary for cold air; it matters little."""
    cloud_tenths: float | None = None

    def weather(self, hour: Hourly) -> Weather:
        """The weather of an hour, with what is missing filled in.

        Raises:
            RatingError: a value is impossible.
        """
        wind = self.wind_mph if hour.wind_mph is None else hour.wind_mph
        humidity = self.humidity_percent if hour.humidity_percent is None else hour.humidity_percent
        cloud = self.cloud_tenths if hour.cloud_tenths is None else hour.cloud_tenths
        return Weather(hour.air_degf, wind, humidity, cloud)

    def spans(self, hours: Iterable[Hourly], below_degf: float = math.inf) -> list[Span[Weather]]:
        """Every hour as a span; those not colder than a temperature all in one, the last. Errors as `weather`."""
        cold: list[Span[Weather]] = []
        warm: list[float] = []
        for hour in hours:
            if hour.air_degf < below_degf:
                cold.append(Span(1.0, self.weather(hour)))
            else:
                warm.append(hour.air_degf)
        return [*cold, *self._together(1.0, warm)]

    def spans_of_days(self, days: Iterable[Daily], below_degf: float = math.inf) -> list[Span[Weather]]:
        """Every day with both temperatures as two halves: its colder and its warmer one.

        The halves stand for a sine wave from the lowest to the highest; those not colder than a temperature are all in
        one span, the last. Errors as `weather`.
        """
        halves = [degf for day in days for degf in _halves(day)]
        warm = [degf for degf in halves if not degf < below_degf]
        return [*(Span(12.0, self._of(degf)) for degf in halves if degf < below_degf), *self._together(12.0, warm)]

    def _together(self, hours: float, warm: Sequence[float]) -> list[Span[Weather]]:
        return [Span(hours * len(warm), self._of(max(warm)))] if warm else []

    def _of(self, degf: float) -> Weather:
        return Weather(degf, self.wind_mph, self.humidity_percent, self.cloud_tenths)


def _halves(day: Daily) -> tuple[float, ...]:
    if day.tmin_degf is None or day.tmax_degf is None:
        return ()
    middle, swing = (day.tmin_degf + day.tmax_degf) / 2.0, (day.tmax_degf - day.tmin_degf) / 2.0
    return (middle - HALF_OF_A_SINE * swing, middle + HALF_OF_A_SINE * swing)


HALF_OF_A_SINE = 2.0 / math.pi
"""Mean of the upper half of a sine wave."""
LEAST_SEASON_HOURS = 360 * 24.0
"""A season with fewer hours told is not whole: five days may be missing. Common sense, no source."""
MOST_SEASONS = 30
"""As many as a climate normal has; the last ones count."""


@dataclass(frozen=True, slots=True)
class Season:
    """One whole season of a record, or all of a record that holds none."""

    name: str
    spans: Sequence[Span[Weather]]
    is_whole: bool = True


def seasons_of(climate: Climate, filling: Filling, below_degf: float = math.inf) -> list[Season]:
    """The whole seasons of a record, August to July, the last 30 at most; else all it holds as one.

    Args:
        climate: Hours or days.
        filling: Weather it does not tell.
        below_degf: Warmest water that will be asked about [degF]: hours as warm as that are only counted.

    Raises:
        RatingError: it tells of no weather, or one that cannot be.
    """
    if climate.is_typical:
        return [Season("a typical year", filling.spans(climate.hours, below_degf))]
    hours: dict[int, list[Hourly]] = {}
    days: dict[int, list[Daily]] = {}
    for hour in climate.hours:
        hours.setdefault(season_of(hour.at.date()), []).append(hour)
    for day in climate.days:
        if day.is_whole:
            days.setdefault(season_of(day.day), []).append(day)
    told = {year: len(hours.get(year, ())) + 24.0 * len(days.get(year, ())) for year in {**hours, **days}}
    if not told:
        raise RatingError("the weather record has no day with both its lowest and its highest temperature, and no hour")
    whole = [year for year, count in told.items() if count >= LEAST_SEASON_HOURS]

    def spans(year: int) -> list[Span[Weather]]:
        of_days = filling.spans_of_days(days.get(year, ()), below_degf)
        return [*filling.spans(hours.get(year, ()), below_degf), *of_days]

    if whole:
        return [Season(f"{year}/{(year + 1) % 100:02d}", spans(year)) for year in whole[-MOST_SEASONS:]]
    return [Season("all the record holds", [span for year in told for span in spans(year)], is_whole=False)]


def extra_cost(extra_kwh: float, rate_per_kwh: float) -> float:
    """What some heat costs at a price somebody gave [its currency].

    Args:
        extra_kwh: Heat [kWh], not negative.
        rate_per_kwh: Price of a kWh, of the user's own contract.

    Raises:
        RatingError: a value is impossible.
    """
    return within(extra_kwh, "energy", "kWh", 0.0, 1e9) * positive(rate_per_kwh, "price of a kWh", "", MOST_RATE)


@dataclass(frozen=True, slots=True)
class HeldYear:
    """What a thermostat and its heater did through a weather record."""

    kwh: float
    hours_on: float
    starts: int
    """Times the heater was switched on."""
    lowest_degf: float
    """Coldest the water was at the end of an hour or at a switching [degF]; below 32 it would be freezing."""
    ends_degf: float


def held_year(held: HeldBasin, air_degf: Sequence[float], start_degf: float | None = None) -> HeldYear:
    """A basin under its thermostat, hour by hour; the air steady within each hour, the switching times exact.

    Args:
        held: Basin, heater and thermostat; one loss coefficient.
        air_degf: One temperature for each hour [degF].
        start_degf: Water at the beginning [degF], heater off above cut-in; cut-out when not given.

    Raises:
        RatingError: a value is impossible.

    Source:
        Heat balance M cp dT/dt = P - UA (T - Ta), solved exactly within each hour and between switchings.
    """
    if not air_degf:
        raise RatingError("no hour of weather is given; one temperature an hour is wanted")
    for each in (min(air_degf), max(air_degf), math.fsum(air_degf) / len(air_degf)):
        temperature(each, "outdoor air")
    water = temperature(held.cut_out_degf if start_degf is None else start_degf, "water at the beginning")
    return _run(held, air_degf, water)


def _run(held: HeldBasin, air_degf: Sequence[float], water: float) -> HeldYear:
    """The hours one after the other. An hour that reaches no edge costs one multiplication."""
    slow, rise = held.time_constant_hours, held.rise_degf
    cut_in, cut_out = held.cut_in_degf, held.cut_out_degf
    kept = math.exp(-1.0 / slow)
    on, starts, hours_on, lowest = water <= cut_in, int(water <= cut_in), 0.0, water
    for air in air_degf:
        toward = air + rise if on else air
        after = toward + (water - toward) * kept
        if after < cut_out if on else after > cut_in:
            water = after
            hours_on += on
        else:
            water, on, began, spent = _switching_hour(held, slow, rise, water, on, air)
            starts += began
            hours_on += spent
            lowest = min(lowest, cut_in) if began else lowest
        if water < lowest:
            lowest = water
    return HeldYear(hours_on * held.kw, hours_on, starts, lowest, water)


def _switching_hour(
    held: HeldBasin, slow: float, rise: float, water: float, on: bool, air: float
) -> tuple[float, bool, int, float]:
    """One hour with one or more switchings: water and heater at its end, times switched on, hours on."""
    left, began, spent = 1.0, 0, 0.0
    while True:
        toward = air + rise if on else air
        edge = held.cut_out_degf if on else held.cut_in_degf
        reaches = toward > edge if on else toward < edge
        until = slow * math.log((water - toward) / (edge - toward)) if reaches else math.inf
        step = min(until, left)
        spent += step if on else 0.0
        if until >= left:
            return toward + (water - toward) * math.exp(-left / slow), on, began, spent
        left -= until
        water, on = edge, not on
        began += on
