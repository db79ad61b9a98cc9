"""A whole visit from a file of answers: checked as a whole, then saved answer by answer, each durable before the next.

The same file again resumes the same visit and writes nothing twice: the visit's id comes from the file's bytes, and
what is saved already is only reported.

A file reports what was done; refusing a reading taken already would protect nobody and lose it. So a gate step that is
not answered yet is noted beside the answer and still has to be answered before sign-off. A gate that failed, or a proof
that must come first, does hold an answer back, with a sentence: it stays in the file, and the file can be run again.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import date
from hashlib import sha256

from seasonlog.domain.answers import Unfit, parse_answer
from seasonlog.domain.checklist import applicable
from seasonlog.domain.late import Late
from seasonlog.domain.records import Kind, Record
from seasonlog.domain.register import Register
from seasonlog.domain.text import as_stored
from seasonlog.domain.visit import Progress, Saved, Visit, VisitState
from seasonlog.errors import InputRefusedError, Problem
from seasonlog.intake.answers_file import AnswersFile, FileAnswer, read_answers
from seasonlog.journal import queries
from seasonlog.services import checklists, closing, registry, rounds
from seasonlog.services.days import day
from seasonlog.services.instrument_doubts import doubts, untold
from seasonlog.services.logbook import Logbook

OLDEST_DAYS = 183
"""A visit left open for longer belongs to another season; a file does not go on with it (by reasoning, no source)."""


@dataclass(frozen=True, slots=True)
class Work:
    """What is to be carried out."""

    tower: str
    checklist: str
    data: bytes
    """The answers file."""
    name: str
    """What to call the file in sentences."""
    late: Late | None = None
    """What the file holds was read earlier and written on paper: when, and by whom."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of it."""

    at: Progress
    held: tuple[str, ...]
    """Answers not taken because their gate is shut, one sentence each."""
    left_out: tuple[str, ...] = ()
    """Answers to steps of the checklist that do not apply to this tower, one sentence each."""

    @property
    def is_well(self) -> bool:
        """No answer failed and none was held back."""
        return not self.held and not self.at.bad


OnSaved = Callable[[Saved], None]
"""Called after each answer is durable."""


def carry_out(book: Logbook, work: Work, today: date, on_saved: OnSaved) -> Outcome:
    """Save a visit from a file.

    Raises:
        InputRefusedError: something in the file is wrong; nothing was written.
    """
    file = read_answers(work.data, work.name)
    at = _begin(book, work, file, today)
    at, held = _answer_all(book, at, file, work.late, on_saved)
    left_out = tuple(
        f"{key} does not apply to {work.tower}; it is left out" for key in file.answers if not at.instance(key)
    )
    return Outcome(_end(book, at, file), held, left_out)


def in_doubt(book: Logbook, work: Work) -> tuple[str, ...]:
    """Instruments of a file, or of the visit it goes on with, that prove nothing on its day, one sentence each."""
    file = read_answers(work.data, work.name)
    register = registry.of_known_tower(book.db, work.tower, book.today())
    at = _existing(book, work, _visit_id(book, work))
    named = {**(at.visit.instruments if at and at.visit.state is VisitState.OPEN else {}), **file.instruments}
    used = [i for ident in named.values() if (i := register.instruments.get(ident)) is not None]
    on, told = work.late.day if work.late else book.today(), at.visit.told if at else {}
    return untold(doubts(book.db, used, on, at.visit.id if at else ""), told)


def _begin(book: Logbook, work: Work, file: AnswersFile, today: date) -> Progress:
    register = registry.of_known_tower(book.db, work.tower, book.today())
    visit_id = _visit_id(book, work)
    at = _existing(book, work, visit_id) or _imagined(book, register, work)
    problems = [*_problems(at, file, work.name), *_misdated(file, work)]
    if problems:
        raise InputRefusedError(problems)
    if at.visit.id:
        _join(book, at, work, visit_id)
        return _instruments(book, at, file, work.late)
    wanted = rounds.Start(work.tower, work.checklist, file.instruments, visit_id, work.late)
    return rounds.start(book, wanted, work.late.day if work.late else today)


def _misdated(file: AnswersFile, work: Work) -> Iterator[Problem]:
    for key, given in file.answers.items():
        if given.at and work.late is None:
            yield Problem(f"{work.name}, {key}", "has a time of day (at), which only paper has: --from-paper")


def _visit_id(book: Logbook, work: Work) -> str:
    parts = (book.journal.log_id, work.tower, work.checklist, book.who)
    return f"V-{sha256(chr(10).join(parts).encode() + work.data).hexdigest()[:12]}"


def _join(book: Logbook, at: Progress, work: Work, visit_id: str) -> None:
    """Note that this file went on with a visit begun otherwise, so that the same file again finds it, even closed."""
    if at.visit.id != visit_id and at.visit.state is VisitState.OPEN:
        body = {"visit": at.visit.id, "tower": work.tower, "step": "", "text": f"went on from the file {work.name}"}
        book.write(Record(Kind.NOTE_ADDED, body, _joined(visit_id)))


def _joined(visit_id: str) -> str:
    return f"{visit_id}:joined"


def _existing(book: Logbook, work: Work, visit_id: str) -> Progress | None:
    """The visit of this very file, the one it went on with before, or one of the same kind still open."""
    visits = queries.visits_of(book.db, work.tower)
    joined = book.journal.find(_joined(visit_id))
    known = {visit_id, str(joined.entry.body["visit"]) if joined else visit_id}
    same = [v for v in visits if v.id in known]
    unfinished = [v for v in visits if v.checklist == work.checklist and _goes_on(book, v)]
    found = next(iter([*same, *unfinished[-1:]]), None)
    return None if found is None else rounds.progress(book, found.id)


