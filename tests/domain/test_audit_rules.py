"""Every rule can be kept and can be broken; what proves a season is some of the same rules."""

from dataclasses import replace
from datetime import date

import pytest

from seasonlog.domain import audit_rules
from seasonlog.domain.audit_rules import BY_NAME, RULES, Correction, Raised, VisitFacts, WeakStep
from seasonlog.domain.coverage_cells import Outcome
from seasonlog.domain.finding import FindingState
from seasonlog.domain.visit import VisitState

GOOD = VisitFacts(
    "V-1", "Fall enable", "fall-enable", VisitState.COMPLETE, "2026-09-01", "Mirel Oduvane", due=date(2026, 9, 3),
    signed_by=("Mirel Oduvane",), reviewed_by=("Halden Pruskett",),
)  # fmt: skip
SLIP = Correction("Line amps", "2.15 A", "21.5 A", "Mirel Oduvane", "2026-09-01 08:00", "slip", "E-2", "E-1")
CERTIFICATE = replace(GOOD, checklist="lockout-inspection", answered=frozenset({"procedure_inspected", "inspector"}))
BREAKS = {
    "in_its_window": replace(GOOD, day="2026-09-04"),
    "signed_off": replace(GOOD, signed_by=()),
    "signature_of_this_record": replace(GOOD, moved=("Somebody",)),
    "steps_proven": replace(GOOD, weak=(WeakStep("Line amps", "cannot_tell"),)),
    "people_qualified": replace(GOOD, unqualified=(("Jessa Wickmoor", "E-9"),)),
    "instruments_calibrated": replace(GOOD, overdue=("VM-02",)),
    "instruments_named": replace(GOOD, unnamed=("clamp",)),
    "instruments_stand": replace(GOOD, recalled=(("CL-01 was recalled", "E-3"),)),
    "instruments_checked": replace(GOOD, unchecked=("CL-01",)),
    "order_kept": replace(GOOD, ahead=(("line_amps", "E-4"),)),
    "failures_acted_on": replace(GOOD, weak=(WeakStep("Note", "fail", "", False, True, False, "E-5"),)),
    "findings_closed": replace(GOOD, findings=(Raised("F-1", "Line amps", FindingState.OPEN, "E-5"),)),
    "changes_restored": replace(GOOD, open_changes=("jumper, 3-4",)),
    "corrections_told": replace(GOOD, corrections=(replace(SLIP, because=" "),)),
    "lockout_certified": CERTIFICATE,
    "people_named": replace(GOOD, nameless=("E-6",)),
    "undisputed": replace(GOOD, disputed=(("device 9c01 wrote two entries with number 41", True, "E-8"),)),
    "entered_at_the_time": replace(GOOD, late_entries=(("line_amps, seen 08:00", "E-7"),)),
    "reviewed_by_another": replace(GOOD, reviewed_by=("Mirel Oduvane",)),
}


def test_every_rule_is_tried() -> None:
    assert set(BREAKS) == set(BY_NAME)


def test_every_rule_names_what_it_serves() -> None:
    sources = ("21 CFR 11", "ISO/IEC 17025", "ASHRAE 188", "29 CFR 1910", "ALCOA", "common practice, no source")
    assert all(any(source in rule.requirement for source in sources) for rule in RULES)
    assert len({rule.requirement for rule in RULES}) > 10


def test_a_good_record_keeps_every_rule() -> None:
    assert {r.outcome for r in audit_rules.held(GOOD)} == {Outcome.KEPT}
    assert audit_rules.shortfalls(GOOD) == audit_rules.broken(GOOD) == ()


@pytest.mark.parametrize("name", BY_NAME)
def test_each_is_broken_by_its_own_fault_alone(name: str) -> None:
    results = audit_rules.held(BREAKS[name])
    told = {r.rule for r in results if r.outcome is not Outcome.KEPT}
    assert told == {name}
    assert results[0].rule == name
    assert results[0].says
    assert bool(audit_rules.shortfalls(BREAKS[name])) == BY_NAME[name].proves


def test_evidence_is_named_where_the_record_holds_any() -> None:
    for name, uid in (("people_qualified", "E-9"), ("instruments_stand", "E-3"), ("findings_closed", "E-5")):
        assert audit_rules.held(BREAKS[name])[0].evidence == (uid,)


def test_corrections_with_all_five_are_kept_and_an_accepted_finding_too() -> None:
    accepted = Raised("F-1", "Line amps", FindingState.ACCEPTED, "E-5")
    assert audit_rules.broken(replace(GOOD, corrections=(SLIP,), findings=(accepted,))) == ()


def test_many_steps_without_an_answer_are_counted_and_do_not_hide_what_failed() -> None:
    """A wall of sixty names is read by nobody; up to three are named (common sense, no source)."""
    blank = tuple(WeakStep(f"Step {n}", "not answered") for n in range(60))
    told = {n: audit_rules.held(replace(GOOD, weak=(*blank[:n], WeakStep("Amps", "fail"))))[0].says for n in (3, 60)}
    assert told[3] == "Step 0: not answered; Step 1: not answered; Step 2: not answered; Amps: fail"
    assert told[60] == "Amps: fail; 60 steps not answered, Step 0 is the first"


def test_a_visit_not_signed_off_says_only_that() -> None:
    facts = replace(BREAKS["steps_proven"], state=VisitState.NOT_POSSIBLE)
    assert audit_rules.shortfalls(facts) == ("Fall enable closed as not possible",)
