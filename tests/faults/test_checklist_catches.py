"""The shipped fall enable, carried out on a model of every fault: what catches it, and what no step can show.

Second method throughout: a brute-force comparison of everything a meter or an eye could find in the list's states,
written without the module under test.
"""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from seasonlog.domain.register import Register
from seasonlog.domain.visit import Progress
from seasonlog.faults import settings as at
from seasonlog.faults.catalogue import FAULTS, NONE, Fault, faults_of
from seasonlog.faults.checklist_run import BY_HAND, HIDDEN, by_hand, readings, stands_on
from seasonlog.faults.circuit import Circuit, circuit_of
from seasonlog.faults.effects import UnmodelledError
from seasonlog.faults.solve import Solved, ohms, solve
from seasonlog.faults.states import State
from seasonlog.faults.table import cell
from seasonlog.services import fault_catches, rounds
from seasonlog.services import register as equipment
from seasonlog.services.demo import healthy
from seasonlog.services.fault_catches import REFERENCE, Caught, caught_by, reference, reference_register
from seasonlog.services.logbook import Logbook
from tests.builders import a_book, a_visit, sample_register

Where = tuple[Register, Circuit]


def changed(circuit: dict[str, object] | None = None, **tower: object) -> Where:
    """The reference tower with other values of its circuit or itself."""
    kept = {record.id: record for record in reference_register().records() if record.id != REFERENCE}
    own, place = reference_register().circuits[REFERENCE], reference_register().towers[REFERENCE]
    register = Register.of([*kept.values(), replace(place, **tower), replace(own, **(circuit or {}))])  # type: ignore[arg-type]
    return register, circuit_of(register, REFERENCE)


def variants() -> Iterator[tuple[str, Where]]:
    """Each wiring of the float, with and without interlock, basin drained for cleaning or not; other circuits."""
    for leg in ("neutral", "hot", "isolated"):
        for pump in (True, False):
            for drained in (True, False):
                words = f"{leg}, {'pump' if pump else 'no pump'}, {'drained' if drained else 'stays full'}"
                yield words, changed({"float_leg": leg}, pump_on_tower=pump, drained_for_cleaning=drained)
    yield "two heaters", changed({"heaters": 2})
    yield "thermal limit", changed({"thermal_limit": True})
    yield "wye, one lamp", changed({"connection": "wye", "lamps": 1})
    yield "no lamps", changed({"lamps": 0})


def samples() -> Iterator[tuple[str, Where]]:
    """Every circuit of the sample sites that the model covers."""
    register = sample_register()
    for name in register.circuits:
        try:
            yield name, (register, circuit_of(register, name))
        except UnmodelledError:
            continue


PLACES = dict([*variants(), *samples()])
CASES = [(name, at.ICED) for name in PLACES] + [(name, at.COLD_WATER) for name, _ in variants() if "full" in name]
"""Called for with ice everywhere, as in the fall; by cold water on each wiring."""


SOME = {
    "neutral, pump, stays full", "neutral, pump, drained", "neutral, no pump, stays full", "hot, pump, stays full",
    "isolated, no pump, drained", "two heaters", "thermal limit", "wye, one lamp", "no lamps", "ICE-1-H", "ULV-2-H",
}  # fmt: skip
"""Every leg, pump, basin, and each other circuit once; all of them together with `-m long`."""


def some(places: Iterable[str]) -> list[Any]:
    return [each if each in SOME else pytest.param(each, marks=pytest.mark.long) for each in places]


SOME_CASES = [each if each[0] in SOME else pytest.param(*each, marks=pytest.mark.long) for each in CASES]


@cache
def caught(place: str, base: str = at.ICED) -> dict[int, Caught]:
    return {each.fault.number: each for each in caught_by(*PLACES[place], base=base)}


def read(each: Caught) -> set[str]:
    """Ids of the steps that catch it by a reading, not by hand or eye."""
    return {step.step.id for step in each.steps} - BY_HAND.keys()


