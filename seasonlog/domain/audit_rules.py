"""The rules a visit's record is held against: one function each, named with the published requirement it serves.

None of these requirements binds a basin heater: they are the strictest published yardsticks for records, and the sites
that are audited ask for records of that kind. Local codes and the site's own rules come first. What is cited "from
memory" was not read again when this was written.

A rule is handed what is known of one visit and says where it is broken; nothing found means it is kept. The rules that
are marked as proving are the ones by which a tower is proven for the season (`coverage.shortfalls`).
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import date

from seasonlog.domain.coverage_cells import Outcome, RuleResult
from seasonlog.domain.finding import FindingState
from seasonlog.domain.visit import VisitState

CAVEAT = "None of these rules binds a basin heater: they are the strictest published yardsticks."
SKIPPED, UNANSWERED = "skipped", "not answered"
"""Words for a step without a verdict."""
FEW = 3
"""Steps without an answer that are named one by one; more of them hide what failed."""
CERTIFIED = ("procedure_inspected", "people_included", "inspector")
"""Steps of the yearly lockout inspection that hold machine, people and inspector; the date is the visit's own."""
LOCKOUT_INSPECTION = "lockout-inspection"


@dataclass(frozen=True, slots=True)
class WeakStep:
    """A step that proves nothing."""

    named: str
    """As a person names it."""
    verdict: str
    """A verdict, `skipped` or `not answered`."""
    says: str = ""
    """Why it was skipped."""
    required: bool = True
    failed: bool = False
    """It opened or repeated a finding."""
    handled: bool = True
    """Somebody did something about the finding, or closed it."""
    uid: str = ""
    made_good: str = ""
    """`passed in the repair retest of 2026-10-02`: of the same season, and evidence itself; else empty."""

    @property
    def words(self) -> str:
        """The step and what it is worth."""
        if self.verdict == SKIPPED:
            return f"{self.named}: skipped, {self.says}"
        return f"{self.named}: {self.verdict.replace('_', ' ')}"


@dataclass(frozen=True, slots=True)
class Raised:
    """A finding that a visit opened or met again."""

    id: str
    title: str
    state: FindingState
    """On the day asked about."""
    uid: str = ""


@dataclass(frozen=True, slots=True)
class Correction:
    """An answer that stands for an earlier one."""

    named: str
    old: str
    """What was first written; empty when the entry it names is not in the log."""
    new: str
    who: str
    when: str
    because: str
    uid: str
    corrects: str
    """Uid of the entry before."""


@dataclass(frozen=True, slots=True)
class VisitFacts:
    """What is known of one visit as evidence."""

    visit: str
    title: str
    checklist: str
    state: VisitState
    day: str
    who: str
    due: date | None = None
    """Last sensible day of the window it settles; None outside any."""
    signed_by: tuple[str, ...] = ()
    reviewed_by: tuple[str, ...] = ()
    moved: tuple[str, ...] = ()
    """Signatures that were made for another record."""
    amended: tuple[str, ...] = ()
    """Who signed before an answer was corrected."""
    weak: tuple[WeakStep, ...] = ()
    unqualified: tuple[tuple[str, str], ...] = ()
    """(who, uid of what they did, or empty)"""
    overdue: tuple[str, ...] = ()
    """Instruments that answers rest on and that were out of calibration."""
    unnamed: tuple[str, ...] = ()
    """Kinds of instrument that were not named for a reading."""
    recalled: tuple[tuple[str, str], ...] = ()
    """(instrument with its recall in words, uid of a reading)"""
    unchecked: tuple[str, ...] = ()
    """Instruments without a check before use on the day."""
    findings: tuple[Raised, ...] = ()
    open_changes: tuple[str, ...] = ()
    ahead: tuple[tuple[str, str], ...] = ()
    """(step, uid): answered before the steps that must come first."""
    corrections: tuple[Correction, ...] = ()
    answered: frozenset[str] = field(default_factory=frozenset)
    """Ids of the steps that hold an answer; asked for by the lockout certificate alone."""
    late_entries: tuple[tuple[str, str], ...] = ()
    """(step and when it was seen, uid): entered late from paper."""
    nameless: tuple[str, ...] = ()
    """Uids of entries without a person or a device."""
    disputed: tuple[tuple[str, bool, str], ...] = ()
    """(what is told of the device, whether it is proved, uid of its first entry here): of another past of the device,
    or after its key was revoked."""


