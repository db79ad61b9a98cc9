"""Which steps of the fall enable catch which fault: the shipped list, carried out on a model of a tower's circuit."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from functools import cache
from typing import Any

from seasonlog.domain.answers import Parsed, parse_answer
from seasonlog.domain.checklist import Checklist, StepInstance, applicable
from seasonlog.domain.judging import judged
from seasonlog.domain.register import Register
from seasonlog.domain.register_items import from_item
from seasonlog.domain.season import FALL_ENABLE
from seasonlog.domain.verdict import Verdict
from seasonlog.domain.visit import Progress, Saved, Visit, VisitState
from seasonlog.faults import settings as at
from seasonlog.faults.catalogue import NONE, Fault
from seasonlog.faults.checklist_run import BY_HAND, HIDDEN, Typed, readings, stands_on
from seasonlog.faults.circuit import Circuit, circuit_of
from seasonlog.faults.words_here import faults_here
from seasonlog.services import checklists
from seasonlog.services.limits import context_for

CATCHES = (Verdict.FAIL, Verdict.NEAR_FAIL)
NOTHING_DIFFERS = "nothing that a step reads differs from a healthy circuit"
NOT_ASKED = "the list asks nothing of this heater, as its tower stands drained in winter"
INTRO = (
    "Each fault, and the steps of the fall enable that fail on it, in the list's order; heat called for with the "
    "sensor in ice slush. Worked out by a model of the circuit: what the list finds at the heater itself decides."
)
REFERENCE, ANY_DAY = "reference", date(2026, 9, 15)
_REFERENCE: tuple[tuple[str, dict[str, Any]], ...] = (
    ("site", {"id": "S", "name": "reference", "latitude_deg": "45", "longitude_deg": "-93", "wind_shelter": "open",
              "time_zone": "UTC", "first_freeze": "10-01", "last_freeze": "05-01"}),
    ("tower", {"id": REFERENCE, "site": "S", "name": "reference", "winter": "heated_basin", "kind": "open",
               "pump_on_tower": True, "cells": "1", "drained_for_cleaning": False}),
    ("basin", {"id": "B", "tower": REFERENCE, "material": "steel", "insulation": "none", "heat": "electric",
               "level_device": "float_relay", "temperature_sensor": True, "makeup_heat_trace": False,
               "makeup_valve": "float"}),
    ("circuit", {"id": REFERENCE, "tower": REFERENCE, "basin": "B", "kw": "18", "volts": "480", "supply_volts": "480",
                 "phases": "3", "heaters": "1", "control": "dial", "switching": "contactor", "control_volts": "120",
                 "float_leg": "neutral", "control_grounded_leg": "x2", "lamps": "2", "coil_va": "8",
                 "coil_volts": "120", "level_relay_va": "2", "thermal_limit": False, "connection": "delta",
                 "poles_switched": "3"}),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Caught:
    """One fault, and what of the list catches it."""

    fault: Fault
    steps: tuple[StepInstance, ...]
    """Steps that fail or nearly fail, in the list's order; a step behind a failed gate is not made any more."""
    by_hand: tuple[StepInstance, ...]
    """Those of them that a hand or an eye must find: often, not always."""
    why: str
    """Why no reading of this list shows it, in words; empty when one does."""


@cache
def reference_register() -> Register:
    """A tower with the circuit of the fault table: neutral-leg float, pump interlock, two lamps, all poles switched."""
    found = (from_item(word, item, REFERENCE)[0] for word, item in _REFERENCE)
    return Register.of(record for record in found if record is not None)


def caught_by(
    register: Register, circuit: Circuit, on: date = ANY_DAY, base: str = at.ICED, faults: Iterable[Fault] = ()
) -> tuple[Caught, ...]:
    """Every fault this circuit can have, with the steps of the shipped fall enable that catch it.

    Args:
        register: The register its tower stands in.
        circuit: The circuit as the ladder takes it.
        on: The day.
        base: How heat is called for: a key of `settings.BASES`; ice slush, as on a warm day in the fall.
        faults: Only these.
    """
    run = _Run(register, circuit, on, base)
    sound = {saved.step for saved in run.bad(NONE)}
    return tuple(_caught(run, fault, sound) for fault in (faults or faults_here(circuit)[1:]))


