"""The network of a heater, healthy and with each fault, as fractions of the healthy one at the same volts.

Values: circuit theory, worked by nodal analysis and by a separate time-domain solution; agreement 5e-4 (the digits
printed). Second methods here: closed forms (Millman for a wye, the mesh of a delta), and root mean squares of 3,600
instants a cycle; agreement 1e-9. A published heater burnout controller manual has the same 1.000 / 0.866 / 0.577.
"""

import itertools
import math
from collections.abc import Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seasonlog.calc.network import PAIRS, Branch, Flow, flow, line_currents, siemens_of_pairs, supply
from seasonlog.calc.supply import unbalance_percent
from seasonlog.errors import RatingError

VOLTS = 480.0
OHMS = 12.8  # a wye element of 18 kW at 480 V; a delta element has three times as much
AMPS = 18000 / (math.sqrt(3) * 480)
LINES = ("A", "B", "C")
LIVE = supply((VOLTS, VOLTS, VOLTS))
MULTIPLES = st.floats(0.05, 20)


def wye(a: float, b: float, c: float, star: str = "N") -> list[Branch]:
    """A wye whose elements have these multiples of their healthy conductance."""
    return [(line, star, times / OHMS) for line, times in zip(LINES, (a, b, c), strict=True) if times]


def delta(ab: float, bc: float, ca: float) -> list[Branch]:
    """A delta likewise."""
    return [(*pair, times / (3 * OHMS)) for pair, times in zip(PAIRS, (ab, bc, ca), strict=True) if times]


def solved(branches: Sequence[Branch], *opened: str) -> Flow:
    return flow(branches, {node: volts for node, volts in LIVE.items() if node not in opened})


def fractions(at: Flow) -> list[float]:
    return [amps / AMPS for amps in at.amps]


def power_fraction(at: Flow) -> float:
    """Of 18 kW; a line that is open carries no current and so no power."""
    watts = sum((at.volts[line] * amps.conjugate()).real for line, amps in zip(LINES, at.line_amps, strict=True))
    return watts / 18000


ROWS = {
    "healthy, wye": (wye(1, 1, 1), "", (1, 1, 1), 1, 0),
    "healthy, delta": (delta(1, 1, 1), "", (1, 1, 1), 1, 0),
    "line A open, wye": (wye(1, 1, 1), "A", (0, 0.866, 0.866), 0.5, 100),
    "line A open, delta": (delta(1, 1, 1), "A", (0, 0.866, 0.866), 0.5, 100),
    "element A open, wye": (wye(0, 1, 1), "", (0, 0.866, 0.866), 0.5, 100),
    "element A-B open, delta": (delta(0, 1, 1), "", (0.577, 0.577, 1), 0.667, 39.2),
    "two elements open, wye": (wye(0, 0, 1), "", (0, 0, 0), 0, None),
    "two elements open, delta": (delta(0, 0, 1), "", (0.577, 0, 0.577), 0.333, 100),
    "1 of 2 parallel open, wye": (wye(1 / 2, 1, 1), "", (0.6, 0.917, 0.917), 0.8, 26.0),
    "1 of 2 parallel open, delta": (delta(1 / 2, 1, 1), "", (0.764, 0.764, 1), 0.833, 18.7),
    "1 of 3 parallel open, wye (closed form)": (wye(2 / 3, 1, 1), "", (0.75, 0.944, 0.944), 0.875, 14.7),
    "1 of 3 parallel open, delta (closed form)": (delta(2 / 3, 1, 1), "", (0.839, 0.839, 1), 0.889, 12.0),
    "turns shorted to half, wye (closed form)": (wye(2, 1, 1), "", (1.5, 1.146, 1.146), 1.25, 18.7),
    "turns shorted to half, delta (closed form)": (delta(2, 1, 1), "", (1.528, 1.528, 1), 1.333, 26.0),
    "element A-B and line B open, delta": (delta(0, 1, 1), "B", (0.577, 0, 0.577), 0.333, 100),
    "element A-B and line C open, delta": (delta(0, 1, 1), "C", (0.289, 0.289, 0), 0.167, 100),
    "wye parts joined in delta": (delta(3, 3, 3), "", (3, 3, 3), 3, 0),
    "delta parts joined in wye": (wye(1 / 3, 1 / 3, 1 / 3), "", (0.333, 0.333, 0.333), 0.333, 0),
    "wye with neutral, line A open": (wye(0, 1, 1, "0"), "", (0, 1, 1), 0.667, 100),
    "two heaters, one dead": (wye(0.5, 0.5, 0.5), "", (0.5, 0.5, 0.5), 0.5, 0),
    "two wyes, one lost line A": (
        [*wye(0.5, 0.5, 0.5), ("B", "M", 0.5 / OHMS), ("C", "M", 0.5 / OHMS)], "", (0.5, 0.901, 0.901), 0.75, 34.9,
    ),
    "two deltas, one lost line A": (
        [*delta(0.5, 0.5, 0.5), ("a", "B", 0.5 / 3 / OHMS), ("B", "C", 0.5 / 3 / OHMS), ("C", "a", 0.5 / 3 / OHMS)],
        "", (0.5, 0.901, 0.901), 0.75, 34.9,
    ),
    "two deltas, one with element A-B open": (delta(0.5, 1, 1), "", (0.764, 0.764, 1), 0.833, 18.7),
}  # fmt: skip


