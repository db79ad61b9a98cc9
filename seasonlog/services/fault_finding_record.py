"""The end of a search, written down: a finding with evidence, repair and retest, or a note where no cause is named."""

from seasonlog.domain.checklist import StepInstance
from seasonlog.domain.finding import Finding, finding_id
from seasonlog.domain.records import Kind, Record
from seasonlog.domain.severity import Severity
from seasonlog.errors import UsageError
from seasonlog.faults.catalogue import FAULTS
from seasonlog.faults.observation import Stop
from seasonlog.faults.table import hazards
from seasonlog.journal import queries
from seasonlog.services import findings, rounds
from seasonlog.services.fault_finding import Search
from seasonlog.services.fault_finding_report import evidence, named, names_a_cause, percent, retest_steps
from seasonlog.services.logbook import Logbook

_SEVERITIES = {
    "D": Severity.DRY_FIRE_RISK,
    "S": Severity.SHOCK_RISK,
    "F": Severity.FREEZE_RISK,
    "W": Severity.RUNS_WHEN_IT_SHOULD_NOT,
}
"""Hazard letter of the fault table -> severity, the gravest first."""
_TONIGHT = {
    "D": "It may run in an empty basin: keep it locked off, and drain or circulate the basin.",
    "S": "Something may be live that should not be: keep it locked off, drain, circulate or bring other heat.",
    "F": "No heat when it is cold: drain, keep the pump running, or bring other heat tonight.",
}
_PROOFS = {
    "D": ("off_low_level",),
    "S": ("off_switch_volts", "off_low_level", "insulation_mohm", "control_ground_volts", "float_leg_found"),
    "F": ("heat_call", "line_amps"),
    "W": ("off_warm", "cut_out_degf"),
}
"""Hazard letter -> steps that prove it gone, the most telling first."""
MOST_EVIDENCE = 1200
"""Characters of evidence in one note."""


def record(book: Logbook, search: Search, stop: Stop) -> Finding | None:
    """Write the end of a search into the log.

    Returns:
        The finding it opened or explained; None when it became a note.

    Raises:
        UsageError: nothing was seen yet, so there is nothing to write down.
    """
    if not search.session.observations:
        raise UsageError("Nothing was seen yet; there is nothing to write down.")
    if not names_a_cause(stop):
        rounds.add_note(book, search.tower, note_words(search, stop), search.visit)
        return None
    body = _body(book, search, stop) | ({"at_panel": search.person} if search.person else {})
    book.write(Record(Kind.FAULT_FOUND, body))
    standing = _standing(book, search, stop)
    return standing or findings.named(book, finding_id(str(body["search"]), str(body["step"])))


def note_words(search: Search, stop: Stop) -> str:
    """The end of a search as a note."""
    first = stop.suspects[0]
    seen = "; ".join(evidence(search))
    shown = seen if len(seen) <= MOST_EVIDENCE else f"{seen[:MOST_EVIDENCE]} ..."
    likeliest = f"{named(first)}, {percent(first.probability)}"
    return f"Fault finder, {search.circuit.id}: {stop.says} Likeliest: {likeliest}. Seen: {shown}.{_person(search)}"


def _person(search: Search) -> str:
    return f" At the panel: {search.person}." if search.person else ""


def _standing(book: Logbook, search: Search, stop: Stop) -> Finding | None:
    """The open finding of a step that the repair is proved by."""
    about = ("", search.entry.id, search.entry.basin)
    found = queries.findings(book.db, open_only=True, tower=search.tower)
    return next((each for each in found if each.step_id in stop.retest and each.target in about), None)


def _body(book: Logbook, search: Search, stop: Stop) -> dict[str, object]:
    first = stop.suspects[0]
    letters = hazards(search.circuit, FAULTS[int(first.fault)])
    standing = _standing(book, search, stop)
    step, step_id, target = (
        (standing.step, standing.step_id, standing.target) if standing else _closing(search, stop, letters)
    )
    seen = evidence(search)
    return {
        "search": book.around.new_id("S"),
        "visit": search.visit,
        "tower": search.tower,
        "circuit": search.circuit.id,
        "step": step,
        "step_id": step_id,
        "target": target,
        "says": f"fault finder: {named(first)}, {percent(first.probability)}; seen: {'; '.join(seen)}{_person(search)}",
        "evidence": list(seen),
        "repair": stop.repair,
        "retest": list(stop.retest),
        "finding": _finding(search, stop, letters),
    }


def _finding(search: Search, stop: Stop, letters: str) -> dict[str, object]:
    first = stop.suspects[0]
    gravest = next((letter for letter in _SEVERITIES if letter in letters), "")
    cause = {
        "cause": first.fault,
        "where": search.circuit.id,
        "fit": f"{first.probability:.3f}",
        "says": f"{named(first)}, {percent(first.probability)}",
        "next_test": stop.repair,
    }
    return {
        "severity": str(_SEVERITIES.get(gravest, Severity.RECORD_GAP)),
        "title": first.says[:1].upper() + first.says[1:],
        "parts": [],
        "unprotected": _TONIGHT.get(gravest, ""),
        "causes": [cause],
    }


def _closing(search: Search, stop: Stop, letters: str) -> tuple[str, str, str]:
    """Key, id and target of the step whose pass closes the finding: the one that proves the gravest hazard gone."""
    steps = {each.step.id: each for each in retest_steps(search, stop)}
    wanted = (step for letter in _SEVERITIES if letter in letters for step in _PROOFS[letter])
    found: StepInstance | None = next((steps[step] for step in wanted if step in steps), None)
    found = found or next(reversed(steps.values()), None)
    if found is None:
        return stop.retest[-1], stop.retest[-1], search.circuit.id
    return found.key, found.step.id, found.target or ""
