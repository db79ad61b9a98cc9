"""The fault table of one circuit: what every fault shows in every state, and what it puts at risk."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from seasonlog.faults.catalogue import NONE, Fault
from seasonlog.faults.circuit import PULL_IN, Circuit
from seasonlog.faults.power import FULL
from seasonlog.faults.readings import Readings
from seasonlog.faults.solve import Solved, solve
from seasonlog.faults.states import NAMED, STAY_OFF
from seasonlog.faults.words_here import faults_here

DEAD = 0.04
"""Largest share of control volts that counts as none."""
LADDER_POINTS = ("b", "s", "p", "t", "k")
FLOAT_POINTS = ("fa", "fb")
SHOCK_AMPS = 0.005
"""Current to ground that a person feels as a shock. Source: OSHA 3075."""
LOW, OFF_OR_PUMP = ("CL", "WL"), ("OFF", "PUMP")
HAZARDS: Mapping[str, str] = {
    "F": "freeze risk: it does not heat as it should when it must",
    "D": "dry-fire risk: it runs when the water is low",
    "W": "it runs when the water is warm",
    "S": "shock or unsafe isolation: something is live, or grounded, that should not be",
}
"""Each hazard letter in words, in the order they are told."""


@dataclass(frozen=True, slots=True)
class Row:
    """One fault in all named states."""

    fault: Fault
    cells: Mapping[str, str]
    """State -> cell code."""
    hazards: str
    """Letters of `HAZARDS`."""


def level_code(share: float) -> str:
    """`1`: 85 % of control volts or more; `0`: 4 % or less; `m`: between."""
    return "1" if share >= PULL_IN else "0" if share <= DEAD else "m"


def cell(at: Readings) -> str:
    """The cell code of a solved circuit: volts to ground at b s p t k, at fa fb, lamps and coils, heater lines.

    `11110 10 A--- 0`: letters A H R K for enabled lamp, heating lamp, level relay, contactor coil; lower case for a
    dim lamp; the last place as `Power.code` has it.
    """
    ladder, leads = ("".join(level_code(at.share(point)) for point in p) for p in (LADDER_POINTS, FLOAT_POINTS))
    return f"{ladder} {leads} {_seen(at)} {at.heater}"


def _seen(at: Readings) -> str:
    lamps = ({"lit": name, "dim": name.lower()}.get(at.lamp(name), "-") for name in "AH")
    return f"{''.join(lamps)}{'R' if at.relay else '-'}{'K' if at.coil else '-'}"


def in_states(circuit: Circuit, fault: Fault = NONE) -> Mapping[str, Solved]:
    """The circuit in the six named states, each reached from the heater running, as far as it runs.

    Args:
        circuit: The circuit.
        fault: What is wrong.
    """
    running = solve(circuit, NAMED["CF"], fault)
    others = {name: solve(circuit, NAMED[name], fault, running.coils) for name in STAY_OFF}
    return {"CF": running, **others}


def hazards(circuit: Circuit, fault: Fault = NONE) -> str:
    """What a fault puts at risk: letters of `HAZARDS`, worked out from the model.

    What the circuit has by design (a float in the hot leg, a line the contactor does not open) is told with it.
    """
    return hazards_of(in_states(circuit, fault))


def hazards_of(at: Mapping[str, Solved]) -> str:
    """The same, of the six states as solved."""
    risks = {
        "F": at["CF"].power.power_share < FULL,
        "D": any(at[name].heats for name in LOW),
        "W": at["WF"].heats,
        "S": _shocks(at),
    }
    return "".join(letter for letter, so in risks.items() if so)


def _shocks(at: Mapping[str, Solved]) -> bool:
    return (
        any(at[name].heats for name in OFF_OR_PUMP if _must_stop(at[name]))
        or any(at[name].terminals_live and not at[name].heats for name in STAY_OFF)
        or any(_grounded(each) for each in at.values())
        or min(at["CF"].share(point) for point in FLOAT_POINTS) >= PULL_IN
    )


def _must_stop(at: Solved) -> bool:
    return not at.state.switch or (at.state.pump and at.circuit.interlock)


def _grounded(at: Solved) -> bool:
    return at.ground_amps >= SHOCK_AMPS or bool(at.blows and at.rungs.effects.grounds)


def row(circuit: Circuit, fault: Fault) -> Row:
    """One fault in the six named states."""
    at = in_states(circuit, fault)
    return Row(fault, {name: cell(each) for name, each in at.items()}, hazards_of(at))


def table(circuit: Circuit, faults: Iterable[Fault] | None = None) -> tuple[Row, ...]:
    """Every fault this circuit can have, or those given, in the six named states.

    Source:
        Worked out by `solve`; nothing is looked up.
    """
    return tuple(row(circuit, fault) for fault in (faults or faults_here(circuit)))


def wrong_states(at: Mapping[str, Solved]) -> tuple[str, ...]:
    """States in which the heater does not do what it must: heat in CF, stay off in the others."""
    quiet = tuple(name for name in STAY_OFF if at[name].heats and (name != "PUMP" or at[name].circuit.interlock))
    return ("CF", *quiet) if at["CF"].power.power_share < FULL else quiet