@pytest.mark.parametrize("row", ROWS)
def test_amps_power_and_unbalance_of_each_fault(row: str) -> None:
    branches, opened, amps, power, uneven = ROWS[row]
    at = solved(branches, *opened)
    assert fractions(at) == pytest.approx(list(amps), abs=5e-4)
    assert power_fraction(at) == pytest.approx(power, abs=5e-4)
    if uneven is not None:
        assert unbalance_percent(at.amps) == pytest.approx(uneven, abs=0.05)


GROUNDED = {
    0.10: ((9.93, 0.885, 0.885, 9.56), (3.84, 0.917, 1.000, 3.16)),
    0.25: ((3.99, 0.889, 0.889, 3.59), (1.86, 0.988, 1.000, 1.17)),
    0.50: ((2.00, 0.902, 0.902, 1.50), (1.20, 1.20, 1.000, 0.67)),
    0.75: ((1.33, 0.928, 0.928, 0.67), (0.988, 1.86, 1.000, 1.17)),
    0.90: ((1.11, 0.961, 0.961, 0.28), (0.917, 3.84, 1.000, 3.16)),
}
"""Bolted ground fault at this share of the element from line A, solidly grounded star: lines A, B, C and ground."""


def grounded(branches: Sequence[Branch], along: float, ohms: float = 1e-6) -> list[Branch]:
    one, other, siemens = branches[0]
    cut = [(one, "tap", siemens / along), ("tap", other, siemens / (1 - along)), ("tap", "0", 1 / ohms)]
    return [*cut, *branches[1:]]


@pytest.mark.parametrize("along", GROUNDED)
@pytest.mark.parametrize("kind", ["wye", "delta"])
def test_a_ground_fault_inside_an_element(along: float, kind: str) -> None:
    """Circuit theory, nodal; agreement 1 % or 0.005, the digits printed."""
    wanted = GROUNDED[along][kind == "delta"]
    at = solved(grounded(wye(1, 1, 1) if kind == "wye" else delta(1, 1, 1), along))
    assert [*fractions(at), at.residual_amps / AMPS] == pytest.approx(list(wanted), rel=0.01, abs=0.005)


def test_a_grounded_star_point_shows_nothing_in_amps() -> None:
    at = solved([*wye(1, 1, 1), ("N", "0", 1e6)])
    assert fractions(at) == pytest.approx([1, 1, 1], abs=1e-9)
    assert at.residual_amps == pytest.approx(0, abs=1e-6)


def test_a_ground_fault_of_100_ohm_moves_no_line_by_more_than_an_eighth() -> None:
    """Largest deviation of the sampled fractions is +11 % at 0.1: inside a naive 15 % band. Agreement 0.5 %."""
    worst = [max(fractions(solved(grounded(wye(1, 1, 1), x, 100)))) for x in (0.1, 0.25, 0.5, 0.75, 0.9)]
    worst += [max(fractions(solved(grounded(delta(1, 1, 1), x, 100)))) for x in (0.1, 0.25, 0.5, 0.75, 0.9)]
    assert max(worst) == pytest.approx(1.11, abs=0.005)


@pytest.mark.parametrize("branches", [wye(1, 1, 1), delta(1, 1, 1)], ids=["wye", "delta"])
def test_a_dead_line_sits_between_the_live_ones(branches: list[Branch]) -> None:
    """Circuit theory, 480 V: 240 V to each live line and 139 V to ground; agreement 0.5 V."""
    at = solved(branches, "A")
    assert at.between() == pytest.approx((240, 480, 240), abs=0.5)
    assert abs(at.volts["A"]) == pytest.approx(139, abs=0.5)


