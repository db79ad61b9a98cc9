"""Rounds: visits started, answered, left, resumed, signed off or closed.

Each function takes a logbook, writes at most one durable commit and returns the visit as it then stands. Refusals
are `InputRefusedError` with one sentence; nothing was written then.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from seasonlog.domain.answers import Parsed, Raw, Unfit, decimal_text, number_of
from seasonlog.domain.checklist import Checklist, Step, StepInstance, applicable
from seasonlog.domain.judging import Judgement, judged, limit_record
from seasonlog.domain.late import Late, late_of
from seasonlog.domain.limits import Limit, Verdict, limit_for
from seasonlog.domain.named_faults import cause_record, graver
from seasonlog.domain.records import Kind, Record
from seasonlog.domain.register import Register
from seasonlog.domain.register_records import Instrument, Person
from seasonlog.domain.season_due import settles
from seasonlog.domain.severity import Severity
from seasonlog.domain.units_shown import IN_PLAIN_LETTERS, in_units
from seasonlog.domain.visit import Progress, Saved, VisitState
from seasonlog.errors import InputRefusedError, Problem
from seasonlog.journal import queries
from seasonlog.journal.stored import Stored
from seasonlog.services import checklists, instrument_doubts, registry, season
from seasonlog.services.answer_options import PLAIN as PLAIN
from seasonlog.services.answer_options import AnswerOptions as AnswerOptions
from seasonlog.services.answer_options import Heard
from seasonlog.services.days import day, day_of
from seasonlog.services.limits import judged_in, practice_table, rests_on
from seasonlog.services.logbook import Logbook
from seasonlog.services.readable import readable
from seasonlog.services.reasons import note_in, reason_in, refuse

TAKEN_BACK = "taken back: heard or typed wrong"
"""The reason of an answer taken back."""


def progress(book: Logbook, visit_id: str, register: Register | None = None) -> Progress:
    """A visit with its steps and answers, from the log.

    Args:
        book: The log.
        visit_id: The visit.
        register: The tower's part of the register, when the caller has it already.
    """
    visit = queries.visit(book.db, visit_id)
    if visit is None:
        raise refuse(f"visit {visit_id}", "is not in this log")
    register = registry.wintering(register or registry.of_tower_ever(book.db, visit.tower), book.db, day(visit.day))
    checklist = checklists.of_visit(book.db, visit.sha256)
    return Progress(
        visit,
        checklist,
        register,
        applicable(checklist, register, visit.tower),
        queries.answers(book.db, visit_id),
        queries.changes(book.db, visit_id),
        instrument_doubts.of_visit(book.db, register.instruments, visit, book.today()),
    )


def person_of(register: Register, who: str) -> Person | None:
    """The person on record behind a name or id, capitals ignored."""
    folded = who.casefold()
    return next((p for p in register.people.values() if folded in (p.id.casefold(), p.name.casefold())), None)


def is_qualified(person: Person | None, on: date) -> bool:
    """On record as qualified for energised work on a day."""
    if person is None or not person.qualified_energised:
        return False
    return person.qualified_until is None or person.qualified_until >= on


@dataclass(frozen=True, slots=True)
class Start:
    """What a visit is started with."""

    tower: str
    checklist: str
    instruments: Mapping[str, str]
    """Instrument kind to instrument id."""
    visit_id: str | None = None
    """Fixed id, so that the same file never starts two visits."""
    late: Late | None = None
    """Entered from paper: when it was begun and by whom."""


def start(book: Logbook, wanted: Start, today: date) -> Progress:
    """Start a visit: one commit that holds the checklist's text, the start and the instruments."""
    on = wanted.late.day if wanted.late else book.today()
    register = registry.of_known_tower(book.db, wanted.tower, on)
    checklist = checklists.named(wanted.checklist, book.places.checklists)
    chosen = instruments_named(register, wanted.instruments)
    visit_id = wanted.visit_id or book.around.new_id("V")
    started = _started(book, register, checklist, replace(wanted, visit_id=visit_id), today)
    records = [_text_of(checklist), started, *(_chosen(book, visit_id, k, i, on) for k, i in chosen.items())]
    book.write(*records)
    return progress(book, visit_id, register)


