"""A finding: something wrong that needs a person, from the answer that opened it to the proof that closed it.

A finding is a fold of the log, never a thing edited. One tower, step and target have at most one open finding: a
second failure is the same finding seen again. What closes it depends on what it can do to people (see `needs_retest`).
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field, fields, replace
from datetime import date
from enum import StrEnum
from hashlib import sha256
from typing import Any, Self

from seasonlog.domain.severity import Severity


class FindingState(StrEnum):
    """Where a finding stands."""

    OPEN = "open"
    ACCEPTED = "accepted"
    """A supervisor and the customer's decision-maker accepted it until a date."""
    CLOSED = "closed"
    WITHDRAWN = "withdrawn"
    """The answer that opened it was corrected: the reading was typed wrong. Both entries remain."""


_FITTED = re.compile(r" fitted \d{4}-\d\d-\d\d$", re.ASCII)
RETEST_ONLY = frozenset({Severity.FREEZE_RISK, Severity.DRY_FIRE_RISK, Severity.SHOCK_RISK})
"""Severities that only a passed retest closes."""
RETESTED = "retest: "
"""How words begin that a passed retest closed a finding with."""


@dataclass(frozen=True, slots=True)
class Finding:
    """One finding as it stands now."""

    id: str
    """`F-` and eight hex digits, the same on every device."""
    tower: str
    site: str
    severity: Severity
    state: FindingState
    step: str
    """Step key in the visit that opened it."""
    step_id: str
    target: str
    """Circuit, basin, trace or source, or empty."""
    visit: str
    entry: str
    """Uid of the answer that opened it."""
    title: str
    says: str
    """The failed answer in words: what was read, what the limit is."""
    opened_wall_ms: int
    opened_by: str
    parts: tuple[str, ...] = ()
    """What a repair usually needs."""
    unprotected: str = ""
    """Why the tower is unprotected tonight; empty when it is not."""
    causes: tuple[Mapping[str, str], ...] = ()
    """What would explain it, best first, each with the next measurement (`named_faults.cause_record`)."""
    seen: int = 1
    """How many visits found it."""
    assigned: str = ""
    assigned_due: str = ""
    measures: tuple[str, ...] = ()
    """Interim measures: what, who was told, when."""
    part_stages: tuple[str, ...] = ()
    offers: tuple[str, ...] = ()
    """What the customer said to the repair offered: answer, who, words; the newest last."""
    accepted_until: str = ""
    accepted_words: str = ""
    closed_words: str = ""
    closed_wall_ms: int = 0
    retest: Mapping[str, Any] = field(default_factory=dict, hash=False)
    """The answer that closed it, where one did (`closing_of`); kept while that closing is in doubt."""
    doubt: str = ""
    """Why a closing does not count for now, in words: it stands open again. Empty for none."""
    failed_at: int = 0
    """Place in the log of what last showed that it is wrong."""
    failed_on: str = ""
    """The last day on which something showed that, YYYY-MM-DD."""

    @property
    def reason(self) -> str:
        """As a reason why a tower is not proven."""
        return f"open finding {self.id}: {self.title}" + (f" (reopened: {self.doubt})" if self.doubt else "")

    @property
    def is_open(self) -> bool:
        """Still needs a person, whatever was accepted for a while."""
        return self.state in (FindingState.OPEN, FindingState.ACCEPTED)

    @property
    def needs_retest(self) -> bool:
        """Closes only by a passed retest or a dated acceptance."""
        return self.severity in RETEST_ONLY

    @property
    def awaits_retest(self) -> bool:
        """A part was fitted, and nothing has shown since that it works."""
        return self.is_open and any(_FITTED.search(stage) for stage in self.part_stages)

    def state_on(self, today: date) -> FindingState:
        """The state on a day: an acceptance that ran out is open again."""
        if self.state is FindingState.ACCEPTED and self.accepted_until < today.isoformat():
            return FindingState.OPEN
        return self.state

    def to_doc(self) -> dict[str, Any]:
        """As the view keeps it."""
        return {name: list(value) if isinstance(value, tuple) else value for name, value in asdict(self).items()}

    @classmethod
    def from_doc(cls, doc: Mapping[str, Any]) -> Self:
        """Back from the view's form."""
        known = {f.name: doc[f.name] for f in fields(cls) if f.name in doc}
        known |= {name: tuple(value) for name, value in known.items() if isinstance(value, list)}
        return cls(**(known | {"severity": Severity(known["severity"]), "state": FindingState(known["state"])}))


