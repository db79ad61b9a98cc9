"""The freeze season: which one a day belongs to, when it freezes first and last, and the windows of its visits.

A season runs August to July north of the equator, February to January south of it, and is named by its first year,
so that no winter is ever cut in two. Nothing here reads a clock: every day is handed in.

A window is `opens` to `due`: `due` is the last sensible day, the one after which the tower may freeze unprotected (or
be heated for nothing). `WindowRules` holds the figures and says which of them have a source.

A site whose climate is on record (`SiteFrost`) has its windows from cautious dates, one season of ten, by
`calc.freeze_windows`; any other site from the usual dates typed for it, with a longer lead instead.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from functools import lru_cache
from typing import NamedTuple, TypeGuard

from dateutil.relativedelta import relativedelta

from seasonlog.calc import freeze_windows
from seasonlog.calc.season_days import MonthDay, calendar_at
from seasonlog.domain.register import Site

FALL_ENABLE = "fall-enable"
"""Checklist that proves a tower protected for the season."""

MID_WINTER = "mid-winter"
"""Checklist of the monthly verification while it can freeze."""

SPRING_DISABLE = "spring-disable"
"""Checklist that switches the heaters off and proves them off."""

COLD_SNAP = "cold-snap"
"""Checklist of the look before a hard frost that was forecast."""

ENABLE_LEAD = "enable_lead_days"
"""The constant of the practice table that a site may hold tighter: a longer lead."""

FIRST_MONTH_NORTH = 8
"""August: the season's first month north of the equator and on it."""

FIRST_MONTH_SOUTH = 2
"""February: the season's first month south of the equator."""

_SATURDAY = 5


@dataclass(frozen=True, slots=True)
class WindowRules:
    """How far around a site's typed, usual freeze dates the windows lie.

    They are usual dates, not early ones; so the lead is longer than the one before a cautious date. The two margins of
    three weeks rest on the NCEI climate normals 1991-2020 of 17 stations in the United States: the first 32 degF freeze
    that comes earlier in one year of ten lies 11 to 17 days before the median, the last one that comes later in one
    year of ten 10 to 22 days after it. The other figures are common practice, no source.
    """

    enable_opens_days: int = 56
    """The fall enable opens this many days before the first freeze: time left for repairs and parts."""

    enable_lead_days: int = 21
    """Safety lead: the fall enable is due this many days before the first freeze; more where the site says so."""

    monthly_slack_days: int = 7
    """A monthly visit may be made this many days before or after its day of the month."""

    disable_wait_days: int = 21
    """The spring disable opens this many days after the last freeze."""

    disable_open_days: int = 42
    """... and is due this many days after it opened."""


class Window(NamedTuple):
    """One visit of the season and when it makes sense."""

    checklist: str
    """Checklist id."""

    ordinal: int
    """1 for the only or first one, counting up through the season."""

    opens: date
    """First sensible day."""

    due: date
    """Last sensible day."""

    planned: date
    """A working day inside the window, until a person plans better."""

    reason: str = ""
    """Why then, in words."""


class FreezeDates(NamedTuple):
    """A site's first and last freeze, placed in one season."""

    first: date
    """First freeze of the season: the usual one as typed, or the early one of the record."""

    last: date
    """Last freeze of the season: the usual one, or the late one of the record."""


@dataclass(frozen=True, slots=True)
class SiteFrost:
    """A site's cautious freeze dates, taken from a record and not typed."""

    frost: freeze_windows.Frost
    """Early first and late last freeze, at which threshold and how cautious."""

    coldest: freeze_windows.Stretch | None
    """The coldest days, where the record tells them."""

    source: str
    """Whose dates they are, in words."""

    lead_days: int = freeze_windows.ENABLE_LEAD_DAYS
    """The fall enable is due this many days before the early first freeze; more where the site says so."""


def is_southern(latitude_deg: Decimal | float) -> bool:
    """True south of the equator; the equator itself counts as north."""
    return latitude_deg < 0


