"""Every test a circuit allows: what to do, where the probes go, in which state, and what may be answered.

What is not here is never asked: no float is raised, no level contact bridged, no fuse replaced and no breaker closed
as a test, nobody reaches into energised parts, and the only test with low water has the heater's leads lifted.
"""

from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache

from seasonlog.faults import settings as at
from seasonlog.faults.circuit import Circuit
from seasonlog.faults.inspections import inspections
from seasonlog.faults.lines import DEAD_LINES, ONE_LINE, line_words
from seasonlog.faults.observation import DEAD, DOOR, DRAINED, HAND, JUMPER, LIVE, PANEL, Check
from seasonlog.faults.words_here import words_here

READY = "ready"
IN_OUT = ("in", "out", "chatters")
LAMP = ("lit", "dim", "off")
LAMPS = ("both", "enabled_only", "heating_only", "none", "dim")
COILS = ("both_in", "relay_only", "contactor_only", "both_out", "chatters")
AMPS = ("full", *DEAD_LINES, ONE_LINE, "uneven", "low", "none")
AMPS_OF_ONE_PHASE = ("full", "uneven", "low", "none")
AMMETER = ("even", "uneven", "shows_nothing", "no_ammeter")
ENERGISED = (
    "Energised work: a qualified person only, protective equipment by the label, probes at the named points, "
    "local code first."
)
LOCKOUT = (
    "Lock out the branch and any separate control supply, then prove dead, live-dead-live, every conductor to every "
    "other and to ground. A switch is not a lock."
)
NOT_RECLOSED = (
    "A tripped breaker or blown fuse is not closed or replaced until its cause and the insulation are checked."
)
NO_HANDS = "Look only: hands and tools stay out of the panel."
WATER_OVER = "Stop if water is not seen over the heater: it must not run dry."
BY_HAND = f"{WATER_OVER} Touch no wire and no bare metal; the float's wires may carry line volts."
HELD_DOWN = (
    f"{BY_HAND} A second person holds the float down with a dry insulating rod and watches the water; whoever probes "
    "has both hands for the probes."
)
JUMPER_WORDS = (
    f"{LOCKOUT} Only then place the jumper, never across level relay or float, and let a qualified person "
    f"energise the branch; look without touching. {WATER_OVER} Take the jumper off under lockout."
)
DRAINED_WORDS = (
    f"{LOCKOUT} Lift and insulate the heater's leads at all its terminals, only then restore power and drain. "
    "Afterwards refill, lock out, prove dead, land and torque the leads."
)
GATE = Check(
    id=READY, mode=DOOR, state=at.CALL, what="seen", minutes=1.0, choices=("cold", "iced", "low", "not_ready"),
    do="Is the basin full to its mark, the heater switch on, the pump off, and the water colder than cut-in (cold)? "
    "If the water is warm, a sensor put in ice slush will do (iced). Say low if water is missing, not_ready otherwise.",
    caution="Do not reach into the water while the heater's branch is on.",
)  # fmt: skip
"""The first question: without it no answer means anything."""
METER = Check(
    id="float_meter", mode=DOOR, state=at.CALL, what="seen", minutes=0.5, choices=("high", "low", "unknown"),
    do="Which input impedance has the voltmeter for the float leads: high (about 10 Mohm), low (a few kohm: a tester, "
    "or a low-impedance range), or unknown?",
    caution="",
)  # fmt: skip
"""Asked before a float lead is measured: a low-impedance meter pulls the volts behind a relay coil down."""


@lru_cache(maxsize=64)
def checks_of(circuit: Circuit, base: str = at.COLD_WATER, line: int = 0) -> tuple[Check, ...]:
    """Every test that this circuit allows, the first question left out, in a fixed order.

    Args:
        circuit: The circuit.
        base: How the heater is called for.
        line: The line that was read dead, whose fuse is then the one to measure; 0 when none was.
    """
    found = (*_lamps(circuit), *_looks(), *_forced(circuit, base), *_amps(circuit), *_volts(circuit, line),
             *_ohms(circuit, line), *inspections(circuit, LOCKOUT))  # fmt: skip
    return tuple(replace(check, do=words_here(circuit, check.do)) for check in found)


