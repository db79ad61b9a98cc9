"""The heater's side of the circuit: supply, breaker, line fuses, contactor poles, elements, transformer primary.

Solved by phasors on up to three lines; the same few situations come back again and again, so they are kept.
"""

import cmath
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

from seasonlog.faults.circuit import Circuit
from seasonlog.faults.effects import HEALTHY, Effects
from seasonlog.faults.network import GROUND, Branch, Link, Net, solved

NO_AMPS = 0.02
"""Share of rated amps below which a line carries none: under a clamp's floor. Common practice, no source."""
EVEN = 0.03
"""Lines whose shares differ by less are even. Common practice, no source."""
FULL = 0.9
"""Least share of rated amps of a whole heater. Source: watts -10 %, trade custom."""
LIVE_SHARE = 0.05
"""Share of the line volts from which a terminal is live. Common practice, no source."""
BOLTED_SIEMENS = 100.0
NO_LOAD = 0.1
"""Share of its VA that an idle control transformer draws. Common practice, no source."""
ELEMENTS = {"wye": (("T1", "W"), ("T2", "W"), ("T3", "W")), "delta": (("T1", "T2"), ("T2", "T3"), ("T3", "T1"))}
SPLIT_VOLTS = ((100.0, 139.0), (265.0, 290.0), (335.0, 360.0))
"""Single-phase volts that are line to neutral (120, 277, 347). Source: US nominal services."""
WYE_VOLTS = ((195.0, 219.0), (340.0, 1000.0))
"""Single-phase volts between two lines of a wye (208, 380 to 600). Source: US nominal services."""


@dataclass(frozen=True, slots=True)
class Power:
    """The heater's side, solved."""

    net: Net
    amps: tuple[float, ...]
    """Of each line to the heater [A]."""
    shares: tuple[float, ...]
    """The same over the healthy heater's at the nominal supply."""
    residual_amps: float
    """A clamp around all lines together [A]."""
    power_share: float
    """Heat over the healthy heater's."""
    code: str
    """3: three even full lines; 1: a single-phase heater at full; 2: a dead line; e: uneven, no line dead; h: even, not
    full; L: no current but a live terminal; 0: none."""
    primary: complex
    """Volts across the control transformer's primary, a phasor [V]."""


def supply(circuit: Circuit) -> tuple[complex, ...]:
    """Volts of each line to ground [V], for a supply grounded at its star, middle or neutral.

    Source:
        US nominal services; an ungrounded or corner-grounded delta reads otherwise to ground.
    """
    volts = circuit.supply_volts
    if circuit.phases == 1 and _in(volts, SPLIT_VOLTS):
        return (complex(volts), 0j)
    if circuit.phases == 1 and not _in(volts, WYE_VOLTS):
        return (complex(volts / 2.0), complex(-volts / 2.0))
    star = volts / math.sqrt(3.0)
    return tuple(cmath.rect(star, -2.0 * math.pi * line / 3.0) for line in range(circuit.lines))


def _in(volts: float, ranges: Sequence[tuple[float, float]]) -> bool:
    return any(low <= volts <= high for low, high in ranges)


def elements(circuit: Circuit, effects: Effects) -> Iterator[Branch]:
    """The heater as conductances; what is broken is broken in one of the heaters on the contactor."""
    pairs = ELEMENTS[circuit.connection] if circuit.phases == 3 else (("T1", "T2"),)
    three = 3.0 if circuit.phases == 3 and circuit.connection == "delta" else 1.0
    whole = 1000.0 * circuit.heater_kw / (three * (circuit.heater_volts * effects.heater_ratio) ** 2)
    others = whole * (circuit.heaters - 1) / circuit.heaters
    for at, (one, other) in enumerate(pairs):
        if effects.heater == "one_dead" or (effects.heater == "element_open" and at == 0):
            yield (one, other, others)
        elif effects.heater == "element_grounded" and at == 0:
            mine = 2.0 * (whole - others)
            yield from ((one, other, others), (one, "M", mine), ("M", other, mine), ("M", GROUND, BOLTED_SIEMENS))
        else:
            yield (one, other, whole)


def _poles(circuit: Circuit, effects: Effects, armature: bool) -> Iterator[int]:
    """Lines on which contactor or wire joins breaker and heater."""
    last = min(circuit.poles, circuit.lines)
    open_ = {last if name == "last_pole" else int(name[4:]) for name in effects.opened if name.startswith("pole")} | (
        {last} if "last_pole" in effects.opened else set()
    )
    for line in range(1, circuit.lines + 1):
        welded = line > circuit.poles or {"all_poles", f"pole{line}"} & effects.closed
        if (armature or welded) and line not in open_:
            yield line


