"""The season at a glance: of every site, or of the towers of one, the weeks with frost, windows, plan and work done."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from seasonlog.domain import season_weeks
from seasonlog.domain.climate_record import Basis, SiteClimate, month_day
from seasonlog.domain.due_state import DueState
from seasonlog.domain.plain_words import plain
from seasonlog.domain.register import Site
from seasonlog.domain.season import freeze_dates, season_name, season_of, serves
from seasonlog.domain.season_due import DueHistory, DueItem, due_words, to_do
from seasonlog.domain.season_weeks import Chances, Count, Mark, SeasonWeeks, Span, chances_of, week_shares
from seasonlog.domain.text import visible
from seasonlog.errors import InputRefusedError, Problem
from seasonlog.journal import climate_queries
from seasonlog.services import registry, season
from seasonlog.services.logbook import Logbook


@dataclass(frozen=True, slots=True)
class Lane:
    """What stands on one strip."""

    spans: tuple[Span, ...]
    marks: tuple[Mark, ...]
    count: Count
    next_words: str
    """What is to be done now or comes next, and how it stands; empty when nothing does."""


@dataclass(frozen=True, slots=True)
class SiteStrip:
    """One site over its season."""

    id: str
    name: str
    season: str
    """`winter 2026/27`."""
    towers: int
    weeks: SeasonWeeks
    today: int
    """The week of the day asked about."""
    shares: tuple[float, ...]
    """Chance of each week to lie between first and last freeze, 0 to 1; empty where no record tells it."""
    usual: tuple[int, ...]
    """The weeks of the typed first and last freeze, where these are all that is known."""
    basis: str
    """Whose freeze dates, in a word: typed, published, own record."""
    basis_words: str
    """The same with the dates."""
    lane: Lane


@dataclass(frozen=True, slots=True)
class TowerStrip:
    """One tower over its site's season."""

    id: str
    name: str
    lane: Lane


@dataclass(frozen=True, slots=True)
class SiteTowers:
    """A site with its towers."""

    site: SiteStrip
    towers: tuple[TowerStrip, ...]


SHORT = {Basis.PUBLISHED: "published", Basis.SIMULATED: "own record", Basis.RAW: "own record", Basis.TYPED: "typed"}


def site_strips(book: Logbook, today: date) -> list[SiteStrip]:
    """Every site, the one with most overdue and due first.

    Args:
        book: The log.
        today: The day asked about.
    """
    register = registry.towers_and_sites(book.db)
    items: dict[str, list[DueItem]] = {site: [] for site in register.sites}
    for item in season.items(book, today):
        items[item.site].append(item)
    climates = climate_queries.climates(book.db)
    found = [
        _site(site, len(register.towers_of(site.id)), climates.get(site.id), items[site.id], today)
        for site in register.sites.values()
    ]
    return sorted(found, key=lambda each: (-each.lane.count.overdue, -each.lane.count.due_now, each.name))


def tower_strips(book: Logbook, site: str, today: date, past: DueHistory | None = None) -> SiteTowers:
    """One site and each of its towers, in the order of their ids.

    Args:
        book: The log.
        site: Site id.
        today: The day asked about.
        past: What `season.history` gives, when the caller asks about many sites.

    Raises:
        InputRefusedError: no such site, now or before; of one that was retired there is no tower.
    """
    register, known = registry.of_site(book.db, site), registry.site(book.db, site, ever=True)
    if known is None:
        says = "is not in the register; `seasonlog register list site` names all"
        raise InputRefusedError([Problem(f"site {visible(site)}", says)])
    items = season.items(book, today, site=site, past=past)
    towers = sorted(register.towers_of(site), key=lambda tower: tower.id)
    whole = _site(known, len(towers), climate_queries.climate(book.db, site), items, today)
    ours = [(tower, [item for item in items if item.tower == tower.id]) for tower in towers]
    made = (TowerStrip(tower.id, tower.name, _lane(own, whole.weeks, today, whole=False)) for tower, own in ours)
    return SiteTowers(whole, tuple(made))


def _site(site: Site, towers: int, climate: SiteClimate | None, items: Sequence[DueItem], today: date) -> SiteStrip:
    year = season_of(today, site.latitude_deg)
    weeks = SeasonWeeks.of(year, float(site.latitude_deg))
    known = climate if serves_site(climate, site) else None
    chances = chances_of(known)
    usual = freeze_dates(site, year)
    return SiteStrip(
        id=site.id,
        name=site.name,
        season=season_name(year, site.latitude_deg),
        towers=towers,
        weeks=weeks,
        today=weeks.week(today),
        shares=week_shares(weeks, chances) if chances else (),
        usual=() if known else tuple(weeks.week(day) for day in usual),
        basis=SHORT[known.basis if known else Basis.TYPED],
        basis_words=basis_words(site, climate),
        lane=_lane(items, weeks, today, whole=True),
    )


def _lane(items: Sequence[DueItem], weeks: SeasonWeeks, today: date, *, whole: bool) -> Lane:
    """The strip of a whole site, or of one tower."""
    coming = [item for item in items if item.state is DueState.UPCOMING]
    found = next(iter([*to_do(items), *coming]), None)
    marks = tuple(season_weeks.marks(items, weeks))
    words = "" if found is None else _at_site(found, today) if whole else _at_tower(found, today)
    return Lane(season_weeks.spans(items, weeks), marks, season_weeks.count(items), words)


def _at_site(item: DueItem, today: date) -> str:
    return f"{plain(item.checklist)} at {item.tower} {_stands(item, today)}"


def _at_tower(item: DueItem, today: date) -> str:
    name = plain(item.checklist)
    if not item.planned_with:
        return f"{name} {due_words(item, today)}"
    is_over = item.planned < today
    plan = f"not made on {item.planned} as planned" if is_over else f"{item.planned_with} on {item.planned}"
    return f"{name} {_stands(item, today)}; {plan}"


def _stands(item: DueItem, today: date) -> str:
    """How it stands, without what is planned."""
    return due_words(item, today).partition(";")[0].partition(",")[0]


def serves_site(climate: SiteClimate | None, site: Site) -> bool:
    """Whether the windows rest on the record: it tells dates that serve, of the site's own half of the earth."""
    return climate is not None and serves(climate.frost(0), site)


def basis_words(site: Site, climate: SiteClimate | None) -> str:
    """Whose freeze dates a site's windows rest on, in short words.

    Args:
        site: With the usual dates as typed.
        climate: Its newest record, or None.
    """
    if climate is None or not serves_site(climate, site):
        first, last = month_day(site.first_freeze).words, month_day(site.last_freeze).words
        return f"usually {first} to {last}, as typed"
    used = climate.body["used"]
    first, last = (month_day(used[each]).words for each in ("first", "last"))
    return f"1 winter in 10 by {first}, or still on {last}{_how_often(chances_of(climate))}"


def _how_often(chances: Chances | None) -> str:
    if chances is None:
        return "; chances not known"
    if not chances.is_told:
        return "; of the winters that freeze"
    return "" if chances.comes >= 1.0 else f"; {100 * chances.comes:.0f} % of the winters freeze"
