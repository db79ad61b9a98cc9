"""The control circuit as joined nodes, conductances and a source, for one state and one fault.

Order of the devices: X1, secondary fuse, b, heater switch, s, pump interlock, p, thermostat, t, level relay contact,
(r, thermal limit,) k, coil, neutral n, X2. Lamp A from s and lamp H from k to n. Level relay, neutral-leg float: s,
coil, ra, lead fa, float, lead fb, rb, n; hot-leg float: s, ra, fa, float, fb, rb, coil, n; isolated: its own supply
ia, coil, ra, fa, float, fb, rb, ib, with s only feeding that supply.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from seasonlog.faults.circuit import ISOLATED_VOLTS, LAMP_WATTS, REGULATION, Circuit
from seasonlog.faults.effects import Effects
from seasonlog.faults.network import GROUND, Branch, Link, Source
from seasonlog.faults.states import BETWEEN, COLD, State

STRAY_OHMS = 1e6
"""Wiring to ground, at power frequency: some ten feet of wire in conduit. Common practice, no source."""
STRAY_NODES = ("b", "s", "p", "t", "k", "kr", "fa", "fb", "n", "X2")
GROUNDED_OHMS = 1.0
"""A lead that reaches ground through a wet splice, at its worst. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Coils:
    """What has pulled in."""

    relay: bool = False
    contactor: bool = False
    """The contactor's coil holds; its poles are another matter."""
    isolated: bool = False
    """The isolated float supply is fed."""


@dataclass(frozen=True, slots=True)
class Ladder:
    """The control circuit, all but what the coils decide."""

    circuit: Circuit
    effects: Effects
    state: State
    links: tuple[Link, ...]
    branches: tuple[Branch, ...]
    relay_ends: Link
    """Nodes across which the level relay's coil lies."""
    relay_volts: float
    """Its rated volts [V]."""

    @property
    def coil_volts(self) -> float:
        """Rated volts of the contactor's coil as fitted [V]."""
        return self.circuit.coil_volts * self.effects.coil_ratio

    def with_coils(self, coils: Coils) -> tuple[list[Link], list[Branch]]:
        """Links and branches with these coils in."""
        links, branches = list(self.links), list(self.branches)
        below = "r" if self.circuit.thermal_limit else "k"
        contact = coils.relay != ("level" in self.effects.turned)
        _put(self.effects, links, branches, ("t", below), "level", contact)
        if "coil" not in self.effects.opened:
            inrush = self.circuit.coil_inrush_va or 0.0
            va = self.circuit.coil_va if coils.contactor else max(inrush, self.circuit.coil_va)
            branches.append(("kc", "kr", va / self.coil_volts**2))
        return links, branches

    def supplies(self, control_volts: float, isolated: bool) -> list[Source]:
        """The transformer, and the isolated float supply where it is fed, as currents beside their conductances."""
        sources: list[Source] = []
        if "winding" not in self.effects.opened and control_volts:
            sources.append(("X1", "X2", control_volts * source_siemens(self.circuit)))
        if isolated and "isolated_supply" not in self.effects.opened:
            sources.append(("ia", "ib", self.relay_volts * _isolated_siemens(self.circuit)))
        return sources


def source_siemens(circuit: Circuit) -> float:
    """Inner conductance of the control transformer [S]."""
    return circuit.transformer_va / (REGULATION * circuit.control_volts**2)


def fuse_amps(circuit: Circuit, factor: float) -> float:
    """Current of the secondary that clears its fuse [A]."""
    return factor * circuit.transformer_va / circuit.control_volts


def _isolated_volts(circuit: Circuit) -> float:
    return min(ISOLATED_VOLTS, circuit.control_volts)


def _isolated_siemens(circuit: Circuit) -> float:
    return max(LAMP_WATTS, circuit.relay_va) / (REGULATION * _isolated_volts(circuit) ** 2)


