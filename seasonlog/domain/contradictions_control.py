"""Contradictions of a heater's control: thermostat, float, grounded side, coil, firing control, hard-wired cut-out."""

from collections.abc import Iterator

from seasonlog.calc import control
from seasonlog.calc.thermostat import FREEZING_DEGF, Allowances, Judgement, judge_dial, least_dial_degf
from seasonlog.domain.contradictions_facts import Contradiction, Facts, Rule, at
from seasonlog.domain.limits_heater import FIRING
from seasonlog.domain.practice import PracticeTable
from seasonlog.domain.register import Circuit
from seasonlog.domain.severity import Severity

_BY_SOFTWARE = frozenset({"plc", "building"})
_FIRED_IN_PART = frozenset({"scr_burst", "phase_angle"})
"""Ways of firing that want a signal between off and full, which a thermostat's contact does not give."""
_DIALLED = frozenset({"dial", "electronic"})
"""Controls with a setting and a differential of their own."""


def cut_in_too_low(circuit: Circuit, facts: Facts) -> Iterator[Contradiction]:
    """By its setting the thermostat may close only when the water freezes."""
    judged = _judged(circuit, circuit.mark, facts)
    if judged is not None and judged.verdict != "pass" and facts.holds_water(circuit.tower):
        says = f"{_setting(circuit)}: {_worst_words(circuit, circuit.mark, judged, facts)}"
        yield Contradiction(Severity.FREEZE_RISK, at(circuit, "dial_degf"), says)


def mark_unknown(circuit: Circuit, facts: Facts) -> Iterator[Contradiction]:
    """What the dial's mark means is not known, and one of its meanings would let the water freeze."""
    if circuit.control != "dial" or circuit.mark != "unknown" or not facts.holds_water(circuit.tower):
        return
    judged = _judged(circuit, "cut_out", facts)
    says = "what the dial's mark means is not known"
    if judged is None:
        says += ": without it, dial and differential, no cut-in is promised"
        yield Contradiction(Severity.FREEZE_RISK, at(circuit, "mark"), says)
    elif judged.verdict != "pass":
        says += f"; if cut-out: {_worst_words(circuit, 'cut_out', judged, facts)}"
        yield Contradiction(Severity.FREEZE_RISK, at(circuit, "mark"), says)


def _judged(circuit: Circuit, mark: str, facts: Facts) -> Judgement | None:
    """What the setting promises by one meaning of the mark; None where something about it is not known."""
    known = circuit.dial_degf is not None and circuit.differential_degf is not None and mark != "unknown"
    if circuit.control not in _DIALLED or not known:
        return None
    allowed = _allowances(circuit, facts.practice_at(circuit.tower))
    return judge_dial(float(circuit.dial_degf or 0), float(circuit.differential_degf or 0), mark, allowed)


def _allowances(circuit: Circuit, practice: PracticeTable) -> Allowances:
    """An electronic control shows figures: no dial to be off."""
    dial = practice.value("dial_error_degf") if circuit.control == "dial" else 0.0
    return Allowances(dial, practice.value("thermometer_allowance_degf"), practice.value("freeze_margin_degf"))


def _setting(circuit: Circuit) -> str:
    return f"dial {circuit.dial_degf:f}, its mark means {circuit.mark}, differential {circuit.differential_degf:f}"


def _worst_words(circuit: Circuit, mark: str, judged: Judgement, facts: Facts) -> str:
    allowed = _allowances(circuit, facts.practice_at(circuit.tower))
    least = least_dial_degf(float(circuit.differential_degf or 0), mark, allowed)
    return (
        f"closes at {judged.cut_in_degf:g} degF; less {allowed.dial_degf:g} dial and {allowed.thermometer_degf:g} "
        f"thermometer error {judged.worst_cut_in_degf:g}, and {FREEZING_DEGF:g} + {allowed.margin_degf:g} = "
        f"{allowed.wanted_degf:g} degF is wanted: {least} degF on the dial, or more"
    )


def float_leg_unknown(circuit: Circuit, facts: Facts) -> Iterator[Contradiction]:
    """Which leg the float breaks is not known: no reading on its leads can be judged."""
    if _has_float(circuit, facts) and circuit.float_leg == "unknown":
        says = (
            "which leg the float breaks is not known: a line conductor may lie in the water; find it by the volts of "
            "both leads to ground with the float closed (neutral leg 0 and 0, hot leg full volts on both)"
        )
        yield Contradiction(Severity.SHOCK_RISK, at(circuit, "float_leg"), says)


def grounded_leg_unknown(circuit: Circuit, facts: Facts) -> Iterator[Contradiction]:
    """Which side of the control secondary is grounded is not known: volts to ground tell nothing."""
    if _has_float(circuit, facts) and circuit.control_grounded_leg == "unknown" and circuit.float_leg != "isolated":
        says = (
            "which side of the control secondary is grounded is not known: float leads read 0 and 0 or full volts on "
            "both by this alone; find it by the volts of X1 and X2 to ground"
        )
        yield Contradiction(Severity.SHOCK_RISK, at(circuit, "control_grounded_leg"), says)


