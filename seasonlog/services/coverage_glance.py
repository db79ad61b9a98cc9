"""Which rules are broken, of very many visits at once.

Only what the flags point at is read: a visit in which nothing was ever amiss breaks no rule about its answers. The
rules are the same as for one visit in full; a test holds both against each other.
"""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from functools import lru_cache
from typing import NamedTuple

from seasonlog.domain import audit_rules
from seasonlog.domain.audit_rules import Raised, VisitFacts, WeakStep
from seasonlog.domain.checklist import applicable
from seasonlog.domain.coverage import RETESTING
from seasonlog.domain.visit import VisitState
from seasonlog.domain.visit_flags import PLAIN, Flag
from seasonlog.journal import audit_queries, two_pasts
from seasonlog.journal.audit_queries import FindingRow, Proof
from seasonlog.services import checklists, registry
from seasonlog.services.coverage_facts import FAILED, Findings, raised, whole
from seasonlog.services.logbook import Logbook

_LOOK_WHOLE = int(Flag.UNQUALIFIED | Flag.UNCALIBRATED | Flag.AHEAD | Flag.RECALLED | Flag.MOVED)
"""Flags that only the whole visit explains."""
_SIGNED, _ALARMING = int(Flag.SIGNED), ~int(PLAIN)
"""As whole numbers: flags themselves are slow to put together."""


class _Looks(NamedTuple):
    """What the rules ask of a visit that its flags explain. Nothing of it says whose visit it is, or of which day."""

    checklist: str
    state: str
    is_signed: bool
    weak: tuple[WeakStep, ...]
    unnamed: tuple[str, ...]
    findings: tuple[Raised, ...]


@lru_cache(maxsize=4096)
def _broken_alike(looks: _Looks) -> tuple[str, ...]:
    """The rules that every visit which looks like this breaks: the same step fails on many towers."""
    facts = VisitFacts(
        visit="",
        title=looks.checklist,
        checklist=looks.checklist,
        state=VisitState(looks.state),
        day="",
        who="",
        signed_by=("whoever did it",) if looks.is_signed else (),
        weak=looks.weak,
        unnamed=looks.unnamed,
        findings=looks.findings,
    )
    return audit_rules.broken(facts)


def _retested(book: Logbook) -> set[tuple[str, int]]:
    known = ((ident, checklists.of_visit(book.db, sha256)) for sha256, ident in audit_queries.checklists_known(book.db))
    return audit_queries.retested(book.db, [ident for ident, checklist in known if checklist.when in RETESTING])


class Glances:
    """What is amiss with the visits of a log."""

    def __init__(self, book: Logbook, on: date) -> None:
        self._book, self._on = book, on
        self._weak: dict[str, list[tuple[str, str]]] = {}
        for visit, step, verdict in audit_queries.weak_steps(book.db):
            self._weak.setdefault(visit, []).append((step, verdict))
        self._findings = Findings.of(audit_queries.finding_rows(book.db))
        self._retested = _retested(book)
        """Tower and season of visits with a weak step, where a retest may have made it good."""
        self._devices = two_pasts.disputed(book.db)
        self._disputed = two_pasts.visits_of(book.db, self._devices)
        self._plain = set[tuple[str, int, str, str]]()
        """What visits in which nothing was ever amiss look like."""
        self._always = lru_cache(maxsize=256)(self._always_required)
        self._parts = lru_cache(maxsize=64)(lambda tower: registry.parts_of(book.db, tower))
        self._unnamed = lru_cache(maxsize=256)(self._unnamed_kinds)

    def broken(self, proof: Proof) -> tuple[str, ...]:
        """Names of the rules that a visit signed off as complete breaks."""
        looks = (proof.checklist, proof.flags, proof.sha256, proof.bare)
        if proof.visit in self._disputed:
            return self.in_full(proof.visit)
        if looks in self._plain:
            return ()
        if self._is_plain(*looks):
            self._plain.add(looks)
            return ()
        if proof.flags & _LOOK_WHOLE or self._is_certificate(proof) or (proof.tower, proof.season) in self._retested:
            return self.in_full(proof.visit)
        return _broken_alike(self._looks(proof))

    def in_full(self, visit: str) -> tuple[str, ...]:
        """The same of any visit, from all its entries."""
        return audit_rules.broken(whole(self._book, visit, self._findings, self._on, self._devices))

    def _is_plain(self, checklist: str, flags: int, sha256: str, bare: str) -> bool:
        """Nothing was ever amiss with such a visit."""
        is_clean = bool(flags & _SIGNED) and not flags & _ALARMING
        return is_clean and checklist != audit_rules.LOCKOUT_INSPECTION and not self._unnamed(sha256, bare)

    @staticmethod
    def _is_certificate(proof: Proof) -> bool:
        return proof.checklist == audit_rules.LOCKOUT_INSPECTION

    def _looks(self, proof: Proof) -> "_Looks":
        weak = self._weak.get(proof.visit, ())
        failed = [self._findings.about(proof.tower, step) for step, verdict in weak if verdict in FAILED]
        return _Looks(
            proof.checklist,
            proof.state,
            bool(proof.flags & _SIGNED),
            tuple([self._weak_step(proof, step, verdict) for step, verdict in weak]),
            self._unnamed(proof.sha256, proof.bare),
            tuple([raised(found, self._on) for found in failed if found is not None]),
        )

    def _weak_step(self, proof: Proof, step: str, verdict: str) -> WeakStep:
        failed = verdict in FAILED
        found: FindingRow | None = self._findings.about(proof.tower, step) if failed else None
        always = self._always(proof.sha256).get(step.partition("@")[0], False)
        required = self._required_here(proof, step) if always is None else always
        return WeakStep(step, verdict, "", required, failed, handled=found is not None and found.handled)

    def _always_required(self, sha256: str) -> Mapping[str, bool | None]:
        """Step id to whether it is required; None where that depends on what the tower has."""
        found: dict[str, bool | None] = {}
        for step in checklists.of_visit(self._book.db, sha256).steps:
            found[step.id] = step.required if found.get(step.id, step.required) == step.required else None
        return found

    def _required_here(self, proof: Proof, step: str) -> bool:
        checklist = checklists.of_visit(self._book.db, proof.sha256)
        variants = tuple(each for each in checklist.steps if each.id == step.partition("@")[0])
        register = self._parts(proof.tower)
        if proof.tower not in register.towers:
            return True
        asked = applicable(replace(checklist, steps=variants), register, proof.tower)
        return any(i.step.required for i in asked if i.key == step)

    def _unnamed_kinds(self, sha256: str, bare: str) -> tuple[str, ...]:
        """Kinds of instrument that were wanted for a reading and not named."""
        if not bare:
            return ()
        ids, steps = set(bare.split()), checklists.of_visit(self._book.db, sha256).steps
        return tuple(sorted({step.instrument for step in steps if step.id in ids and step.instrument}))
