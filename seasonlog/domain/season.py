"""The freeze season: which one a day belongs to, when it freezes first and last, and the windows of its visits.

A season runs August to July north of the equator, February to January south of it, and is named by its first year,
so that no winter is ever cut in two. Nothing here reads a clock: every day is handed in.

A window is `opens` to `due`: `due` is the last sensible day, the one after which the tower may freeze unprotected (or
be heated for nothing). `WindowRules` holds the figures and says which of them have a source.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import NamedTuple

from dateutil.relativedelta import relativedelta

from seasonlog.domain.register import Site

FALL_ENABLE = "fall-enable"
"""Checklist that proves a tower protected for the season."""

MID_WINTER = "mid-winter"
"""Checklist of the monthly verification while it can freeze."""

SPRING_DISABLE = "spring-disable"
"""Checklist that switches the heaters off and proves them off."""

FIRST_MONTH_NORTH = 8
"""August: the season's first month north of the equator and on it."""

FIRST_MONTH_SOUTH = 2
"""February: the season's first month south of the equator."""

_SATURDAY = 5


@dataclass(frozen=True, slots=True)
class WindowRules:
    """How far around a site's usual freeze dates the windows lie.

    The two margins of three weeks rest on the NCEI climate normals 1991-2020 of 17 stations in the United States: the
    first 32 degF freeze that comes earlier in one year of ten lies 11 to 17 days before the median, the last one that
    comes later in one year of ten 10 to 22 days after it. The other figures are common practice, no source.
    """

    enable_opens_days: int = 56
    """The fall enable opens this many days before the first freeze: time left for repairs and parts."""

    enable_lead_days: int = 21
    """Safety lead: the fall enable is due this many days before the first freeze."""

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


class FreezeDates(NamedTuple):
    """A site's first and last freeze, placed in one season."""

    first: date
    """First freeze of the season, as the site names it."""

    last: date
    """Last freeze of the season."""


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


def freeze_dates(site: Site, season: int) -> FreezeDates:
    """The site's usual first and last freeze, placed in the season that starts in the year given."""
    return FreezeDates(
        place(site.first_freeze, season, site.latitude_deg), place(site.last_freeze, season, site.latitude_deg)
    )


def windows(site: Site, season: int, rules: WindowRules | None = None) -> tuple[Window, ...]:
    """The visits of a season, in order: fall enable, one verification a month, spring disable.

    Freeze dates that are swapped (the last before the first) give no monthly visit; the check of the register is
    where that is said.
    """
    rules = rules or WindowRules()
    freezes = freeze_dates(site, season)
    return (_enable(freezes, rules), *_monthly(freezes, rules), _disable(freezes, rules))


def working_day(day: date, first: date, last: date) -> date:
    """The day itself, or where it falls on a weekend the nearest weekday that lies inside first to last."""
    for days in (0, 1, 2, -1, -2):
        near = day + timedelta(days=days)
        if near.weekday() < _SATURDAY and first <= near <= last:
            return near
    return day


def _first_month(latitude_deg: Decimal | float) -> int:
    return FIRST_MONTH_SOUTH if is_southern(latitude_deg) else FIRST_MONTH_NORTH


def _enable(freezes: FreezeDates, rules: WindowRules) -> Window:
    opens = freezes.first - timedelta(days=rules.enable_opens_days)
    due = freezes.first - timedelta(days=rules.enable_lead_days)
    middle = opens + (due - opens) / 2
    return Window(FALL_ENABLE, 1, opens, due, working_day(middle, opens, due))


def _monthly(freezes: FreezeDates, rules: WindowRules) -> Iterator[Window]:
    """Counted from the first freeze each time, so that the 31st comes back after a short month."""
    slack = timedelta(days=rules.monthly_slack_days)
    for ordinal in range(1, 12):
        mark = freezes.first + relativedelta(months=ordinal)
        if mark > freezes.last:
            return
        opens, due = mark - slack, min(mark + slack, freezes.last)
        yield Window(MID_WINTER, ordinal, opens, due, working_day(mark, opens, due))


def _disable(freezes: FreezeDates, rules: WindowRules) -> Window:
    opens = freezes.last + timedelta(days=rules.disable_wait_days)
    due = opens + timedelta(days=rules.disable_open_days)
    return Window(SPRING_DISABLE, 1, opens, due, working_day(opens, opens, due))
