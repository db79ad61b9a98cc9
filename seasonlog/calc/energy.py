"""Heat of a season: what an idle basin takes to be held at a temperature, hour by hour of a weather record.

Only hours colder than the water count: at and above the set point the sun and the air keep it. Air pressure is taken
at sea level, which is on the high side for a high-lying place.
"""

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Generic, NamedTuple, TypeAlias, TypeVar

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
from seasonlog.calc.units import BTUH_PER_KW, positive, within
from seasonlog.errors import RatingError

SEASON_SHELTER = 0.3
"""Share of the station's wind that reaches water behind casing and louvers. An assumption, no source."""
ACTIVITY_HIGH, ACTIVITY_LOW = 1.0, SURFACE_OF_POOL
"""The pool equation as published, and as measured on undisturbed pools."""
MOST_RATE = 1000.0
"""Largest believable price of a kWh in any currency. Common sense, no source."""


HeatLoss: TypeAlias = Callable[[float, Weather], float]
"""Water [degF] and weather to heat lost [kW]."""
A = TypeVar("A", Weather, Exposure)


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


def basin_loss(basin: Basin, activity: float, shelter: float = SEASON_SHELTER) -> HeatLoss:
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
    within(activity, "activity factor", "", 0.1, 2.0)
    seen = _seen(basin, shelter)
    return lambda water_degf, weather: sum(seen(weather).paths(water_degf, activity)) / BTUH_PER_KW


def exposed(basin: Basin, spans: Iterable[Span[Weather]], shelter: float = SEASON_SHELTER) -> list[Span[Exposure]]:
    """What each weather does to a basin, worked once for every water temperature and activity asked about later.

    Arguments and errors as `basin_loss`.
    """
    seen = _seen(basin, shelter)
    return [Span(span.hours, seen(span.weather)) for span in spans]


def _seen(basin: Basin, shelter: float) -> Callable[[Weather], Exposure]:
    within(shelter, "share of the wind that reaches the water", "", 0.0, 1.0)
    return lambda weather: exposure(basin, weather, shelter * weather.wind_mph, weather.wind_mph)


def linear_loss(ua_btuh_per_degf: float) -> HeatLoss:
    """A loss that only follows the temperature difference, as learned from rounds.

    Args:
        ua_btuh_per_degf: Heat for each degree the water is warmer than the air [Btu/h degF].

    Raises:
        RatingError: it is impossible.

    Source:
        Definition: Q = UA (Tw - Ta).
    """
    from seasonlog.calc.cycling import MOST_UA  # a basin given by its size does without

    kw_per_degf = positive(ua_btuh_per_degf, "loss coefficient", "Btu/h degF", MOST_UA) / BTUH_PER_KW
    return lambda water_degf, weather: kw_per_degf * (water_degf - weather.air_degf)


def season_heat(lost: HeatLoss, water_degf: float, spans: Iterable[Span[Weather]]) -> Heat:
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
    cold, hours = _cold(water_degf, spans)
    return _added_up([(span.hours, lost(water_degf, span.weather)) for span in cold], hours)


def exposed_heats(activities: Iterable[float], water_degf: float, spans: Iterable[Span[Exposure]]) -> list[Heat]:
    """The same of a basin for each activity factor, of weather that `exposed` has worked.

    Arguments, errors and source as `basin_loss` and `season_heat`.
    """
    cold, hours = _cold(water_degf, spans)
    paths = [(span.hours, span.weather.paths(water_degf, 1.0)) for span in cold]
    return [_stirred(paths, within(activity, "activity factor", "", 0.1, 2.0), hours) for activity in activities]


def _stirred(paths: Iterable[tuple[float, Sequence[float]]], activity: float, hours: float) -> Heat:
    share = activity / BTUH_PER_KW
    return _added_up([(h, share * (e + c) + (r + w) / BTUH_PER_KW) for h, (e, c, r, w) in paths], hours)


def _cold(water_degf: float, spans: Iterable[Span[A]]) -> tuple[list[Span[A]], float]:
    """The spans colder than the water, and the hours of all."""
    within(water_degf, "temperature held", "degF", LEAST_WATER_DEGF, MOST_WATER_DEGF)
    every = list(spans)
    return [span for span in every if span.weather.air_degf < water_degf], sum(span.hours for span in every)


def _added_up(cold: Sequence[tuple[float, float]], hours: float) -> Heat:
    """Hours and the kW lost in them; nothing is gained by a loss below zero."""
    kwh = math.fsum(h * kw for h, kw in cold if kw > 0.0)
    return Heat(kwh, max((0.0, *(kw for _, kw in cold))), hours, sum(h for h, _ in cold))


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


class Season(NamedTuple):
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
