"""A site's own climate: looked at, kept in the log, shown; and whose dates the windows of its visits rest on."""

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import PurePath
from typing import Any

from seasonlog.calc import freeze_windows
from seasonlog.calc.bootstrap import expected_error
from seasonlog.calc.climate import Climate, Station
from seasonlog.calc.freeze_chances import FreezeDays, Side
from seasonlog.calc.freeze_dates import Observed
from seasonlog.calc.season_days import MONTH_DAYS, MonthDay, SeasonCalendar, calendar_at
from seasonlog.domain.climate_record import CAUTIOUS, FORMULA, PERCENTS, THRESHOLDS_DEGF, Basis, SiteClimate, frost_of
from seasonlog.domain.records import Kind, Record
from seasonlog.domain.register import Site
from seasonlog.domain.season import ENABLE_LEAD, Window, season_of, windows
from seasonlog.domain.text import as_stored, visible
from seasonlog.errors import InputRefusedError, Problem, RatingError
from seasonlog.intake.normals import Normals
from seasonlog.journal import climate_queries, queries
from seasonlog.planning.model import Place
from seasonlog.planning.travel import great_circle_km
from seasonlog.services import climate_study as studies
from seasonlog.services import registry
from seasonlog.services.climate_study import HowToRead, Study
from seasonlog.services.limits import practice_table
from seasonlog.services.logbook import Logbook

PUBLISHED_ERROR = "as their publisher worked them out; the error is not told"
RAW_ERROR = "one standard error of so many seasons, normal dates (textbook)"
FAR_KM = 50.0
"""A station further away than this is told as far. Common sense, no source."""
_MILES = 0.621371


@dataclass(frozen=True, slots=True)
class HandedIn:
    """One file, as it was read."""

    name: str
    data: bytes

    def stamp(self, what: str) -> dict[str, str]:
        """What the record keeps of it."""
        name = as_stored(visible(PurePath(self.name).name))
        return {"what": what, "name": name, "sha256": hashlib.sha256(self.data).hexdigest()}


@dataclass(frozen=True, slots=True)
class Import:
    """What is asked for: a record, published normals or both, for one site."""

    site: str
    record: HandedIn | None
    normals: Sequence[HandedIn]
    threshold_degf: int
    """The freeze that counts: 32, or 36 for a roof under a clear sky [degF]."""
    how: HowToRead


@dataclass(frozen=True, slots=True)
class Looked:
    """What came out, not written yet."""

    site: Site
    climate: SiteClimate
    before: SiteClimate | None

    @property
    def is_new(self) -> bool:
        """The log does not hold exactly this already."""
        return self.before is None or self.before.body != self.climate.body


def look(book: Logbook, asked: Import) -> Looked:
    """Read the files and find the dates; nothing is written.

    Raises:
        InputRefusedError: no such site, a file is wrong, or its winter is that of the other half of the earth.
        RatingError: no season is whole, or something asked for is impossible.
    """
    site = _site(book, asked.site)
    how = _at_site(asked.how, site)
    normals = [studies.normals_in(each.data, each.name) for each in asked.normals]
    _one_station(asked, normals)
    told = None if asked.record is None else studies.weather_in(asked.record.data, asked.record.name, how)
    study = None if told is None else studies.study(told, normals, [float(each) for each in THRESHOLDS_DEGF], how)
    if told is None and not any(each.dates for each in normals):
        raise InputRefusedError(_no_dates(asked))
    if study is not None and study.opposite_winter and asked.record is not None:
        says = f"its winter lies in the other half of the year than that of site {site.id} at latitude "
        raise InputRefusedError([Problem(asked.record.name, f"{says}{site.latitude_deg:f}: wrong file, or wrong sign")])
    body = _body(site, asked, told, study, normals)
    before = climate_queries.climate(book.db, site.id)
    return Looked(site, SiteClimate(site.id, body, book.who, book.today()), before)


def keep(book: Logbook, looked: Looked) -> bool:
    """Write what came out; False when the log holds exactly that already and nothing was written."""
    if looked.is_new:
        book.write(Record(Kind.CLIMATE_IMPORTED, looked.climate.body))
    return looked.is_new


@dataclass(frozen=True, slots=True)
class SiteBasis:
    """Whose dates a site's windows rest on, and the windows."""

    site: Site
    climate: SiteClimate | None
    windows: tuple[Window, ...]
    """Of the season of the day asked about."""


