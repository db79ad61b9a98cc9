"""`seasonlog climate`: when a place freezes, read out of its weather record, and what that means for the visits."""

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, TypeVar

import click

from seasonlog.calc import bootstrap, freeze_windows
from seasonlog.calc.climate import Climate
from seasonlog.calc.freeze_chances import BOTH_ENDS, FreezeDays, Freezes, Side, chance_error
from seasonlog.calc.freeze_dates import Observed
from seasonlog.calc.season_days import MonthDay
from seasonlog.calc.units import degc_from_degf, degf_from_degc
from seasonlog.cli import frame
from seasonlog.cli.calc_frame import Answer, json_option, number, show
from seasonlog.cli.climate_site import forecast, import_, show_
from seasonlog.errors import UsageError
from seasonlog.services import climate_study
from seasonlog.services.climate_study import Study, at_degf
from seasonlog.services.typical_year import NO_CHANCE, lines, typical_dates

_F = TypeVar("_F", bound=Callable[..., Any])
_UNITS = click.Choice(["degf", "degc", "tenths"])
_ROUNDING = click.Choice(["whole-degf", "none"])
_DAY = re.compile(r"(\d\d)-(\d\d)", re.ASCII)
THRESHOLDS_DEGF = (36.0, 32.0, 28.0, 24.0)
PERCENTS = (10.0, 50.0, 90.0)
_CAUTION = (
    "CAUTION: dates of past winters at the station's screen, which reads warmer than a roof under a clear sky; the "
    "next winter may be earlier than any of them. The forecast decides, and a heater is proven before it is needed.",
)
_BASIS = (
    "first and last day at or below the threshold in each season; raw dates: straight between ranks 1 + (n - 1) p "
    "(NCEI Normals Calculation Methodology 2020); seasons with ten or more days missing where the freeze may have been "
    "are dropped for that date (Utah State University, second hand)",
    "simulated dates: twelve blocks of a month, each from a random season and up to 14 days early or late, made as "
    "warm as the month of another random season (same methodology, without its checks for extremes)",
    "dates are of the seasons that freeze at all; 10 % is the early first and the late last freeze",
)


@click.group()
def climate() -> None:
    """When a place freezes first and last, from its own weather record, and the visits' windows."""


for each in (import_, show_, forecast):
    climate.add_command(each)


def _record_options(function: _F) -> _F:
    """What tells how a record is to be read."""
    options = (
        click.argument("file", metavar="FILE"),
        number("--latitude-deg", "DEG", "Latitude, south negative; else the file's, else by its own winter."),
        click.option("--unit", type=_UNITS, help="Unit of a daily file that does not tell it."),
        click.option("--station", metavar="ID", default="", help="The station wanted, where a file holds several."),
        click.option("--rounding", type=_ROUNDING, help="Round to whole degF first or not; seen from the file else."),
        click.option("--since", type=int, metavar="YEAR", help="First season; the last 30 whole ones when not given."),
        click.option("--normals", multiple=True, metavar="FILE", help="NCEI normals of the station; may be repeated."),
        click.option("--seed", type=int, default=1, metavar="N", help="Start of the random draw; 1 when not given."),
        json_option,
    )
    for option in reversed(options):
        function = option(function)
    return function


@climate.command()
@click.option("--threshold-degf", type=float, multiple=True, metavar="F", help="Threshold; 36, 32, 28 and 24 else.")
@click.option("--threshold-degc", type=float, multiple=True, metavar="C", help="The same in degC.")
@click.option("--percent", type=float, multiple=True, metavar="%", help="Chance of the dates; 10, 50 and 90 else.")
@click.option("--by", metavar="MM-DD", help="Also the chance that it has frozen by this day, or still freezes after.")
@_record_options
def dates(
    threshold_degf: Sequence[float], threshold_degc: Sequence[float], percent: Sequence[float], by: str | None,
    as_json: bool, **given: Any,
) -> int:  # fmt: skip
    """First and last freeze dates of a place and how sure they are.

    seasonlog climate dates albany.csv --threshold-degf 32
    """
    on = _month_day(by)
    chosen = [*threshold_degf, *(degf_from_degc(each) for each in threshold_degc)] or list(THRESHOLDS_DEGF)
    thresholds = [round(each, 4) for each in chosen]
    weather = _weather(given)
    if weather.is_typical:
        return _typical(weather, thresholds, given["latitude_deg"], as_json=as_json)
    study = _study(given, thresholds)
    percents = tuple(percent) or PERCENTS
    answer = Answer((), _dates_document(study, percents, on), study.working(), _basis(study), _CAUTION)
    if not as_json:
        frame.out(study.title)
        frame.table([_heading(percents), *_rows(study, percents)])
        for line in _chances(study, on):
            frame.out(line)
    return show(answer, as_json)