def _started(book: Logbook, register: Register, checklist: Checklist, wanted: Start, today: date) -> Record:
    tower, late, visit_id = wanted.tower, wanted.late, wanted.visit_id
    who, on = (late.by, late.day) if late else (book.who, book.today())
    key = settles(season.items(book, today, tower=tower), tower, checklist.id, today)
    year, ordinal = (key.season, key.ordinal) if key else season.unplanned(book, register, tower, checklist.id, today)
    body = {
        "visit": visit_id,
        "tower": tower,
        "checklist": checklist.id,
        "sha256": checklist.sha256,
        "season": year,
        "ordinal": ordinal,
        "practice": practice_table().sha256,
        "qualified": is_qualified(person_of(register, who), on),
    }
    body |= {"observed_on": on.isoformat()} if late else {}
    return Record(Kind.VISIT_STARTED, body, f"{visit_id}:start")


def _text_of(checklist: Checklist) -> Record:
    body = {"id": checklist.id, "sha256": checklist.sha256, "text": checklist.text}
    return Record(Kind.CHECKLIST_RECORDED, body, f"checklist:{checklist.sha256}")


def instruments_named(register: Register, wanted: Mapping[str, str]) -> dict[str, Instrument]:
    """The instruments behind kind = id; refused when unknown or of another kind."""
    problems, chosen = [], {}
    for kind, ident in wanted.items():
        instrument = register.instruments.get(ident)
        if instrument is None:
            problems.append(Problem(f"instrument {ident}", f"is not in the register; {_known(register, kind)}"))
        elif instrument.kind != kind:
            problems.append(Problem(f"instrument {ident}", f"is a {instrument.kind}, not a {kind}"))
        else:
            chosen[kind] = instrument
    if problems:
        raise InputRefusedError(problems)
    return chosen


def _known(register: Register, kind: str) -> str:
    ids = sorted(i.id for i in register.instruments.values() if i.kind == kind)
    return f"of kind {kind} there are {', '.join(ids)}" if ids else f"there is none of kind {kind}"


def _chosen(book: Logbook, visit_id: str, kind: str, instrument: Instrument, on: date) -> Record:
    due = instrument.calibration_due
    doubt = instrument_doubts.doubts(book.db, [instrument], on, visit_id).get(instrument.id)
    body = {
        "visit": visit_id,
        "kind": kind,
        "instrument": instrument.id,
        "in_calibration": due is not None and due >= on,
    }
    return Record(Kind.INSTRUMENT_CHOSEN, body | ({"doubt": doubt} if doubt else {}))


def choose_instrument(book: Logbook, at: Progress, kind: str, ident: str, on: date | None = None) -> Progress:
    """Use an instrument from here on in this visit; `on` is the day it was used, when entered from paper."""
    still_open(at)
    instrument = instruments_named(at.register, {kind: ident})[kind]
    book.write(_chosen(book, at.visit.id, kind, instrument, on or book.today()))
    return progress(book, at.visit.id, at.register)


def judgement(book: Logbook, at: Progress, key: str, raw: Raw, on: date | None = None) -> tuple[Parsed, Judgement]:
    """What an answer would be worth, without saving it; the screen shows it while the digits are typed."""
    parsed, told = _judged(book, at, key, raw, on)
    return parsed, instrument_doubts.weighed(book.db, told, at, _instance(at, key), on or book.today())


def _judged(book: Logbook, at: Progress, key: str, raw: Raw, on: date | None) -> tuple[Parsed, Judgement]:
    instance = _instance(at, key)
    parsed = readable(at, instance, raw)
    return parsed, judged(instance.step, parsed, judged_in(book.db, at, instance, on or book.today()))


def check_plausible(at: Progress, key: str, raw: Raw) -> None:
    """Refuse what is no answer of this kind, or a number that cannot be."""
    readable(at, _instance(at, key), raw)