def bases(book: Logbook, today: date, site: str = "") -> list[SiteBasis]:
    """Every site, or one, with the basis of its dates.

    Raises:
        InputRefusedError: no such site.
    """
    idents = [_site(book, site).id] if site else [ident for ident, _, _ in queries.sites(book.db)]
    known = climate_queries.climates(book.db)
    return [basis_of(_site(book, ident), known.get(ident), today) for ident in idents]


def basis_of(site: Site, climate: SiteClimate | None, today: date) -> SiteBasis:
    """One site with a record that may not be written yet."""
    frost = None if climate is None else climate.frost(int(practice_table().value(ENABLE_LEAD)))
    found = windows(site, season_of(today, site.latitude_deg), frost=frost)
    return SiteBasis(site, climate, found)


def _site(book: Logbook, ident: str) -> Site:
    found = registry.site(book.db, ident)
    if found is None:
        says = "is not in the register; `seasonlog register list site` names all"
        raise InputRefusedError([Problem(f"site {visible(ident)}", says)])
    return found


def _at_site(how: HowToRead, site: Site) -> HowToRead:
    return HowToRead(how.unit, how.station, how.rounding, float(site.latitude_deg), how.since, how.seed)


def _one_station(asked: Import, normals: Sequence[Normals]) -> None:
    ids = sorted({each.station.id for each in normals})
    if len(ids) > 1:
        says = f"the files are of {len(ids)} stations ({', '.join(map(visible, ids))}); one is wanted"
        raise InputRefusedError([Problem(", ".join(each.name for each in asked.normals), says)])


def _body(
    site: Site, asked: Import, told: Climate | None, study: Study | None, normals: Sequence[Normals]
) -> dict[str, Any]:
    calendar = calendar_at(float(site.latitude_deg))
    thresholds = [_threshold(degf, study, normals) for degf in THRESHOLDS_DEGF]
    counts = next(each for each in thresholds if each["threshold_degf"] == str(asked.threshold_degf))
    coldest = _coldest(study, normals)
    station = told.station if told is not None else Station()
    place = {"latitude_deg": _degrees(station.latitude), "longitude_deg": _degrees(station.longitude)}
    published = next((each.station for each in normals), Station())
    files = [] if asked.record is None else [asked.record.stamp("daily record")]
    return {
        "site": site.id,
        "used": _used(counts, calendar, study),
        "files": [*files, *(each.stamp("published normals") for each in asked.normals)],
        "station": _named(station) | place,
        "published_station": _named(published),
        "period": {} if told is None or study is None else _period(told, study),
        "first_month": calendar.first_month,
        "thresholds": thresholds,
        **({} if coldest is None else {"coldest": coldest}),
        "seed": asked.how.seed,
        "formula": FORMULA,
        "notes": [as_stored(visible(each)) for each in _notes(site, station, published, study, normals)],
    }


def _no_dates(asked: Import) -> list[Problem]:
    says = "holds no freeze dates; monthly means alone tell none, and serve beside a daily record"
    files = [Problem(each.name, says) for each in asked.normals]
    return files or [Problem("import", "neither a daily record nor published freeze dates were given")]


def _named(station: Station) -> dict[str, str]:
    return {"id": as_stored(visible(station.id)), "name": as_stored(visible(station.name))}


def _degrees(value: float | None) -> str:
    return "" if value is None else f"{value:.4f}"


def _notes(
    site: Site, station: Station, published: Station, study: Study | None, normals: Sequence[Normals]
) -> Iterator[str]:
    yield from study.working() if study is not None else ()
    for each in normals:
        yield from each.notes
    yield from _distance(site, station, "station of the record")
    yield from _distance(site, published, "station of the normals")
    if station.id and published.id and station.id != published.id:
        yield f"the normals are of station {published.id}, the record of {station.id}"


def _distance(site: Site, station: Station, what: str) -> Iterator[str]:
    if station.latitude is None or station.longitude is None:
        return
    here = Place(float(site.latitude_deg), float(site.longitude_deg))
    km = great_circle_km(here, Place(station.latitude, station.longitude))
    far = "; that is far: see whether its winter is that of the site" if km > FAR_KM else ""
    yield f"the {what} lies {km:.0f} km ({km * _MILES:.0f} miles) from the site{far}"


def _period(told: Climate, study: Study) -> dict[str, str | int]:
    return {
        "first_day": told.days[0].day.isoformat(),
        "last_day": told.days[-1].day.isoformat(),
        "first_season": study.seasons[0],
        "last_season": study.seasons[-1],
        "seasons": len(study.seasons),
    }