@climate.command()
@number("--threshold-degf", "F", "The freeze that counts: 32, or 36 for a roof under a clear sky.", default=32.0)
@number("--percent", "%", "How cautious the dates are.", default=freeze_windows.CAUTIOUS_PERCENT)
@click.option("--lead-days", type=int, default=freeze_windows.ENABLE_LEAD_DAYS, metavar="DAYS",
              help="The fall enable is done this long before; 14 when not given.")  # fmt: skip
@_record_options
def windows(threshold_degf: float, percent: float, lead_days: int, as_json: bool, **given: Any) -> int:
    """Between which days each visit of a season makes sense, with the reason.

    seasonlog climate windows albany.csv --threshold-degf 36
    """
    study = _study(given, [threshold_degf])
    frost = study.frost(threshold_degf, percent)
    coldest = freeze_windows.coldest_stretch(study.record, study.seasons)
    found = freeze_windows.windows(frost, coldest, lead_days)
    plain = [line for each in found for line in (f"{each.visit}: {each.opens} to {each.due}", f"    {each.reason}")]
    document = _document_of(study) | {
        "threshold_degf": threshold_degf, "percent": percent, "first": str(frost.first), "last": str(frost.last),
        "coldest": {"begins": str(coldest.begins), "ends": str(coldest.ends), "mean_degf": coldest.mean_degf},
        "windows": [{"visit": str(each.visit), "opens": str(each.opens), "due": str(each.due), "reason": each.reason}
                    for each in found],
    }  # fmt: skip
    basis = [*_basis(study), "lead and length of the windows: common practice, no source"]
    return show(Answer([study.title, *plain], document, study.working(), basis, _CAUTION), as_json)


def _how(given: dict[str, Any]) -> climate_study.HowToRead:
    names = ("unit", "station", "rounding", "latitude_deg", "since", "seed")
    return climate_study.HowToRead(**{name: given[name] for name in names})


def _weather(given: dict[str, Any]) -> Climate:
    return climate_study.any_weather_in(frame.file_bytes(given["file"]), given["file"], _how(given))


def _written(day: MonthDay | None) -> str | None:
    return None if day is None else str(day)


def _typical(told: Climate, thresholds_degf: Sequence[float], latitude_deg: float | None, *, as_json: bool) -> int:
    """The dates of a typical year, with what they cannot tell."""
    calendar, found = typical_dates(told, thresholds_degf, latitude_deg)
    named = f"{told.station.name}: " if told.station.name else ""
    plain = [f"{named}a typical year ({calendar.words})", *lines(found)]
    dates = [
        {"threshold_degf": each.degf, "first": _written(each.first), "last": _written(each.last)} for each in found
    ]
    document = {
        "station": told.station.name, "typical": True, "runs": calendar.words, "dates": dates, "doubt": NO_CHANCE,
    }  # fmt: skip
    return show(Answer(plain, document, told.notes, [NO_CHANCE], _CAUTION), as_json)


def _study(given: dict[str, Any], thresholds_degf: Sequence[float]) -> Study:
    how = _how(given)
    told = climate_study.weather_in(frame.file_bytes(given["file"]), given["file"], how)
    normals = [climate_study.normals_in(frame.file_bytes(each), each) for each in given["normals"]]
    found = climate_study.study(told, normals, thresholds_degf, how)
    return found if found.station else replace(found, station=Path(given["file"]).name)


def _basis(study: Study) -> list[str]:
    """Where the dates come from and how far they may be off."""
    errors = "error of raw dates: one standard error of a percentile of so many seasons, normal dates (textbook)"
    made = dict.fromkeys(bootstrap.expected_error([seen.days]) for _, seen, days in study.sides() if days is not None)
    return [*_BASIS, errors, *filter(None, made)]


def _document_of(study: Study) -> dict[str, Any]:
    """What both commands tell of the record."""
    return {
        "station": study.station, "seasons": len(study.seasons), "first_season": study.seasons[0],
        "last_season": study.seasons[-1], "runs": study.record.calendar.words, "inference": "; ".join(study.notes),
        "shift_degf": list(study.shift_degf) or None, "is_simulated": bool(study.simulated),
    }  # fmt: skip


def _month_day(text: str | None) -> MonthDay | None:
    match = None if text is None else _DAY.fullmatch(text)
    if text is not None and match is None:
        raise UsageError(f'--by "{text}" is not a day of the year; write it as 10-15.')
    return None if match is None else MonthDay(int(match[1]), int(match[2]))