def gate_of(circuit: Circuit) -> Check:
    """The first question as this circuit is asked it."""
    return replace(GATE, do=words_here(circuit, GATE.do))


def check_of(circuit: Circuit, test_id: str, base: str = at.COLD_WATER, line: int = 0) -> Check | None:
    """The test with this id, the first question and that for the meter included; None when this circuit has none."""
    if test_id == READY:
        return gate_of(circuit)
    if test_id == METER.id:
        return METER
    return _by_id(circuit, base, line).get(test_id)


@lru_cache(maxsize=64)
def _by_id(circuit: Circuit, base: str, line: int) -> dict[str, Check]:
    return {check.id: check for check in checks_of(circuit, base, line)}


def _lamps(circuit: Circuit) -> Iterator[Check]:
    names = {"lamp_a": ("A", '"enabled" lamp'), "lamp_h": ("H", '"heating" lamp')}
    if circuit.lamps > 1:
        yield Check(id="lamps", mode=DOOR, state=at.CALL, what="lamps", points=("A", "H"), minutes=0.5, choices=LAMPS,
                    do=f'Which lamps are lit: "enabled", "heating", both, or none? ({at.SAYS[at.CALL]})',
                    covers=tuple(names))  # fmt: skip
    for name, (point, says) in list(names.items())[: circuit.lamps]:
        yield Check(id=name, mode=DOOR, state=at.CALL, what="lamp", points=(point,), minutes=0.5, choices=LAMP,
                    do=f"Look at the {says} ({at.SAYS[at.CALL]}). A lamp that flickers counts as dim.")  # fmt: skip
    if circuit.lamps > 1:
        for setting, minutes in _stay_off(circuit):
            yield Check(id=f"lamp_h_{setting}", mode=HAND, state=setting,
                        what="lamp", points=("H",), minutes=minutes, choices=LAMP,
                        do=f'Look at the "heating" lamp: {at.SAYS[setting]}.', caution=BY_HAND)  # fmt: skip


def _stay_off(circuit: Circuit) -> Iterator[tuple[str, float]]:
    yield at.OFF, 1.0
    if circuit.interlock:
        yield at.PUMP, 2.0
    yield at.WARMED, 6.0
    yield at.DOWN, 4.0


def _looks() -> Iterator[Check]:
    yield Check(id="ammeter", mode=DOOR, state=at.CALL, what="amps", minutes=0.5, choices=AMMETER,
                do="Read the ammeter in the panel's door on every line: even, uneven, or shows_nothing? Say no_ammeter "
                "where the door has none.",
                caution="Do not open the panel for it.")  # fmt: skip
    yield Check(id="breaker_handle", mode=DOOR, state=at.CALL, what="seen", minutes=0.5, choices=("on", "tripped"),
                do="Look at the handle of the heater's branch breaker: on, or tripped or off?",
                caution=NOT_RECLOSED)  # fmt: skip
    yield Check(id="float_ice", mode=DOOR, state=at.CALL, what="seen", minutes=1.0, choices=("clear", "fouled"),
                do="Look at the level device from outside: clear, or ice, scale or leaves on it?",
                caution="Do not reach into the water while the heater's branch is on.")  # fmt: skip
    yield from _coils(at.CALL, PANEL, 1.0, NO_HANDS)


def _coils(setting: str, mode: str, minutes: float, caution: str) -> Iterator[Check]:
    """Level relay and contactor at one look, and each alone."""
    suffix = "" if setting == at.CALL else f"_{setting}"
    names = {f"contactor{suffix}": ("K", "contactor"), f"relay{suffix}": ("R", "level relay")}
    yield Check(id=f"coils{suffix}", mode=mode, state=setting, what="coils", points=("R", "K"), minutes=minutes,
                choices=COILS, caution=caution, covers=tuple(names),
                do=f"Look at level relay and contactor: which is pulled in, or does one chatter ({at.SAYS[setting]})?",
                )  # fmt: skip
    for name, (point, says) in names.items():
        yield Check(id=name, mode=mode, state=setting, what="coil", points=(point,), minutes=minutes, choices=IN_OUT,
                    do=f"Look at the {says}: pulled in, out, or chattering ({at.SAYS[setting]})?",
                    caution=caution)  # fmt: skip