def float_leg_without_ground(circuit: Circuit, facts: Facts) -> Iterator[Contradiction]:
    """A hot or neutral float where neither side of the secondary is grounded: there is neither."""
    if (
        _has_float(circuit, facts)
        and circuit.control_grounded_leg == "none"
        and circuit.float_leg in ("hot", "neutral")
    ):
        says = (
            f"the float is said to break the {circuit.float_leg} leg, but no side of the control secondary is "
            "grounded: then neither is hot or neutral; look which of the two is wrong"
        )
        yield Contradiction(Severity.SHOCK_RISK, at(circuit, "float_leg"), says)


def _has_float(circuit: Circuit, facts: Facts) -> bool:
    basin = facts.basin(circuit)
    return basin is not None and basin.level_device == "float_relay"


def coil_volts(circuit: Circuit, facts: Facts) -> Iterator[Contradiction]:
    """The contactor's coil is not for the control volts: it does not pull in, or burns."""
    if circuit.coil_volts is None or circuit.control_volts is None:
        return
    practice = facts.practice_at(circuit.tower)
    low, high = practice.value("control_low_percent"), practice.value("control_high_percent")
    percent = 100.0 * float(circuit.control_volts) / float(circuit.coil_volts)
    if low <= percent <= high:
        return
    end = "it does not pull in" if percent < low else "it burns"
    says = (
        f"a {circuit.coil_volts:f} V coil on {circuit.control_volts:f} V of control gets {percent:.1f} % of its volts, "
        f"{low:g} to {high:g} % is wanted: {end}"
    )
    yield Contradiction(Severity.FREEZE_RISK, at(circuit, "coil_volts"), says)


def coil_run(circuit: Circuit, facts: Facts) -> Iterator[Contradiction]:
    """The run to the contactor takes the volts the coil needs to pull in; told only where all is known."""
    awg, run, inrush, rated = circuit.control_awg, circuit.control_run_ft, circuit.coil_inrush_va, circuit.coil_volts
    if (
        awg not in control.OHMS_PER_KFT
        or run is None
        or inrush is None
        or rated is None
        or rated != circuit.control_volts
    ):
        return
    source, ohms = control.SOURCE_SHARE * float(rated), control.wire_ohms(awg, float(run))
    volts = control.volts_at_coil(source, float(rated), float(inrush), ohms, control.INRUSH_POWER_FACTOR)
    low = facts.practice_at(circuit.tower).value("control_low_percent")
    percent = 100.0 * volts / float(rated)
    if percent >= low:
        return
    says = (
        f"{run:f} ft of {awg} AWG out and back is {ohms:.2f} ohm: of {source:.4g} V the coil of {inrush:f} VA inrush "
        f"gets {volts:.1f} V, {percent:.0f} % of its {rated:f} V; {low:g} % is wanted to pull in"
    )
    yield Contradiction(Severity.FREEZE_RISK, at(circuit, "control_run_ft"), says)


def no_hard_wired_cutout(circuit: Circuit, facts: Facts) -> Iterator[Contradiction]:
    """Level and limit act through software, or through a switch that fails closed, alone."""
    risky = circuit.control in _BY_SOFTWARE or circuit.switching in FIRING
    if circuit.hard_wired_cutout is True or (circuit.hard_wired_cutout is None and not risky):
        return
    known = "has no" if circuit.hard_wired_cutout is False else "is not known to have a"
    says = (
        f"control {circuit.control}, switched by {circuit.switching}: it {known} level and limit cut-out wired past "
        "all software, so a stuck program or a shorted switch runs the heater dry"
    )
    yield Contradiction(Severity.DRY_FIRE_RISK, at(circuit, "hard_wired_cutout"), says)


def firing_by_contact(circuit: Circuit, facts: Facts) -> Iterator[Contradiction]:
    """Firing between off and full under a control that gives only on and off."""
    if circuit.switching in _FIRED_IN_PART and circuit.control == "dial":
        says = (
            f"switched by {circuit.switching}, which wants a signal between off and full; a dial gives on and off only"
        )
        yield Contradiction(Severity.RECORD_GAP, at(circuit, "switching"), says)


def firing_poles_unknown(circuit: Circuit, facts: Facts) -> Iterator[Contradiction]:
    """A firing control of which nobody knows what it leaves live."""
    if circuit.switching in FIRING and circuit.poles_switched == "unknown":
        says = (
            f"switched by {circuit.switching}, and how many of its lines open is not known: heater terminals may be "
            "live while off, until locked out"
        )
        yield Contradiction(Severity.SHOCK_RISK, at(circuit, "poles_switched"), says)


CONTROL_RULES: tuple[Rule, ...] = (
    cut_in_too_low, mark_unknown, float_leg_unknown, grounded_leg_unknown, float_leg_without_ground, coil_volts,
    coil_run, no_hard_wired_cutout, firing_by_contact, firing_poles_unknown,
)  # fmt: skip
