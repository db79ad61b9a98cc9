"""What a search says: the same words and the same document for screen, command line and record."""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from seasonlog.domain.checklist import StepInstance, applicable
from seasonlog.faults import settings as at
from seasonlog.faults.circuit import Circuit
from seasonlog.faults.dry_fire import CAUTIONS, IN_LEGS, DryFire, dry_fire
from seasonlog.faults.observation import MODES, Check, Choice, Observation, Stop, Suspect
from seasonlog.faults.states import NAMED
from seasonlog.faults.states import SAYS as STATE_SAYS
from seasonlog.faults.table import HAZARDS, table
from seasonlog.faults.tests_offered import METER, READY, checks_of, gate_of
from seasonlog.services import checklists
from seasonlog.services.fault_finding import WHO, WHO_ANSWERS, WHO_ASKED, WHO_WHY, Search

RETEST = "repair-retest"
"""Checklist whose steps prove a repair."""
WORTH_NAMING = 0.01
"""Causes below this share are left out of words."""
MOST_NAMED = 8
SITUATIONS: Mapping[str, str] = {
    at.OFF: "switch off", at.PUMP: "pump running", at.WARMED: "sensor warmed", at.ICE: "sensor in ice",
    at.DOWN: "float moved down", at.JUMPERED: "jumper C to NO", at.LOW: "water low, leads lifted",
    at.LIFTED: "float leads off", at.LIFTED_DOWN: "float leads off, float moved down",
}  # fmt: skip
"""What differs from a call for heat, or from locked out, when a test is made."""
CELL_WORDS = (
    "A cell is, in that state: volts to ground at b s p t k, then at fa fb (1: 85 % or more, 0: 4 % or less, m: "
    "between); lamps A enabled and H heating (small: dim), coils R level relay and K contactor, - for off; then the "
    "heater: 3 all lines full (1 of a single-phase heater), 2 a dead line, e uneven, h even but not full, L no current "
    "but a live terminal, 0 off."
)
CAUSE_NAMED, NO_FAULT = ("one_cause", "group"), "00"
NO_PUMP_HERE = "nothing on this tower holds the heater off but its own contacts: reads as CF"
HEADS = ("NO", *NAMED, "RISK", "FAULT")


def percent(share: float) -> str:
    """`97 %`; never a hundred, and never nothing."""
    if share >= 0.995:
        return "over 99 %"
    return "under 1 %" if share < 0.01 else f"{100.0 * share:.0f} %"


def named(suspect: Suspect) -> str:
    """`14 thermostat contact stuck open`."""
    return f"{suspect.fault} {suspect.says}"


def worth_naming(suspects: Sequence[Suspect], most: int = MOST_NAMED) -> tuple[Suspect, ...]:
    """The likely ones, the first at least."""
    likely = [each for each in suspects if each.probability >= WORTH_NAMING]
    return tuple(likely[:most]) or tuple(suspects[:1])


def test_words(check: Check) -> str:
    """A test in a few words: `volts t to ground`, `contactor (sensor warmed)`."""
    situation = SITUATIONS.get(check.state, "")
    words = _measured(check)
    if check.id == READY and "pump" not in check.do:
        words = words.replace(", pump off", "")
    return words + (f" ({situation})" if situation else "")


def once_more(search: Search, check: Check) -> str:
    """Words before a test that is made a second time; nothing before any other."""
    return "Once more: " if check.id in search.session.answers else ""


def _measured(check: Check) -> str:
    if check.id == READY:
        return "full, switched on, pump off, and the water or sensor"
    if check.id == METER.id:
        return "meter on the float leads"
    if check.unit and len(check.points) == len("ab"):
        first, second = ("ground" if point == "g" else point for point in check.points)
        return f"{'volts' if check.unit == 'V' else 'ohms'} {first} to {second}"
    return check.id.removesuffix(f"_{check.state}").replace("_", " ")