def _caught(run: "_Run", fault: Fault, sound: set[str]) -> Caught:
    keys = {saved.step for saved in run.bad(fault)} - sound
    steps = tuple(each for each in run.asked if each.key in keys)
    hand = tuple(each for each in steps if each.step.id in BY_HAND)
    why = HIDDEN.get(fault.number, NOTHING_DIFFERS) if run.asked else NOT_ASKED
    return Caught(fault, steps, hand, why if len(hand) == len(steps) else "")


class _Run:
    """The list on one circuit, in memory: what touches the circuit, in order, behind its gates."""

    def __init__(self, register: Register, circuit: Circuit, on: date, base: str) -> None:
        entry = register.circuits[circuit.id]
        self.register, self.circuit, self.on, self.base = register, circuit, on, base
        self.list: Checklist = checklists.shipped()[FALL_ENABLE]
        self.tower = register.towers[entry.tower]
        about, told = (entry.id, entry.basin), readings(circuit)
        steps = applicable(self.list, register, entry.tower)
        self.asked = tuple(each for each in steps if each.target in about and each.step.id in told)

    def bad(self, fault: Fault) -> tuple[Saved, ...]:
        """Answers that open a finding."""
        return tuple(saved for saved in self.answered(fault).answers.values() if saved.verdict in CATCHES)

    def answered(self, fault: Fault) -> Progress:
        """The visit with every step answered that may be."""
        told = readings(self.circuit, fault, self.tower.drained_for_cleaning is True, self.base)
        visit = Visit("", self.tower.id, self.list.id, self.list.sha256, 0, 1, VisitState.OPEN, "", 0, True)
        progress = Progress(visit, self.list, self.register, self.asked, {})
        for instance in self.asked:
            if not (progress.waits_for(instance.key) or self._stateless(progress, instance)):
                progress = self._with(progress, instance, told[instance.step.id])
        return progress

    def _stateless(self, progress: Progress, instance: StepInstance) -> bool:
        """The test in whose state it would be read was not made."""
        key = instance.key.replace(instance.step.id, stands_on(instance.step.id), 1)
        return bool(stands_on(instance.step.id)) and progress.instance(key) is not None and key not in progress.answers

    def _with(self, progress: Progress, instance: StepInstance, typed: Typed) -> Progress:
        parsed = parse_answer(instance.step, typed)
        if not isinstance(parsed, Parsed):
            raise AssertionError(f"{instance.key}: {parsed.says}")
        verdict = judged(instance.step, parsed, context_for(progress, instance, self.on))
        saved = Saved(
            instance.key, instance.step.id, instance.target or "", parsed.raw, parsed.value, instance.step.unit,
            verdict.verdict, verdict.says, (), "", 0, "", "", 0,
        )  # fmt: skip
        return progress.with_answer(saved)


def reference() -> tuple[Register, Circuit]:
    """The reference circuit with its register."""
    register = reference_register()
    return register, circuit_of(register, REFERENCE)


def lines(found: Iterable[Caught]) -> Iterator[str]:
    """The same in words, a fault a line."""
    yield INTRO
    for each in found:
        yield f"{each.fault.code}  {each.fault.name}: {_words(each)}"


def _words(each: Caught) -> str:
    read = [step.key for step in each.steps if step not in each.by_hand]
    hand = [step.key for step in each.by_hand]
    by_hand = f"by hand or eye, which can miss it: {', '.join(hand)}" if hand else ""
    if read:
        return "; ".join(part for part in (", ".join(read), by_hand) if part)
    return f"no reading shows it: {each.why}" + (f"; {by_hand}" if by_hand else "")


def document(circuit: Circuit, found: Iterable[Caught]) -> dict[str, Any]:
    """The same for a script."""
    faults = [
        {
            "fault": each.fault.code,
            "says": each.fault.name,
            "steps": [step.key for step in each.steps if step not in each.by_hand],
            "by_hand": [step.key for step in each.by_hand],
            "why_not": each.why,
        }
        for each in found
    ]
    return {"circuit": circuit.id, "checklist": FALL_ENABLE, "faults": faults, "assumed": list(circuit.assumed)}
