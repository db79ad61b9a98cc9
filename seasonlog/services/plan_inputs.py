"""What a planner is given: the season's due visits, the register and the plan file, made into one instance."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import cached_property

from seasonlog.domain.checklist import applicable
from seasonlog.domain.due_state import DueState
from seasonlog.domain.plan_record import PlanBasis, PlannedVisit
from seasonlog.domain.register import Person, Register
from seasonlog.domain.season import COLD_SNAP, FALL_ENABLE, MID_WINTER
from seasonlog.domain.season_due import DRAINED, SETTLED, DueHistory, DueItem, DueKey, to_do
from seasonlog.errors import InputRefusedError, Problem
from seasonlog.intake.plan_file import FileAppointment, PlanFile, read_plan_file
from seasonlog.intake.plan_values import days_of
from seasonlog.journal.plan_queries import planned_visits
from seasonlog.planning.model import Appointment, Assignment, Instance, Job, LeftOut, Place, Plan, Roads, Worker
from seasonlog.services import checklists, registry, season
from seasonlog.services.logbook import Logbook

LATE_DAYS = 6
"""An overdue visit is planned within so many days after the first one of the plan. Common practice, no source."""
LONGEST_DAYS = 400
"""Days a plan may cover."""
NOT_YET = "it is not in the published plan"


@dataclass(frozen=True, slots=True)
class Span:
    """The days a plan is about."""

    today: date
    """The day the season is looked at."""
    first: date
    """First day on which anything may be planned."""
    last: date
    since: date
    """First day that is looked at at all: days gone by hold what was done, and what was not."""


@dataclass(frozen=True)
class Inputs:
    """An instance, and what its names stand for."""

    basis: PlanBasis
    span: Span
    register: Register
    instance: Instance
    items: Mapping[str, DueItem]
    """By the id of its job."""
    done: frozenset[str]
    """Jobs that were made on the day they were planned for; they keep their time."""
    published: Mapping[DueKey, PlannedVisit]
    added: Mapping[DueKey, DueItem]
    """Visits put into the plan by a person and not published yet."""
    notes: tuple[str, ...]
    """What in the plan file is of no use now, in sentences."""

    @cached_property
    def plan(self) -> Plan:
        """The published plan in the planner's own values, as far as its people and days are still there."""
        people = {worker.id for worker in self.instance.workers}
        days = frozenset(self.instance.days)
        made = [each for each in self.as_published if each.worker in people and each.day in days]
        planned = {each.job for each in made}
        why = {job_id(key): was.because for key, was in self.published.items()}
        left = [name for name in sorted(self.items) if name not in planned and name not in self.done]
        return Plan(tuple(made), tuple(LeftOut(name, why.get(name) or NOT_YET) for name in left))

    @cached_property
    def as_published(self) -> tuple[Assignment, ...]:
        """What was published of the visits that are still to be made or were made as planned."""
        return tuple(
            _assignments((job_id(key), was) for key, was in self.published.items() if job_id(key) in self.items)
        )


def _assignments(known: Iterable[tuple[str, PlannedVisit]]) -> Iterator[Assignment]:
    order: Counter[tuple[str, date]] = Counter()
    for name, was in sorted(known, key=lambda each: (each[1].day or date.min, each[1].person, each[1].start_minute)):
        if was.day is not None:
            order[was.person, was.day] += 1
            end = was.start_minute + was.minutes
            yield Assignment(name, was.person, was.day, order[was.person, was.day], was.start_minute, end)


def job_id(key: DueKey) -> str:
    """What a visit is called in a plan: `HOS-1 fall-enable 2026-1`."""
    return f"{key.tower} {key.checklist} {key.season}-{key.ordinal}"


def _in_order(jobs: Sequence[Job], items: Mapping[str, DueItem]) -> list[Job]:
    """Each check of the winter after its tower's fall enable of the same season, where that can still come before it.

    A cold-snap check is better made alone than not at all; a monthly one looks for what was proven in fall.
    """
    enables = {_winter(items[j.id]): j for j in jobs if j.checklist == FALL_ENABLE and j.id in items}

    def placed(job: Job) -> Job:
        is_check = job.checklist in (MID_WINTER, COLD_SNAP) and job.id in items
        first = enables.get(_winter(items[job.id])) if is_check else None
        if first is None or first.first_day > job.last_day:
            return job
        return replace(job, after=first.id, is_look=job.checklist == COLD_SNAP)

    return [placed(job) for job in jobs]


def _winter(item: DueItem) -> tuple[str, int]:
    return item.tower, item.season


