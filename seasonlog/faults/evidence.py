"""What the steps of a visit already read, as observations of the fault finder."""

from collections.abc import Iterable, Mapping, Sequence
from typing import TypeAlias

from seasonlog.faults.circuit import Circuit
from seasonlog.faults.effects import HEALTHY
from seasonlog.faults.lines import DEAD_LINES, ONE_LINE
from seasonlog.faults.observation import Observation
from seasonlog.faults.power import NO_AMPS, power
from seasonlog.faults.tests_offered import METER

VisitAnswer: TypeAlias = tuple[str, str | float | Sequence[float]]
"""Step id and value: `yes`, a choice, a number, as text or not, or the numbers of three lines."""
YES_NO: Mapping[str, tuple[tuple[str, str, str], ...]] = {
    "heat_call": (("contactor", "in", "out"),),
    "off_switch": (("contactor_off", "out", "in"),),
    "off_warm": (("contactor_warmed", "out", "in"),),
    "off_pump": (("contactor_pump", "out", "in"),),
    "float_free": (("float_free", "free", "stuck"),),
    "bulb_in_water": (("sensor_place", "in_place", "not_in_place"),),
    "terminals_tight": (("terminals", "sound", "loose_or_brown"),),
    "left_enabled_lamp": (("lamp_a", "lit", "off"),),
    "left_breaker_on": (("breaker_handle", "on", "tripped"),),
}
"""Step -> test, its answer for yes and for no."""
NUMBERS: Mapping[str, str] = {
    "control_x2_volts": "volts_b_x2", "control_ground_volts": "volts_b", "coil_volts": "volts_coil",
    "float_lead_a_volts": "volts_fa", "float_lead_b_volts": "volts_fb", "float_open_a_volts": "volts_fa_down",
    "stat_contact_ohms": "ohms_stat",
}  # fmt: skip
"""Step -> test whose reading it is."""
UNEVEN, FULL = 0.08, 0.85
"""Shares of rated amps, with the meter's error, from which lines are unlike, or not full. Common practice."""
TERMINAL_VOLTS = "off_switch_volts"
LEVEL = "level_above_heater_in"
SURELY_FULL_IN = 2.0
"""Water over the heater from which a level is not asked about again [in]. Common practice, no source."""
NOT_A_CALL = ("dial", "simulated", "jumper")
"""Ways of calling for heat that say nothing about the thermostat: what was seen then is not taken over."""
_LOW_LEVEL = "off_low_level"


def from_visit(circuit: Circuit, answers: Iterable[VisitAnswer]) -> tuple[Observation, ...]:
    """Observations, in the order of the answers; the last answer of a step counts."""
    last = dict(answers)
    method = last.get("heat_call_method", "natural")
    found: list[tuple[str, str | float]] = []
    if ready := _ready(last.get(LEVEL), str(method) if "heat_call_method" in last else ""):
        found.append(("ready", ready))
    for step, value in last.items():
        if not (step == "heat_call" and method in NOT_A_CALL):
            found += _of_step(circuit, step, value)
    return tuple(Observation(test, answer, given=True) for test, answer in found)


def _ready(level: str | float | Sequence[float] | None, method: str) -> str:
    """The first question as a visit answered it: low with the heater out of the water; ready only if both were read."""
    if level is None or not isinstance(level, str | int | float):
        return ""
    if float(level) <= 0.0:
        return "low"
    if float(level) < SURELY_FULL_IN or not method or method in NOT_A_CALL:
        return ""
    return "iced" if method == "ice_bath" else "cold"


def _of_step(circuit: Circuit, step: str, value: str | float | Sequence[float]) -> list[tuple[str, str | float]]:
    if step in YES_NO and value in ("yes", "no"):
        return [(test, yes if value == "yes" else no) for test, yes, no in YES_NO[step]]
    if step in NUMBERS and (isinstance(value, str) or not isinstance(value, Sequence)):
        return [(NUMBERS[step], float(value))]
    if isinstance(value, Sequence) and not isinstance(value, str):
        return _of_lines(circuit, step, [float(each) for each in value])
    if step == "contactor_contacts" and value == "yes":
        return [("armature", "free")]
    if step == METER.id and value in METER.choices:
        return [(METER.id, str(value))]
    if step == _LOW_LEVEL and value in ("yes", "no"):
        return [("contactor_down", "out" if value == "yes" else "in")]
    return []


def _of_lines(circuit: Circuit, step: str, values: Sequence[float]) -> list[tuple[str, str | float]]:
    if step == "line_amps":
        return [("line_amps", amps_pattern(circuit, values))]
    if step == TERMINAL_VOLTS:
        return [("volts_terminals_off", max(values))]
    return []


def amps_pattern(circuit: Circuit, amps: Sequence[float]) -> str:
    """Three clamp readings as an answer of the test `line_amps`.

    Args:
        circuit: The circuit.
        amps: Of each line clamped [A]; one of a single-phase heater.
    """
    rated = power(circuit, HEALTHY, True, True, True).amps
    shares = [own / whole for own, whole in zip(amps, rated, strict=False)]
    if max(shares) < NO_AMPS:
        return "none"
    if min(shares) < NO_AMPS:
        dead = [n for n, share in enumerate(shares) if share < NO_AMPS]
        one = ONE_LINE if len(dead) > 1 else DEAD_LINES[dead[0]]
        return one if circuit.phases == len(shares) == len(DEAD_LINES) else "uneven"
    if max(shares) - min(shares) > UNEVEN:
        return "uneven"
    return "full" if FULL <= min(shares) <= 2.0 - FULL else "low"