def _forced(circuit: Circuit, base: str) -> Iterator[Check]:
    for setting, minutes in _stay_off(circuit):
        yield from _coils(setting, HAND, minutes, f"{NO_HANDS} {BY_HAND}")
    if base != at.ICED:
        yield from _coils(at.ICE, HAND, 8.0, f"{NO_HANDS} {WATER_OVER}")
    yield from _coils(at.JUMPERED, JUMPER, 20.0, JUMPER_WORDS)
    yield from _coils(at.LOW, DRAINED, 60.0, DRAINED_WORDS)


def _amps(circuit: Circuit) -> Iterator[Check]:
    three = "all full, line A (T1), B (T2) or C (T3) at zero, uneven, all even but low or high, or none"
    asked = three if circuit.phases == 3 else "full, uneven between the two, low or high, or none"
    yield Check(id="line_amps", mode=LIVE, state=at.CALL, what="amps", minutes=3.0,
                choices=AMPS if circuit.phases == 3 else AMPS_OF_ONE_PHASE,
                do=f"Clamp each line to the heater alone ({at.SAYS[at.CALL]}): {asked}?",
                caution=ENERGISED)  # fmt: skip
    if circuit.phases == 3 or circuit.lines == 2:
        yield Check(id="residual", mode=LIVE, state=at.CALL, what="residual", minutes=3.0, choices=("nothing", "some"),
                    do=f"One clamp around all lines to the heater together ({at.SAYS[at.CALL]}): nothing, or some?",
                    caution=ENERGISED)  # fmt: skip


VOLTS = {
    "volts_b": ("b", "g"), "volts_s": ("s", "g"), "volts_p": ("p", "g"), "volts_t": ("t", "g"), "volts_k": ("k", "g"),
    "volts_b_x2": ("b", "X2"), "volts_s_x2": ("s", "X2"), "volts_p_x2": ("p", "X2"), "volts_t_x2": ("t", "X2"),
    "volts_k_x2": ("k", "X2"), "volts_fa": ("fa", "g"), "volts_fb": ("fb", "g"), "volts_secondary": ("X1", "X2"),
    "volts_secondary_fuse": ("X1", "b"), "volts_coil": ("kc", "kr"), "volts_coil_return": ("kr", "g"),
    "volts_primary": ("H1", "H4"), "volts_breaker": ("B1", "B2"), "volts_bus": ("b", "n"),
}  # fmt: skip
"""Test -> probes, in the state of a heat call."""


def _volts(circuit: Circuit, line: int) -> Iterator[Check]:
    last = circuit.lines
    side = (f"C{line}", f"C{last}") if 0 < line < last else (f"C{last}", "C1")
    more = {"volts_line_side": side, "volts_joint": ("C1", "T1")}
    for name, points in (VOLTS | more).items():
        yield volts_check(name, points, at.CALL)
    yield volts_check("volts_k_down", ("k", "g"), at.DOWN)
    yield volts_check("volts_fa_down", ("fa", "g"), at.DOWN)
    if circuit.poles == circuit.lines:
        yield Check(id="volts_terminals_off", mode=LIVE, state=at.OFF, what="highest",
                    points=tuple(f"T{line}" for line in range(1, last + 1)), minutes=2.0, unit="V", caution=ENERGISED,
                    do=f"AC volts of each heater terminal to ground; type the highest ({at.SAYS[at.OFF]}).",
                    )  # fmt: skip


def volts_check(name: str, points: tuple[str, str], setting: str) -> Check:
    """Volts between two test points in one setting."""
    where = f"{points[0]} to ground" if points[1] == "g" else f"{points[0]} to {points[1]}"
    held = setting == at.DOWN
    return Check(id=name, mode=LIVE, state=setting, what="volts", points=points, minutes=4.0 if held else 2.0, unit="V",
                 do=f"AC volts, probes {where} ({at.SAYS[setting]}).",
                 caution=f"{ENERGISED} {HELD_DOWN}" if held else ENERGISED)  # fmt: skip