def _at(degf: float) -> str:
    return f"{degf:g} degF ({degc_from_degf(degf):.1f} C)"


def _heading(percents: Sequence[float]) -> list[str]:
    return ["at or below", "freeze", "", *(f"{each:g} %" for each in percents), "comes at all", "error, days"]


def _rows(study: Study, percents: Sequence[float]) -> Iterator[list[str]]:
    for degf, seen, made in study.sides():
        about, raw = [at_degf(degf), str(seen.side)], seen.days
        errors = " ".join("-" if raw.missing else f"{raw.error_days(each):.1f}" for each in percents)
        yield [*about, "raw", *_told(raw, percents), _share(raw), errors]
        if made is not None:
            yield [*about, "simulated", *_told(made, percents), f"{100 * made.chance:.0f} %", _simulated_error(raw)]
        days = [study.published.get((seen.side, degf, each)) for each in percents]
        if any(days):
            off = [_off(made or raw, each, day) for each, day in zip(percents, days, strict=True)]
            away = " ".join("-" if each is None else f"{each:+d}" for each in off)
            yield [*about, "published", *(str(day or "-") for day in days), "", f"{away} against it"]


def _simulated_error(raw: FreezeDays) -> str:
    if not raw.numbers:
        return ""
    return "1.4 to 2.5 on average" if bootstrap.is_settled(raw) else "not known"


def _told(days: FreezeDays, percents: Sequence[float]) -> list[str]:
    return [str(days.date(each) or "-") for each in percents]


def _share(days: FreezeDays) -> str:
    if not days.judged:
        return "0 of 0"
    error = 100 * chance_error(days.chance, days.judged)
    return f"{len(days.numbers)} of {days.judged}" + (f" ({100 * days.chance:.0f} +/- {error:.0f} %)" if error else "")


def _off(days: FreezeDays, percent: float, published: MonthDay | None) -> int | None:
    """How many days later than the published date ours is."""
    ours = days.date(percent)
    return None if published is None or ours is None else days.calendar.number(ours) - days.calendar.number(published)


def _chances(study: Study, on: MonthDay | None) -> Iterator[str]:
    for degf, (first, last) in study.observed.items():
        if Freezes(first.days, last.days).at_both_ends:
            yield f"{at_degf(degf)}: {BOTH_ENDS}"
    for degf, seen, made in study.sides():
        days = made or seen.days
        if seen.days.missing:
            yield f"{at_degf(degf)} {seen.side}: no raw dates, {seen.days.missing}"
        if on is not None and days.judged and 0 < days.chance_by(on) < days.chance:
            what = f"has come by {on.words}" if seen.side is Side.FIRST else f"still comes on or after {on.words}"
            yield f"{at_degf(degf)}: the {seen.side} freeze {what} in {100 * days.chance_by(on):.0f} % of all seasons"


def _dates_document(study: Study, percents: Sequence[float], on: MonthDay | None) -> dict[str, Any]:
    thresholds: dict[float, dict[str, Any]] = {}
    for degf, seen, made in study.sides():
        known = thresholds.setdefault(degf, {"threshold_degf": degf, "threshold_degc": degc_from_degf(degf)})
        known[str(seen.side)] = _side_document(study, seen, made, percents, on) | {
            "published": {f"{each:g}": str(day) for each in percents
                          if (day := study.published.get((seen.side, degf, each)))},
        }  # fmt: skip
    judged = [seen.days for _, seen, days in study.sides() if days is not None]
    return _document_of(study) | {
        "thresholds": list(thresholds.values()), "expected_error": bootstrap.expected_error(judged),
    }  # fmt: skip


def _side_document(
    study: Study, seen: Observed, made: FreezeDays | None, percents: Sequence[float], on: MonthDay | None
) -> dict[str, Any]:
    raw = seen.days
    return {
        "judged": raw.judged, "reached": len(raw.numbers), "without": list(seen.without), "dropped": list(seen.dropped),
        "chance_percent": 100 * raw.chance, "missing": raw.missing, "deviation_days": raw.deviation_days,
        "raw": _document(raw, percents), "simulated": None if made is None else _document(made, percents),
        "simulated_chance_percent": None if made is None else 100 * made.chance,
        "raw_error_days": {f"{each:g}": raw.error_days(each) for each in percents},
        "chance_by_percent": None if on is None or not raw.judged else 100 * (made or raw).chance_by(on),
        "days": {str(season): day.isoformat() for season, day in seen.dates.items()},
    }  # fmt: skip


def _document(days: FreezeDays, percents: Sequence[float]) -> dict[str, str | None]:
    told = {f"{each:g}": days.date(each) for each in percents}
    return {percent: None if day is None else str(day) for percent, day in told.items()}
