"""The plan: drafted from what is due, published as entries of the log, repaired when something happens.

A draft is kept beside the log (`plan_draft`) until it is published; nothing but `publish` writes into the log.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from seasonlog.domain.due_state import DueState
from seasonlog.domain.plan_record import AwaySpan, PlanBasis, PlannedVisit, body_of, says_the_same
from seasonlog.domain.records import Kind, Record
from seasonlog.domain.season_due import DueItem, DueKey
from seasonlog.errors import InputRefusedError, Problem
from seasonlog.intake.plan_file import read_plan_file
from seasonlog.journal.plan_queries import plan_basis, planned_visits
from seasonlog.planning.checker import broken_rules
from seasonlog.planning.model import Assignment, Instance, LeftOut, Plan
from seasonlog.planning.replan import Move, replan
from seasonlog.planning.vrp import Progress, best_greedy, improve
from seasonlog.services import checklists, plan_findings, registry, season
from seasonlog.services.logbook import Logbook
from seasonlog.services.plan_inputs import LONGEST_DAYS, NOT_YET, Inputs, Span, gather, job_id
from seasonlog.services.reasons import note_in, refuse
from seasonlog.services.rounds import person_of

USUAL_DAYS = 28
"""Days a plan covers when nobody says. By reasoning, no source: four weeks are what a window leaves on average."""
SIMPLE = "The simple plan: what is due next and near goes first."
NO_FILE = (
    "no plan was published yet, so nobody is known who could be sent; hand in a plan file with --file"
    " (sample_sites/FORMAT.md tells what stands in it)"
)


@dataclass(frozen=True)
class Workplan:
    """A plan with everything it was made from."""

    inputs: Inputs
    plan: Plan
    is_draft: bool
    """Not in the log yet."""
    by: str = ""
    """`greedy`, `pyvrp`, `replan` or `hand`; empty for the published one."""
    says: str = ""
    """One sentence for the person who plans."""
    moved: tuple[Move, ...] = ()
    """What is on another day or with another person than published."""

    @property
    def broken(self) -> list[str]:
        """Every hard rule that it breaks, in sentences."""
        inputs = self.inputs
        ahead = replace(self.plan, assignments=tuple(m for m in self.plan.assignments if self._counts(m)))
        unheard = [name for name in inputs.items if name not in {m.job for m in ahead.assignments}]
        left = {each.job for each in self.plan.left_out}
        past = frozenset(name for name in unheard if name not in left)
        return broken_rules(inputs.instance, ahead, inputs.done | past)

    def _counts(self, made: Assignment) -> bool:
        """Work of days gone by that was not done is no part of the plan any more; it is told as missed."""
        return made.day >= self.inputs.span.first or made.job in self.inputs.done

    @property
    def missed(self) -> list[Assignment]:
        """Planned for a day that is over, and not done."""
        return [made for made in self.plan.assignments if not self._counts(made)]


@dataclass(frozen=True, slots=True)
class Request:
    """What is to be planned."""

    today: date
    first: date
    days: int = USUAL_DAYS
    file: str | None = None
    """The plan file's text; None: the one of the published plan."""
    seconds: float = 0.0
    """How long PyVRP may look for less driving; 0: it is not asked."""
    seed: int = 1
    findings: bool = False
    """Whether a repaired plan takes in what findings and new heaters ask for; a drafted one always does."""

    def span(self) -> Span:
        """The days."""
        if not 1 <= self.days <= LONGEST_DAYS:
            raise refuse("days", f"a plan covers 1 to {LONGEST_DAYS} days, not {self.days}")
        if self.first < self.today:
            raise refuse("from", f"{self.first} is over; a plan begins today, {self.today}, or later")
        return Span(self.today, self.first, self.first + timedelta(days=self.days - 1), self.today)


