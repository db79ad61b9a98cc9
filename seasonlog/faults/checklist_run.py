"""What the steps of the fall enable would read or show on a circuit with a fault, as the answer a technician types.

Only steps that touch the circuit are told. What a hand or an eye finds with the branch locked out stands apart: it is
found often, not always (`inspections.SHOWS`), while a reading follows from the model.
"""

import math
from collections.abc import Iterable, Mapping
from typing import TypeAlias

from seasonlog.faults import settings as at
from seasonlog.faults.catalogue import NONE, Fault
from seasonlog.faults.circuit import PULL_IN, Circuit
from seasonlog.faults.effects import Effects
from seasonlog.faults.inspections import SHOWS
from seasonlog.faults.ladder import stat_closed
from seasonlog.faults.likelihood import Bench
from seasonlog.faults.observation import Check
from seasonlog.faults.power import NO_AMPS
from seasonlog.faults.solve import Solved, ohms
from seasonlog.faults.states import WARM, State

Typed: TypeAlias = str | tuple[str, ...]
"""As typed, one text per line of a heater."""
CLEAN_OHMS = 0.1
"""A sound closed contact, leads nulled. Common practice, no source."""
COLD_OHMS = 0.975
"""Cold ohms of an element over its hot ones, in the middle of what is allowed. Common practice, no source."""
MOST_OHMS = 99999.0
"""No ohmmeter of the trade shows more."""
OFTEN = 0.5
"""From this share of visits on a hand or an eye counts as finding a fault."""
BY_HAND: Mapping[str, tuple[str, ...]] = {
    "float_free": ("float_free",),
    "terminals_tight": ("terminals",),
    "contactor_contacts": ("armature", "poles_pressed", "poles_released"),
    "bulb_in_water": ("sensor_place",),
    "left_breaker_on": ("breaker_handle",),
}
"""Step -> the inspections it comes to. No reading says what they find."""
STAY_OFF: Mapping[str, str] = {"off_switch": at.OFF, "off_warm": at.WARMED, "off_pump": at.PUMP}
LOW_LEVEL = "off_low_level"
"""Stay-off tests with their situation; the low-level test has two."""
SAME_STATE = ("_amps", "_volts")
"""Ends of the steps that read in the state of the stay-off test before them."""
HIDDEN: Mapping[int, str] = {
    18: "with the sensor lifted into ice slush it works: only where it hangs and what the dial says show it, or water "
    "cold enough to call by itself",
    24: "the hand that moves the float down frees it: only water drained past the trip level shows it, which is asked "
    "where the basin is drained for cleaning; elsewhere the float's own travel is felt",
    29: "the register does not say which leg the float breaks: what is found goes into the register and is judged from "
    "then on",
    47: "a tenth of an ohm takes less than one percent of the volts and amps, less than any limit can see: a torque "
    "wrench and brown insulation show it",
}
"""Fault -> why no reading of the list may show it."""


def readings(circuit: Circuit, fault: Fault = NONE, drained: bool = False, base: str = at.ICED) -> Mapping[str, Typed]:
    """The answers to all steps that touch the circuit, by step id; which of them are asked, the checklist decides.

    Args:
        circuit: The circuit.
        fault: What is wrong with it.
        drained: The basin is drained for cleaning: the low-level test is made with real water, heater leads lifted.
        base: How heat is called for: a key of `settings.BASES`.

    Source:
        Worked out by `solve`; what is found by hand, from `inspections.SHOWS`.
    """
    bench = Bench(circuit, fault, base)
    return {
        **{step: _yes(step not in by_hand(fault)) for step in BY_HAND},
        **_locked_out(bench),
        **_control(bench),
        **_heating(bench),
        **_stay_off(bench, at.LOW if drained else at.DOWN),
    }


def by_hand(fault: Fault) -> tuple[str, ...]:
    """Steps at which a hand or an eye finds the fault more often than not."""
    return tuple(step for step, checks in BY_HAND.items() if any(_finds(check, fault) for check in checks))


def _finds(check: str, fault: Fault) -> bool:
    return any(sum(SHOWS[check].get(number, {}).values()) > OFTEN for number in fault.numbers)


def stands_on(step: str) -> str:
    """The stay-off test in whose state a step reads, so that without the one there is no other; empty for the rest."""
    test = next((step.removesuffix(end) for end in SAME_STATE if step.endswith(end)), "")
    return test if test in (*STAY_OFF, LOW_LEVEL) else ""


def _yes(so: bool) -> str:
    return "yes" if so else "no"


def _number(value: float) -> str:
    return "OL" if value > MOST_OHMS else f"{value:.3f}"


def _each(values: Iterable[float]) -> Typed:
    """One text per line; a single-phase heater has one, the higher."""
    numbers = tuple(values)
    return tuple(map(_number, numbers)) if len(numbers) == 3 else _number(max(numbers))