def answer(book: Logbook, at: Progress, key: str, raw: Raw, options: AnswerOptions = PLAIN) -> Progress:
    """Save an answer: parsed, judged, and durable before this returns.

    Args:
        book: The log.
        at: The visit as last seen.
        key: Step key.
        raw: As typed; a list of texts for three lines.
        options: Note, reason of a correction, retest, when it was read if it comes from paper.

    Raises:
        InputRefusedError: not an answer of this kind, a gate is shut, or it is answered already and no reason to
            correct it is given.
    """
    at = _fresh(book, at, key)
    if not options.after_closing:
        still_open(at)
    _free(at, key, options)
    before = at.answers.get(key) if options.because and not options.retest else None
    late = options.late or (late_of(before) if before else None)
    on = observed_on(book, late, before)
    parsed, judgement_ = _judged(book, at, key, raw, on)
    body = _answered(at, _instance(at, key), parsed, judgement_, options) | (late.marks if late else {})
    resting = rests_on(book.db, at, _instance(at, key), judgement_)
    body |= _unqualified(book, at, key, late, before) | ({"rests_on": resting} if resting else {})
    (stored,) = book.write(Record(Kind.STEP_ANSWERED, body, options.uid))
    saved = queries.answered(stored.entry.body, _origin(stored, on))
    is_doubted = instrument_doubts.recalled(book.db, judgement_, at, _instance(at, key), on)
    return at.with_answer(queries.answers(book.db, at.visit.id)[key] if is_doubted else saved)


def observed_on(book: Logbook, late: Late | None, corrected: Saved | None) -> date:
    """The day a reading is judged on: a correction, and an entry from paper, was read earlier than it is written."""
    if late is not None:
        return late.day
    if corrected is not None and corrected.day:
        return date.fromisoformat(corrected.day)
    return day_of(corrected.wall_ms, book.around.clock.offset_minutes()) if corrected else book.today()


def _fresh(book: Logbook, at: Progress, key: str) -> Progress:
    """The visit as last seen, read again when another process has written to this step or closed it."""
    seen = at.answers[key].uid if key in at.answers else ""
    if queries.standing(book.db, at.visit.id, key) == (str(at.visit.state), seen):
        return at
    return progress(book, at.visit.id, at.register)


def _origin(stored: Stored, on: date | None = None) -> queries.Origin:
    entry = stored.entry
    told = entry.body.get("observed_on") or str(entry.body.get("observed_at", ""))[:10]
    day = on.isoformat() if on else told or day_of(entry.wall, entry.offset).isoformat()
    return queries.Origin(entry.seq, entry.uid, entry.who, entry.wall, stored.hash.hex(), day)


def _instance(at: Progress, key: str) -> StepInstance:
    instance = at.instance(key)
    if instance is None:
        near = [i.key for i in at.instances if i.step.id == key.partition("@")[0]]
        hint = f"write {' or '.join(near)}" if near else "it does not apply to this tower or is not in the checklist"
        raise refuse(f"step {key}", f"is not asked in this visit; {hint}")
    return instance


def still_open(at: Progress) -> None:
    """Refuse to write into a closed visit."""
    if at.visit.state is not VisitState.OPEN:
        raise refuse(f"visit {at.visit.id}", f"is {at.visit.state.replace('_', ' ')}; start a new visit")


def _free(at: Progress, key: str, options: AnswerOptions) -> None:
    _instance(at, key)
    waits = at.barred_by(key) if options.reported else at.waits_for(key)
    if waits and not options.after_closing:
        raise refuse(f"step {key}", f"waits for {', '.join(waits)}")
    saved = at.answers.get(key)
    if saved is not None and not saved.is_skipped and not options.because.strip() and not options.retest:
        says = in_units(saved.says, at.units, IN_PLAIN_LETTERS)
        raise refuse(f"step {key}", f"is answered already ({says}); give a reason to correct it")


def _answered(
    at: Progress, instance: StepInstance, parsed: Parsed, judgement_: Judgement, options: AnswerOptions
) -> dict[str, object]:
    step, before = instance.step, at.answers.get(instance.key)
    body: dict[str, object] = {
        "visit": at.visit.id,
        "tower": at.visit.tower,
        "step": instance.key,
        "step_id": step.id,
        "target": instance.target or "",
        "raw": _listed(parsed.raw),
        "value": _listed(parsed.value),
        "unit": step.unit,
        "quantity": step.quantity,
        "verdict": str(judgement_.verdict),
        "says": judgement_.says,
        "limits": [limit_record(limit) for limit in judgement_.limits],
        "instrument": at.instrument_of(instance),
    }
    if judgement_.verdict in (Verdict.FAIL, Verdict.NEAR_FAIL):
        body["finding"] = _finding(step, judgement_)
    if options.note:
        body["note"] = note_in(instance.key, options.note)
    if options.because and before is not None:
        body |= {"corrects": before.uid, "because": note_in(instance.key, options.because)}
    elif before is not None and before.is_skipped and before.corrects:
        body |= {"corrects": before.corrects, "because": before.says}
    body |= {"heard": dict(options.heard)} if options.heard else {}
    ahead_of = list(at.waits_for(instance.key))
    return body | ({"retest": True} if options.retest else {}) | ({"ahead_of": ahead_of} if ahead_of else {})