def answer_words(check: Check, answer: str | float) -> str:
    """An answer as a person reads it: `pulled in`, `118.5 V`, `OL (open)`."""
    if isinstance(answer, str):
        return answer.replace("_", " ")
    return "OL (open)" if math.isinf(answer) else f"{answer:g} {check.unit}"


def evidence(search: Search) -> tuple[str, ...]:
    """Everything that was seen, in order, the last answer to each test."""
    last = {each.test: each for each in search.session.observations}
    return tuple(_seen(search, each) for each in last.values())


def _seen(search: Search, seen: Observation) -> str:
    check = search.session.test(seen.test)
    already = f", read in visit {search.visit}" if seen.given else ""
    return f"{test_words(check)}: {answer_words(check, seen.answer)}{already}"


def way(check: Check) -> str:
    """`LIVE: energised: probes ...`."""
    return f"{'LIVE' if check.live else check.mode.upper()}: {MODES[check.mode]}"


def answers(check: Check) -> str:
    """What may be answered."""
    if check.choices:
        return ", ".join(check.choices)
    return "volts" if check.unit == "V" else "ohms, or OL"


def names_a_cause(stop: Stop) -> bool:
    """It ends with something to repair: one cause, or a few that no test left tells apart."""
    return stop.reason in CAUSE_NAMED and bool(stop.repair) and stop.suspects[0].fault != NO_FAULT


def sees_no_fault(stop: Stop) -> bool:
    """It ends with everything as it should be."""
    return stop.reason in CAUSE_NAMED and bool(stop.repair) and stop.suspects[0].fault == NO_FAULT


def document(search: Search, found: Choice | Stop) -> dict[str, Any]:
    """A search for a script."""
    stop = found if isinstance(found, Stop) and not search.asks_who else None
    caused = stop if stop and names_a_cause(stop) else None
    return {
        "tower": search.tower,
        "circuit": search.circuit.id,
        "visit": search.visit,
        "causes": [
            {"fault": each.fault, "probability": each.probability, "says": each.says}
            for each in search.session.suspects()
        ],
        "next_test": _next(search, found),
        "stop": stop.reason if stop else "",
        "says": stop.says if stop else "",
        "repair": caused.repair if caused else "",
        "retest": list(caused.retest) if caused else [],
        "cautions": list(stop.cautions) if stop else [],
        "evidence": [
            {"test": each.test, "answer": _plain(each.answer), "from_visit": each.given}
            for each in search.session.observations
        ],
        "cannot": list(search.session.cannot),
        "assumed": list(search.circuit.assumed),
    }


def _plain(answer: str | float) -> str | float:
    return "OL" if isinstance(answer, float) and math.isinf(answer) else answer


def _next(search: Search, found: Choice | Stop) -> dict[str, Any] | None:
    if search.asks_who:
        choices = list(WHO_ANSWERS)
        return {"test": WHO, "live": False, "why": WHO_WHY, "do": WHO_ASKED, "choices": choices}
    if isinstance(found, Stop):
        return None
    check = found.test
    return {
        "test": check.id,
        "live": check.live,
        "why": found.why,
        "do": check.do,
        "way": MODES[check.mode],
        "caution": search.caution(check),
        "choices": list(check.choices),
        "unit": check.unit,
        "outcomes": [
            {"answer": each.answer, "probability": each.probability, "means": each.means} for each in found.outcomes
        ],
    }


def retest_steps(search: Search, stop: Stop) -> tuple[StepInstance, ...]:
    """The steps of the repair-retest list that prove a repair, as this tower is asked them, in the repair's order."""
    asked = applicable(checklists.shipped()[RETEST], search.register, search.tower)
    about = (None, "", search.entry.id, search.entry.basin)
    ours = {each.step.id: each for each in reversed(asked) if each.target in about}
    return tuple(ours[step] for step in stop.retest if step in ours)


def repair_head(search: Search) -> str:
    """Who repairs."""
    return "Repair" if search.session.qualified else "Repair, by the technician who is sent"