def _links(circuit: Circuit, effects: Effects, breaker: bool) -> Iterator[Link]:
    lines = range(1, circuit.lines + 1)
    if breaker and "breaker" not in effects.opened:
        yield from ((f"L{line}", f"B{line}") for line in lines)
    for line in lines:
        names = {f"line{line}"} | ({"last_line"} if line == circuit.lines else set())
        if not names & effects.opened:
            yield (f"B{line}", f"C{line}")
    feed = "S" if circuit.separate_supply else "C"
    if "primary_fuse" not in effects.opened:
        yield (f"{feed}1", "H1")
    yield (f"{feed}2", "H4")


@lru_cache(maxsize=2048)
def power(circuit: Circuit, effects: Effects, armature: bool, breaker: bool, control_supply: bool) -> Power:
    """Solve the heater's side.

    Args:
        circuit: The circuit.
        effects: What is wrong with it.
        armature: The contactor has pulled in.
        breaker: The branch breaker is on.
        control_supply: A control supply of its own is on.

    Source:
        Kirchhoff, phasors.
    """
    lines = supply(circuit)
    driven = {f"L{line}": volts for line, volts in enumerate(lines, start=1)}
    if circuit.separate_supply:
        driven |= {"S1": lines[0], "S2": lines[1]} if control_supply else {"S1": 0j, "S2": 0j}
    return _measured(circuit, _net(circuit, effects, armature, breaker, driven))


def dead(circuit: Circuit, effects: Effects) -> Net:
    """The same with no supply, breaker and contactor open: for the ohmmeter."""
    return _net(circuit, effects, False, False, {})


def _net(circuit: Circuit, effects: Effects, armature: bool, breaker: bool, driven: dict[str, complex]) -> Net:
    links = list(_links(circuit, effects, breaker))
    heater = list(elements(circuit, effects))
    branches = list(heater)
    joints = dict(effects.series)
    for line in _poles(circuit, effects, armature):
        ends = (f"C{line}", f"T{line}")
        if f"pole{line}" in joints:
            branches.append((*ends, 1.0 / joints[f"pole{line}"]))
        else:
            links.append(ends)
    if "winding" not in effects.opened:
        branches.append(("H1", "H4", NO_LOAD * circuit.transformer_va / circuit.supply_volts**2))
    return solved(links, branches, driven)


@lru_cache(maxsize=256)
def _healthy_amps(circuit: Circuit) -> tuple[tuple[float, ...], float]:
    driven = {f"T{line}": volts for line, volts in enumerate(supply(circuit), start=1)}
    return _heat(circuit, solved((), list(elements(circuit, HEALTHY)), driven))[:2]


def _heat(circuit: Circuit, net: Net) -> tuple[tuple[float, ...], float, float]:
    """Line amps, watts and the amps that go to ground."""
    amps = dict.fromkeys((f"T{line}" for line in range(1, circuit.lines + 1)), 0j)
    watts = 0.0
    for one, other, siemens in net.branches:
        if one in amps or one == "M":
            drop = net.volts(one) - net.volts(other)
            watts += siemens * abs(drop) ** 2 if other != GROUND else 0.0
            for end, sign in ((one, 1.0), (other, -1.0)):
                if end in amps:
                    amps[end] += sign * siemens * drop
    return tuple(abs(each) for each in amps.values()), watts, abs(sum(amps.values()))


def _measured(circuit: Circuit, net: Net) -> Power:
    amps, watts, residual = _heat(circuit, net)
    rated, full = _healthy_amps(circuit)
    shares = tuple(own / whole for own, whole in zip(amps, rated, strict=True))
    terminals = max(abs(net.volts(f"T{line}")) for line in range(1, circuit.lines + 1))
    live = terminals > LIVE_SHARE * circuit.supply_volts
    primary = net.volts("H1") - net.volts("H4")
    return Power(net, amps, shares, residual, watts / full, _code(shares, live), primary)


def _code(shares: tuple[float, ...], live: bool) -> str:
    if max(shares) < NO_AMPS:
        return "L" if live else "0"
    if min(shares) < NO_AMPS:
        return "2"
    if max(shares) - min(shares) > EVEN:
        return "e"
    if not FULL <= min(shares) <= 2.0 - FULL:
        return "h"
    return "3" if len(shares) == 3 else "1"
