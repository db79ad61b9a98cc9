"""A year of the sample sites, lived through service by service; what happens is kept by hand beside the log."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime
from pathlib import Path

from seasonlog import resources
from seasonlog.domain.plan_record import PlannedVisit
from seasonlog.domain.season import FALL_ENABLE, SPRING_DISABLE, Window
from seasonlog.domain.season_due import DueItem, DueKey
from seasonlog.domain.visit import VisitState
from seasonlog.journal.plan_queries import planned_visits
from seasonlog.services import board, climate, closing, cold_snap, exposure, plan, registry, rounds, season, today
from seasonlog.services import register as equipment
from seasonlog.services.logbook import Logbook
from seasonlog.services.plan import Absence, Request, Workplan
from tests.builders import INSTRUMENTS, FixedClock, a_visit, answered
from tests.services.climate_samples import asked, imported, winters
from tests.services.plan_samples import as_published, is_legal

ZONES = {
    "HOS": "America/Chicago", "DAT": "America/Denver", "ULV": "America/New_York", "ICE": "America/Toronto",
    "ORR": "Pacific/Auckland",
}  # fmt: skip
DRY = {"ULV-5", "ICE-3"}
KIT = INSTRUMENTS | {"refractometer": "RF-01"}
FILE = (Path(str(resources.sample_sites())) / "plan" / "plan.toml").read_text("utf-8")
LATE, EARLY, NEVER, GONE = "HOS-2", "DAT-5", "HOS-1", "HOS-6"
"""Their fall enables: made after the last sensible day, a day before the plan, not possible at first, dropped."""
ILL = date(2026, 8, 20), date(2026, 8, 28)
CANNOT_TELL = "ULV-2"
"""Its wiring is not on record, so that its float's volts prove nothing."""


@dataclass
class Moment:
    """What the program shows on a day, and what is known by then."""

    on: date
    done: Mapping[DueKey, date]
    dropped: frozenset[DueKey]
    items: Sequence[DueItem]
    rows: Mapping[str, board.TowerRow]
    exposed: exposure.ExposureBoard
    board: today.TodayBoard
    planned: Mapping[DueKey, PlannedVisit]
    log: str
    calendar: bytes


@dataclass
class Repair:
    """A plan before and after somebody was ill."""

    before: Workplan
    draft: Workplan
    after: Workplan


@dataclass
class Year:
    """The log, and by hand what is done to it."""

    book: Logbook
    clock: FixedClock
    done: dict[DueKey, date] = field(default_factory=dict)
    dropped: set[DueKey] = field(default_factory=set)
    moments: list[Moment] = field(default_factory=list)
    windows: dict[str, tuple[Window, ...]] = field(default_factory=dict)
    repairs: list[Repair] = field(default_factory=list)

    def at(self, on: date) -> None:
        self.clock.now = datetime(on.year, on.month, on.day, 15, tzinfo=UTC)

    def visit(self, key: DueKey, on: date, who: str = "mirel") -> None:
        """One healthy visit, made and signed by a person on a day."""
        self.at(on)
        self.book.who = registry.shared(self.book.db).people[who].name
        started = rounds.start(self.book, rounds.Start(key.tower, key.checklist, KIT), on)
        assert (started.visit.season, started.visit.ordinal) == (key.season, key.ordinal)
        closing.sign_off(self.book, answered(self.book, started), closing.NOT_AVAILABLE)
        self.done[key] = on

    def as_planned(self, first: date, last: date, but: Sequence[str] = ()) -> None:
        """Every planned visit of these days on its day, by its person, except to some towers."""
        work = as_published(self.book, first)
        for made in work.plan.assignments:
            key = work.inputs.items[made.job].key
            if first <= made.day <= last and key.tower not in but and key not in self.done:
                self.visit(key, made.day, made.worker)

    def repaired(self, on: date, days: int, away: Sequence[Absence] = (), because: str = "") -> None:
        self.at(on)
        before = as_published(self.book, on)
        work = plan.replanned(self.book, Request(on, on, days), away)
        assert is_legal(work)
        plan.publish(self.book, work, because)
        self.repairs.append(Repair(before, work, as_published(self.book, on)))

    def look(self, on: date) -> None:
        self.at(on)
        towers = list(registry.towers_and_sites(self.book.db).towers)
        self.moments.append(
            Moment(
                on, dict(self.done), frozenset(self.dropped), season.items(self.book, on),
                {row.id: row for row in board.tower_rows(self.book, towers, on)},
                exposure.exposure(self.book, on, exposure.Asked()), today.today_board(self.book, on),
                {each.key: each for each in planned_visits(self.book.db)}, self.book.journal.log_id,
                season.calendar(self.book, on),
            )
        )  # fmt: skip