def season_of(on: date, latitude_deg: Decimal | float) -> int:
    """The season a day belongs to, named by its first year.

    Args:
        on: The day, in the site's own calendar.
        latitude_deg: Degrees, south negative.
    """
    return on.year if on.month >= _first_month(latitude_deg) else on.year - 1


def season_bounds(season: int, latitude_deg: Decimal | float) -> tuple[date, date]:
    """First and last day of a season, both inside it."""
    first = date(season, _first_month(latitude_deg), 1)
    return first, first + relativedelta(years=1, days=-1)


def season_name(season: int, latitude_deg: Decimal | float) -> str:
    """The season in words: `winter 2026/27` in the north, `winter 2026` in the south."""
    return f"winter {season}" if is_southern(latitude_deg) else f"winter {season}/{(season + 1) % 100:02d}"


def place(month_day: str, season: int, latitude_deg: Decimal | float) -> date:
    """The day `MM-DD` inside a season. 29 February is taken as the 28th in every year, so windows stay alike.

    Raises:
        ValueError: The text is not a day of the year; the register lets no such text in.
    """
    month, day = (int(part) for part in month_day.split("-"))
    year = season if month >= _first_month(latitude_deg) else season + 1
    return date(year, month, 28 if (month, day) == (2, 29) else day)


def freeze_dates(site: Site, season: int, frost: SiteFrost | None = None) -> FreezeDates:
    """The site's first and last freeze, placed in the season that starts in the year given.

    Args:
        site: With the usual dates as typed.
        season: First year of the season.
        frost: The cautious dates of its record, where there is one that serves.
    """
    first, last = (
        (frost.frost.first, frost.frost.last) if serves(frost, site) else (site.first_freeze, site.last_freeze)
    )
    return FreezeDates(place(str(first), season, site.latitude_deg), place(str(last), season, site.latitude_deg))


def serves(frost: SiteFrost | None, site: Site) -> TypeGuard[SiteFrost]:
    """Whether a record's dates are there and of the site's half of the earth: a latitude may have been corrected."""
    return frost is not None and frost.frost.calendar == calendar_at(float(site.latitude_deg))


def windows(
    site: Site, season: int, rules: WindowRules | None = None, frost: SiteFrost | None = None
) -> tuple[Window, ...]:
    """The visits of a season, in order: fall enable, one verification a month, spring disable.

    With a record there is one more verification before the coldest days, unless the month's own lies beside it.
    Typed freeze dates that are swapped (the last before the first) give no monthly visit; the check of the register is
    where that is said.

    Args:
        site: Its place, its typed dates and how much longer a lead it wants.
        season: First year of the season.
        rules: How far around typed dates the windows lie; of a record only the slack of the monthly visit counts.
        frost: The cautious dates of its record, used when they serve.
    """
    rules = rules or WindowRules()
    freezes = freeze_dates(site, season, frost)
    if serves(frost, site):
        return _of_record(site, frost, freezes, rules)
    return (_enable(freezes, rules, _own_lead(site)), *_monthly(freezes, rules), _disable(freezes, rules))


def working_day(day: date, first: date, last: date) -> date:
    """The day itself, or where it falls on a weekend the nearest weekday that lies inside first to last."""
    for days in (0, 1, 2, -1, -2):
        near = day + timedelta(days=days)
        if near.weekday() < _SATURDAY and first <= near <= last:
            return near
    return day


def _first_month(latitude_deg: Decimal | float) -> int:
    return FIRST_MONTH_SOUTH if is_southern(latitude_deg) else FIRST_MONTH_NORTH


def _own_lead(site: Site) -> int:
    """The lead the site asks for, in whole days; 0 when it asks for none."""
    return min(int(site.tighten.get(ENABLE_LEAD, 0)), freeze_windows.MOST_DAYS)


def _typed(what: str, on: date) -> str:
    return f"the usual {what} freeze, {MonthDay(on.month, on.day).words}, as typed for the site"