@dataclass(frozen=True, slots=True)
class Breach:
    """Where a rule is broken, or cannot be held against the record."""

    says: str
    evidence: tuple[str, ...] = ()
    outcome: Outcome = Outcome.BROKEN


Breaches = Iterator[Breach]


def signed_off(facts: VisitFacts) -> Breaches:
    """Closed as complete, with the name, the time and the meaning of the signature."""
    if facts.state is not VisitState.COMPLETE:
        words = {VisitState.OPEN: "not signed off yet"}.get(facts.state, f"closed as {facts.state.replace('_', ' ')}")
        yield Breach(f"{facts.title} {words}")
    elif not facts.signed_by:
        yield Breach(f"{facts.title} was closed without a signature of whoever did it")


def signature_of_this_record(facts: VisitFacts) -> Breaches:
    """A signature stays with the record it was made for."""
    for name in facts.moved:
        yield Breach(f"the signature of {name} was made for another record")
    for name in facts.amended:
        yield Breach(f"an answer was corrected after {name} had signed", outcome=Outcome.CANNOT_TELL)


def steps_proven(facts: VisitFacts) -> Breaches:
    """Every required step is pass or near pass, at the visit or in a retest of the same season."""
    for step in facts.weak:
        if step.required and step.made_good:
            yield Breach(f"{step.words}; {step.made_good}", _uids(step.uid), Outcome.KEPT)
    required = [step for step in facts.weak if step.required and not step.made_good]
    blank = [step for step in required if step.verdict == UNANSWERED]
    named = required if len(blank) <= FEW else [step for step in required if step.verdict != UNANSWERED]
    for step in named:
        yield Breach(step.words, _uids(step.uid))
    if named is not required:
        yield Breach(f"{len(blank)} steps not answered, {blank[0].named} is the first")


def people_qualified(facts: VisitFacts) -> Breaches:
    """Energised work by people who were on record as qualified on the day."""
    evidence: dict[str, list[str]] = {}
    for who, uid in facts.unqualified:
        evidence.setdefault(who, []).extend(_uids(uid))
    for who in sorted(evidence):
        yield Breach(f"{who} was not on record as qualified for energised work on the day", tuple(evidence[who]))


def instruments_calibrated(facts: VisitFacts) -> Breaches:
    """Every reading with an instrument in calibration on the day."""
    for name in sorted(facts.overdue):
        yield Breach(f"instrument {name} was out of calibration")


def instruments_named(facts: VisitFacts) -> Breaches:
    """Every reading names its instrument."""
    for kind in sorted(facts.unnamed):
        yield Breach(f"no {kind} named for its readings")


def instruments_stand(facts: VisitFacts) -> Breaches:
    """No reading, nor its limit, rests on a recalled instrument that no review lets stand."""
    evidence: dict[str, list[str]] = {}
    for words, uid in facts.recalled:
        evidence.setdefault(words, []).extend(_uids(uid))
    for words, uids in sorted(evidence.items()):
        yield Breach(words, tuple(uids))


def instruments_checked(facts: VisitFacts) -> Breaches:
    """Each instrument checked before use on the day."""
    if facts.unchecked:
        names = ", ".join(sorted(facts.unchecked))
        yield Breach(f"no check before use is on record for the day: {names}", outcome=Outcome.CANNOT_TELL)


