"""The reduced solver against others: a general phasor solver, a sparse matrix, superposition, Kirchhoff."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seasonlog.calc.network import flow
from seasonlog.faults.network import GROUND, TRACE, Branch, Link, Net, solved

NODES = "abcdefh"
NODE = st.sampled_from(NODES)
LINKS = st.lists(st.tuples(NODE, NODE), max_size=5)
BRANCHES = st.lists(st.tuples(NODE, NODE, st.floats(1e-6, 10.0)), max_size=10)
SOURCES = st.lists(st.tuples(NODE, NODE, st.floats(-5.0, 5.0)), max_size=3)


def left_over(net: Net) -> float:
    """Largest current that goes missing at a node that nothing drives, over the largest that runs."""
    missing = dict.fromkeys(net.index, 0j)
    largest = 1e-9
    for one, other, siemens in net.branches:
        amps = siemens * (net.volts(one) - net.volts(other))
        largest = max(largest, abs(amps))
        for node, sign in ((one, -1), (other, 1)):
            if net.root[node] in missing:
                missing[net.root[node]] += sign * amps
    for into, out, given_amps in net.sources:
        largest = max(largest, abs(given_amps))
        for node, sign in ((into, 1), (out, -1)):
            if net.root[node] in missing:
                missing[net.root[node]] += sign * given_amps
    for node in missing:
        missing[node] -= TRACE * net.volts(node)
    return max((abs(each) for each in missing.values()), default=0.0) / largest


@given(links=LINKS, branches=BRANCHES, volts=st.floats(-500, 500))
def test_agrees_with_the_general_solver(links: list[Link], branches: list[Branch], volts: float) -> None:
    """Second method: `calc.network`, which knows no joined nodes, closed contacts as 10 microhm. Agreement 0.1 %."""
    branches = [*branches, *((node, GROUND, 1e-4) for node in NODES)]
    net = solved(links, branches, {"L": volts}, ())
    fed = solved(links, [*branches, ("L", "a", 0.01)], {"L": volts})
    wires = [(one, other, 1e5) for one, other in links if one != other]
    other = flow([*branches, ("L", "a", 0.01), *wires], {"L": complex(volts), GROUND: 0j})
    assert all(abs(net.volts(node)) < 1e-9 for node in NODES)
    for node in NODES:
        assert fed.volts(node) == pytest.approx(other.volts[node], rel=1e-3, abs=1e-3 * abs(volts) + 1e-9)


@given(links=LINKS, branches=BRANCHES, sources=SOURCES)
def test_current_is_conserved(links: list[Link], branches: list[Branch], sources: list[tuple[str, str, float]]) -> None:
    """Kirchhoff: nothing goes missing at any node, to one part in a million of what runs."""
    branches = [*branches, *((node, GROUND, 1e-4) for node in NODES)]
    assert left_over(solved(links, branches, {}, sources)) < 1e-6


@given(links=LINKS, branches=BRANCHES, one=st.floats(-5, 5), other=st.floats(-5, 5))
def test_two_sources_are_the_sum_of_each(links: list[Link], branches: list[Branch], one: float, other: float) -> None:
    """Superposition: volts of both sources are the sum of the volts of each alone."""
    branches = [*branches, *((node, GROUND, 1e-4) for node in NODES)]
    first, second = ("a", "b", one), ("c", GROUND, other)
    both, only_first, only_second = (solved(links, branches, {}, s) for s in ((first, second), (first,), (second,)))
    for node in NODES:
        assert both.volts(node) == pytest.approx(only_first.volts(node) + only_second.volts(node), abs=1e-3)


@given(links=LINKS, branches=BRANCHES, meter=st.floats(1e3, 1e8))
def test_a_meter_is_a_branch(links: list[Link], branches: list[Branch], meter: float) -> None:
    """The loaded reading by Thevenin is what the network gives with the meter put in. Agreement one in a million."""
    branches = [*branches, *((node, GROUND, 1e-5) for node in NODES)]
    source = [("a", "b", 0.01)]
    net = solved(links, branches, {}, source)
    loaded = solved(links, [*branches, ("a", "c", 1.0 / meter)], {}, source)
    assert net.between("a", "c", meter) == pytest.approx(loaded.volts("a") - loaded.volts("c"), rel=1e-6, abs=1e-6)


@given(branches=BRANCHES, sources=SOURCES)
def test_agrees_with_a_sparse_solver(branches: list[Branch], sources: list[tuple[str, str, float]]) -> None:
    """Second method: scipy's sparse LU on the unreduced matrix. Agreement one in a million."""
    sparse = pytest.importorskip("scipy.sparse")
    linalg = pytest.importorskip("scipy.sparse.linalg")
    branches = [*branches, *((node, GROUND, 1e-4) for node in NODES)]
    at = {node: n for n, node in enumerate(NODES)}
    matrix, right = sparse.lil_matrix((len(NODES), len(NODES))), [0.0] * len(NODES)
    for one, other, siemens in branches:
        for here, there in ((one, other), (other, one)):
            if here in at and here != there:
                matrix[at[here], at[here]] += siemens
                if there in at:
                    matrix[at[here], at[there]] -= siemens
    for into, out, amps in sources:
        right[at[into]] += amps
        right[at[out]] -= amps
    wanted = linalg.spsolve(matrix.tocsc(), right)
    net = solved((), branches, {}, sources)
    scale = max(1.0, *(abs(float(v)) for v in wanted))
    for node in NODES:
        assert net.volts(node) == pytest.approx(float(wanted[at[node]]), abs=2e-5 * scale)


def test_ohms_of_a_chain_and_of_nothing() -> None:
    """Two resistors in a row add, closed contacts read 0, parts that do not meet read open."""
    net = solved([("a", "b")], [("b", "c", 0.1), ("c", "d", 0.05), ("e", "f", 1.0)], {})
    assert net.ohms("a", "d") == pytest.approx(30.0, rel=1e-6)
    assert net.ohms("a", "b") == 0
    assert net.ohms("a", "e") == math.inf
    assert net.ohms("a", "nowhere") == math.inf
    assert net.between("a", "nowhere", 1e7) == 0