def gather(book: Logbook, basis: PlanBasis, span: Span, added: Mapping[DueKey, DueItem] | None = None) -> Inputs:
    """The instance as the log, the register and the plan file make it now.

    Args:
        book: The log.
        basis: The plan file and who is away.
        span: The days.
        added: Visits to plan that are not in the log yet.

    Raises:
        InputRefusedError: the plan file is wrong or does not go with the register; every problem is named.
    """
    file = read_plan_file(basis.text.encode(), "plan file")
    register = registry.wintering(registry.whole(book.db), book.db, span.first)
    published = {each.key: each for each in planned_visits(book.db)}
    span = replace(span, last=max([span.last, *(each.day for each in published.values() if each.day)]))
    return _Gathering(book, basis, file, register, span, published, dict(added or {})).inputs()


@dataclass
class _Gathering:
    book: Logbook
    basis: PlanBasis
    file: PlanFile
    register: Register
    span: Span
    published: Mapping[DueKey, PlannedVisit]
    added: Mapping[DueKey, DueItem]

    def inputs(self) -> Inputs:
        self.problems: list[Problem] = []
        self.notes: list[str] = []
        self.live: dict[str, bool] = {}
        self._refuse_unknown_checklists()
        due = [*season.items(self.book, self.span.today), *self.added.values()]
        open_items = {job_id(item.key): item for item in self._wanted(due)}
        done = {job_id(item.key): item for item in due if self._is_done_as_planned(item)}
        items = open_items | done
        agreed, told = self._agreed(open_items, due)
        workers = tuple(self._workers())
        jobs = [job for name, item in items.items() if (job := self._job(name, item, agreed.get(name)))]
        jobs = _in_order(jobs, open_items)
        items = {job.id: items[job.id] for job in jobs}
        added = {key: item for key, item in self.added.items() if job_id(key) in items}
        roads = self._roads()
        if self.problems:
            raise InputRefusedError(self.problems)
        days = (self.span.since + timedelta(days=n) for n in range((self.span.last - self.span.since).days + 1))
        working = tuple(day for day in days if self.file.works_on(day))
        instance = Instance(working, workers, tuple(jobs), self._places(), roads)
        return Inputs(
            self.basis, self.span, self.register, instance, items, frozenset(done), self.published, added,
            (*told, *self.notes),
        )  # fmt: skip

    def _refuse_unknown_checklists(self) -> None:
        """A mistyped id would leave its minutes or its appointment without effect."""
        shipped = checklists.shipped()
        others = [each for each in self.file.checklists if each[0] not in shipped]
        known = checklists.available(self.book.places.checklists) if others else shipped
        for checklist, where in others:
            if checklist not in known:
                self._problem(where, f"{checklist} is no checklist; there are {', '.join(sorted(known))}")

    def _wanted(self, due: Sequence[DueItem]) -> Iterator[DueItem]:
        """What may be made in these days; of several missed months the latest, and nothing a person moved beyond."""
        latest = {item.key for item in to_do(due)}
        for item in due:
            if item.state in SETTLED or item.opens > self.span.last:
                continue
            missed = item.state is DueState.OVERDUE and item.key not in latest
            moved = self._moved_by_hand(item)
            if not missed and (moved is None or moved <= self.span.last):
                yield item

    def _moved_by_hand(self, item: DueItem) -> date | None:
        """The day a person chose for a visit, after the plan was published or without one."""
        was = self.published.get(item.key)
        moved = self._history.moved.get(item.key)
        return moved if moved and not (was and was.day) and moved >= self.span.first else None

    @cached_property
    def _history(self) -> DueHistory:
        return season.history(self.book)

    def _is_done_as_planned(self, item: DueItem) -> bool:
        was = self.published.get(item.key)
        is_now = was is not None and was.day is not None and was.day >= self.span.since
        return is_now and item.state is DueState.DONE and was is not None and item.planned == was.day

    def _job(self, name: str, item: DueItem, agreed: FileAppointment | None) -> Job | None:
        tower = self.register.towers[item.tower]
        site = self.register.sites[item.site]
        minutes = self.file.minutes_for(item.checklist, tower.kind, is_drained=tower.winter == DRAINED)
        if minutes is None and item.key in self.added and item.reason:  # the record asked for it, not a person
            self.notes.append(f"{item.tower}, {item.why}: the plan file does not say how long {item.checklist} takes.")
            return None
        if minutes is None:
            self._problem("plan file, minutes", f"does not say how long {item.checklist} takes; add it, or other = 60")
            return None
        first, last = self._window(item)
        return Job(
            name, item.tower, item.site, item.checklist, minutes, first, last,
            needs_qualified=self._is_live(item),
            access=site.access or "",
            appointment=Appointment(agreed.day, agreed.from_minute, agreed.to_minute) if agreed else None,
        )  # fmt: skip

    def _window(self, item: DueItem) -> tuple[date, date]:
        """The visit's own days; an overdue one gets the next few; one that a person moved gets that day alone."""
        was = self.published.get(item.key)
        opens = min(item.opens, item.due) if was and was.day else max(min(item.opens, item.due), self.span.first)
        last = item.due if item.due >= self.span.first else self.span.first + timedelta(days=LATE_DAYS)
        moved = self._moved_by_hand(item)
        return (moved, moved) if moved and opens <= moved <= last else (opens, last)

    def _is_live(self, item: DueItem) -> bool:
        """Whether the checklist asks this tower for a step on live parts; one that is not known is taken to."""
        try:
            checklist = checklists.named(item.checklist, self.book.places.checklists)
        except InputRefusedError:
            return True
        if item.checklist not in self.live:
            self.live[item.checklist] = any(step.live for step in checklist.steps)
        asked = applicable(checklist, self.register, item.tower) if self.live[item.checklist] else ()
        return any(each.step.live for each in asked)

    def _workers(self) -> Iterator[Worker]:
        for each in self.file.people:
            person = self.register.people.get(each.id)
            if person is None or "technician" not in person.roles:
                self._problem(
                    each.where, f"{each.id} is no technician of the register (`seasonlog register list person`)"
                )
                continue
            leave, gone = _away(self.basis, each.id, each.hours.start)
            length = each.hours.end - each.hours.start
            yield Worker(
                each.id, each.base, length, each.hours.start, each.leave | leave, _qualified_until(person), gone,
                person.name,
            )  # fmt: skip

    def _places(self) -> dict[str, Place]:
        sites = {s.id: Place(float(s.latitude_deg), float(s.longitude_deg)) for s in self.register.sites.values()}
        return sites | {name: Place(base.lat_deg, base.lon_deg) for name, base in self.file.bases.items()}

    def _roads(self) -> Roads:
        for name, base in self.file.bases.items():
            if name in self.register.sites:
                self._problem(base.where, f"{name} is the id of a site; give the base another one")
        for name, where in self.file.ways_where.items():
            if name not in self.register.sites and name not in self.file.bases:
                self._problem(where, f"{name} is neither a site of the register nor a base of this file")
        ways = {(b, a): minutes for (a, b), minutes in self.file.ways.items()} | dict(self.file.ways)
        usual = Roads()
        return Roads(self.file.factor or usual.factor, self.file.speed_kmh or usual.speed_kmh, ways)

    def _agreed(
        self, items: Mapping[str, DueItem], due: Sequence[DueItem]
    ) -> tuple[dict[str, FileAppointment], list[str]]:
        """Appointments by job, and a sentence for each that meets nothing or is past.

        One beyond the span holds its visit back: the planner leaves it out and says so.
        """
        found: dict[str, FileAppointment] = {}
        notes: list[str] = []
        for each in self.file.appointments:
            if each.tower not in self.register.towers:
                self._problem(each.where, f"tower {each.tower} is not in the register")
                continue
            ours = {n: i for n, i in items.items() if (i.tower, i.checklist) == (each.tower, each.checklist)}
            fitting = [n for n, i in ours.items() if i.opens <= each.day <= i.due]
            name = next(iter([*fitting, *ours]), None)
            if name is not None and each.day >= self.span.first:
                found[name] = each
            elif says := self._meets_nothing(each, due, is_open=name is not None):
                notes.append(f"{each.where}: {says}")
        return found, notes

    def _meets_nothing(self, agreed: FileAppointment, due: Sequence[DueItem], *, is_open: bool) -> str:
        """What is wrong with an appointment that is kept to by no visit; nothing where it was made or comes later."""
        ours = [i for i in due if (i.tower, i.checklist) == (agreed.tower, agreed.checklist)]
        if not is_open and any(i.state is DueState.DONE for i in ours):
            return ""
        if agreed.day < self.span.first:
            return f"agreed for {agreed.day}, which is past on {self.span.first}; no visit is held to it."
        if agreed.day > self.span.last and any(i.opens <= agreed.day <= i.due for i in ours):
            return ""
        days = "in these days" if agreed.day <= self.span.last else f"around {agreed.day}"
        return f"nothing of this kind is due at {agreed.tower} {days}."

    def _problem(self, where: str, says: str) -> None:
        problem = Problem(where, says)
        if problem not in self.problems:
            self.problems.append(problem)


def _away(basis: PlanBasis, person: str, begins: int) -> tuple[frozenset[date], dict[date, int]]:
    """Whole days a person was taken out for, and the days that end early, with their time."""
    away = [span for span in basis.away if span.person == person]
    gone: dict[date, int] = {}
    whole: set[date] = set()
    for span in away:
        is_early = span.from_minute > begins
        whole |= days_of(span.first, span.last) - ({span.first} if is_early else set())
        if is_early:
            gone[span.first] = min(span.from_minute, gone.get(span.first, span.from_minute))
    return frozenset(whole), gone


def _qualified_until(person: Person) -> date | None:
    """Last day of the qualification for energised work; the end of time where the register sets none."""
    if not person.qualified_energised:
        return None
    return person.qualified_until or date.max