def _threshold(degf: int, study: Study | None, normals: Sequence[Normals]) -> dict[str, Any]:
    seen: Sequence[Observed | None] = (None, None)
    made: Sequence[FreezeDays | None] = (None, None)
    if study is not None:
        seen, made = study.observed[float(degf)], study.simulated.get(float(degf), (None, None))
    told = studies.published_in(normals)
    found: dict[str, Any] = {"threshold_degf": str(degf)}
    for side, raw, long in zip(Side, seen, made, strict=True):
        published = {str(each): str(told[side, float(degf), float(each)])
                     for each in PERCENTS if (side, float(degf), float(each)) in told}  # fmt: skip
        share = next((n.occurrence_percent[degf] for n in normals if degf in n.occurrence_percent), None)
        found[str(side)] = _side(raw, long) | {"published": published, "published_chance_percent": _text(share)}
    return found


def _side(raw: Observed | None, long: FreezeDays | None) -> dict[str, Any]:
    """One side at one threshold, as text."""
    days = None if raw is None else raw.days
    chance = long if long is not None else days
    return {
        "judged": 0 if days is None else days.judged,
        "reached": 0 if days is None else len(days.numbers),
        "dropped": [] if raw is None else list(raw.dropped),
        "chance_percent": "" if chance is None or not chance.judged else _text(100 * chance.chance),
        "raw": _dates(days),
        "raw_error_days": {} if days is None or days.missing else _errors(days),
        "simulated": _dates(long),
        "missing": "" if days is None else days.missing,
    }


def _dates(days: FreezeDays | None) -> dict[str, str]:
    if days is None:
        return {}
    return {str(each): str(day) for each in PERCENTS if (day := days.date(each)) is not None}


def _errors(days: FreezeDays) -> dict[str, str]:
    return {str(each): _text(error) for each in PERCENTS if (error := days.error_days(each)) is not None}


def _text(value: float | None) -> str:
    """A number as the log keeps it: one digit after the point, or none."""
    return "" if value is None else f"{value:.1f}".removesuffix(".0")


def _used(counts: Mapping[str, Any], calendar: SeasonCalendar, study: Study | None) -> dict[str, str]:
    """Published dates before simulated before raw ones; the typed ones where windows follow from none of them."""
    degf = str(counts["threshold_degf"])
    seen = [] if study is None else [each.days for each in study.observed[float(degf)]]
    errors = {Basis.PUBLISHED: PUBLISHED_ERROR, Basis.SIMULATED: expected_error(seen), Basis.RAW: RAW_ERROR}
    reasons = [counts["first"]["missing"], counts["last"]["missing"]]
    for basis, error in errors.items():
        first, last = (counts[str(side)][str(basis)].get(CAUTIOUS, "") for side in Side)
        why = _unfit(calendar, degf, first, last) if first and last else ""
        if first and last and not why:
            return _use(basis, degf, first, last, error=error)
        reasons.append(why)
    told_by = "the published normals tell" if study is None else "the record tells"
    because = next((each for each in reasons if each), f"{told_by} no dates for {CAUTIOUS} % at {degf} degF")
    return _use(Basis.TYPED, degf, "", "", because=because)


def _use(basis: Basis, degf: str, first: str, last: str, *, error: str = "", because: str = "") -> dict[str, str]:
    return {"basis": str(basis), "threshold_degf": degf, "first": first, "last": last, "error": error,
            "because": because}  # fmt: skip


def _unfit(calendar: SeasonCalendar, degf: str, first: str, last: str) -> str:
    """Why no windows follow from two dates; empty when they do."""
    try:
        freeze_windows.windows(frost_of(calendar, degf, first, last))
    except RatingError as why:
        return str(why)
    return ""


def _coldest(study: Study | None, normals: Sequence[Normals]) -> dict[str, str] | None:
    """The coldest thirty days of the record, or the coldest month of the normals; None where neither tells any."""
    if study is not None:
        try:
            found = freeze_windows.coldest_stretch(study.record, study.seasons)
        except RatingError:
            return None
        return _stretch(found.begins, found.ends, found.mean_degf)
    lows = next((each.monthly_tmin_degf for each in normals if each.monthly_tmin_degf), ())
    if not lows:
        return None
    month = min(range(12), key=lambda each: lows[each]) + 1
    return _stretch(MonthDay(month, 1), MonthDay(month, MONTH_DAYS[month - 1]), lows[month - 1])


def _stretch(begins: MonthDay, ends: MonthDay, mean_degf: float) -> dict[str, str]:
    return {"begins": str(begins), "ends": str(ends), "mean_degf": _text(mean_degf)}