def test_an_open_wye_element_leaves_all_lines_live_and_416_v_across_itself() -> None:
    at = solved(wye(0, 1, 1))
    assert at.between() == pytest.approx((480, 480, 480), abs=1e-6)
    assert abs(at.volts["A"] - at.volts["N"]) == pytest.approx(416, abs=0.5)


@pytest.mark.parametrize(
    ("branches", "ohms"),
    [
        pytest.param(wye(0, 1, 1), (math.inf, 1.0, math.inf), id="element A open, wye"),
        pytest.param(delta(0, 1, 1), (3.0, 1.5, 1.5), id="element A-B open, delta"),
        pytest.param(wye(0.5, 1, 1), (1.5, 1.0, 1.5), id="A half failed, wye"),
        pytest.param(delta(0.5, 1, 1), (1.5, 1.125, 1.125), id="A-B half failed, delta"),
        pytest.param(wye(2, 1, 1), (0.75, 1.0, 0.75), id="A half shorted, wye"),
        pytest.param(delta(2, 1, 1), (0.6, 0.9, 0.9), id="A-B half shorted, delta"),
    ],
)
def test_ohms_between_lines_in_units_of_the_healthy_ones(branches: list[Branch], ohms: tuple[float, ...]) -> None:
    """Circuit theory, as multiples of 2 V^2/P; agreement 1e-6."""
    found = [1 / s / (2 * OHMS) if s else math.inf for s in siemens_of_pairs(branches)]
    assert found == pytest.approx(list(ohms), rel=1e-6)


def test_three_ten_amp_elements_in_delta() -> None:
    """A published heater burnout controller manual: 17.3 A in the lines, 15 or 10 A with a fault. Agreement 0.05 A."""
    ohms = VOLTS / 10
    whole = [(*pair, 1 / ohms) for pair in PAIRS]
    assert solved(whole).amps == pytest.approx((17.3, 17.3, 17.3), abs=0.05)
    assert solved(whole, "A").amps == pytest.approx((0, 15, 15), abs=0.05)
    assert solved(whole[1:]).amps == pytest.approx((10, 10, 17.3), abs=0.05)


# Second methods


def millman(a: float, b: float, c: float) -> list[float]:
    """Wye in closed form: volts of the star point, then Ohm's law."""
    lines = [LIVE[line] for line in LINES]
    star = sum(g * v for g, v in zip((a, b, c), lines, strict=True)) / (a + b + c)
    return [abs(g / OHMS * (v - star)) for g, v in zip((a, b, c), lines, strict=True)]


def mesh(ab: float, bc: float, ca: float) -> list[float]:
    """Delta in closed form: each element has its own volts, each line the difference of two elements."""
    own = [g / (3 * OHMS) * (LIVE[p] - LIVE[q]) for g, (p, q) in zip((ab, bc, ca), PAIRS, strict=True)]
    return [abs(own[n] - own[n - 1]) for n in range(3)]


@given(MULTIPLES, MULTIPLES, MULTIPLES)
def test_nodal_and_closed_form_agree(one: float, two: float, three: float) -> None:
    assert list(solved(wye(one, two, three)).amps) == pytest.approx(millman(one, two, three), rel=1e-9)
    assert list(solved(delta(one, two, three)).amps) == pytest.approx(mesh(one, two, three), rel=1e-9, abs=1e-9)


@pytest.mark.parametrize("row", ["1 of 3 parallel open, wye (closed form)", "turns shorted to half, wye (closed form)"])
def test_a_wye_instant_by_instant(row: str) -> None:
    """Millman at 3,600 instants with real volts, root mean square of the currents; agreement 1e-9."""
    branches, *_ = ROWS[row]
    siemens = [g for *_, g in branches]
    sums = [0.0, 0.0, 0.0]
    for n in range(3600):
        volts = [math.sqrt(2) * VOLTS / math.sqrt(3) * math.cos(2 * math.pi * (n / 3600 - k / 3)) for k in range(3)]
        star = sum(g * v for g, v in zip(siemens, volts, strict=True)) / sum(siemens)
        sums = [s + (g * (v - star)) ** 2 for s, g, v in zip(sums, siemens, volts, strict=True)]
    assert [math.sqrt(s / 3600) for s in sums] == pytest.approx(solved(branches).amps, rel=1e-9)