def finding_id(visit: str, step: str) -> str:
    """Id of the finding that a failed step of a visit opens; the same wherever it is computed."""
    return f"F-{sha256(f'{visit}|{step}'.encode()).hexdigest()[:8].upper()}"


@dataclass(frozen=True, slots=True)
class Event:
    """The part of an entry that a finding's fold needs."""

    body: Mapping[str, Any]
    who: str
    wall_ms: int
    uid: str = field(default="")
    day: str = ""
    """The day it was seen."""
    pos: int = 0
    """Its place in the log's causal order; of a correction, that of the first observation."""
    rests_on: Sequence[Mapping[str, str]] = ()
    """Of an answer: the readings its limit was worked from (`limit_inputs.record`)."""


def opened(event: Event, site: str) -> Finding:
    """The finding that a failed answer opens."""
    body, failed = event.body, event.body["finding"]
    return Finding(
        id=finding_id(body["visit"], body["step"]),
        tower=body["tower"],
        site=site,
        severity=Severity(failed["severity"]),
        state=FindingState.OPEN,
        step=body["step"],
        step_id=body["step_id"],
        target=body["target"],
        visit=body["visit"],
        entry=event.uid,
        title=failed["title"],
        says=body["says"],
        opened_wall_ms=event.wall_ms,
        opened_by=event.who,
        parts=tuple(failed["parts"]),
        unprotected=failed["unprotected"],
        causes=tuple(failed.get("causes", ())),
        failed_at=event.pos,
        failed_on=event.day,
    )


def searched_out(event: Event, site: str) -> Finding:
    """The finding that a search for the cause opens: the retest of its repair closes it."""
    return replace(opened(event, site), id=finding_id(event.body["search"], event.body["step"]))


def explained(finding: Finding, event: Event) -> Finding:
    """A search found the cause of what a step had failed on: the cause and its repair stand beside what was read."""
    causes = tuple(event.body["finding"]["causes"])
    severity = finding.severity if finding.needs_retest else Severity(event.body["finding"]["severity"])
    says = f"{finding.says}; {event.body['says']}"
    return replace(_wrong_still(finding, event), says=says, severity=severity, causes=causes)


def _wrong_still(finding: Finding, event: Event) -> Finding:
    """What closed it once, and is in doubt, can close it no more."""
    at, on = max(finding.failed_at, event.pos), max(finding.failed_on, event.day)
    return replace(finding, failed_at=at, failed_on=on, retest={}, doubt="")


def seen_again(finding: Finding, event: Event) -> Finding:
    """A later visit failed the same step: the newest words, one finding."""
    again = _wrong_still(finding, event)
    again = again if finding.visit == event.body["visit"] else replace(again, seen=finding.seen + 1)
    if event.body.get("corrects") == finding.entry:  # what opened it was typed wrong, and what was right is bad too
        again = replace(again, entry=event.uid)
    failed = event.body["finding"]
    causes = tuple(failed.get("causes", ()))
    return replace(again, says=event.body["says"], severity=Severity(failed["severity"]), causes=causes)


def is_answered_by(finding: Finding, event: Event) -> bool:
    """A passed answer counts when it was seen after what last failed, or corrects that: not when it was typed later."""
    return event.pos >= finding.failed_at and event.day >= finding.failed_on


def closed_by_answer(finding: Finding, event: Event) -> Finding:
    """A passed answer to the same step: withdrawn when it corrects the failed one, else closed by retest."""
    corrects = event.body.get("corrects")
    state = FindingState.WITHDRAWN if corrects == finding.entry else FindingState.CLOSED
    words = f"corrected: {event.body['because']}" if corrects else f"{RETESTED}{event.body['says']}"
    return _shut(finding, state, closing_of(event, f"{words} ({event.who})"))


