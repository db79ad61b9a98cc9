"""The demonstration: the sample sites in a log of their own, with some weeks of invented history.

The history is made through the same services a person uses, with a clock that is told the time, in a log whose first
entry says `demonstration`. Readings lie in the middle of each computed band, except where a fault is shown.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta

from seasonlog import resources
from seasonlog.domain.answers import Raw
from seasonlog.domain.checklist import StepInstance, StepKind
from seasonlog.domain.due_state import DueState
from seasonlog.domain.limits import Limit, Verdict, limit_for
from seasonlog.domain.register import Register
from seasonlog.domain.season import FALL_ENABLE, MID_WINTER
from seasonlog.domain.visit import Progress, VisitState
from seasonlog.errors import InputRefusedError, Problem
from seasonlog.journal.store import Journal
from seasonlog.services import closing, findings, plan, registry, rounds, season
from seasonlog.services import register as equipment
from seasonlog.services.days import day_of
from seasonlog.services.limits import context_for
from seasonlog.services.logbook import Logbook, Surroundings, make_log
from seasonlog.services.places import Places

TECHNICIAN, SUPERVISOR = "Mirel Oduvane", "Halden Pruskett"
"""Invented people of the sample team."""
_DAY_MS = 86_400_000
_MINUTE_MS = 60_000
Told = Callable[[str], None]
"""Told what was just built."""


@dataclass(slots=True)
class ToldClock:
    """A clock that shows the time it was told, a minute later at every look."""

    now_ms: int
    minutes: int

    def wall_ms(self) -> int:
        """The time told, moving on."""
        self.now_ms += _MINUTE_MS // 3
        return self.now_ms

    def offset_minutes(self) -> int:
        """Local time minus UTC, as where the demo is built."""
        return self.minutes

    def days_ago(self, real_ms: int, days: int) -> None:
        """Set it to seven in the morning, so many days before."""
        morning = (real_ms // _DAY_MS - days) * _DAY_MS + 7 * 60 * _MINUTE_MS - self.minutes * _MINUTE_MS
        self.now_ms = max(self.now_ms, morning)


def build(at: Places, around: Surroundings, told: Told) -> Logbook:
    """The demonstration log: the one already there, or a new one.

    Args:
        at: Where; a log that is no demonstration is never touched.
        around: The real clock and randomness; only keys, ids and the present day come from them.
        told: Called with a sentence after each part.

    Raises:
        InputRefusedError: a log is there that the demo did not make.
    """
    if at.log.exists():
        return _again(at, around, told)
    clock = ToldClock(0, around.clock.offset_minutes())
    real_ms = around.clock.wall_ms()
    clock.days_ago(real_ms, 800)
    journal = make_log(at, Surroundings(clock, around.random_bytes), SUPERVISOR, demonstration=True)
    with Logbook(journal, at, Surroundings(clock, around.random_bytes), SUPERVISOR) as book:
        _register(book, told)
        _history(book, clock, real_ms, told)
    return Logbook.open(at, around, TECHNICIAN, writing=True)


def _again(at: Places, around: Surroundings, told: Told) -> Logbook:
    with Journal.open_read_only(at.log) as journal:
        if not journal.is_demonstration:
            words = "holds a log that the demo did not make; name another folder with --dir"
            raise InputRefusedError([Problem(str(at.home), words)])
    told("The demonstration is there already; it is used as it is.")
    return Logbook.open(at, around, TECHNICIAN, writing=True)


def _register(book: Logbook, told: Told) -> None:
    folder = resources.sample_sites()
    files = sorted((f for f in folder.iterdir() if f.name.endswith(".toml")), key=lambda f: f.name)
    records = equipment.read(equipment.HandedIn(f.name, f.read_bytes()) for f in files)
    equipment.write(book, equipment.preview(Register.of(()), records), "sample sites")
    register = registry.whole(book.db)
    told(f"{len(register.sites)} sites with {len(register.towers)} towers, all invented")


@dataclass(frozen=True, slots=True)
class _Told:
    """One visit of the invented history."""

    tower: str
    checklist: str
    wrong: Mapping[str, Raw] = field(default_factory=dict)
    """Answers that are not the healthy ones, by step key."""
    ends: VisitState = VisitState.COMPLETE
    because: str = ""


_STORY: Sequence[_Told] = (
    _Told("ORR-1", FALL_ENABLE),
    _Told("ORR-2", FALL_ENABLE),
    _Told("HOS-1", FALL_ENABLE),
    _Told("HOS-2", FALL_ENABLE, {"line_amps": ("0", "18.7", "18.7")}),
    _Told("HOS-4", FALL_ENABLE),
    _Told("HOS-5", FALL_ENABLE),
    _Told("DAT-1", FALL_ENABLE),
    _Told("DAT-2", FALL_ENABLE, ends=VisitState.NOT_POSSIBLE, because="no shutdown given by the hall's operator"),
    _Told("ICE-1", FALL_ENABLE, {"probe_plumb_deg": "9"}),
    _Told("ICE-2", FALL_ENABLE),
    _Told("HOS-1", MID_WINTER),
)
_UNFINISHED = _Told("HOS-3", FALL_ENABLE, ends=VisitState.OPEN)


def _history(book: Logbook, clock: ToldClock, real_ms: int, told: Told) -> None:
    today = day_of(real_ms)
    dated = [(_day(book, part, today), part) for part in _STORY]
    for on, part in sorted(dated, key=lambda each: each[0]):
        _tell(book, clock, real_ms, (today - on).days, part)
        told(f"{on.isoformat()}  {part.tower}: {part.checklist}, {part.ends.replace('_', ' ')}")
    _tell(book, clock, real_ms, 1, _UNFINISHED)
    told(f"yesterday   {_UNFINISHED.tower}: {_UNFINISHED.checklist}, left open")
    _move_one(book, today)
    _plan(book, today, told)


def _day(book: Logbook, part: _Told, today: date) -> date:
    """The day the season plans this visit for; last season's while this one's is still to come."""
    planned = [i.planned for i in season.items(book, today, tower=part.tower) if i.checklist == part.checklist]
    on = planned[0] if planned else today - timedelta(days=30)
    return on if on < today - timedelta(days=1) else on - timedelta(days=365)


def _tell(book: Logbook, clock: ToldClock, real_ms: int, days_ago: int, part: _Told) -> None:
    clock.days_ago(real_ms, days_ago)
    book.who = TECHNICIAN
    _visit(book, part)
    if part.wrong:
        _look_after(book, part.tower)


def _visit(book: Logbook, part: _Told) -> None:
    register = registry.of_known_tower(book.db, part.tower)
    at = rounds.start(
        book, rounds.Start(part.tower, part.checklist, _instruments(register, book.today())), book.today()
    )
    if part.ends is VisitState.NOT_POSSIBLE:
        closing.close_unfinished(book, at, part.ends, part.because)
        return
    at = _answer(book, at, part.wrong, half=part.ends is VisitState.OPEN)
    if part.ends is VisitState.COMPLETE:
        closing.sign_off(book, at, _received_by(at))


def _received_by(at: Progress) -> str:
    return closing.NOT_AVAILABLE if at.bad else "Oren Tallis, building engineer"


def _instruments(register: Register, on: date) -> dict[str, str]:
    """The finest instrument of each kind that is in calibration."""
    valid = [i for i in register.instruments.values() if i.calibration_due is not None and i.calibration_due >= on]
    by_kind = sorted(valid, key=lambda i: i.resolution or 0, reverse=True)
    return {i.kind: i.id for i in by_kind}


def _answer(book: Logbook, at: Progress, wrong: Mapping[str, Raw], *, half: bool) -> Progress:
    keys = [i.key for i in at.instances]
    for key in keys[: len(keys) // 3] if half else keys:
        if at.waits_for(key):
            at = rounds.skip(book, at, key, f"not done: {at.waits_for(key)[0]} did not pass")
            continue
        instance = at.instance(key)
        if instance is not None:
            at = rounds.answer(book, at, key, wrong.get(key) or healthy(at, instance, book.today()))
    return at


def healthy(at: Progress, instance: StepInstance, on: date) -> Raw:
    """What a healthy tower would give: the answer that is wanted, or the middle of the computed band."""
    step = instance.step
    if step.kind in (StepKind.CAUTION, StepKind.YES_NO):
        return step.expect or "yes"
    if step.kind is StepKind.CHOICE:
        return next((c.value for c in step.choices if c.verdict == Verdict.PASS), step.choices[0].value)
    if step.kind is StepKind.TEXT:
        return "as recorded in the register"
    middle = _typed(_middle(limit_for(step.quantity, context_for(at, instance, on)))) if step.quantity else "45"
    return (middle, middle, middle) if step.kind is StepKind.THREE_LINES else middle


def _typed(value: float) -> str:
    """As a meter shows it and a thumb types it: three decimals at most."""
    return f"{value:.3f}" if abs(value) < 1 else f"{value:.1f}"


def _middle(limit: Limit) -> float:
    low = limit.pass_low if limit.decides else limit.low
    high = limit.pass_high if limit.decides else limit.high
    if low is None:
        return 1.0 if high is None else min(high / 4, high)  # a freeze point below zero lies under its limit too
    return low * 1.2 if high is None else (low + high) / 2


def _look_after(book: Logbook, tower: str) -> None:
    for found in findings.open_findings(book, tower=tower):
        findings.take_measure(
            book, found.id, "watch, water temperature read twice a night", "night engineer", "at once"
        )
        for part in found.parts[:1]:
            findings.note_part(book, found.id, part, "ordered", book.today())
        findings.assign(book, found.id, TECHNICIAN, book.today() + timedelta(days=7))


def _move_one(book: Logbook, today: date) -> None:
    """One visit of the season is planned for another day, if there is one to move."""
    coming = [i for i in season.items(book, today) if i.state in (DueState.UPCOMING, DueState.OPEN)]
    if coming:
        book.who = SUPERVISOR
        wanted = season.DueRequest(coming[0].tower, coming[0].checklist, coming[0].ordinal)
        season.move(book, wanted, coming[0].planned + timedelta(days=1), "crane on the roof that day", today)


def _plan(book: Logbook, today: date, told: Told) -> None:
    """The next weeks are planned with the sample team's plan file, and published the day before."""
    book.who = SUPERVISOR
    text = (resources.sample_sites() / "plan" / "plan.toml").read_text("utf-8")
    work = plan.draft(book, plan.Request(today, today, file=text))
    plan.publish(book, work, "four weeks ahead")
    people = len({made.worker for made in work.plan.assignments})
    told(f"yesterday   a plan published: {len(work.plan.assignments)} visits for {people} people in four weeks")
