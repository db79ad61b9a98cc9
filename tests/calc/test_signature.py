"""Three clamp readings, and what is wrong: every fault of the network table is named, wherever it sits.

The readings are those of `test_network` (circuit theory), shown by a clamp with one decimal. That tolerances and meter
errors are respected is checked by drawing them at random: whatever the truth was, it must be among the causes told.
"""

import math
import random
import re
from collections.abc import Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seasonlog.calc.instrument import Accuracy
from seasonlog.calc.network import flow, supply
from seasonlog.calc.signature import CAUSES, Meters, Readings, Signature, signature
from seasonlog.calc.signature_cases import Case, Load, cases
from seasonlog.errors import RatingError

FINE = Meters(clamp=Accuracy(2, 5, 0.01))
OPEN = math.inf


def load(connection: str = "unknown", heaters: int | None = 1, kw: float = 18, volts: float = 480) -> Load:
    return Load(kw, volts, 3, connection, heaters)


def read(fractions: Sequence[float], of: Load) -> tuple[float, ...]:
    """As a clamp of one decimal shows it."""
    return tuple(round(f * of.amps, 1) for f in fractions)


def solve(fractions: Sequence[float], of: Load, **more) -> Signature:
    return signature(of, Readings(read(fractions, of), **more))


def pairs(found: Signature) -> list[tuple[str, str]]:
    return [(each.cause, each.where) for each in found.causes]


ROWS = [
    ("wye", 1, (1, 1, 1), ("healthy", "")),
    ("delta", 1, (1, 1, 1), ("healthy", "")),
    ("wye", 1, (0, 0.866, 0.866), ("line_open", "A")),
    ("delta", 1, (0, 0.866, 0.866), ("line_open", "A")),
    ("delta", 1, (0.577, 0.577, 1), ("element_open", "A-B")),
    ("delta", 1, (0.577, 0, 0.577), ("two_elements_open", "A-B, B-C")),
    ("wye", 1, (0.6, 0.917, 0.917), ("parallel_element_open", "A")),
    ("delta", 1, (0.764, 0.764, 1), ("parallel_element_open", "A-B")),
    ("wye", 1, (0.75, 0.944, 0.944), ("parallel_element_open", "A")),
    ("delta", 1, (0.839, 0.839, 1), ("parallel_element_open", "A-B")),
    ("wye", 1, (1.5, 1.146, 1.146), ("turns_shorted", "A")),
    ("delta", 1, (1.528, 1.528, 1), ("turns_shorted", "A-B")),
    ("delta", 1, (0.289, 0.289, 0), ("line_open", "C")),
    ("wye", 1, (3, 3, 3), ("reconnected", "")),
    ("delta", 1, (0.333, 0.333, 0.333), ("reconnected", "")),
    ("wye", 1, (0, 1, 1), ("line_open", "A")),
    ("wye", 2, (0.5, 0.5, 0.5), ("one_heater_dead", "1 of 2")),
    ("delta", 3, (0.667, 0.667, 0.667), ("one_heater_dead", "1 of 3")),
    ("delta", 2, (0.5, 0.901, 0.901), ("line_open", "A")),
    ("delta", 2, (0.764, 0.764, 1), ("element_open", "A-B")),
    ("wye", 1, (9.93, 0.885, 0.885), ("ground_fault", "A")),
    ("wye", 1, (2.0, 0.902, 0.902), ("ground_fault", "A")),
    ("wye", 1, (1.33, 0.928, 0.928), ("ground_fault", "A")),
    ("delta", 1, (3.84, 0.917, 1.0), ("ground_fault", "A-B")),
    ("delta", 1, (1.86, 0.988, 1.0), ("ground_fault", "A-B")),
    ("delta", 1, (0.917, 3.84, 1.0), ("ground_fault", "A-B")),
]


@pytest.mark.parametrize(("connection", "heaters", "fractions", "cause"), ROWS)
def test_the_first_cause_told_is_the_fault(
    connection: str, heaters: int, fractions: tuple[float, ...], cause: tuple[str, str]
) -> None:
    of = load(connection, heaters)
    volts = (480.0,) if len(set(fractions)) == 1 else ()
    assert pairs(solve(fractions, of, volts=volts))[0] == cause


