"""Is this tower proven for the season? One function answers it, for every board, report and record.

Proven: every required step of the fall enable that applies to the tower is pass or near pass, in this season, with
instruments in calibration, a qualified person on the day, the as-left block closed, no change of winter mode since,
and no open finding that can freeze, burn or shock. Anything less is not proven, with the reason in words.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from seasonlog.domain.finding import Finding
from seasonlog.domain.visit import Progress, Saved, VisitState

PROVISIONAL_DAYS = 14
"""How long a short enable stands in for the fall enable (common practice, no source)."""


class Protection(StrEnum):
    """What can be said of a tower in a season."""

    PROVEN = "proven"
    PROVISIONAL = "provisional"
    """A short enable passed in the last 14 days."""
    NOT_PROVEN = "not_proven"


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


def coverage(evidence: Evidence, on: date) -> Coverage:
    """What is proven about a tower on a day."""
    hazards = [f for f in evidence.findings if f.is_open and f.needs_retest]
    reasons = [*_full_reasons(evidence), *(f"open finding {f.id}: {f.title}" for f in hazards)]
    if not reasons:
        progress, day = evidence.full[-1]
        return Coverage(
            Protection.PROVEN, (f"{progress.checklist.title} on {day.isoformat()} by {progress.visit.who}",)
        )
    until = _provisional_until(evidence)
    if until is not None and on <= until and not hazards:
        return Coverage(Protection.PROVISIONAL, (f"short enable, stands until {until.isoformat()}", *reasons))
    return Coverage(Protection.NOT_PROVEN, tuple(reasons))


def _full_reasons(evidence: Evidence) -> tuple[str, ...]:
    if not evidence.full:
        return ("no fall enable in this season",)
    progress, day = evidence.full[-1]
    if evidence.wet_since is not None and day < evidence.wet_since:
        return (f"wet again since {evidence.wet_since.isoformat()}, after the fall enable",)
    return (*_untested(evidence, day), *shortfalls(progress))


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


def shortfalls(progress: Progress) -> tuple[str, ...]:
    """Why a visit does not prove what its checklist could prove; empty when it does."""
    visit = progress.visit
    if visit.state is not VisitState.COMPLETE:
        words = {VisitState.OPEN: "not signed off yet"}.get(visit.state, f"closed as {visit.state.replace('_', ' ')}")
        return (f"{progress.checklist.title} {words}",)
    weak = [_weak(i.named, progress.answers.get(i.key)) for i in progress.instances if i.step.required]
    reasons = [words for words in weak if words]
    standing = progress.answers.values()
    unqualified = {a.who for a in standing if not a.qualified}
    if any(i.step.live for i in progress.instances) and not visit.qualified:
        unqualified.add(visit.who)
    words = "was not on record as qualified for energised work on the day"
    reasons += [f"{who} {words}" for who in sorted(unqualified)]
    overdue = visit.uncalibrated & {a.instrument for a in standing}
    reasons += [f"instrument {name} was out of calibration" for name in sorted(overdue)]
    reasons += [f"no {kind} named for its readings" for kind in _unnamed(progress)]
    return tuple(reasons)


def _weak(named: str, saved: Saved | None) -> str:
    if saved is None:
        return f"{named}: not answered"
    if saved.is_skipped:
        return f"{named}: skipped, {saved.says}"
    return "" if saved.is_good else f"{named}: {str(saved.verdict).replace('_', ' ')}"


def _unnamed(progress: Progress) -> Iterable[str]:
    read = {key for key, saved in progress.answers.items() if not saved.is_skipped}
    kinds = {i.step.instrument for i in progress.instances if i.step.quantity and i.key in read}
    return sorted(k for k in kinds if k and k not in progress.visit.instruments)