WHOLE, DRAINED = "neutral, pump, stays full", "neutral, pump, drained"
"""The reference circuit: its basin stays full all year, or is drained for cleaning."""
MEANT_FOR = {
    1: "control_x2_volts", 2: "control_x2_volts", 3: "line_amps", 4: "control_x2_volts", 5: "control_x2_volts",
    6: "control_x2_volts", 7: "control_ground_volts", 8: "control_ground_volts", 9: "control_ground_volts",
    10: "heat_call", 11: "off_switch", 12: "heat_call", 13: "off_pump", 14: "stat_contact", 15: "off_warm",
    16: "stat_contact", 17: "off_warm", 19: "stat_contact_ohms", 20: "heat_call", 21: "heat_call",
    22: "off_low_level", 23: "off_low_level", 25: "heat_call", 26: "heat_call", 27: "off_low_level",
    28: "off_low_level", 29: "float_leg_found", 30: "float_lead_mohm", 31: "heat_call", 32: "control_x2_volts",
    33: "coil_volts", 34: "heat_call", 35: "control_x2_volts", 36: "heat_call", 37: "off_switch", 38: "line_amps",
    39: "off_switch_volts", 40: "ohms_line_to_line", 41: "left_enabled_lamp", 42: "lamps_right", 43: "off_warm",
    45: "insulation_mohm", 46: "ohms_line_to_line", 48: "heat_call", 49: "control_x2_volts", 52: "float_lead_mohm",
}  # fmt: skip
"""Fault -> a step that must catch it on the reference circuit. Reasoned from the wiring, not from the model."""
NO_READING = {18, 24, 47}
"""On the reference circuit: what ice reaches, what a hand frees, what is less than any limit."""


def test_every_fault_of_the_reference_circuit_has_its_step() -> None:
    found = caught(WHOLE)
    assert found.keys() == MEANT_FOR.keys() | NO_READING
    assert {number: step for number, step in MEANT_FOR.items() if step not in read(found[number])} == {}
    assert {number for number in found if found[number].why} == NO_READING


@pytest.mark.parametrize(("place", "base"), SOME_CASES)
def test_a_healthy_circuit_fails_no_step(place: str, base: str) -> None:
    run = fault_catches._Run(*PLACES[place], fault_catches.ANY_DAY, base)
    assert run.bad(NONE) == ()
    assert len(run.answered(NONE).answers) == len(run.asked) > 25


LOOKS_HEALTHY = (11, 13, 15, 17, 22, 24, 27, 28, 37, 39, 43)
"""With water cold and basin full these read like a healthy circuit. Source: the fault table, worked out beforehand."""


@pytest.mark.parametrize("number", LOOKS_HEALTHY)
def test_what_looks_healthy_while_heating_is_caught_by_a_stay_off_test(number: int) -> None:
    """Reference circuit, basin drained for cleaning, so that the low-level test is made with water."""
    assert cell(solve(Circuit(), fault=FAULTS[number])) == cell(solve(Circuit()))
    caught_at = read(caught(DRAINED)[number])
    assert {step for step in caught_at if step.startswith("off_")}


def test_a_float_in_the_hot_leg_shows_in_its_leads_and_nowhere_else() -> None:
    assert cell(solve(Circuit(), fault=FAULTS[29])).split()[1] == "11"
    assert read(caught(WHOLE)[29]) == {"float_lead_a_volts", "float_lead_b_volts", "float_leg_found"}


@pytest.mark.parametrize("place", some(name for name in PLACES if "hot" in name or "isolated" in name))
def test_what_looks_healthy_is_caught_whatever_leg_the_float_breaks(place: str) -> None:
    _, circuit = PLACES[place]
    sound = cell(solve(circuit))
    quiet = [f.number for f in faults_of(circuit)[1:] if cell(solve(circuit, fault=f)) == sound]
    assert len(quiet) > 8
    missed = {number for number in quiet if not caught(place)[number].steps}
    assert missed == set()


@pytest.mark.parametrize("drained", [True, False])
def test_a_float_stuck_up_shows_only_when_the_water_itself_goes(drained: bool) -> None:
    """24: the hand that tests the float frees it. Drained past the trip level the relay stays in."""
    found = caught(DRAINED if drained else WHOLE)[24]
    assert read(found) == ({"off_low_level", "off_low_level_volts"} if drained else set())
    assert {step.step.id for step in found.by_hand} == {"float_free"}
    assert bool(found.why) is not drained