def _goes_on(book: Logbook, visit: Visit) -> bool:
    return visit.state is VisitState.OPEN and (book.today() - day(visit.day)).days <= OLDEST_DAYS


def _imagined(book: Logbook, register: Register, work: Work) -> Progress:
    """The visit as it would start, to check the file against before anything is written."""
    checklist, tower = checklists.named(work.checklist, book.places.checklists), work.tower
    visit = Visit("", tower, checklist.id, checklist.sha256, 0, 0, VisitState.OPEN, "", 0, qualified=False)
    return Progress(visit, checklist, register, applicable(checklist, register, tower), {})


def _problems(at: Progress, file: AnswersFile, name: str) -> Iterator[Problem]:
    for key, given in file.answers.items():
        instance = at.instance(key)
        if instance is None and _is_of_another_tower(at, key):
            continue
        if instance is None:
            yield Problem(f"{name}, {key}", f"is no step of {at.checklist.id} for {at.visit.tower}{_near(at, key)}")
            continue
        parsed = None if given.skip else parse_answer(instance.step, given.raw)
        if isinstance(parsed, Unfit):
            yield Problem(f"{name}, {key}", parsed.says)
        elif parsed is not None:
            yield from _misread(at, key, given, name)
    yield from _unknown_instruments(at, file, name)


def _is_of_another_tower(at: Progress, key: str) -> bool:
    """A step of this checklist that is not asked here: the same file serves towers with and without a pump."""
    asked = {i.step.id for i in at.instances}
    return key not in asked and key in {step.id for step in at.checklist.steps}


def _near(at: Progress, key: str) -> str:
    near = [i.key for i in at.instances if i.step.id == key.partition("@")[0]]
    return f"; write {' or '.join(near)}" if near else ""


def _misread(at: Progress, key: str, given: FileAnswer, name: str) -> Iterator[Problem]:
    try:
        rounds.check_plausible(at, key, given.raw)
    except InputRefusedError as error:
        yield from (Problem(f"{name}, {key}", p.says) for p in error.problems)
    saved = at.answers.get(key)
    if saved is not None and not _same(saved, given) and not (given.because or given.retest) and not saved.is_skipped:
        yield Problem(f"{name}, {key}", f'is saved already as {saved.says}; to correct it add because = "..."')


def _unknown_instruments(at: Progress, file: AnswersFile, name: str) -> Iterator[Problem]:
    try:
        rounds.instruments_named(at.register, file.instruments)
    except InputRefusedError as error:
        yield from (Problem(f"{name}, {p.where}", p.says) for p in error.problems)


def _instruments(book: Logbook, at: Progress, file: AnswersFile, late: Late | None) -> Progress:
    for kind, ident in file.instruments.items():
        is_open = at.visit.state is VisitState.OPEN
        if is_open and (at.visit.instruments.get(kind) != ident or at.is_untold(ident)):
            at = rounds.choose_instrument(book, at, kind, ident, late.day if late else None)
    return at


def _answer_all(
    book: Logbook, at: Progress, file: AnswersFile, late: Late | None, on_saved: OnSaved
) -> tuple[Progress, tuple[str, ...]]:
    """Answers in the checklist's order, round and round while gates open."""
    waiting = [i.key for i in at.instances if i.key in file.answers]
    while True:
        later = []
        for key in waiting:
            if at.barred_by(key) and not _is_saved(at, key, file.answers[key]):
                later.append(key)
                continue
            at = _answer(book, at, key, file.answers[key], _read_at(late, file.answers[key]))
            on_saved(at.answers[key])
        if not later or later == waiting:
            return at, tuple(f"{key} is not taken yet: it waits for {', '.join(at.barred_by(key))}" for key in later)
        waiting = later


def _read_at(late: Late | None, given: FileAnswer) -> Late | None:
    if late is None or not given.at:
        return late
    hour, minute = map(int, given.at.split(":"))
    return replace(late, observed=late.observed.replace(hour=hour, minute=minute))


def _answer(book: Logbook, at: Progress, key: str, given: FileAnswer, late: Late | None) -> Progress:
    if _is_saved(at, key, given):
        return at
    uid = _uid(at, key, given)
    if given.skip:
        return rounds.skip(book, at, key, given.skip, uid, rounds.AnswerOptions(late=late))
    options = rounds.AnswerOptions(given.note, given.because, given.retest, uid, reported=True, late=late)
    return rounds.answer(book, at, key, given.raw, options)


def _is_saved(at: Progress, key: str, given: FileAnswer) -> bool:
    saved = at.answers.get(key)
    if saved is None:
        return False
    if given.skip:
        return saved.is_skipped and saved.says == given.skip
    return _same(saved, given) or saved.uid == _uid(at, key, given)


def _same(saved: Saved, given: FileAnswer) -> bool:
    """The log keeps what was typed, accents composed; one value in a list is one value."""
    typed = (given.raw,) if isinstance(given.raw, str) else given.raw
    kept = (saved.raw,) if isinstance(saved.raw, str) else saved.raw
    return kept == tuple(as_stored(text) for text in typed)


def _uid(at: Progress, key: str, given: FileAnswer) -> str:
    parts = (at.visit.id, key, repr(replace(given, note="")))
    return f"A-{sha256(chr(10).join(parts).encode()).hexdigest()[:24]}"


def _end(book: Logbook, at: Progress, file: AnswersFile) -> Progress:
    if at.visit.state is not VisitState.OPEN:
        return at
    if file.close_as:
        return closing.close_unfinished(book, at, VisitState(file.close_as), file.close_because)
    if file.received_by is not None and not at.hindrances:
        return closing.sign_off(book, at, file.received_by, file.words)
    return at