def in_its_window(facts: VisitFacts) -> Breaches:
    """Made by the last sensible day."""
    if facts.due is not None and facts.state is VisitState.COMPLETE and facts.day > facts.due.isoformat():
        days = (date.fromisoformat(facts.day) - facts.due).days
        yield Breach(f"made {days} day{'' if days == 1 else 's'} after its last sensible day, {facts.due}")


def order_kept(facts: VisitFacts) -> Breaches:
    """No step before the steps that must come first."""
    for step, uid in facts.ahead:
        yield Breach(f"{step} was reported before the steps that must come first", _uids(uid))


def failures_acted_on(facts: VisitFacts) -> Breaches:
    """Something is on record for every failed step: a measure, a part, a person, an acceptance or a passed retest."""
    for step in facts.weak:
        if step.failed and not step.handled and not step.made_good:
            yield Breach(f"{step.named}: failed, and no action is on record", _uids(step.uid))


def findings_closed(facts: VisitFacts) -> Breaches:
    """Signed off with nothing left open, or accepted by name until a date."""
    for finding in facts.findings:
        if finding.state is FindingState.OPEN:
            yield Breach(f"signed off with {finding.id} open: {finding.title}", _uids(finding.uid))


def changes_restored(facts: VisitFacts) -> Breaches:
    """Every temporary change undone."""
    for words in facts.open_changes:
        yield Breach(f"temporary change still in place: {words}")


def corrections_told(facts: VisitFacts) -> Breaches:
    """Every correction tells what stood before, who changed it, when and why; the first entry stays."""
    for each in facts.corrections:
        missing = [what for what, value in (("old value", each.old), ("reason", each.because)) if not value.strip()]
        if missing:
            yield Breach(f"{each.named}: corrected without its {' and '.join(missing)}", (each.uid,))


def lockout_certified(facts: VisitFacts) -> Breaches:
    """The yearly inspection names machine, date, people and inspector."""
    if facts.checklist == LOCKOUT_INSPECTION and facts.state is VisitState.COMPLETE:
        for step in CERTIFIED:
            if step not in facts.answered:
                yield Breach(f"the certificate lacks {step.replace('_', ' ')}")


def entered_at_the_time(facts: VisitFacts) -> Breaches:
    """Written down when it was seen; what was entered late from paper says so."""
    for words, uid in facts.late_entries:
        yield Breach(f"{words}: entered late from paper", _uids(uid), Outcome.CANNOT_TELL)


def people_named(facts: VisitFacts) -> Breaches:
    """Every entry names a person and a device."""
    for uid in facts.nameless:
        yield Breach("an entry names no person or no device", (uid,))


def undisputed(facts: VisitFacts) -> Breaches:
    """Written by devices that have one past, and whose keys counted."""
    for says, is_proved, uid in facts.disputed:
        yield Breach(says, (uid,), Outcome.BROKEN if is_proved else Outcome.CANNOT_TELL)


def reviewed_by_another(facts: VisitFacts) -> Breaches:
    """Reviewed by another person than the one who did it."""
    if facts.state is VisitState.COMPLETE and not set(facts.reviewed_by) - set(facts.signed_by):
        yield Breach("no other person has reviewed it", outcome=Outcome.CANNOT_TELL)