@pytest.mark.parametrize(("connection", "heaters", "fractions", "cause"), ROWS)
def test_a_fault_is_among_the_causes_when_the_connection_is_not_known(
    connection: str, heaters: int, fractions: tuple[float, ...], cause: tuple[str, str]
) -> None:
    assert cause in pairs(solve(fractions, load("unknown", heaters), volts=(480.0,)))


@pytest.mark.parametrize(("connection", "heaters", "fractions", "cause"), ROWS)
def test_the_place_moves_with_the_lines(
    connection: str, heaters: int, fractions: tuple[float, ...], cause: tuple[str, str]
) -> None:
    """The same fault one line further on: A becomes B, and C-A becomes A-B."""
    onward = str.maketrans("ABC", "BCA")
    a, b, c = fractions
    found = pairs(solve((c, a, b), load(connection, heaters), volts=(480.0,)))
    moved = sorted(cause[1].translate(onward).split(", "))
    assert (cause[0], moved) in [(what, sorted(where.split(", "))) for what, where in found]


def test_open_line_and_open_element_of_a_wye_are_both_told_with_what_tells_them_apart() -> None:
    found = solve((0, 0.866, 0.866), load("wye"))
    assert pairs(found) == [("line_open", "A"), ("element_open", "A")]
    line, element = (each.next_test for each in found.causes)
    assert re.search(r"(25\.\d / ){2}25\.\d if line open A, open / 25\.\d / open if element open A", line)
    assert re.search(r"open / 25\.\d / open if element open A, (25\.\d / ){2}25\.\d if line open A", element)


def test_ohms_settle_it() -> None:
    of = load("wye")
    whole = solve((0, 0.866, 0.866), of, ohms=(25.0, 25.1, 25.0))
    assert pairs(whole)[0] == ("line_open", "A")
    assert "element_open" not in [each.cause for each in whole.causes]
    broken = solve((0, 0.866, 0.866), of, ohms=(OPEN, 25.1, OPEN))
    assert pairs(broken)[0] == ("element_open", "A")


def test_uneven_volts_settle_it_too() -> None:
    """A dead line sits at 240 V to each live one; with an open element all three read 480."""
    found = solve((0, 0.866, 0.866), load("wye"), volts=(240.0, 480.0, 240.0))
    assert pairs(found) == [("line_open", "A")]


def test_a_wrong_supply_is_named_by_its_volts() -> None:
    of = load("wye")
    found = signature(of, Readings(read((0.433,) * 3, of), volts=(208,)))
    assert pairs(found)[0] == ("wrong_voltage", "208 V")
    assert found.expected_amps == pytest.approx(21.65 * 0.433, abs=0.01)


@pytest.mark.parametrize(
    ("kw", "rated", "supplied", "ratio"),
    [
        (18, 480, 208, 0.433), (18, 480, 240, 0.5), (18, 480, 277, 0.577), (18, 480, 400, 0.833),
        (18, 480, 415, 0.865), (6, 240, 208, 0.867), (6, 208, 240, 1.154), (12, 600, 480, 0.8), (9, 240, 480, 2.0),
        (9, 208, 480, 2.308), (18, 480, 600, 1.25),
    ],
)  # fmt: skip
def test_a_wrong_supply_is_guessed_from_the_amps_alone(kw: float, rated: float, supplied: int, ratio: float) -> None:
    """Supply ratios by circuit theory, to the three digits printed."""
    of = load("wye", 1, kw, rated)
    assert supplied / rated == pytest.approx(ratio, abs=5e-4)
    assert ("wrong_voltage", f"{supplied} V") in pairs(solve((ratio,) * 3, of))


def test_equal_amps_never_tell_the_volts_but_ohms_do() -> None:
    """9 kW at 240 V and 18 kW at 480 V both draw 21.65 A; 12.8 against 25.6 ohm."""
    found = signature(load(), Readings((21.6, 21.7, 21.6), volts=(480,), ohms=(12.8, 12.8, 12.8)))
    assert found.causes[0].cause == "cannot_tell"


