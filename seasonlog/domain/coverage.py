"""Is this tower proven for the season? One function answers it, for every board, report and record.

Proven: every required step of the fall enable that applies to the tower is pass or near pass, in this season (what
failed may have passed in a retest since), with instruments in calibration, a qualified person on the day, the as-left
block closed, no change of winter mode since, and no open finding that can freeze, burn or shock. Anything less is not
proven, with the reason in words.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from seasonlog.domain import audit_rules
from seasonlog.domain.audit_rules import SKIPPED, UNANSWERED, VisitFacts, WeakStep
from seasonlog.domain.checklist import StepInstance
from seasonlog.domain.finding import Finding
from seasonlog.domain.protection import Protection
from seasonlog.domain.verdict import Verdict
from seasonlog.domain.visit import Meaning, Progress, Saved

RETESTING = ("repair", "commissioning")
"""Occasions of the checklists by which a step that failed is made good."""
OF_THE_VISIT = frozenset({"second_person", "permits"})
"""Ids of steps about how a visit was made, not about the tower: no other visit makes them good."""
PROVISIONAL_DAYS = 14
"""How long a short enable stands in for the fall enable (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Coverage:
    """The answer, with its reasons."""

    protection: Protection
    reasons: tuple[str, ...]
    """Why it is not proven; for a proven tower, by which visit."""


@dataclass(frozen=True, slots=True)
class Evidence:
    """What the record holds about one tower in one season."""

    full: Sequence[tuple[Progress, date]]
    """Visits of checklists that prove the season, with the day they were closed (or started), oldest first."""
    short: Sequence[tuple[Progress, date]]
    """Visits of checklists that prove it provisionally."""
    findings: Sequence[Finding]
    """All findings of the tower."""
    wet_since: date | None = None
    """Day of the last change to a wet winter mode in this season, if there was one."""
    replaced: tuple[str, date] | None = None
    """What was last replaced on the tower's heater circuits and basins, and when it was installed."""
    retested: date | None = None
    """Day of the last finished repair retest or commissioning in this season."""
    retests: Sequence[Progress] = ()
    """Repair retests and commissionings of this season, oldest first."""


def coverage(evidence: Evidence, on: date) -> Coverage:
    """What is proven about a tower on a day."""
    hazards = [f for f in evidence.findings if f.is_open and f.needs_retest]
    reasons = [*_full_reasons(evidence), *(f.reason for f in hazards)]
    if not reasons:
        return Coverage(Protection.PROVEN, (_proof(*evidence.full[-1], evidence.retests),))
    until = _provisional_until(evidence)
    if until is not None and on <= until and not hazards:
        return Coverage(Protection.PROVISIONAL, (f"short enable, stands until {until.isoformat()}", *reasons))
    return Coverage(Protection.NOT_PROVEN, tuple(reasons))


def _proof(progress: Progress, day: date, retests: Sequence[Progress]) -> str:
    good = {step.made_good for step in facts_of(progress, retests).weak if step.required}
    since = f"; what failed {' and '.join(sorted(good))}" if good else ""
    return f"{progress.checklist.title} on {day.isoformat()} by {progress.visit.who}{since}"


def _full_reasons(evidence: Evidence) -> tuple[str, ...]:
    if not evidence.full:
        return ("no fall enable in this season",)
    progress, day = evidence.full[-1]
    if evidence.wet_since is not None and day < evidence.wet_since:
        return (f"wet again since {evidence.wet_since.isoformat()}, after the fall enable",)
    return (*_untested(evidence, day), *shortfalls(progress, evidence.retests))


def _untested(evidence: Evidence, enabled: date) -> tuple[str, ...]:
    """A part replaced after the fall enable wants the retest steps of its kind."""
    if evidence.replaced is None:
        return ()
    what, on = evidence.replaced
    if on <= max(enabled, evidence.retested or enabled):
        return ()
    return (f"{what.replace('_', ' ')} replaced on {on.isoformat()}, not retested since",)


def _provisional_until(evidence: Evidence) -> date | None:
    days = [day for progress, day in evidence.short if not shortfalls(progress)]
    return max(days) + timedelta(days=PROVISIONAL_DAYS) if days else None


def shortfalls(progress: Progress, retests: Iterable[Progress] = ()) -> tuple[str, ...]:
    """Why a visit does not prove what its checklist could prove, retests after it considered; empty when it does."""
    return audit_rules.shortfalls(facts_of(progress, retests))


def _made_good(progress: Progress, retests: Iterable[Progress]) -> dict[str, str]:
    """Step key to the retest in which it passed since; of several the last one decides."""
    found: dict[str, str] = {}
    for at in retests:
        if _serves(at, progress):
            told = {key: one for key, one in at.answers.items() if one.step_id not in OF_THE_VISIT}
            since = {key: one for key, one in told.items() if _is_since(one, progress.answers.get(key))}
            title = at.checklist.title
            passed = f"passed in the {title[:1].lower()}{title[1:]} of {at.visit.day}"
            found |= {key: passed if one.is_good else "" for key, one in since.items()}
    return found


def _is_since(again: Saved, first: Saved | None) -> bool:
    """Whether an answer was seen after another: what is corrected, or typed in from paper, was not seen then."""
    return not again.is_skipped and (first is None or (again.place > first.place and again.day >= first.day))


def _serves(retest: Progress, progress: Progress) -> bool:
    """Whether a retest came after a visit, and is evidence itself: signed, by who may, with instruments that stand."""
    is_later = retest.visit.started_wall_ms > progress.visit.started_wall_ms
    return is_later and not audit_rules.shortfalls(replace(facts_of(retest), weak=()))


def facts_of(progress: Progress, retests: Iterable[Progress] = ()) -> VisitFacts:
    """What the rules ask of a visit, from the visit itself; what lies outside it is added by whoever knows it.

    Args:
        progress: The visit.
        retests: Repair retests and commissionings of its tower and season, oldest first.
    """
    visit, standing = progress.visit, progress.answers.values()
    good = _made_good(progress, retests)
    return VisitFacts(
        visit=visit.id,
        title=progress.checklist.title,
        checklist=visit.checklist,
        state=visit.state,
        day=visit.day,
        who=visit.who,
        signed_by=tuple(s.name for s in visit.signatures if s.meaning is Meaning.DONE_BY and not s.moved),
        reviewed_by=tuple(s.name for s in visit.signatures if s.meaning is Meaning.REVIEWED_BY and not s.moved),
        moved=tuple(s.name for s in visit.signatures if s.moved),
        weak=tuple(filter(None, (_weak(i, progress.answers.get(i.key), good) for i in progress.instances))),
        unqualified=tuple(_unqualified(progress)),
        overdue=tuple(visit.uncalibrated & {a.instrument for a in standing}),
        unnamed=tuple(_unnamed(progress)),
        recalled=tuple(
            (f"{a.recalled_instrument} was recalled and no review lets it stand", a.uid) for a in standing if a.recalled
        ),
        open_changes=tuple(f"{c.what}, {c.where}" for c in progress.open_changes),
        answered=frozenset(a.step_id for a in standing if not a.is_skipped),
    )


def unanswered(progress: Progress) -> bool:
    """Whether a required step has no answer, as after a part was added to the tower."""
    return any(i.step.required and i.key not in progress.answers for i in progress.instances)


def _unqualified(progress: Progress) -> Iterator[tuple[str, str]]:
    if any(i.step.live for i in progress.instances) and not progress.visit.qualified:
        yield progress.visit.who, ""
    yield from ((a.who, a.uid) for a in progress.answers.values() if not a.qualified)


def _weak(instance: StepInstance, saved: Saved | None, good: Mapping[str, str]) -> WeakStep | None:
    since = good.get(instance.key, "")
    if saved is None:
        return WeakStep(instance.named, UNANSWERED, required=instance.step.required, made_good=since)
    if saved.is_good:
        return None
    verdict = SKIPPED if saved.verdict is None else str(saved.verdict)
    failed = saved.verdict in (Verdict.FAIL, Verdict.NEAR_FAIL)
    required = instance.step.required
    return WeakStep(instance.named, verdict, saved.says, required, failed, uid=saved.uid, made_good=since)


def _unnamed(progress: Progress) -> Iterable[str]:
    read = {key for key, saved in progress.answers.items() if not saved.is_skipped}
    kinds = {i.step.instrument for i in progress.instances if i.step.quantity and i.key in read}
    return sorted(k for k in kinds if k and k not in progress.visit.instruments)