def test_a_sensor_in_the_wrong_place_works_in_ice_and_fails_in_cold_water() -> None:
    """18: called for by cold water it does not heat; in ice slush it does, and only where it hangs tells."""
    assert "heat_call" in read(caught(WHOLE, at.COLD_WATER)[18])
    found = caught(WHOLE)[18]
    assert [step.step.id for step in found.steps] == ["bulb_in_water"]


def test_a_thermal_limit_stuck_closed_is_caught_because_the_list_makes_it_open() -> None:
    found = caught("thermal limit")
    assert "thermal_limit" in read(found[50])
    assert read(found[51]) == {"thermal_limit"}
    step = next(each.step for each in found[51].steps)
    assert "Open it" in step.do


def test_one_dead_heater_of_two_is_caught() -> None:
    assert read(caught("two heaters")[44]) >= {"each_heater_same", "line_amps"}


def test_after_a_failed_gate_the_low_level_test_and_its_readings_are_not_made() -> None:
    """43 and 37 fail with a warm sensor or the switch off: nobody goes on to the low level."""
    for number in (37, 43):
        assert not [step for step in read(caught(WHOLE)[number]) if step.startswith("off_low_level")]


@pytest.mark.parametrize(
    ("step", "test"),
    [("off_low_level_amps", "off_low_level"), ("off_pump_volts", "off_pump"), ("line_amps", ""), ("coil_volts", "")],
)
def test_a_reading_of_a_stay_off_test_stands_on_it(step: str, test: str) -> None:
    assert stands_on(step) == test


def test_a_tower_that_stands_drained_is_asked_nothing_and_says_so() -> None:
    found = caught_by(*changed(winter="drained"), faults=[FAULTS[24], FAULTS[37]])
    assert [(each.steps, each.why) for each in found] == [((), fault_catches.NOT_ASKED)] * 2


# Brute force: nothing is missed that the physics can show


METER = 0.02
"""Share of its scale a reading must differ by to count as different. Common practice, no source."""


def states(circuit: Circuit, base: State, drained: bool) -> list[State]:
    """The list's states: heating, switch off, sensor warmed, pump, low level as it is made here."""
    low = replace(base, full=False) if drained else replace(base, float_by_hand="down")
    pump = [replace(base, pump=True)] if circuit.interlock else []
    return [base, replace(base, switch=False), replace(base, bulb="warmed"), *pump, low]


def measured(circuit: Circuit, fault: Fault, base: str, drained: bool) -> list[tuple[list[float], list[object]]]:
    """Every point to ground and to X2, every pair of terminals, amps, and all that an eye sees; then the ohmmeter."""
    first = solve(circuit, at.BASES[base], fault)
    solved = [solve(circuit, each, fault, first.coils) for each in states(circuit, at.BASES[base], drained)]
    found = [(numbers(each), seen(each)) for each in (first, *solved)]
    return [*found, (dead(circuit, fault), [])]


def numbers(solved: Solved) -> list[float]:
    circuit = solved.circuit
    volts = [solved.volts(point, other) / scale(circuit, point) for point in circuit.points for other in ("g", "X2")]
    terminals = [f"T{line}" for line in range(1, circuit.lines + 1)]
    pairs = [solved.volts(a, b) / circuit.supply_volts for a in terminals for b in terminals]
    rated = max(solve(circuit).line_amps)
    return [*volts, *pairs, *(amps / rated for amps in solved.line_amps), solved.power.residual_amps / rated]


def scale(circuit: Circuit, point: str) -> float:
    return circuit.supply_volts if point[0] in "LBCTH" else circuit.control_volts


def seen(solved: Solved) -> list[object]:
    return [solved.contactor, solved.relay, solved.lamp("A"), solved.lamp("H"), solved.chatter]


def dead(circuit: Circuit, fault: Fault) -> list[float]:
    """Conductances the power-off tests can see: heater, its insulation, float leads, thermostat cold and warm."""
    heater = ohms(circuit, "T1", "T2")
    found = [heater / ohms(circuit, "T1", "T2", fault), heater / ohms(circuit, "T1", "g", fault)]
    found += [1e5 / ohms(circuit, lead, "g", fault, State(float_lifted=True)) for lead in ("fa", "fb")]
    for bulb in ("iced", "warmed"):
        across = ohms(circuit, "p", "t", fault, State(bulb=bulb, switch=False, float_lifted=True, coil_lifted=True))
        found.append(1.0 / (1.0 + across))
    return found