def _enable(freezes: FreezeDates, rules: WindowRules, own_lead: int) -> Window:
    lead = max(rules.enable_lead_days, own_lead)
    due = freezes.first - timedelta(days=lead)
    opens = due - timedelta(days=rules.enable_opens_days - rules.enable_lead_days)
    reason = f"{lead} days before {_typed('first', freezes.first)}"
    return Window(FALL_ENABLE, 1, opens, due, working_day(opens + (due - opens) / 2, opens, due), reason)


def _monthly(freezes: FreezeDates, rules: WindowRules) -> Iterator[Window]:
    """Counted from the first freeze each time, so that the 31st comes back after a short month."""
    slack = timedelta(days=rules.monthly_slack_days)
    for ordinal in range(1, 12):
        mark = freezes.first + relativedelta(months=ordinal)
        if mark > freezes.last:
            return
        opens, due = mark - slack, min(mark + slack, freezes.last)
        reason = f"once a month while it freezes: month {ordinal} after {_typed('first', freezes.first)}"
        yield Window(MID_WINTER, ordinal, opens, due, working_day(mark, opens, due), reason)


def _disable(freezes: FreezeDates, rules: WindowRules) -> Window:
    opens = freezes.last + timedelta(days=rules.disable_wait_days)
    due = opens + timedelta(days=rules.disable_open_days)
    reason = f"from {rules.disable_wait_days} days after {_typed('last', freezes.last)}; look at the forecast first"
    return Window(SPRING_DISABLE, 1, opens, due, working_day(opens, opens, due), reason)


@lru_cache(maxsize=1024)
def _yearly(
    frost: freeze_windows.Frost, coldest: freeze_windows.Stretch | None, lead_days: int
) -> tuple[freeze_windows.Window, ...]:
    """The windows of every year: the same for all towers of a site and all its seasons."""
    return tuple(freeze_windows.windows(frost, coldest, lead_days))


def _of_record(site: Site, frost: SiteFrost, freezes: FreezeDates, rules: WindowRules) -> tuple[Window, ...]:
    lead = min(max(frost.lead_days, _own_lead(site)), freeze_windows.MOST_DAYS)
    enable, *between, disable = _yearly(frost.frost, frost.coldest, lead)
    due = freezes.first - timedelta(days=lead)
    opens = due - timedelta(days=freeze_windows.ENABLE_OPEN_DAYS)
    first = Window(FALL_ENABLE, 1, opens, due, working_day(opens + (due - opens) / 2, opens, due), enable.reason)
    out = freezes.last + timedelta(days=1)
    late = out + timedelta(days=freeze_windows.DISABLE_OPEN_DAYS)
    last = Window(SPRING_DISABLE, 1, out, late, working_day(out, out, late), disable.reason)
    checks = _checks(site, between, freezes, rules)
    return tuple(each._replace(reason=f"{each.reason} ({frost.source})") for each in (first, *checks, last))


def _checks(
    site: Site, between: Sequence[freeze_windows.Window], freezes: FreezeDates, rules: WindowRules
) -> Iterator[Window]:
    """Monthly visits and the one before the coldest days; a month's own that meets that one is not asked beside it."""
    season, slack = season_of(freezes.first, site.latitude_deg), timedelta(days=rules.monthly_slack_days)
    found: list[Window] = []
    cold: list[Window] = []
    for each in between:
        mark = place(str(each.due), season, site.latitude_deg)
        if each.visit is not freeze_windows.Visit.COLDEST:
            found.append(Window(MID_WINTER, 1, mark - slack, min(mark + slack, freezes.last), mark, each.reason))
        elif freezes.first < mark <= freezes.last:
            opens = mark - timedelta(days=freeze_windows.SNAP_LEAD_DAYS)
            cold.append(Window(MID_WINTER, 1, opens, mark, opens + (mark - opens) / 2, each.reason))
    apart = [own for own in found if not any(own.opens <= one.due and one.opens <= own.due for one in cold)]
    for ordinal, check in enumerate(sorted([*apart, *cold], key=lambda one: one.due), 1):
        yield check._replace(ordinal=ordinal, planned=working_day(check.planned, check.opens, check.due))
