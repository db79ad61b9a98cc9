"""What the rules ask of one visit: its answers, and what lies outside it (findings, entries, checks before use)."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from seasonlog.domain.audit_rules import Correction, Raised, VisitFacts, WeakStep
from seasonlog.domain.coverage import RETESTING, facts_of
from seasonlog.domain.finding import FindingState
from seasonlog.domain.plain_words import chosen
from seasonlog.domain.records import Kind
from seasonlog.domain.retention import KeepUntil, keep_until
from seasonlog.domain.visit import Progress, Saved
from seasonlog.journal import audit_queries, queries, two_pasts
from seasonlog.journal.audit_queries import FindingRow
from seasonlog.journal.stored import Stored
from seasonlog.journal.two_pasts import Disputed
from seasonlog.services import checklists, rounds, signing
from seasonlog.services.days import day, local_words
from seasonlog.services.logbook import Logbook

FAILED = ("fail", "near_fail")


@dataclass(frozen=True, slots=True)
class Findings:
    """The findings of a log, found by the step they are about."""

    by_target: Mapping[tuple[str, str, str], FindingRow]
    """(tower, step id, target) -> the finding that changed last."""
    by_step: Mapping[tuple[str, str], FindingRow]
    """(tower, step id) -> the same; a step's key names its target only where a tower has several."""

    @classmethod
    def of(cls, rows: Iterable[FindingRow]) -> "Findings":
        """From rows, the one that changed last coming last."""
        known = tuple(rows)
        by_target = {(row.tower, row.step_id, row.target): row for row in known}
        return cls(by_target, {(row.tower, row.step_id): row for row in known})

    def about(self, tower: str, step: str) -> FindingRow | None:
        """The finding of a failed step of a visit."""
        step_id, _, target = step.partition("@")
        return self.by_target.get((tower, step_id, target)) if target else self.by_step.get((tower, step_id))


def raised(found: FindingRow, on: date) -> Raised:
    """A finding as the rules see it: an acceptance that ran out is open again."""
    state = FindingState(found.state)
    ran_out = state is FindingState.ACCEPTED and found.accepted_until < on.isoformat()
    return Raised(found.id, found.title, FindingState.OPEN if ran_out else state, found.entry)


def whole(
    book: Logbook, visit: str, findings: Findings, on: date, disputed: Sequence[Disputed] | None = None
) -> VisitFacts:
    """All that is known of one visit.

    Args:
        book: The log.
        visit: Its id.
        findings: Of its tower at least.
        on: The day the states are told for.
        disputed: Devices in dispute, where they are known: to find them reads all that they wrote since.
    """
    at = rounds.progress(book, visit)
    return of_progress(book, at, findings, on, two_pasts.disputed(book.db) if disputed is None else disputed)


def of_progress(book: Logbook, at: Progress, findings: Findings, on: date, disputed: Sequence[Disputed]) -> VisitFacts:
    """The same of a visit that was read already."""
    entries = audit_queries.entries_of_visit(book.db, at.visit.id)
    answers = tuple(at.answers.values())
    failed = [found for found in (_failed(at, a, findings) for a in answers) if found is not None]
    known = facts_of(at)
    known = facts_of(at, _retests(book, at)) if known.weak else known
    return replace(
        known,
        weak=tuple(_weak(at, known.weak, findings)),
        findings=tuple(raised(found, on) for found in failed),
        amended=tuple(s.name for s in at.visit.signatures if signing.doubts(at, s) == signing.AMENDED),
        ahead=tuple((s.entry.body["step"], s.entry.uid) for s in entries if s.entry.body.get("ahead_of")),
        corrections=tuple(corrections(at, entries)),
        unchecked=_unchecked(book, at),
        late_entries=tuple((f"{a.step}, seen {a.observed_at}", a.uid) for a in answers if a.observed_at),
        nameless=tuple(s.entry.uid for s in entries if not (s.entry.who.strip() and s.entry.dev)),
        disputed=tuple(_disputed(entries, disputed)),
    )


def _disputed(entries: Sequence[Stored], found: Sequence[Disputed]) -> Iterator[tuple[str, bool, str]]:
    for each in found:
        theirs = (s.entry.uid for s in entries if s.entry.dev == each.dev and s.entry.seq >= each.seq)
        if first := next(theirs, ""):
            yield each.says, each.proved, first


def _failed(at: Progress, saved: Saved, findings: Findings) -> FindingRow | None:
    return findings.about(at.visit.tower, saved.step) if str(saved.verdict) in FAILED else None


def _retests(book: Logbook, at: Progress) -> list[Progress]:
    """Repair retests and commissionings of a visit's tower and season."""
    made = queries.visits_of(book.db, at.visit.tower, at.visit.season)
    again = (v.id for v in made if checklists.of_visit(book.db, v.sha256).when in RETESTING and v.id != at.visit.id)
    return [rounds.progress(book, visit, at.register) for visit in again]


def _weak(at: Progress, weak: Iterable[WeakStep], findings: Findings) -> Iterator[WeakStep]:
    by_uid = {saved.uid: saved for saved in at.answers.values()}
    for step in weak:
        found = _failed(at, by_uid[step.uid], findings) if step.failed else None
        yield replace(step, handled=found is not None and found.handled) if step.failed else step


def _unchecked(book: Logbook, at: Progress) -> tuple[str, ...]:
    used = {saved.instrument for saved in at.answers.values() if saved.instrument}
    checked = {each.instrument for each in audit_queries.checks(book.db, day=at.visit.day) if each.ok}
    return tuple(sorted(used - checked))


def kept_until(book: Logbook, at: Progress) -> KeepUntil:
    """Until when a visit's record must be kept at least."""
    days = audit_queries.days_made(book.db, at.visit.tower, at.visit.checklist)
    return keep_until(at.checklist.when, day(at.visit.day), map(day, days))


def corrections(at: Progress, entries: Sequence[Stored]) -> Iterator[Correction]:
    """Every answer of a visit that stands for an earlier one, in the order they were made."""
    named = {i.key: i.named for i in at.instances}
    by_uid = {stored.entry.uid: stored.entry for stored in entries}
    for stored in entries:
        entry, body = stored.entry, stored.entry.body
        if entry.kind == Kind.STEP_ANSWERED and "corrects" in body:
            before = by_uid.get(body["corrects"])
            yield Correction(
                named=named.get(body["step"], body["step"]),
                old="" if before is None else chosen_words(before.body),
                new=chosen_words(body),
                who=entry.who,
                when=local_words(entry.wall, entry.offset),
                because=body.get("because", ""),
                uid=entry.uid,
                corrects=body["corrects"],
            )


def chosen_words(body: Mapping[str, object]) -> str:
    """The same, a choice as a person reads it."""
    return chosen(value_words(body), str(body.get("says", "")))


def value_words(body: Mapping[str, object]) -> str:
    """A recorded value with its unit; of a step left out, that it was."""
    if "value" not in body:
        return f"left out: {body.get('because', '')}"
    value = body["value"]
    text = " / ".join(map(str, value)) if isinstance(value, list) else str(value)
    return f"{text} {body.get('unit', '')}".strip()