def _pairs(circuit: Circuit) -> tuple[tuple[str, str], ...]:
    return (("T1", "T2"), ("T2", "T3"), ("T3", "T1")) if circuit.phases == 3 else (("T1", "T2"),)


def _terminals(circuit: Circuit) -> tuple[str, ...]:
    return tuple(f"T{line}" for line in range(1, circuit.lines + 1))


def _locked_out(bench: Bench) -> dict[str, Typed]:
    """Power off tests."""
    circuit, effects = bench.circuit, bench.fault.effects

    def to_ground(points: Iterable[str], state: State) -> str:
        return _number(min(ohms(circuit, point, "g", bench.fault, state) for point in points) / 1e6)

    iced, warmed = (_stat_ohms(effects, bulb) for bulb in ("iced", "warmed"))
    heater = (COLD_OHMS * ohms(circuit, *pair, bench.fault) for pair in _pairs(circuit))
    return {
        "insulation_mohm": to_ground(_terminals(circuit), State()),
        "ohms_line_to_line": _each(heater),
        "stat_contact": _yes(not math.isinf(iced) and math.isinf(warmed)),
        "stat_contact_ohms": _number(iced),
        "float_lead_mohm": to_ground(("fa", "fb"), State(float_lifted=True)),
        "thermal_limit": _yes("limit" not in effects.opened | effects.closed),
    }


def _stat_ohms(effects: Effects, bulb: str) -> float:
    """Across the thermostat's contact in use, its wires off."""
    closed = "stat" in effects.closed or stat_closed(effects, State(water=WARM, bulb=bulb))
    if "stat" in effects.opened or not closed:
        return math.inf
    return dict(effects.series).get("stat", CLEAN_OHMS)


def _control(bench: Bench) -> dict[str, Typed]:
    """Live: control."""
    full, down = bench.at(at.CALL), bench.at(at.DOWN)
    return {
        "control_x2_volts": _number(full.volts("b", "X2")),
        "control_ground_volts": _number(full.volts("b")),
        "float_lead_a_volts": _number(full.volts("fa")),
        "float_lead_b_volts": _number(full.volts("fb")),
        "float_open_a_volts": _number(down.volts("fa")),
        "float_open_b_volts": _number(down.volts("fb")),
        "float_open_pattern": _pattern(down),
        "float_leg_found": _leg(bench, full),
    }


def _pattern(down: Solved) -> str:
    live = sum(down.share(lead) >= 0.5 for lead in ("fa", "fb"))
    return ("both_zero", "one_live", "both_live")[live]


def _leg(bench: Bench, full: Solved) -> str:
    """Of an isolated float by its wires, of another by its volts."""
    if bench.circuit.float_leg == "isolated":
        return bench.fault.effects.float_leg or "isolated"
    return "hot" if min(full.share("fa"), full.share("fb")) >= PULL_IN else "neutral"


def _heating(bench: Bench) -> dict[str, Typed]:
    """Live: power, and what is seen as left."""
    call, circuit = bench.at(at.CALL), bench.circuit
    residual = Check(id="residual", mode="", state=at.CALL, what="residual", do="", minutes=0.0, choices=("no", "yes"))
    alike = bench.fault.effects.heater == ""
    return {
        "heat_call": _yes(call.contactor and "K" not in call.chatter),
        "lamps_right": _yes(_lamps_right(call, bench.at(at.WARMED))),
        "coil_volts": _number(call.volts("kc", "kr")),
        "supply_volts": _each(call.volts(*pair) for pair in _pairs(circuit)),
        "line_amps": _each(call.line_amps),
        "each_heater_same": _yes(alike),
        "residual_none": _yes(bench.choice(residual)["yes"] == 0.0),
        "heats_after_landing": _yes(min(call.power.shares) >= NO_AMPS),
        "left_enabled_lamp": _yes(call.lamp("A") == "lit"),
    }


def _lamps_right(call: Solved, warmed: Solved) -> bool:
    """Enabled lamp lit with the switch on, heating lamp only with the contactor in."""
    enabled = call.lamp("A") in ("lit", "none") and warmed.lamp("A") in ("lit", "none")
    heating = call.lamp("H") in ("none", "lit" if call.contactor else "off")
    return enabled and heating and (warmed.contactor or warmed.lamp("H") in ("none", "off"))


def _stay_off(bench: Bench, low: str) -> dict[str, Typed]:
    """Stay-off tests, each started from the heat call."""
    found: dict[str, Typed] = {}
    for step, setting in (*STAY_OFF.items(), (LOW_LEVEL, low)):
        solved = bench.at(setting)
        opened = _opened(solved) and not (step == LOW_LEVEL and solved.relay)
        found[step] = _yes(opened)
        found[f"{step}_amps"] = _each(solved.line_amps)
        found[f"{step}_volts"] = _each(solved.volts(point) for point in _terminals(bench.circuit))
    return found


def _opened(solved: Solved) -> bool:
    return not (solved.contactor or solved.heats)