def closing_of(event: Event, words: str) -> dict[str, Any]:
    """The answer that closes a finding, as far as a recall of an instrument it rests on asks for it."""
    body = event.body
    return {
        "entry": event.uid, "visit": body["visit"], "day": event.day, "instrument": body["instrument"],
        "words": words, "wall_ms": str(event.wall_ms), "rests_on": list(event.rests_on),
    }  # fmt: skip


def bases(retest: Mapping[str, Any]) -> Sequence[Mapping[str, str]]:
    """What the answer that closed a finding rests on: itself first, then what its limit was worked from."""
    return ({name: retest[name] for name in ("instrument", "visit", "day")}, *retest["rests_on"])


def _shut(finding: Finding, state: FindingState, by: Mapping[str, Any]) -> Finding:
    at = int(by["wall_ms"])
    return replace(finding, state=state, closed_words=by["words"], closed_wall_ms=at, retest=by, doubt="")


def closed_anew(finding: Finding, event: Event) -> Finding:
    """The answer that closed it was corrected, and passes still: the new one counts in its place."""
    told = f"corrected: {event.body['because']} ({event.who})"
    if finding.state is FindingState.WITHDRAWN:
        return _shut(finding, finding.state, closing_of(event, told))
    return _shut(finding, FindingState.CLOSED, closing_of(event, f"{RETESTED}{event.body['says']}; {told}"))


def doubted(finding: Finding, by: Mapping[str, str]) -> Finding:
    """An instrument that closed it was recalled and no review lets that stand: it stands open again until one does."""
    read = f"judged at {by['says']}, read with" if "says" in by else "with instrument"
    words = f"closed by a retest {read} {by['instrument']}, recalled since {by['since']}"
    return replace(reopened(finding), retest=finding.retest, doubt=words)


def upheld(finding: Finding) -> Finding:
    """A review lets the reading that closed it stand."""
    return _shut(finding, FindingState.CLOSED, finding.retest)


def reopened(finding: Finding) -> Finding:
    """The answer that closed it was taken back: as it stood before."""
    state = FindingState.ACCEPTED if finding.accepted_until else FindingState.OPEN
    return replace(finding, state=state, closed_words="", closed_wall_ms=0, retest={}, doubt="")


def assigned(finding: Finding, event: Event) -> Finding:
    """Somebody was given it."""
    return replace(finding, assigned=event.body["to"], assigned_due=event.body["due"])


def measure_taken(finding: Finding, event: Event) -> Finding:
    """Something was done to get through the night."""
    body = event.body
    return replace(finding, measures=(*finding.measures, f"{body['measure']}; told {body['told']}, {body['told_at']}"))


def part_noted(finding: Finding, event: Event) -> Finding:
    """A part was ordered, promised or fitted."""
    body = event.body
    return replace(finding, part_stages=(*finding.part_stages, f"{body['part']} {body['stage']} {body['on']}"))


def repair_answered(finding: Finding, event: Event) -> Finding:
    """The customer answered an offer of repair."""
    body = event.body
    by = f" by {body['by']}" if body["by"] else ""
    words = f": {body['words']}" if body["words"] else ""
    return replace(finding, offers=(*finding.offers, f"{body['answer']}{by}{words}"))


def accepted(finding: Finding, event: Event) -> Finding:
    """Accepted by supervisor and customer until a date."""
    body = event.body
    words = f"accepted by {body['by']} with {body['customer']} until {body['until']}: {body['because']}"
    return replace(finding, state=FindingState.ACCEPTED, accepted_until=body["until"], accepted_words=words)


def closed(finding: Finding, event: Event) -> Finding:
    """Closed with words; the service refuses this where only a retest closes."""
    words = f"{event.body['because']} ({event.who})"
    at = event.wall_ms
    return replace(finding, state=FindingState.CLOSED, closed_words=words, closed_wall_ms=at, retest={}, doubt="")