def _ohms(circuit: Circuit, line: int) -> Iterator[Check]:
    for name, (points, setting, what) in _ohms_rows(circuit, line).items():
        minutes = 5.0 if setting != at.LOCKED else 2.0
        where = f"{points[0]} to {'ground' if points[1] == 'g' else points[1]}"
        yield Check(id=name, mode=DEAD, state=setting, what="ohms", points=points, minutes=minutes, unit="ohm",
                    do=f"Ohms of {what}, probes {where} ({at.SAYS[setting]}). Nothing on the display: OL.",
                    caution=f"{LOCKOUT} {NOT_RECLOSED}" if "fuse" in what else LOCKOUT)  # fmt: skip


def _ohms_rows(circuit: Circuit, line: int) -> dict[str, tuple[tuple[str, str], str, str]]:
    last = circuit.lines
    below = "r" if circuit.thermal_limit else "k"
    relay = {"neutral": ("s", "ra"), "hot": ("rb", "n"), "isolated": ("ia", "ra")}[circuit.float_leg]
    side = "fb" if circuit.float_leg == "hot" else "fa"
    rows = {
        "ohms_line_1": (("B1", "C1"), at.LOCKED, "the line fuse or pole of L1, then of L2; type the higher"),
        "ohms_line_3": ((f"B{last}", f"C{last}"), at.LOCKED, "the line fuse of L3"),
        "ohms_primary_fuse": (("C1", "H1"), at.LOCKED, "the transformer's primary fuse"),
        "ohms_feed": (("B1", "H1"), at.LOCKED, "the line fuse and the primary fuse together, breaker to transformer"),
        "ohms_secondary_fuse": (("X1", "b"), at.LOCKED, "the secondary fuse"),
        "ohms_secondary": (("X1", "X2"), at.LOCKED, "the transformer's secondary"),
        "ohms_x2_lead": (("X2", "n"), at.LOCKED, "the X2 lead"),
        "ohms_bond": (("n", "g"), at.LOCKED, "the neutral's bond"),
        "ohms_x1_ground": (("X1", "g"), at.LOCKED, "the secondary's other side"),
        "ohms_switch": (("b", "s"), at.LOCKED, "the heater switch, closed"),
        "ohms_interlock": (("s", "p"), at.LOCKED, "the pump interlock, pump off, or its jumper"),
        "ohms_stat": (("p", "t"), at.LOCKED, "the thermostat's contact"),
        "ohms_b_to_t": (("b", "t"), at.LOCKED, "switch, interlock and thermostat together"),
        "ohms_level": (("t", below), at.LOCKED, "the level relay's contact, relay out"),
        "ohms_limit": (("r", "k"), at.LOCKED, "the thermal limit"),
        "ohms_limit_opened": (("r", "k"), at.LIMIT_OPEN, "the thermal limit, opened"),
        "ohms_coil": (("kc", "kr"), at.COIL_LIFTED, "the contactor's coil"),
        "ohms_coil_return": (("kr", "n"), at.LOCKED, "the coil's return wire"),
        "ohms_relay_coil": (relay, at.LIFTED, "the level relay's coil"),
        "ohms_float": (("fa", "fb"), at.LIFTED, "the float's leads, float up by itself"),
        "ohms_float_down": (("fa", "fb"), at.LIFTED_DOWN, "the float's leads, float moved down"),
        "ohms_lead_ground": ((side, "g"), at.LIFTED, "the relay-side float lead"),
        "ohms_lead_ground_down": ((side, "g"), at.LIFTED_DOWN, "the relay-side float lead, float moved down"),
    }
    if line:
        name = "ohms_line_3" if line == last else "ohms_line_1"
        rows[name] = ((f"B{line}", f"C{line}"), at.LOCKED, f"the line fuse and lugs of {line_words(line)}")
    gone = {"ohms_line_3": last < 3, "ohms_primary_fuse": circuit.separate_supply,
            "ohms_feed": circuit.separate_supply, "ohms_limit": below == "k", "ohms_limit_opened": below == "k",
            "ohms_bond": circuit.grounded != "x2", "ohms_x1_ground": circuit.grounded == "none"}  # fmt: skip
    return {name: row for name, row in rows.items() if not gone.get(name, False)}