def basis_of(book: Logbook, file: str | None) -> PlanBasis:
    """The plan file handed in, with who is away as the log knows it; else the published one.

    Raises:
        InputRefusedError: there is neither.
    """
    kept = plan_basis(book.db)
    if file is not None:
        return PlanBasis(file, kept.away if kept else ())
    if kept is None:
        raise refuse("plan", NO_FILE)
    return kept


def read_file(data: bytes, name: str) -> str:
    """A plan file, read once so that what is wrong with it is told under its own name.

    Raises:
        InputRefusedError: with every problem.
    """
    return read_plan_file(data, name).text


def draft(book: Logbook, wanted: Request, on_progress: Callable[[Progress], object] | None = None) -> Workplan:
    """A plan from what is due, what open findings ask for and new heaters, from the beginning.

    Raises:
        InputRefusedError: the plan file is missing or wrong.
    """
    asked = plan_findings.asked(book, wanted.today, wanted.first)
    inputs = gather(book, basis_of(book, wanted.file), wanted.span(), asked)
    ahead = _ahead(inputs)
    if wanted.seconds > 0:
        found = improve(ahead, wanted.seconds, wanted.seed, on_progress)
        plan, by, says = found.plan, found.by, found.says
    else:
        plan, by, says = best_greedy(ahead), "greedy", SIMPLE
    kept = tuple(made for made in inputs.plan.assignments if made.job in inputs.done)
    fitted = replan(inputs.instance, _joined(kept, plan), inputs.done, (), wanted.first).plan
    return _drafted(inputs, fitted, by, says)


def _ahead(inputs: Inputs) -> Instance:
    """The instance without what is done and the days gone by."""
    days = tuple(day for day in inputs.instance.days if day >= inputs.span.first)
    jobs = tuple(job for job in inputs.instance.jobs if job.id not in inputs.done)
    return replace(inputs.instance, days=days, jobs=jobs)


def _joined(kept: Iterable[Assignment], plan: Plan) -> Plan:
    made = sorted([*kept, *plan.assignments], key=lambda each: (each.day, each.worker, each.start_minute, each.order))
    order: dict[tuple[str, date], int] = {}
    numbered = []
    for each in made:
        order[each.worker, each.day] = number = order.get((each.worker, each.day), 0) + 1
        numbered.append(replace(each, order=number))
    return Plan(tuple(numbered), plan.left_out)


def _drafted(inputs: Inputs, plan: Plan, by: str, says: str) -> Workplan:
    return Workplan(inputs, plan, is_draft=True, by=by, says=says, moved=differences(inputs, plan))


def differences(inputs: Inputs, after: Plan) -> tuple[Move, ...]:
    """What has another person, day or time than published, came in or fell out."""
    old = {made.job: made for made in inputs.as_published}
    new = {made.job: made for made in after.assignments}
    return tuple(
        Move(job, old.get(job), new.get(job))
        for job in sorted({*old, *new})
        if _place(old.get(job)) != _place(new.get(job))
    )


def _place(made: Assignment | None) -> tuple[str, date, int] | None:
    return (made.worker, made.day, made.start_minute) if made else None


def published(book: Logbook, today: date) -> Workplan | None:
    """The published plan as it stands on a day; None when there is none."""
    basis = plan_basis(book.db)
    if basis is None:
        return None
    span = Span(today, today, today + timedelta(days=USUAL_DAYS - 1), _since(book, today))
    inputs = gather(book, basis, span)
    return Workplan(inputs, inputs.plan, is_draft=False)


def _since(book: Logbook, today: date) -> date:
    """The first day of the published plan, as far as it is worth looking back."""
    planned = [each.day for each in planned_visits(book.db) if each.day]
    return max(min([today, *planned]), today - timedelta(days=LONGEST_DAYS))


def of_person(work: Workplan, name: str) -> Workplan:
    """One person's part of a plan.

    Raises:
        InputRefusedError: nobody in the register has this name or id.
    """
    person = person_of(work.inputs.register, name)
    if person is None:
        raise refuse(f"person {name}", "is not in the register; `seasonlog register list person` names all")
    made = tuple(each for each in work.plan.assignments if each.worker == person.id)
    ours = {each.job for each in made}
    items = {name: item for name, item in work.inputs.items.items() if name in ours}
    others = frozenset(work.inputs.items.keys() - ours)
    inputs = replace(work.inputs, items=items, done=work.inputs.done | others)
    return replace(work, inputs=inputs, plan=Plan(made), moved=())