def _uids(uid: str) -> tuple[str, ...]:
    return (uid,) if uid else ()


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule of the table."""

    find: Callable[[VisitFacts], Breaches]
    title: str
    """What it asks, for a person."""
    requirement: str
    proves: bool = False
    """Broken, the visit proves nothing for its season."""

    @property
    def name(self) -> str:
        """The name of its function."""
        return self.find.__name__


_CALIBRATION = "ISO/IEC 17025 6.4 (from memory) and 7.5.1"
RULES: tuple[Rule, ...] = (
    Rule(in_its_window, "Made in its window", "ASHRAE 188: all activities done and documented as planned"),
    Rule(signed_off, "Signed off", "21 CFR 11.50 (from memory): name, time and meaning of the signature", proves=True),
    Rule(signature_of_this_record, "Signature belongs to it", "21 CFR 11.70 (from memory): cannot be moved"),
    Rule(steps_proven, "Every required step passed", "21 CFR 11.10(a) (from memory): accurate, complete", proves=True),
    Rule(people_qualified, "People qualified", "29 CFR 1910.333(c)(2) (from memory); 21 CFR 11.10(g)", proves=True),
    Rule(instruments_calibrated, "Instruments in calibration", _CALIBRATION, proves=True),
    Rule(instruments_named, "Instruments named", "ISO/IEC 17025 7.5.1: factors that affect the result", proves=True),
    Rule(instruments_stand, "No instrument recalled", "ISO/IEC 17025 7.10 (from memory)", proves=True),
    Rule(instruments_checked, "Instruments checked before use", "ISO/IEC 17025 6.4.10 (from memory)"),
    Rule(order_kept, "Steps in their order", "21 CFR 11.10(f) (from memory): permitted sequence of steps"),
    Rule(failures_acted_on, "Failures acted on", "ASHRAE 188: the action is recorded when a limit is not met"),
    Rule(findings_closed, "No finding left open", "ASHRAE 188: the action is recorded when a limit is not met"),
    Rule(changes_restored, "Temporary changes undone", "common practice, no source"),
    Rule(corrections_told, "Corrections told", "21 CFR 11.10(e); ISO/IEC 17025 7.5.2: old, new, who, when, why"),
    Rule(lockout_certified, "Lockout inspection certified", "29 CFR 1910.147(c)(6)(ii) (from memory)"),
    Rule(people_named, "Every entry has a name", "ALCOA+: attributable"),
    Rule(undisputed, "Not disputed by another entry", "ALCOA+: original; RFC 9162 8.1.5: two signed pasts"),
    Rule(entered_at_the_time, "Entered at the time", "ALCOA+: contemporaneous; ISO/IEC 17025 7.5.1"),
    Rule(reviewed_by_another, "Reviewed by another person", "ASHRAE 188: programme reviewed at least yearly"),
)  # fmt: skip
"""Every rule, in the order they are told."""
_OF_A_VISIT = tuple(rule for rule in RULES if rule.find is not in_its_window)
PROVING = tuple(rule for rule in RULES if rule.proves)
BY_NAME = {rule.name: rule for rule in RULES}
_ORDER = (Outcome.BROKEN, Outcome.CANNOT_TELL, Outcome.KEPT)


def held(facts: VisitFacts) -> tuple[RuleResult, ...]:
    """Every rule held against a visit, broken ones first."""
    return tuple(sorted((_result(rule, facts) for rule in RULES), key=lambda result: _ORDER.index(result.outcome)))


def _result(rule: Rule, facts: VisitFacts) -> RuleResult:
    found = tuple(rule.find(facts))
    outcome = min((each.outcome for each in found), key=_ORDER.index, default=Outcome.KEPT)
    evidence = tuple(dict.fromkeys(uid for each in found for uid in each.evidence))
    return RuleResult(rule.name, rule.title, rule.requirement, outcome, "; ".join(b.says for b in found), evidence)


def broken(facts: VisitFacts) -> tuple[str, ...]:
    """Names of the rules a visit breaks; lateness is told by the cell itself."""
    return tuple(rule.name for rule in _OF_A_VISIT if any(b.outcome is Outcome.BROKEN for b in rule.find(facts)))


def shortfalls(facts: VisitFacts) -> tuple[str, ...]:
    """Why a visit proves nothing for its season; empty when it does. One not closed as complete says only that."""
    closed = tuple(breach.says for breach in signed_off(facts))
    found = (breach for rule in PROVING for breach in rule.find(facts))
    return closed or tuple(breach.says for breach in found if breach.outcome is not Outcome.KEPT)
