"""Solve the circuit: coils pull in and let go until nothing changes; fuses blow; what never settles is told."""

from dataclasses import dataclass, replace

from seasonlog.faults import power as heater
from seasonlog.faults.catalogue import NONE, Fault
from seasonlog.faults.circuit import FUSE_FACTOR, MAY_CHATTER, PULL_IN, Circuit
from seasonlog.faults.effects import Effects
from seasonlog.faults.ladder import Coils, Ladder, fuse_amps, ladder, lead_node, source_siemens
from seasonlog.faults.network import GROUND, Net, solved
from seasonlog.faults.power import Power, power
from seasonlog.faults.readings import Readings
from seasonlog.faults.states import State

FUSES = ("secondary_fuse", "primary_fuse")


@dataclass(frozen=True, slots=True)
class Solved(Readings):
    """One circuit with one fault in one state: everything that can be seen or measured."""

    fault: Fault
    state: State
    coils: Coils
    blows: tuple[str, ...]
    """Fuses that a new one in their place would not survive in this state, in the order they go."""
    ground_amps: float
    """Current that runs through a lead to ground, control and heater together [A]."""


def solve(
    circuit: Circuit,
    state: State | None = None,
    fault: Fault = NONE,
    start: Coils | None = None,
    fresh_fuse: bool = False,
    blown: tuple[str, ...] = (),
) -> Solved:
    """Solve the circuit.

    Args:
        circuit: The circuit, from `circuit_of`.
        state: What is found or forced; cold water, full basin, switch on, pump off when None.
        fault: One of `FAULTS`, or `both` of two.
        start: The coils that are in at the start, which a small current may hold; none when None.
        fresh_fuse: Put a new fuse in first, for a fault that is found with its fuse blown.
        blown: Fuses that went before: a blown fuse stays blown whatever is set up afterwards.

    Source:
        Nodal analysis; coils close at 85 % of rated volts and let go at their drop-out share.
    """
    effects = fault.effects
    if fault.latches and not fresh_fuse:
        effects = _without(effects, FUSES[0])
    for gone in blown:
        effects = _without(effects, gone)
    blows: list[str] = []
    found = _settled(circuit, effects, state or State(), start or Coils())
    while (fuse := _blown(found)) is not None:
        blows.append(fuse)
        effects = _without(effects, fuse)
        found = _settled(circuit, effects, found.rungs.state, Coils())
    return Solved(
        circuit=circuit, control=found.net, power=found.power, turn=_turn(found.power), rungs=found.rungs,
        relay=found.coils.relay, coil=found.coils.contactor, contactor=_armature(effects, found.coils),
        chatter=found.chatter, fault=fault, state=found.rungs.state, coils=found.coils, blows=tuple(blows),
        ground_amps=_ground_amps(found),
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Found:
    rungs: Ladder
    net: Net
    power: Power
    coils: Coils
    chatter: tuple[str, ...]
    control_volts: float


def _without(effects: Effects, fuse: str) -> Effects:
    return replace(effects, opened=effects.opened | {fuse})


def _armature(effects: Effects, coils: Coils) -> bool:
    """Whether the contactor's moving part is in, as the eye sees it."""
    return (coils.contactor and "armature" not in effects.opened) or "all_poles" in effects.closed


def _settled(circuit: Circuit, effects: Effects, state: State, coils: Coils) -> _Found:
    """Coils move until nothing changes, until they come back to where they were, or until a fuse goes."""
    rungs = ladder(circuit, effects, state)
    seen: list[Coils] = []
    while coils not in seen:
        seen.append(coils)
        found = _once(rungs, coils)
        if _blown(found):
            return found
        coils = _moved(found, coils)
    cycle = seen[seen.index(coils) :]
    names = {"R": len({c.relay for c in cycle}) > 1, "K": len({c.contactor for c in cycle}) > 1}
    if len(cycle) > 1:
        found = _once(rungs, min(cycle, key=lambda c: (c.contactor, c.relay)))
    unsteady = tuple(name for name in "RK" if names[name] or _buzzes(found, name))
    return replace(found, chatter=unsteady)


def _once(rungs: Ladder, coils: Coils) -> _Found:
    circuit, effects, state = rungs.circuit, rungs.effects, rungs.state
    at = power(circuit, effects, _armature(effects, coils), state.breaker, state.control_supply)
    volts = circuit.control_volts * effects.control_share * abs(at.primary) / circuit.supply_volts
    links, branches = rungs.with_coils(coils)
    net = solved(links, branches, {}, rungs.supplies(volts, coils.isolated))
    return _Found(rungs, net, at, coils, (), volts)


def _share(found: _Found, name: str) -> float:
    """Volts across a coil that is whole, over its rated volts."""
    rungs = found.rungs
    ends, rated, part = (rungs.relay_ends, rungs.relay_volts, "relay_coil")
    if name == "K":
        ends, rated, part = ("kc", "kr"), rungs.coil_volts, "coil"
    if part in rungs.effects.opened:
        return 0.0
    return abs(found.net.volts(ends[0]) - found.net.volts(ends[1])) / rated


def _moved(found: _Found, coils: Coils) -> Coils:
    circuit = found.rungs.circuit
    relay, contactor = _share(found, "R"), _share(found, "K")
    fed = abs(found.net.volts("s") - found.net.volts("n")) >= PULL_IN * circuit.control_volts
    return Coils(
        relay >= (circuit.relay_drop_out if coils.relay else PULL_IN),
        contactor >= (circuit.coil_drop_out if coils.contactor else PULL_IN),
        fed and circuit.float_leg == "isolated",
    )


def _buzzes(found: _Found, name: str) -> bool:
    pulled = found.coils.relay if name == "R" else found.coils.contactor
    return not pulled and MAY_CHATTER <= _share(found, name) < PULL_IN


def _blown(found: _Found) -> str | None:
    """The fuse that clears the current of the secondary, if it is more than one stands."""
    effects, net, circuit = found.rungs.effects, found.net, found.rungs.circuit
    if "winding" in effects.opened:
        return None
    across = abs(net.volts("X1") - net.volts("X2"))
    amps = (found.control_volts - across) * source_siemens(circuit)
    whole = [fuse for fuse in FUSES if fuse not in effects.opened]
    return whole[0] if whole and amps > fuse_amps(circuit, FUSE_FACTOR) else None


def _ground_amps(found: _Found) -> float:
    circuit = found.rungs.circuit
    leads = ((lead_node(circuit, lead), ohms) for lead, ohms in found.rungs.effects.grounds)
    return sum(abs(found.net.volts(node)) / ohms for node, ohms in leads) + found.power.residual_amps


def _turn(at: Power) -> complex:
    """Direction of the control volts among the phasors of the supply."""
    return at.primary / abs(at.primary) if abs(at.primary) > 1e-6 else 1.0


def ohms(
    circuit: Circuit,
    one: str,
    other: str,
    fault: Fault = NONE,
    state: State | None = None,
    blown: tuple[str, ...] = (),
) -> float:
    """What an ohmmeter shows between two test points, everything locked out [ohm]; infinite is open.

    Coils count with their direct-current resistance, a share of their impedance (common practice, no source); the
    stray coupling of wires is not seen by an ohmmeter.

    Args:
        circuit: The circuit.
        one: A test point of `circuit.points`.
        other: Another.
        fault: What is wrong; with `latches` the fuse is blown.
        state: What is found or forced; breaker and control supply count as off.
        blown: Fuses that went when the circuit was last energised.

    Source:
        Kirchhoff; one ampere put in.
    """
    effects = _without(fault.effects, FUSES[0]) if fault.latches else fault.effects
    for fuse in blown:
        effects = _without(effects, fuse)
    control = _dead_control(ladder(circuit, effects, state or State(), strays=False))
    nets = (control, heater.dead(circuit, effects))
    for net in nets:
        if all(point == GROUND or point in net.root for point in (one, other)):
            return net.ohms(one, other)
    return sum(next((net.ohms(point) for net in nets if point in net.root), float("inf")) for point in (one, other))


RELAY_DC, COIL_DC = 0.5, 1.0 / 6.0
"""Direct-current ohms of a relay's and a contactor's coil over their impedance held in. Common practice, no source."""


def _dead_control(rungs: Ladder) -> Net:
    links, branches = rungs.with_coils(Coils(contactor=True))
    shares = {("kc", "kr"): COIL_DC, rungs.relay_ends: RELAY_DC}
    return solved(links, [(a, b, g / shares.get((a, b), 1.0)) for a, b, g in branches], {})