def ladder(circuit: Circuit, effects: Effects, state: State, strays: bool = True) -> Ladder:
    """The control circuit in this state, with what is wrong; without strays as an ohmmeter sees it."""
    if effects.float_leg:
        circuit = replace(circuit, float_leg=effects.float_leg)
    links: list[Link] = []
    branches: list[Branch] = []
    for ends, name, closed in _contacts(circuit, effects, state):
        _put(effects, links, branches, ends, name, closed)
    links += effects.shorts
    branches += _loads(circuit, effects)
    branches += ((lead_node(circuit, lead), GROUND, 1.0 / ohms) for lead, ohms in effects.grounds)
    if strays:
        branches += ((node, GROUND, 1.0 / STRAY_OHMS) for node in STRAY_NODES)
    ends = {"neutral": ("s", "ra"), "hot": ("rb", "n"), "isolated": ("ia", "ra")}[circuit.float_leg]
    volts = _isolated_volts(circuit) if circuit.float_leg == "isolated" else circuit.control_volts
    if "relay_coil" not in effects.opened:
        branches.append((*ends, circuit.relay_va / volts**2))
    return Ladder(circuit, effects, state, tuple(links), tuple(branches), ends, volts)


def _put(effects: Effects, links: list[Link], branches: list[Branch], ends: Link, name: str, closed: bool) -> None:
    """A contact, fuse or wire: a link, a resistance, or nothing."""
    if name in effects.opened or not (closed or name in effects.closed):
        return
    ohms = next((ohms for joint, ohms in effects.series if joint == name), 0.0)
    if ohms:
        branches.append((*ends, 1.0 / ohms))
    else:
        links.append(ends)


def _contacts(circuit: Circuit, effects: Effects, state: State) -> Iterator[tuple[Link, str, bool]]:
    """Every contact and wire that no coil moves: its ends, its name, and whether it would be closed when healthy."""
    yield ("X1", "b"), "secondary_fuse", True
    yield ("X2", "n"), "x2_lead", True
    yield ("b", "s"), "switch", state.switch
    yield ("s", "p"), "interlock", not (circuit.interlock and state.pump)
    yield ("p", "t"), "stat", stat_closed(effects, state)
    if state.stat_jumpered:
        yield ("p", "t"), "jumper", True
    if circuit.thermal_limit:
        yield ("r", "k"), "limit", not state.limit_opened
    yield (effects.coil_from or "k", "kc"), "coil_wire", not state.coil_lifted
    yield ("kr", "n"), "coil_return", True
    bond = effects.bond_at or {"x1": "X1", "x2": "n"}.get(circuit.grounded, "")
    if bond:
        yield (bond, GROUND), "bond", True
    yield from _float(circuit, effects, state)


def _float(circuit: Circuit, effects: Effects, state: State) -> Iterator[tuple[Link, str, bool]]:
    yield ("ra", "fa"), "lead_a", not state.float_lifted
    yield ("fb", "rb"), "lead_b", not state.float_lifted
    yield ("fa", "fb"), "float", float_closed(effects, state)
    if circuit.float_leg == "neutral":
        yield ("rb", "n"), "relay_return", True
    elif circuit.float_leg == "hot":
        yield ("s", "ra"), "relay_feed", True
    else:
        yield ("rb", "ib"), "relay_return", True


def stat_closed(effects: Effects, state: State) -> bool:
    """Whether C-NO of the thermostat, or the throw it is wired on, is closed: it closes on fall."""
    feels_warm = effects.bulb == "warm" or state.water not in (COLD, BETWEEN)
    closed = state.stat_was_closed if state.water == BETWEEN and effects.bulb != "warm" else not feels_warm
    if state.bulb:
        closed = state.bulb == "iced"
    return closed != ("stat" in effects.turned)


def float_closed(effects: Effects, state: State) -> bool:
    """Whether the float's contact is closed: it is when the float is up. A hand frees a stuck one."""
    if state.float_by_hand:
        return state.float_by_hand == "up"
    return effects.stuck_float == "up" if effects.stuck_float else state.full


def _loads(circuit: Circuit, effects: Effects) -> Iterator[Branch]:
    lamp = LAMP_WATTS / circuit.control_volts**2
    for node, name in (("s", "lamp_a"), ("k", "lamp_h"))[: circuit.lamps]:
        if name not in effects.opened:
            yield (node, "n", lamp)
    if "winding" not in effects.opened:
        yield ("X1", "X2", source_siemens(circuit))
    if circuit.float_leg == "isolated":
        yield ("s", "n", circuit.relay_va / circuit.control_volts**2)
        if "isolated_supply" not in effects.opened:
            yield ("ia", "ib", _isolated_siemens(circuit))


def lead_node(circuit: Circuit, lead: str) -> str:
    """The node of a float lead named by its place: the relay's side, or the other one."""
    if lead not in ("relay_lead", "other_lead"):
        return lead
    return "fb" if (circuit.float_leg == "hot") == (lead == "relay_lead") else "fa"