def key(tower: str, checklist: str = FALL_ENABLE, year: int = 2026, ordinal: int = 1) -> DueKey:
    return DueKey(tower, checklist, year, ordinal)


def lived(book: Logbook, clock: FixedClock) -> Year:
    """The year, from August to July."""
    year = Year(book, clock)
    begin(year)
    autumn(year)
    winter(year)
    spring(year)
    return year


def begin(year: Year) -> None:
    """Weather is imported for two sites, a plan is drafted and published."""
    on = date(2026, 8, 14)
    year.at(on)
    imported(year.book, asked("HOS", winters(mean_degf=36)))
    imported(year.book, asked("ORR", winters(south=True)))
    year.windows = {each.site.id: each.windows for each in climate.bases(year.book, on)}
    entries = year.book.journal.count()
    work = plan.draft(year.book, Request(on, date(2026, 8, 17), 56, file=FILE))
    assert is_legal(work)
    assert year.book.journal.count() == entries
    plan.publish(year.book, work)
    year.look(on)


def autumn(year: Year) -> None:
    """One is early, one not possible, one dropped, one late; a person is ill for nine days."""
    year.visit(key(EARLY), date(2026, 8, 17), "tobrin")
    year.as_planned(date(2026, 8, 17), date(2026, 8, 18))
    year.at(date(2026, 8, 19))
    year.book.who = "Mirel Oduvane"
    stopped = a_visit(year.book, NEVER, FALL_ENABLE, date(2026, 8, 19))
    closing.close_unfinished(year.book, stopped, VisitState.NOT_POSSIBLE, "lightning")
    year.visit(key("HOS-3"), date(2026, 8, 19))
    year.repaired(ILL[0], 53, [Absence("mirel", *ILL)], "ill")
    year.at(date(2026, 8, 31))
    season.drop(
        year.book, season.DueRequest(GONE, FALL_ENABLE), "basin stays empty until the crane has gone", date(2026, 8, 31)
    )
    year.dropped.add(key(GONE))
    year.as_planned(date(2026, 8, 20), date(2026, 9, 30))
    year.look(date(2026, 10, 1))
    year.visit(key(LATE), date(2026, 10, 2))


def winter(year: Year) -> None:
    """A new way to the roof, monthly visits over the change of the clock, the south's spring, and a cold snap."""
    new_way = replace(registry.whole(year.book.db).sites["HOS"], access="Ladder at the north door")
    equipment.write(year.book, equipment.preview(registry.whole(year.book.db), [new_way]), "hatch walled up")
    year.repaired(date(2026, 10, 16), 84)
    year.as_planned(date(2026, 10, 16), date(2026, 12, 4), but=["ULV-2", "ORR-1", "ORR-2", "ORR-3"])
    for number in (1, 2):
        year.visit(key(f"ORR-{number}", SPRING_DISABLE), date(2026, 11, 16), "halden")
    on = date(2026, 12, 7)
    year.at(on)
    lows = {date(2026, 12, 10): 12.0, date(2026, 12, 11): 4.0, date(2026, 12, 12): 30.0}
    cold_snap.keep(year.book, cold_snap.look(year.book, "HOS", cold_snap.Forecast(lows, "typed"), on))
    year.repaired(on, 30)
    year.as_planned(on, date(2026, 12, 12))
    year.look(date(2026, 12, 14))


def spring(year: Year) -> None:
    """The south's next season begins; the north is switched off."""
    for number in (1, 2):
        year.visit(key(f"ORR-{number}", FALL_ENABLE, 2027), date(2027, 3, 22), "halden")
    year.repaired(date(2027, 5, 24), 60)
    year.as_planned(date(2027, 5, 24), date(2027, 7, 22), but=["ORR-1", "ORR-2", "ORR-3"])
    year.look(date(2027, 7, 23))
