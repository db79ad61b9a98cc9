"""Circuits of every wiring to draw, and drawings read back into what is joined with what."""

from collections import Counter
from collections.abc import Iterable, Mapping

from hypothesis import strategies as st

from seasonlog.faults.circuit import Circuit
from seasonlog.faults.drawing_sheet import Cell
from seasonlog.faults.effects import Effects
from seasonlog.faults.ladder import Coils, ladder
from seasonlog.faults.states import State

Nets = set[frozenset[str]]
"""Test points that wire alone joins."""
HOSTILE = ["", "HTR-1", '<b a="1">&amp;\'', "x" * 300, "\u4e2d" * 60, "a\r\nb\tc\x00\x1b[2J", "\u202ex\ufffe", "\ud800"]


@st.composite
def circuits(draw: st.DrawFn) -> Circuit:
    """Every wiring the register can tell, with believable plates."""
    phases = draw(st.sampled_from([1, 3]))
    volts = draw(st.sampled_from([120.0, 208.0, 240.0, 277.0, 480.0, 600.0]))
    control = draw(st.sampled_from([24.0, 120.0]))
    return Circuit(
        id=draw(st.sampled_from(HOSTILE)),
        control_volts=control,
        coil_volts=draw(st.sampled_from([control, 24.0, 208.5])),
        coil_va=draw(st.sampled_from([8.0, 70.0, 123.45, 1250.0])),
        relay_va=draw(st.sampled_from([2.0, 1.25, 12.5])),
        float_leg=draw(st.sampled_from(["neutral", "hot", "isolated"])),
        grounded=draw(st.sampled_from(["x1", "x2", "none"])),
        interlock=draw(st.booleans()),
        lamps=draw(st.integers(0, 2)),
        thermal_limit=draw(st.booleans()),
        heater_kw=draw(st.sampled_from([0.75, 18.0, 137.5])),
        heater_volts=volts,
        supply_volts=draw(st.sampled_from([volts, 460.0])),
        phases=phases,
        connection=draw(st.sampled_from(["wye", "delta"])),
        poles=draw(st.integers(1, 3 if phases == 3 else 2)),
        heaters=draw(st.sampled_from([1, 2, 12])),
        separate_supply=draw(st.booleans()),
        assumed=tuple(draw(st.lists(st.just("the float's leg is not in the register: taken as neutral"), max_size=9))),
    )


def joined(cells: Mapping[Cell, Iterable[Cell]], points: Mapping[Cell, str]) -> dict[Cell, int]:
    """Each cell that conducts or holds a point -> the number of its net, from which cells each cell leads to."""
    both = {cell: {to for to in ways if cell in cells.get(to, ()) or to in points} for cell, ways in cells.items()}
    both |= {point: {cell for cell, ways in cells.items() if point in ways} for point in points}
    found: dict[Cell, int] = {}
    for start in both:
        stack = [] if start in found else [start]
        number = len(set(found.values()))
        while stack:
            here = stack.pop()
            if here not in found:
                found[here] = number
                stack += both[here]
    return found


def nets(found: Mapping[Cell, int], points: Mapping[Cell, str]) -> Nets:
    """The points of each net that has any."""
    sets: dict[int, set[str]] = {}
    for cell, name in points.items():
        sets.setdefault(found[cell], set()).add(name)
    return {frozenset(names) for names in sets.values()}


def solved_ladder(circuit: Circuit, opened: Iterable[str] = ()) -> tuple[Nets, Counter[frozenset[str]]]:
    """The solver's control circuit with every contact closed but these parts open: its links and its branches."""
    rungs = ladder(circuit, Effects(opened=frozenset(opened)), State(), strays=False)
    links, branches = rungs.with_coils(Coils(relay=True, contactor=True))
    return {frozenset(link) for link in links}, Counter(frozenset(branch[:2]) for branch in branches)


def model_nets(circuit: Circuit, parts: Iterable[str]) -> Nets:
    """Test points that the solver joins when all these parts are open: by wire alone."""
    links, _ = solved_ladder(circuit, parts)
    control = {name for name in circuit.points if name[0] not in "LBCTH"}
    sets = {name: {name} for name in control}
    for one, other in (sorted(link) for link in links):
        merged = sets[one] | sets[other]
        sets |= dict.fromkeys(merged, merged)
    return {frozenset(names) for names in sets.values()}