def planned_person(book: Logbook, name: str) -> str:
    """Register id of somebody who is, or was, in the published plan.

    Raises:
        InputRefusedError: nobody of that name is.
    """
    had = {person for each in planned_visits(book.db) for person in each.had}
    person = person_of(registry.shared(book.db), name)
    found = person.id if person else name
    if found not in had:
        people = registry.shared(book.db).people
        names = sorted(people[each].name if each in people else each for each in had)
        raise refuse(f"technician {name}", f"has nothing in the published plan; in it: {', '.join(names) or 'nobody'}")
    return found


@dataclass(frozen=True, slots=True)
class Absence:
    """Somebody cannot work on some days."""

    person: str
    """Register id or name."""
    first: date
    last: date
    from_minute: int = 0
    """When on the first day, unless from its start [minutes after midnight]."""


@dataclass(frozen=True, slots=True)
class Addition:
    """One more visit."""

    tower: str
    checklist: str
    first: date
    last: date
    why: str


def replanned(book: Logbook, wanted: Request, away: Sequence[Absence] = (), added: Sequence[Addition] = ()) -> Workplan:
    """The published plan repaired: what is done stays, what can stay stays, and what moved is told.

    Somebody who falls out from a time of the first day on keeps what was to be finished by then; others keep what they
    had set out for, and take over nothing that would begin earlier.

    Raises:
        InputRefusedError: there is no published plan, or somebody or something named is not there.
    """
    if plan_basis(book.db) is None:
        raise refuse("plan replan", "there is no published plan to repair; `seasonlog plan` drafts one")
    basis = basis_of(book, wanted.file)
    absent = [AwaySpan(_person(book, each), each.first, each.last, each.from_minute) for each in away]
    basis = PlanBasis(basis.text, (*basis.away, *absent))
    span = replace(wanted.span(), since=_since(book, wanted.today))
    asked = plan_findings.asked(book, wanted.today, wanted.first) if wanted.findings else {}
    inputs = gather(book, basis, span, _added(book, added, wanted.today, asked))
    workers = {worker.id for worker in inputs.instance.workers}
    for each in absent:
        if each.person not in workers:
            raise refuse(f"--away {each.person}", "is not in the plan file, so nothing is planned for them")
    made = replan(inputs.instance, inputs.plan, inputs.done, (), wanted.first, _now(wanted.first, basis, absent))
    return _drafted(inputs, made.plan, "replan", made.says)


def _now(day: date, basis: PlanBasis, absent: Sequence[AwaySpan]) -> int:
    """The time of the day from which on it is repaired: when somebody fell out, now or in a repair before."""
    news = [each.from_minute for each in absent if each.first == day]
    return min(news) if news else max((each.from_minute for each in basis.away if each.first == day), default=0)


def _person(book: Logbook, absence: Absence) -> str:
    person = person_of(registry.shared(book.db), absence.person)
    if person is None:
        raise refuse(
            f"--away {absence.person}", "is nobody of the register; `seasonlog register list person` names all"
        )
    return person.id


def _added(
    book: Logbook, wanted: Sequence[Addition], today: date, asked: Mapping[DueKey, DueItem]
) -> dict[DueKey, DueItem]:
    found = dict(asked)
    for each in wanted:
        register = registry.of_known_tower(book.db, each.tower)
        checklist = checklists.named(each.checklist, book.places.checklists).id
        if each.last < max(each.first, today):
            raise refuse(f"--add {each.tower}", f"{each.last} is over, or before its first day")
        year, ordinal = season.unplanned(book, register, each.tower, checklist, today)
        key = DueKey(each.tower, checklist, year, ordinal)
        while key in found:
            key = key._replace(ordinal=key.ordinal + 1)
        why = note_in(f"--add {each.tower}", each.why) or "added to the plan"
        site = register.towers[each.tower].site
        found[key] = DueItem(each.tower, site, *key[1:], each.first, each.last, each.last, DueState.OPEN, why)
    return found