def test_volts_off_their_range_are_a_supply_finding() -> None:
    of = load()
    assert pairs(solve((0.917,) * 3, of, volts=(440,)))[0] == ("wrong_voltage", "440 V")
    assert pairs(solve((0.958,) * 3, of, volts=(460,)))[0] == ("healthy", "")


def test_residual_current_names_a_ground_fault_that_the_lines_do_not_show() -> None:
    found = solve((1, 1, 1), load("wye"), residual_amps=2.0)
    assert found.causes[0].cause == "ground_fault"
    assert "healthy" not in [c.cause for c in found.causes[:3]]


@pytest.mark.parametrize("ohms", [(0, 0, 0), (0.1, 0.1, 0.1), (0.2, 25.6, 25.6), (1, 1, 1), (50, 25.6, 25.6)])
def test_ohms_that_contradict_healthy_amps_are_not_called_healthy(ohms: tuple[float, ...]) -> None:
    assert solve((1, 1, 1), load("wye"), volts=(480.0,), ohms=ohms).causes[0].cause == "cannot_tell"


@pytest.mark.parametrize(
    ("amps", "residual"),
    [
        ((21.6, 21.6, 21.6), 10.0),
        ((32.6, 21.5, 21.5), 11.8),  # solved: 20 ohm to ground a tenth along element A
        ((22.1, 21.5, 21.5), 1.1),
    ],
)
def test_current_that_returns_elsewhere_is_a_ground_fault_whatever_the_lines_show(
    amps: tuple[float, float, float], residual: float
) -> None:
    """Circuit theory: all lines together sum to nothing in a healthy heater, wye or delta."""
    found = signature(load("wye"), Readings(amps, (480.0,), residual_amps=residual))
    assert found.causes[0].cause == "ground_fault"
    assert "insulation" in found.causes[0].next_test or "Clamp all lines" in found.causes[0].next_test


@pytest.mark.parametrize(
    ("connection", "amps", "volts"),
    [
        ("wye", (17.3, 17.3, 17.3), ()),
        ("wye", (19.0, 21.6, 21.6), (480.0,)),
        ("delta", (18.4, 21.6, 21.6), (480.0,)),
        ("unknown", (24.0, 20.8, 20.8), ()),
        ("wye", (24.0, 20.8, 20.8), ()),
    ],
)
def test_amps_beyond_the_limits_are_never_just_healthy(
    connection: str, amps: tuple[float, float, float], volts: tuple[float, ...]
) -> None:
    """A line outside 0.90 to 1.05, or unbalance over 6.3 %: the doubt is told, and healthy says what it breaks."""
    found = signature(load(connection), Readings(amps, volts))
    assert len(found.causes) > 1
    healthy = [c for c in found.causes if c.cause == "healthy"]
    assert all("yet" in c.says and c.fit <= 0.31 for c in healthy)


def test_no_current_is_looked_at_before_it_is_measured() -> None:
    assert solve((0, 0, 0), load("wye")).causes[0].next_test.startswith("Look first")


def test_a_healthy_heater_is_told_what_amps_cannot_show() -> None:
    found = solve((1, 1, 1), load("wye"), volts=(480,))
    assert pairs(found) == [("healthy", "")]
    assert "insulation" in found.causes[0].next_test


def test_no_current_at_all_is_told_as_such() -> None:
    found = solve((0, 0, 0), load("wye"))
    assert pairs(found)[0] == ("line_open", "A, B, C")
    assert "contactor not in" in found.causes[0].says
    assert found.unbalance_percent is None
    assert any(c.cause == "two_elements_open" for c in found.causes)


def test_one_and_a_half_times_too_much_everywhere_is_no_single_fault() -> None:
    """Single-phase arithmetic, 37.5 A, on a three-phase heater with right volts: not one of its faults."""
    found = signature(load(), Readings((37.5, 37.5, 37.5), volts=(480,)))
    assert pairs(found) == [("cannot_tell", "")]


