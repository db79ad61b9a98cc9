"""Which single faults let a heater run with an empty basin, for each way a float can be wired.

The basin empties while the heater runs, so a relay that a small leak can hold is found out too.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from seasonlog.faults.catalogue import Fault
from seasonlog.faults.circuit import Circuit
from seasonlog.faults.solve import solve
from seasonlog.faults.states import NAMED, SAYS, State
from seasonlog.faults.table import cell
from seasonlog.faults.words_here import faults_here

LEGS = ("neutral", "hot", "isolated")
LOW = {"CL": NAMED["CL"], "WL": NAMED["WL"]}
IN_LEGS = {
    "neutral": "with the float in the neutral leg",
    "hot": "with the float in the hot leg",
    "isolated": "with the float in an isolated low-energy circuit",
}


@dataclass(frozen=True, slots=True)
class DryFire:
    """One fault that lets the heater run dry."""

    fault: Fault
    states: tuple[str, ...]
    """CL, WL: where it runs."""
    looks_healthy: bool
    """With the basin full and the water cold it reads like a healthy circuit: only a test in another state shows it."""
    by_hand: bool
    """The float moved down by hand, basin full, shows it; otherwise only water drained past the trip level does."""
    says: str


def dry_fire(circuit: Circuit) -> Mapping[str, tuple[DryFire, ...]]:
    """The faults that let the heater run with the basin empty, for each wiring of the float.

    Args:
        circuit: The circuit; its own wiring is one of the keys `neutral`, `hot`, `isolated`.

    Source:
        Worked out by `solve`. Which wiring is right is left to the local code.
    """
    return {leg: _of_leg(replace(circuit, float_leg=leg)) for leg in LEGS}


def _of_leg(circuit: Circuit) -> tuple[DryFire, ...]:
    healthy = cell(solve(circuit))
    found = (_of_fault(circuit, fault, healthy) for fault in faults_here(circuit))
    return tuple(each for each in found if each is not None)


def _of_fault(circuit: Circuit, fault: Fault, healthy: str) -> DryFire | None:
    full = {name: replace(state, full=True) for name, state in LOW.items()}
    before = {name: solve(circuit, state, fault) for name, state in full.items()}
    states = tuple(name for name in LOW if solve(circuit, LOW[name], fault, before[name].coils).heats)
    if not states:
        return None
    by_hand = solve(circuit, State(float_by_hand="down"), fault, before["CL"].coils).heats
    where = " and ".join(SAYS[name].split(":")[0] for name in states)
    says = f"{IN_LEGS[circuit.float_leg]}, {fault.name}: the heater runs dry ({where})"
    return DryFire(fault, states, cell(before["CL"]) == healthy, by_hand, says)


def dry_fire_words(circuit: Circuit) -> str:
    """What the float's wiring does and does not protect from, in sentences, with the caution that belongs to it."""
    found = dry_fire(circuit)
    own = found[circuit.float_leg]
    names = "; ".join(f"{each.fault.code} {each.fault.name}" for each in own)
    deeper = ", ".join(each.fault.code for each in own if not each.by_hand)
    drained = f" A hand frees {deeper}: water drained past the trip level shows it." if deeper else ""
    return (
        f"{IN_LEGS[circuit.float_leg].capitalize()}, {len(own)} single faults let this heater run in an empty basin: "
        f"{names}. The low-level test shows them: basin full, float moved down by hand, contactor must open.{drained} "
        f"{CAUTIONS[circuit.float_leg]} The local code comes first."
    )


CAUTIONS: Mapping[str, str] = {
    "neutral": "Caution: a wet splice at the relay-side lead holds the relay in and no fuse blows; published "
    "control-circuit rules want a safety contact in the ungrounded side (NFPA 79, second hand).",
    "hot": "Caution: a line conductor lies in the water; a wet splice on the line side blows the control fuse and the "
    "heater stays off, which is a freeze risk.",
    "isolated": "Caution: one ground changes nothing, and nothing tells of it; a short between the leads still defeats "
    "the float.",
}
"""What each wiring of the float costs."""