@pytest.mark.parametrize(
    "row", ["1 of 3 parallel open, delta (closed form)", "turns shorted to half, delta (closed form)"]
)
def test_a_delta_instant_by_instant(row: str) -> None:
    branches, *_ = ROWS[row]
    siemens = [g for *_, g in branches]
    sums = [0.0, 0.0, 0.0]
    for n in range(3600):
        volts = [math.sqrt(2) * VOLTS / math.sqrt(3) * math.cos(2 * math.pi * (n / 3600 - k / 3)) for k in range(3)]
        own = [g * (volts[k] - volts[(k + 1) % 3]) for k, g in enumerate(siemens)]
        sums = [s + (own[k] - own[k - 1]) ** 2 for k, s in enumerate(sums)]
    assert [math.sqrt(s / 3600) for s in sums] == pytest.approx(solved(branches).amps, rel=1e-9)


@pytest.mark.parametrize("row", ROWS)
@pytest.mark.parametrize("grounded_at", [None, 0.1, 0.5])
def test_star_mesh_and_nodal_agree(row: str, grounded_at: float | None) -> None:
    """The fast way to line currents against nodal analysis; agreement 1e-9."""
    branches, opened, *_ = ROWS[row]
    if grounded_at is not None and branches:
        branches = grounded(branches, grounded_at, 3.0)
    driven = {node: volts for node, volts in LIVE.items() if node not in opened}
    assert list(line_currents(branches, driven)) == pytest.approx(flow(branches, driven).line_amps, rel=1e-9, abs=1e-7)


# What tolerance can do to a healthy heater, and to the smallest faults

ENDS = (0.90, 1.05)


def unevenness(kind: str, faulty: float) -> list[float]:
    build = wye if kind == "wye" else delta
    corners = itertools.product(ENDS, repeat=3)
    return [unbalance_percent(solved(build(faulty * a, b, c)).amps) for a, b, c in corners]


def test_the_worst_healthy_unbalance_is_5_33_percent() -> None:
    """Derived from +5/-10 % watts, perfect supply; all corners of the tolerance, agreement 0.01 %."""
    assert max(max(unevenness(kind, 1)) for kind in ("wye", "delta")) == pytest.approx(5.33, abs=0.01)


@pytest.mark.parametrize(
    ("kind", "left", "least"),
    [("delta", 2 / 3, 7.8), ("wye", 2 / 3, 8.9), ("delta", 1 / 2, 15.3)],
)
def test_the_smallest_real_faults_show_more(kind: str, left: float, least: float) -> None:
    """Derived: 1 of 3 parallel elements open under adverse tolerances 7.8 % (delta), 8.9 % (wye); 1 of 2 15.3 %."""
    assert min(unevenness(kind, left)) == pytest.approx(least, abs=0.1)


@pytest.mark.parametrize(
    ("kind", "left", "most"), [("delta", 2 / 3, 0.881), ("delta", 1 / 2, 0.802), ("wye", 2 / 3, 0.788)]
)
def test_the_lowest_line_of_an_opened_parallel_element_is_below_the_floor_of_0_90(
    kind: str, left: float, most: float
) -> None:
    """Derived: highest low line at adverse tolerance; agreement 0.001."""
    build = wye if kind == "wye" else delta
    lows = [min(fractions(solved(build(left * a, b, c)))) for a, b, c in itertools.product(ENDS, repeat=3)]
    assert max(lows) == pytest.approx(most, abs=1e-3)


@given(st.tuples(st.floats(456, 504), st.floats(456, 504), st.floats(456, 504)))
def test_a_resistive_heater_copies_the_unbalance_of_its_volts(volts: tuple[float, float, float]) -> None:
    """Circuit theory: about 1:1 (1.97 % of volts gave 1.95 % of amps), unlike a motor. A delta at least; to 25 %."""
    at = flow(delta(1, 1, 1), supply(volts))
    uneven = unbalance_percent(volts)
    assert unbalance_percent(at.amps) == pytest.approx(uneven, rel=0.25, abs=0.3)


@given(st.tuples(st.floats(300, 600), st.floats(300, 600), st.floats(300, 599)))
def test_lines_have_the_volts_they_were_made_of(volts: tuple[float, float, float]) -> None:
    at = flow(wye(1, 1, 1), supply(volts)) if 2 * max(volts) < sum(volts) else None
    if at is not None:
        assert at.between() == pytest.approx(volts, rel=1e-6)


def test_volts_that_make_no_triangle_are_refused() -> None:
    with pytest.raises(RatingError, match="cannot be between three lines"):
        supply((100, 480, 100))


@given(MULTIPLES, MULTIPLES, MULTIPLES, st.floats(0.1, 10))
def test_amps_scale_with_conductance(one: float, two: float, three: float, times: float) -> None:
    base = solved(wye(one, two, three)).amps
    more = solved(wye(times * one, times * two, times * three)).amps
    assert more == pytest.approx([times * a for a in base], rel=1e-9)
