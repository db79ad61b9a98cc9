"""`seasonlog calc energy`: the heat of a season, and what a set point too high costs."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any, TypeAlias

import click

from seasonlog.calc import energy as rules
from seasonlog.calc.basin import WALL_WORDS, WALLS, Basin
from seasonlog.calc.climate import Climate
from seasonlog.calc.units import degc_from_degf
from seasonlog.cli import frame
from seasonlog.cli.calc_frame import Answer, json_option, number, show
from seasonlog.errors import InputRefusedError, UsageError

_UNITS = click.Choice(["degf", "degc", "tenths"])


@click.command()
@click.option("--weather", metavar="FILE", required=True, help="Weather record: EPW, TMY3, GHCN-Daily, your own CSV.")
@number("--area-ft2", "FT2", "Water surface of the basin.")
@number("--depth-ft", "FT", "Depth of the water; it does not change the heat.", default=1.0)
@number("--wall-ft2", "FT2", "Walls and floor in the outdoor air; 0 in the ground.")
@click.option("--wall", type=click.Choice(list(WALLS)), default="steel", help="Kind of walls; steel when not given.")
@number("--sky-view", "SHARE", "Share of the sky the water sees: 0 under a casing, 1 an open pan.", default=0.0)
@number("--shelter", "SHARE", "Share of the wind that reaches the water.", default=rules.SEASON_SHELTER)
@number("--ua-btuh-per-degf", "UA", "A loss coefficient learned from rounds, instead of the basin.")
@number("--water-degf", "F", "Temperature the water is held at.", default=40.0)
@number("--instead-degf", "F", "A set point too high, to be compared.", default=50.0)
@number("--rate-per-kwh", "PRICE", "Price of a kWh on your own contract.")
@number("--idle-percent", "%", "Share of the cold hours the tower stands idle.", default=100.0)
@number("--wind-mph", "MPH", "Wind where the file tells none.", default=rules.Filling().wind_mph)
@click.option("--unit", type=_UNITS, help="Unit of a daily file that does not tell it.")
@click.option("--station", metavar="ID", default="", help="The station wanted, where a file holds several.")
@json_option
def energy(weather: str, unit: str | None, station: str, wind_mph: float, as_json: bool, **given: Any) -> int:
    """Heat that keeps an idle basin from freezing for a season, hour by hour of a weather record.

    seasonlog calc energy --weather chicago.epw --area-ft2 100 --wall-ft2 140 --rate-per-kwh 0.15
    """
    basin = _basin(given)
    if not given["instead_degf"] > given["water_degf"]:
        raise UsageError("--instead-degf is the set point too high; it must be above --water-degf.")
    climate = _climate(weather, unit, station)
    seasons = rules.seasons_of(climate, rules.Filling(wind_mph=wind_mph), given["instead_degf"])
    held, instead = _by_basin(basin, seasons, given) if basin is not None else _by_coefficient(seasons, given)
    period = "a season" if seasons[0].is_whole else "in the hours the file holds, which are no whole season,"
    return show(_answer(given | {"period": period}, climate, held, instead, wind_mph), as_json)


def _basin(given: dict[str, Any]) -> Basin | None:
    """The basin; None where its loss coefficient is given instead."""
    ua, area, wall_ft2 = given["ua_btuh_per_degf"], given["area_ft2"], given["wall_ft2"]
    if ua is not None and (area is not None or wall_ft2 is not None):
        raise UsageError("Give the basin (--area-ft2, --wall-ft2) or --ua-btuh-per-degf, not both.")
    if ua is not None:
        return None
    if area is None or wall_ft2 is None:
        raise UsageError("Give --area-ft2 and --wall-ft2 of the basin, or --ua-btuh-per-degf learned from rounds.")
    return Basin(area, given["depth_ft"], wall_ft2, given["wall"], given["sky_view"])


def _climate(path: str, unit: str | None, station: str) -> Climate:
    from seasonlog.intake.weather import read_weather
    from seasonlog.intake.weather_text import Asked, Unit

    asked = Asked(None if unit is None else Unit(unit), station)
    climate, problems = read_weather(frame.file_bytes(path), path, asked)
    if climate is None:
        raise InputRefusedError(problems)
    return climate


@dataclass(frozen=True, slots=True)
class _Held:
    """The seasons of a record with the water held at one temperature."""

    heats: Sequence[rules.Heat]

    @classmethod
    def of(cls, heats: Iterable[rules.Heat], given: dict[str, Any]) -> "_Held":
        """With the tower idle only part of the time."""
        return cls([heat.shared(given["idle_percent"]) for heat in heats])

    def mean(self, what: Callable[[rules.Heat], float]) -> float:
        return sum(what(heat) for heat in self.heats) / len(self.heats)

    @property
    def kwh(self) -> float:
        return self.mean(lambda heat: heat.kwh)

    @property
    def peak_kw(self) -> float:
        return max(heat.peak_kw for heat in self.heats)


_Sides: TypeAlias = dict[str, _Held]
"""By the loss on its high side and, for a basin, on its low side."""


def _by_basin(basin: Basin, seasons: Sequence[rules.Season], given: dict[str, Any]) -> tuple[_Sides, _Sides]:
    exposed = [rules.exposed(basin, season.spans, given["shelter"]) for season in seasons]
    sides = {"high": rules.ACTIVITY_HIGH, "low": rules.ACTIVITY_LOW}

    def held(degf: float) -> _Sides:
        heats = [rules.exposed_heats(sides.values(), degf, spans) for spans in exposed]
        return {name: _Held.of(each, given) for name, each in zip(sides, zip(*heats, strict=True), strict=True)}

    return held(given["water_degf"]), held(given["instead_degf"])


def _by_coefficient(seasons: Sequence[rules.Season], given: dict[str, Any]) -> tuple[_Sides, _Sides]:
    lost = rules.linear_loss(given["ua_btuh_per_degf"])

    def held(degf: float) -> _Sides:
        return {"high": _Held.of([rules.season_heat(lost, degf, season.spans) for season in seasons], given)}

    return held(given["water_degf"]), held(given["instead_degf"])


def _answer(given: dict[str, Any], climate: Climate, held: _Sides, instead: _Sides, wind_mph: float) -> Answer:
    document = _document(given, climate, held, instead)
    water, other, rate = given["water_degf"], given["instead_degf"], given["rate_per_kwh"]
    kwh, more, extra = (_kwh(document, name) for name in ("kwh", "instead_kwh", "extra_kwh"))
    plain = [
        f"{kwh} {given['period']} to hold {_both(water)}; most {document['peak_kw']:.1f} kW at one time",
        f"{other:g} degF ({degc_from_degf(other):.1f} C) instead: {more}; {extra} more, {document['ratio']:.2f} times",
    ]
    if rate is not None:
        low = f"{document['extra_cost_low']:,.0f} to " if "low" in held else ""
        plain.append(f"at {rate:g} a kWh the extra costs {low}{document['extra_cost']:,.0f}")
    working = _working(given, climate, held["high"], document)
    return Answer(plain, document, working, _basis(climate, "low" in held, wind_mph), _CAUTION)


def _document(given: dict[str, Any], climate: Climate, held: _Sides, instead: _Sides) -> dict[str, Any]:
    kwh, more = held["high"].kwh, instead["high"].kwh
    low = held["low"].kwh if "low" in held else None
    more_low = instead["low"].kwh if "low" in instead else None
    extra_low = None if low is None or more_low is None else more_low - low
    rate = given["rate_per_kwh"]
    return {
        "kwh": kwh, "kwh_low": low, "peak_kw": held["high"].peak_kw, "instead_kwh": more, "instead_kwh_low": more_low,
        "extra_kwh": more - kwh, "extra_kwh_low": extra_low, "ratio": more / kwh if kwh else 1.0,
        "extra_cost": None if rate is None else rules.extra_cost(more - kwh, rate),
        "extra_cost_low": None if rate is None or extra_low is None else rules.extra_cost(extra_low, rate),
        "hours": held["high"].mean(lambda heat: heat.hours), "seasons": len(held["high"].heats),
        "inference": "; ".join(climate.notes), "station": climate.station.name or climate.station.id,
    }  # fmt: skip


def _kwh(document: dict[str, Any], name: str) -> str:
    low = document[f"{name}_low"]
    return f"{document[name]:,.0f} kWh" if low is None else f"{low:,.0f} to {document[name]:,.0f} kWh"


def _both(degf: float) -> str:
    return f"the water at {degf:g} degF ({degc_from_degf(degf):.1f} C)"


def _working(given: dict[str, Any], climate: Climate, high: _Held, document: dict[str, Any]) -> list[str]:
    named = climate.station.name or climate.station.id
    lines = [*([f"station: {named}"] if named else []), *climate.notes]
    cold, idle = high.mean(lambda heat: heat.cold_hours), given["idle_percent"]
    lines.append(
        f"{document['hours']:,.0f} hours looked at; {cold:,.0f} of them idle and colder than {given['water_degf']:g} "
        f"degF; the heat lost in these added up, tower idle {idle:g} % of them"
    )
    if len(high.heats) > 1:
        each = [heat.kwh for heat in high.heats]
        lines.append(
            f"mean of {len(each)} whole seasons, August to July; mildest {min(each):,.0f}, hardest {max(each):,.0f} kWh"
        )
    if given["ua_btuh_per_degf"] is None:
        lines.append(
            f"{given['area_ft2']:g} ft2 of water, {given['wall_ft2']:g} ft2 of {WALL_WORDS[given['wall']]}; "
            f"{given['shelter']:g} of the wind at the water, all of it at the walls"
        )
    return lines


def _basis(climate: Climate, is_range: bool, wind_mph: float) -> list[str]:
    lines = [
        "heat balance, only hours colder than the water; sun, splash and ice skin left out; air pressure at sea level"
    ]
    if is_range:
        lines.append(
            "high side: pool equation as published (ASHRAE, second hand); low side: 0.74 of it, as measured on "
            "undisturbed pools; the shelter of the water is an assumption without a source"
        )
    else:
        lines.append("one loss coefficient, as learned from rounds: its own spread is the spread of this")
    if climate.days:
        lines.append(f"days instead of hours: {_DAYS_OF_BASIN.format(wind_mph) if is_range else _DAYS_OF_UA}")
    elif is_range and any(hour.wind_mph is None for hour in climate.hours):
        lines.append(f"hours without wind in the file: {wind_mph:g} mph assumed")
    return lines


_DAYS_OF_BASIN = (
    "a sine wave and {:g} mph of wind assumed; on a typical year of Chicago this misses by -3 to +4.5 % with the right "
    "wind, and 5 mph more wind adds a quarter"
)
_DAYS_OF_UA = "a sine wave from the lowest to the highest; on a typical year of Chicago this is 0 to 5 % too high"
_CAUTION = (
    "CAUTION: energy of a season, no heater size: a colder winter takes more. Before a set point is lowered, see where "
    "the thermostat closes and how far that stays above freezing (seasonlog calc thermostat).",
)