def _unqualified(
    book: Logbook, at: Progress, key: str, late: Late | None, corrected: Saved | None
) -> dict[str, object]:
    """Whoever goes on with a visit answers for what they did on live parts; whoever types it in later does not."""
    who, on = (late.by, late.day) if late else (book.who, book.today())
    qualified = corrected.qualified if corrected else is_qualified(person_of(at.register, who), on)
    return {"unqualified": True} if _instance(at, key).step.live and not qualified else {}


def _finding(step: Step, judgement_: Judgement) -> dict[str, object]:
    planned = str(step.severity or Severity.RECORD_GAP)
    severity, unprotected = graver(judgement_.causes, planned, step.unprotected)
    return {
        "severity": severity,
        "title": step.title,
        "parts": list(step.parts),
        "unprotected": unprotected,
        **({"causes": [cause_record(cause) for cause in judgement_.causes]} if judgement_.causes else {}),
    }


def _listed(raw: Raw) -> str | list[str]:
    return raw if isinstance(raw, str) else list(raw)


def skip(
    book: Logbook, at: Progress, key: str, because: str, uid: str | None = None, options: AnswerOptions = PLAIN
) -> Progress:
    """Leave a step out, with a reason. It stays visible, and the visit proves nothing that needed it."""
    at = _fresh(book, at, key)
    return _skipped(book, at, key, because, uid, _marks(options))


def take_back(book: Logbook, at: Progress, key: str) -> Progress:
    """Take an answer back: the step is open again, and what is answered next corrects the old one."""
    at = _fresh(book, at, key)
    saved = at.answers.get(key)
    if saved is None or saved.is_skipped:
        raise refuse(f"step {key}", "has no answer to take back")
    return _skipped(book, at, key, TAKEN_BACK, None, {"takes_back": saved.uid})


def _skipped(
    book: Logbook, at: Progress, key: str, because: str, uid: str | None, more: Mapping[str, object]
) -> Progress:
    still_open(at)
    _instance(at, key)
    body: dict[str, Any] = {
        "visit": at.visit.id,
        "tower": at.visit.tower,
        "step": key,
        "because": reason_in(f"step {key}", because),
        **more,
    }
    (stored,) = book.write(Record(Kind.STEP_SKIPPED, body, uid))
    return at.with_answer(queries.skipped(key, body, _origin(stored)))


def _marks(options: AnswerOptions) -> dict[str, object]:
    """How it was entered, where that was not by key on the spot."""
    late = options.late.marks if options.late else {}
    return {**late, **({"heard": dict(options.heard)} if options.heard else {})}


def add_note(
    book: Logbook, tower: str, text: str, visit_id: str = "", step: str = "", heard: Heard | None = None
) -> None:
    """Leave words about a tower, a visit or a step."""
    body = {"visit": visit_id, "tower": tower, "step": step, "text": reason_in("note", text)}
    book.write(Record(Kind.NOTE_ADDED, body | ({"heard": dict(heard)} if heard else {})))


def limit_now(book: Logbook, at: Progress, key: str) -> Limit | None:
    """The limit a reading of this step would be judged by as the visit stands; None where it is only recorded."""
    instance = _instance(at, key)
    if not instance.step.quantity:
        return None
    return limit_for(instance.step.quantity, judged_in(book.db, at, instance, book.today()))


def number_typed(step: Step, text: str) -> float | None:
    """The number behind one typed text, in the step's unit; None while it is none."""
    value = decimal_text(text, step.unit)
    return None if isinstance(value, Unfit) else number_of(value)