def test_a_coarse_clamp_says_that_it_cannot_tell() -> None:
    of = load("wye", 1, 3, 480)
    found = signature(of, Readings((3.6, 3.6, 3.6)), Meters(clamp=Accuracy(2, 5, 0.1)))
    assert pairs(found)[:2] == [("cannot_tell", ""), ("healthy", "")]
    assert "too coarse" in found.causes[0].says
    lost = signature(of, Readings((0.0, 3.1, 3.1)), Meters(clamp=Accuracy(2, 5, 0.1)))
    assert pairs(lost)[0] == ("line_open", "A")  # a dead line is plain to any clamp
    assert signature(of, Readings((3.61, 3.6, 3.62)), FINE).causes[0].cause == "healthy"


@pytest.mark.parametrize(
    ("amps", "cause"),
    [
        ((37.5,), "healthy"), ((0.0,), "line_open"), ((18.7,), "parallel_element_open"), ((9.4,), "reconnected"),
        ((150.0,), "reconnected"), ((60.0,), "turns_shorted"), ((37.5, 37.4), "healthy"),
    ],
)  # fmt: skip
def test_a_single_phase_heater(amps: tuple[float, ...], cause: str) -> None:
    found = signature(Load(18, 480, 1, "unknown", 1), Readings(amps, volts=(480,)))
    assert found.causes[0].cause == cause
    assert found.unbalance_percent is None


@pytest.mark.parametrize("heaters", [2, 3])
def test_a_single_phase_heater_of_several_may_be_dead(heaters: int) -> None:
    found = signature(Load(18, 480, 1, "unknown", heaters), Readings((37.5 * (heaters - 1) / heaters,), volts=(480,)))
    assert ("one_heater_dead", f"1 of {heaters}") in pairs(found)


# What is drawn at random must be found again

DRAWN = 300


def drawn(case: Case, luck: random.Random, volts: float) -> tuple[float, ...]:
    """The clamp readings of a heater with this fault: elements, clamp and volts anywhere in their tolerance."""
    branches = []
    for element in case.elements:
        low, high = element.span
        times = luck.uniform(low, min(high, 6.0)) * luck.uniform(0.90, 1.05)
        if times:
            branches.append((element.one, element.other, element.siemens * times))
    if case.tapped is not None:
        one, other, siemens = branches[case.tapped]
        along = luck.uniform(0.05, 0.95)
        branches[case.tapped : case.tapped + 1] = [
            (one, "tap", siemens / along), ("tap", other, siemens / (1 - along)), ("tap", "0", 1e6)
        ]  # fmt: skip
    live = {node: v for node, v in supply((volts,) * 3).items() if node not in case.open_lines}
    gain = luck.uniform(0.98, 1.02)
    return tuple(max(0.0, round(gain * a + luck.uniform(-0.2, 0.2), 1)) for a in flow(branches, live).amps)


def test_whatever_the_fault_it_is_among_the_causes_told() -> None:
    """Elements -10/+5 %, clamp 2 % and 2 counts, volts 1 %: 300 draws over every case, the truth told in 95 % or more.

    Cases that amps alone cannot show (a fault too small to leave the tolerance of a healthy heater) count as found
    when the heater is called healthy: then only insulation or ohms tell, and the next test says so.
    """
    luck, of = random.Random(20261125), load("delta", 2)
    every = [case for case in cases(of) if case.supply_volts is None]
    missed = []
    for _ in range(DRAWN):
        case = luck.choice(every)
        volts = luck.uniform(470, 490)
        found = signature(of, Readings(drawn(case, luck, volts), volts=(volts * luck.uniform(0.993, 1.007),)))
        told = {each.cause for each in found.causes}
        if not told & {case.cause, "healthy"}:
            missed.append((case.cause, case.where, case.detail, pairs(found)))
    assert len(missed) <= 0.05 * DRAWN, missed


def test_a_healthy_heater_within_tolerance_is_called_healthy_first() -> None:
    """300 healthy heaters drawn as above: healthy is always in the list, and first in 95 % or more (288 here)."""
    luck, of = random.Random(7), load("unknown", 1)
    healthy = next(iter(cases(load("delta", 1))))
    found = [signature(of, Readings(drawn(healthy, luck, 480.0), volts=(480.0,))) for _ in range(DRAWN)]
    assert all("healthy" in [c.cause for c in each.causes] for each in found)
    assert sum(each.causes[0].cause == "healthy" for each in found) >= 0.95 * DRAWN