@dataclass(frozen=True, slots=True)
class Published:
    """What publishing wrote."""

    planned: int
    """Visits that have a new person, day or time."""
    taken_out: int
    """Visits that nobody has."""
    entries: int


def publish(book: Logbook, work: Workplan, because: str = "") -> Published:
    """Write a plan into the log: one entry for each visit whose person, day, time or reason is new.

    It is checked again, against the log as it is now.

    Args:
        book: The log, opened for writing.
        work: The plan.
        because: Why it was changed, for the record.

    Raises:
        InputRefusedError: it breaks a rule by now; nothing was written.
    """
    work = as_of_now(book, work)
    if broken := work.broken:
        raise InputRefusedError([Problem("plan", each) for each in broken])
    kept = plan_basis(book.db)
    records = [] if kept == work.inputs.basis else [Record(Kind.PLAN_BASIS_RECORDED, work.inputs.basis.body())]
    news = [each for each in _visits(work, note_in("plan", because)) if _is_news(work.inputs, each)]
    kinds = {True: Kind.VISIT_PLANNED, False: Kind.VISIT_UNPLANNED}
    records += [Record(kinds[each.is_planned], body_of(each)) for each in news]
    if records:
        book.write(*records)
    planned = sum(each.is_planned for each in news)
    return Published(planned, len(news) - planned, len(records))


def as_of_now(book: Logbook, work: Workplan) -> Workplan:
    """A plan on an instance made from the log as it is now: what was done or dropped since falls out of it."""
    inputs = gather(book, work.inputs.basis, work.inputs.span, _unwritten(book, work.inputs.added))
    made = tuple(each for each in work.plan.assignments if each.job in inputs.items)
    planned = {each.job for each in made} | inputs.done
    why = {left.job: left.reason for left in (*inputs.plan.left_out, *work.plan.left_out)}
    left = tuple(LeftOut(name, why.get(name, NOT_YET)) for name in sorted(inputs.items) if name not in planned)
    plan = Plan(made, left)
    return replace(work, inputs=inputs, plan=plan, moved=differences(inputs, plan) if work.is_draft else ())


def _unwritten(book: Logbook, added: Mapping[DueKey, DueItem]) -> dict[DueKey, DueItem]:
    written = {each.key for each in planned_visits(book.db)}
    return {key: item for key, item in added.items() if key not in written}


def _visits(work: Workplan, because: str) -> Iterable[PlannedVisit]:
    """The plan as the record holds it; days gone by are history and not told again."""
    inputs = work.inputs
    for made in work.plan.assignments:
        if made.job not in inputs.done and made.day >= inputs.span.first:
            minutes = made.finish_minute - made.start_minute
            yield replace(_blank(inputs, made.job), person=made.worker, day=made.day, start_minute=made.start_minute,
                          minutes=minutes, because=because)  # fmt: skip
    for left in work.plan.left_out:
        yield replace(_blank(inputs, left.job), because=left.reason)


def _blank(inputs: Inputs, name: str) -> PlannedVisit:
    item, job = inputs.items[name], inputs.instance.job(name)
    was = inputs.published.get(item.key)
    added = item.why if item.key in inputs.added else was.added if was else ""
    return PlannedVisit(item.key, job.first_day, job.last_day, added=added)


def _is_news(inputs: Inputs, visit: PlannedVisit) -> bool:
    """A visit that can wait and never was in the plan is no news."""
    was = inputs.published.get(visit.key)
    if says_the_same(was, visit):
        return False
    can_wait = not visit.is_planned and was is None and not visit.added
    return not (can_wait and inputs.items[job_id(visit.key)].due > inputs.span.last)
