"""A cold snap raised from a forecast: one check on every wet tower of a site before the first night of hard frost.

The same night is never asked about twice: a forecast that tells a spell already raised writes nothing, one that brings
its first night forward moves the check, and a spell that goes on past what was forecast is a new one.
"""

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import takewhile

from seasonlog.calc.units import degc_from_degf
from seasonlog.domain.records import Kind, Record
from seasonlog.domain.register import Site
from seasonlog.domain.season import COLD_SNAP, season_of
from seasonlog.domain.season_due import DRAINED, ColdSnap, mode_on
from seasonlog.domain.text import as_stored, visible
from seasonlog.errors import InputRefusedError, Problem
from seasonlog.journal import climate_queries, queries
from seasonlog.services import registry
from seasonlog.services.climate_study import HowToRead, any_weather_in
from seasonlog.services.days import typed_day
from seasonlog.services.figures import typed_degf
from seasonlog.services.limits import practice_table
from seasonlog.services.logbook import Logbook

THRESHOLD = "cold_snap_degf"
"""The constant of the practice table that a site may hold higher."""
MOST_AHEAD_DAYS = 16
"""Nights further ahead are no forecast. Length of the longest daily forecasts issued (from memory)."""


@dataclass(frozen=True, slots=True)
class Forecast:
    """The lowest temperature of each day to come, and where it was told."""

    lows_degf: Mapping[date, float]
    source: str


@dataclass(frozen=True, slots=True)
class Snap:
    """What follows from a forecast, not written yet."""

    site: Site
    threshold_degf: float
    nights: tuple[date, ...]
    """The first cold nights on end; empty: none is so cold."""
    lows_degf: Mapping[date, float]
    """Of every night ahead that is told, as it was read."""
    towers: tuple[str, ...]
    """Those that hold water then."""
    known: ColdSnap | None
    """Raised before, for some of these nights."""
    record: Record | None
    """What is to be written; None: nothing."""

    today: date
    """The day it was looked at."""

    @property
    def due(self) -> date | None:
        """The last sensible day of the check: the day before, or today; None where no night is so cold."""
        return max(self.nights[0] - timedelta(days=1), self.today) if self.nights else None


def from_file(data: bytes, name: str, how: HowToRead) -> Forecast:
    """The forecast of a file: daily lowest temperatures, or hours.

    Raises:
        InputRefusedError: it is none.
    """
    told = any_weather_in(data, name, how)
    if told.is_typical:
        raise InputRefusedError([Problem(name, "is a typical year, not a forecast")])
    lows = {each.day: each.tmin_degf for each in told.days if each.tmin_degf is not None}
    for hour in told.hours:
        day = hour.at.date()
        lows[day] = min(hour.air_degf, lows.get(day, hour.air_degf))
    short = as_stored(visible(name.replace("\\", "/").rsplit("/", 1)[-1]))
    return Forecast(lows, f"{short}, sha256 {hashlib.sha256(data).hexdigest()}")


def typed(lows: Sequence[str], units: str) -> Forecast:
    """The forecast as a person types it: `2026-12-05=8`, in the unit of the site or with its own.

    Raises:
        InputRefusedError: something is no day or no temperature, or a day stands twice.
    """
    found: dict[date, float] = {}
    for each in lows:
        day, _, degrees = each.partition("=")
        on = typed_day(day, "night")
        if on in found:
            raise InputRefusedError([Problem(f"night {on}", "stands twice")])
        found[on] = typed_degf(degrees, units)
    return Forecast(found, "typed")


def look(book: Logbook, site: str, forecast: Forecast, today: date) -> Snap:
    """What follows from a forecast; nothing is written.

    Args:
        book: The log.
        site: Site id.
        forecast: Lowest temperatures by day.
        today: Nights before it are over.

    Raises:
        InputRefusedError: no such site, or the forecast tells no night to come.
    """
    register = registry.of_site(book.db, site)
    if site not in register.sites:
        says = "is not in the register; `seasonlog register list site` names all"
        raise InputRefusedError([Problem(f"site {visible(site)}", says)])
    where = register.sites[site]
    limit = max(practice_table().value(THRESHOLD), float(where.tighten.get(THRESHOLD, 0)))
    ahead = _ahead(forecast.lows_degf, today)
    nights = _nights(ahead, limit)
    modes = registry.mode_changes(book.db)
    wet = tuple(t.id for t in register.towers_of(site)
                if nights and mode_on(t, modes.get(t.id, ()), nights[0]) != DRAINED)  # fmt: skip
    found = Snap(where, limit, nights, ahead, wet, None, None, today)
    return found if not nights or not wet else _against_known(book, found, forecast.source)