@cache
def sound_at(place: str, base: str, drained: bool) -> list[tuple[list[float], list[object]]]:
    return measured(PLACES[place][1], NONE, base, drained)


def is_seen(place: str, fault: Fault, base: str) -> bool:
    """Whether anything at all differs, in any state, from the healthy circuit."""
    register, circuit = PLACES[place]
    drained = register.towers[register.circuits[circuit.id].tower].drained_for_cleaning is True
    sound = sound_at(place, base, drained)
    faulty = measured(circuit, fault, base, drained)
    for (ours, eye), (theirs, other) in zip(sound, faulty, strict=True):
        if eye != other or any(abs(a - b) > METER for a, b in zip(ours, theirs, strict=True)):
            return True
    return False


UNJUDGED = {("ULV-2-H", 29)}
"""The register does not say which leg this float breaks: it is found and written down, not failed."""


@pytest.mark.parametrize(("place", "base"), SOME_CASES)
def test_no_fault_is_missed_that_any_reading_could_show(place: str, base: str) -> None:
    """Uncaught by a reading: then nothing differs in any state of the list, by brute force; each has its reason."""
    missed = [each for each in caught(place, base).values() if not read(each)]
    could = {each.fault.number for each in missed if is_seen(place, each.fault, base)}
    assert {(place, number) for number in could} <= UNJUDGED
    assert {each.fault.number for each in missed} <= HIDDEN.keys()
    assert all(each.why == HIDDEN[each.fault.number] for each in missed)


@pytest.mark.parametrize("place", some(PLACES))
def test_what_no_reading_shows_is_still_looked_for_by_hand(place: str) -> None:
    for each in caught(place).values():
        assert each.steps or (place, each.fault.number) in UNJUDGED


def test_the_brute_force_does_see_what_is_there() -> None:
    """The second method itself: it sees each fault that the table tells apart, and none where there is none."""
    assert not is_seen(WHOLE, NONE, at.ICED)
    assert {number for number in MEANT_FOR if not is_seen(WHOLE, FAULTS[number], at.ICED)} == set()


# The same through the log


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Logbook]:
    with a_book(tmp_path) as found:
        records = [*sample_register().records(), *reference_register().records()]
        equipment.write(found, equipment.preview(sample_register(), records))
        yield found


def visited(book: Logbook, fault: Fault) -> Progress:
    """Every step of the shipped list answered into the log: the model's reading, or what a healthy tower gives."""
    visit = a_visit(book, REFERENCE)
    told = readings(reference()[1], fault)
    for instance in visit.instances:
        key, step = instance.key, instance.step.id
        before = stands_on(step)
        if visit.waits_for(key) or (before and visit.answers[before].is_skipped):
            visit = rounds.skip(book, visit, key, "its gate is shut")
        else:
            visit = rounds.answer(book, visit, key, told.get(step) or healthy(visit, instance, book.today()))
    return visit


@pytest.mark.parametrize(
    "numbers",
    [range(0, 54, 6), *(pytest.param(range(n, 54, 6), marks=pytest.mark.long) for n in range(1, 6))],
    ids=lambda r: f"{r[0]}-and-every-sixth",
)
def test_the_log_opens_a_finding_for_each_fault_as_worked_out(book: Logbook, numbers: range) -> None:
    """Every fault of the reference circuit through the real services. Agreement: the same steps, all faults."""
    circuit = reference()[1]
    for fault in (f for f in faults_of(circuit) if f.number in numbers):
        at_end = visited(book, fault)
        assert at_end.remaining == ()
        bad = {saved.step_id for saved in at_end.bad}
        expected = caught(WHOLE)[fault.number].steps if fault is not NONE else ()
        assert bad == {step.step.id for step in expected}, fault.code


def test_by_hand_is_told_apart_from_readings() -> None:
    assert by_hand(FAULTS[24]) == ("float_free",)
    assert by_hand(FAULTS[33]) == ()  # found at a loose terminal in three visits of ten