def test_no_fault_that_halves_a_line_is_called_healthy() -> None:
    """Single-phasing, an open element, half a leg lost: drawn 100 times each, healthy is never the first cause."""
    luck, of = random.Random(11), load("wye", 1)
    grave = [c for c in cases(of) if c.cause in ("line_open", "element_open") or "1 of 2" in c.detail]
    for case in grave:
        for _ in range(100 // len(grave) + 1):
            found = signature(of, Readings(drawn(case, luck, 480.0), volts=(480.0,)))
            assert found.causes[0].cause != "healthy", (case.cause, case.where)


# Laws


@given(st.floats(1, 60), st.sampled_from([208, 240, 480, 600]), st.sampled_from(ROWS))
def test_the_fault_does_not_depend_on_the_size_of_the_heater(kw: float, volts: float, row: tuple) -> None:
    """Circuit theory: fractions alone decide, with a clamp that is fine enough."""
    connection, heaters, fractions, cause = row
    of = load(connection, heaters, kw, volts)
    fine = Meters(clamp=Accuracy(2, 5, of.amps / 2000), voltmeter=Accuracy(1, 2, volts / 1000))
    found = signature(of, Readings(tuple(f * of.amps for f in fractions), volts=(volts,)), fine)
    assert cause in pairs(found)


@given(st.tuples(st.floats(0, 80), st.floats(0, 80), st.floats(0, 80)), st.sampled_from(["wye", "delta", "unknown"]))
def test_any_readings_get_an_answer_in_order(amps: tuple[float, float, float], connection: str) -> None:
    found = signature(load(connection), Readings(amps))
    fits = [each.fit for each in found.causes]
    assert found.causes
    assert fits == sorted(fits, reverse=True)
    assert all(0 < fit <= 1 for fit in fits)
    assert {each.cause for each in found.causes} <= set(CAUSES)
    assert all(each.says and each.next_test for each in found.causes)
    assert len(set(pairs(found))) == len(found.causes)


BAD = [
    pytest.param(load(kw=0), Readings((1, 1, 1)), "heater power is 0", id="0 kW"),
    pytest.param(load(kw=math.nan), Readings((1, 1, 1)), "heater power is nan", id="NaN kW"),
    pytest.param(load(volts=-480), Readings((1, 1, 1)), "heater volts is -480", id="negative volts"),
    pytest.param(load(volts=1e9), Readings((1, 1, 1)), "heater volts is 1e.09", id="1e9 V"),
    pytest.param(load("star"), Readings((1, 1, 1)), "connection is 'star'", id="connection"),
    pytest.param(load("wye", 0), Readings((1, 1, 1)), "heaters on the contactor is 0", id="no heaters"),
    pytest.param(Load(18, 480, 2, "wye", 1), Readings((1, 1, 1)), "phases is 2", id="two phases"),
    pytest.param(load(), Readings((1, 1)), "2 amps were given: 3 are wanted", id="two lines"),
    pytest.param(load(), Readings((1, math.nan, 1)), "line amps is nan", id="NaN amps"),
    pytest.param(load(), Readings((-1, 1, 1)), "line amps is -1", id="negative amps"),
    pytest.param(load(), Readings((1e9, 1, 1)), "line amps is 1e.09", id="1e9 A"),
    pytest.param(load(), Readings((math.inf, 1, 1)), "line amps is inf", id="infinite amps"),
    pytest.param(load(), Readings((1, 1, 1), volts=(0,)), "measured volts is 0", id="0 V"),
    pytest.param(load(), Readings((1, 1, 1), volts=(480, 480)), "2 volts were given", id="two volts"),
    pytest.param(load(), Readings((1, 1, 1), ohms=(-1, 25, 25)), "ohms between lines is -1", id="negative ohms"),
    pytest.param(load(), Readings((1, 1, 1), ohms=(25,)), "1 ohms were given", id="one ohm"),
    pytest.param(load(), Readings((1, 1, 1), residual_amps=-2), "line amps is -2", id="negative residual"),
]


@pytest.mark.parametrize(("of", "readings", "says"), BAD)
def test_what_cannot_be_is_refused_in_words(of: Load, readings: Readings, says: str) -> None:
    with pytest.raises(RatingError, match=says):
        signature(of, readings)