def proof_lines(search: Search, stop: Stop) -> tuple[str, ...]:
    """The steps that prove the repair, by their titles; what each shows stands in the repair's own words."""
    return tuple(each.step.title.rstrip("?") for each in retest_steps(search, stop))


@dataclass(frozen=True, slots=True)
class DryFireWords:
    """Which single faults let this heater run with the basin empty."""

    intro: str
    faults: tuple[DryFire, ...]
    caution: str


def dry_fire_of(circuit: Circuit) -> DryFireWords:
    """The faults of this circuit that let it run dry, with the caution of its float's wiring."""
    found = dry_fire(circuit)[circuit.float_leg]
    deeper = [each.fault.code for each in found if not each.by_hand]
    shows = f"all of them but {', '.join(deeper)}" if deeper else "them"
    freed = " What a hand frees, only water drained past the trip level shows." if deeper else ""
    intro = (
        f"{IN_LEGS[circuit.float_leg].capitalize()}, {len(found)} single faults let this heater run in an empty basin. "
        f"The low-level test shows {shows}: basin full, water seen over the heater, float moved down by hand, the "
        f"contactor must open.{freed} The float is never raised by hand, the level contact never bridged."
    )
    return DryFireWords(intro, found, CAUTIONS[circuit.float_leg])


def dry_fire_says(each: DryFire) -> str:
    """What shows one of them, in half a sentence."""
    shown = (
        "the float moved down by hand shows it" if each.by_hand else "only water drained past the trip level shows it"
    )
    return f"{'looks healthy with the basin full; ' if each.looks_healthy else ''}{shown}"


def dry_fire_document(circuit: Circuit) -> dict[str, Any]:
    """The same for a script."""
    found = dry_fire_of(circuit)
    faults = [
        {
            "fault": each.fault.code,
            "says": each.fault.name,
            "states": list(each.states),
            "looks_healthy": each.looks_healthy,
            "by_hand": each.by_hand,
        }
        for each in found.faults
    ]
    return {
        "circuit": circuit.id, "float_leg": circuit.float_leg, "faults": faults, "says": found.intro,
        "caution": found.caution, "assumed": list(circuit.assumed),
    }  # fmt: skip


def table_rows(circuit: Circuit) -> Iterator[tuple[str, ...]]:
    """The fault table as cells of text, its head first."""
    yield HEADS
    for row in table(circuit):
        yield (row.fault.code, *(row.cells[name] for name in NAMED), row.hazards or "-",
               row.fault.name)  # fmt: skip


def table_legend(circuit: Circuit) -> Iterator[str]:
    """How to read the fault table of a circuit."""
    says = STATE_SAYS if circuit.interlock else {**STATE_SAYS, "PUMP": NO_PUMP_HERE}
    yield from (f"{name}: {says[name]}" for name in NAMED)
    yield CELL_WORDS
    yield from (f"{letter}: {words}" for letter, words in HAZARDS.items())


def table_document(circuit: Circuit) -> dict[str, Any]:
    """The fault table for a script."""
    rows = [
        {
            "fault": row.fault.code,
            "says": row.fault.name,
            "cells": dict(row.cells),
            "hazards": row.hazards,
        }
        for row in table(circuit)
    ]
    return {
        "circuit": circuit.id,
        "faults": rows,
        "legend": list(table_legend(circuit)),
        "assumed": list(circuit.assumed),
    }


def template(search: Search) -> Iterator[str]:
    """A file of observations to fill in, with every test of this circuit."""
    yield f"# What was seen of {search.circuit.id} at {search.tower}. Leave empty what was not looked at or measured."
    yield "# Nothing here is an order to measure: energised tests are for a qualified person only."
    yield f'{WHO} = ""    # qualified, or not_qualified: only looking from outside'
    yield "cannot = []    # tests that cannot be made here"
    yield ""
    yield "[observations]"
    for check in (gate_of(search.circuit), METER, *checks_of(search.circuit)):
        yield f'{check.id} = ""    # {way(check).split(":")[0].lower()}; {check.do} [{answers(check)}]'