def keep(book: Logbook, snap: Snap) -> None:
    """Write it, where there is something to write."""
    if snap.record is not None:
        book.write(snap.record)


def _ahead(lows: Mapping[date, float], today: date) -> dict[date, float]:
    """The nights from today on, in order."""
    ahead = {night: lows[night] for night in sorted(lows) if 0 <= (night - today).days <= MOST_AHEAD_DAYS}
    if not ahead:
        says = (
            f"tells no night from {today} to {today + timedelta(days=MOST_AHEAD_DAYS)}; a forecast of these is wanted"
        )
        raise InputRefusedError([Problem("forecast", says)])
    return ahead


def _nights(ahead: Mapping[date, float], limit: float) -> tuple[date, ...]:
    """The first cold nights on end."""
    first = min((night for night, low in ahead.items() if low <= limit), default=None)
    return () if first is None else tuple(takewhile(lambda n: n in ahead and ahead[n] <= limit, _days_from(first)))


def _days_from(first: date) -> Iterator[date]:
    return (first + timedelta(days=each) for each in range(MOST_AHEAD_DAYS + 1))


def _against_known(book: Logbook, snap: Snap, source: str) -> Snap:
    first, last = snap.nights[0], snap.nights[-1]
    season = season_of(first, snap.site.latitude_deg)
    raised = climate_queries.cold_snaps(book.db).get(snap.site.id, [])
    covering = next((s for s in raised if s.night <= first <= s.last_night), None)
    if covering is not None:
        return replace(snap, known=covering)
    later = sorted((s for s in raised if s.night > first), key=lambda s: s.night)
    same = next((s for s in later if s.season == season and s.night <= last), None)
    others = [s.night for s in later if s is not same]
    ends = max(night for night in snap.nights if all(night < other for other in others))
    if same is not None:
        ends, ordinal = max(ends, same.last_night), same.ordinal
    else:
        ordinal = _next(book, snap.towers, season, [s.ordinal for s in raised if s.season == season])
    return replace(snap, known=same, record=_record(snap, ends, season, ordinal, source))


def _next(book: Logbook, towers: Sequence[str], season: int, known: Sequence[int]) -> int:
    """A number that no check of the season has, raised or made without being asked for."""
    made = [v.ordinal for tower in towers for v in queries.visits_of(book.db, tower)
            if (v.checklist, v.season) == (COLD_SNAP, season)]  # fmt: skip
    return max([*made, *known], default=0) + 1


def _record(snap: Snap, last: date, season: int, ordinal: int, source: str) -> Record:
    first = snap.nights[0]
    body = {
        "site": snap.site.id,
        "season": season,
        "ordinal": ordinal,
        "night": first.isoformat(),
        "last_night": last.isoformat(),
        "lows": {night.isoformat(): _degrees(snap.lows_degf[night]) for night in snap.nights},
        "threshold_degf": _degrees(snap.threshold_degf),
        "source": source,
        "says": says(snap),
    }
    return Record(Kind.COLD_SNAP_RAISED, body, uid=f"cold-snap:{snap.site.id}:{first.isoformat()}")


def says(snap: Snap) -> str:
    """What is forecast, in words."""
    first = snap.nights[0]
    coldest = min(snap.nights, key=lambda night: snap.lows_degf[night])
    lower = "" if coldest == first else f", {_both(snap.lows_degf[coldest])} for {coldest}"
    asked = f"{_both(snap.threshold_degf)} or colder asks for a look the day before"
    return f"{_both(snap.lows_degf[first])} forecast for the night of {first}{lower}; {asked}"


def as_read(snap: Snap) -> str:
    """The nights ahead in both units, so that a number read in the wrong one is seen."""
    return f"read: {', '.join(f'{night} {_both(low)}' for night, low in snap.lows_degf.items())}"


def _both(degf: float) -> str:
    return f"{_degrees(degf)} degF ({degc_from_degf(degf):.0f} C)"


def _degrees(degf: float) -> str:
    return f"{degf:.1f}".removesuffix(".0")
