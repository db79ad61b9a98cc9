"""The wiring drawing is the circuit that the solver solves, and it can be read in any terminal.

The drawing is read back: its characters are followed from test point to test point, and what is found is held against
the solver's own links and branches, which know nothing of the drawing. Agreement: every point, part and wire.
"""

import re
from collections import Counter
from dataclasses import replace
from itertools import combinations, pairwise

import pytest
from hypothesis import given, settings
from syrupy.assertion import SnapshotAssertion

from seasonlog.faults.catalogue import FAULTS, Fault
from seasonlog.faults.circuit import Circuit
from seasonlog.faults.drawing import drawing, wiring_text
from seasonlog.faults.drawing_sheet import WIDTH, Cell, Part, Sheet
from seasonlog.faults.drawing_words import columns
from seasonlog.faults.effects import HEALTHY, Effects
from seasonlog.faults.ladder import Coils
from seasonlog.faults.power import elements, power
from seasonlog.faults.solve import Solved, solve
from seasonlog.faults.states import NAMED
from tests.faults.drawn import HOSTILE, circuits, joined, model_nets, nets, solved_ladder

WAYS = {
    "─": "EW", "│": "NS", "┌": "ES", "┐": "SW", "└": "NE", "┘": "NW", "├": "NES", "┤": "NSW", "┬": "ESW", "┴": "NEW",
    "┼": "NESW",
}  # fmt: skip
ASCII_WAYS = {"-": "EW", "|": "NS", "+": "NESW"}
STEPS = {"N": (0, -1), "E": (1, 0), "S": (0, 1), "W": (-1, 0)}
KEPT = {
    "neutral": Circuit(id="HTR-1"),
    "hot": Circuit(
        id="HTR-2", float_leg="hot", grounded="x1", interlock=False, thermal_limit=True, lamps=1, poles=1,
        connection="wye", separate_supply=True, control_volts=24.0, coil_volts=24.0,
    ),
    "isolated": Circuit(
        id="HTR-3", float_leg="isolated", grounded="none", lamps=0, phases=1, poles=2, heater_volts=120.0,
        supply_volts=120.0, heaters=2, assumed=("the coil's VA is not in the register: taken as 8 VA",),
    ),
}  # fmt: skip
many = settings(max_examples=40, deadline=None)


def drawn_lines(circuit: Circuit, ascii_only: bool = False) -> list[str]:
    """The rows of the drawing, without the words above and below."""
    lines = wiring_text(circuit, ascii_only).splitlines()
    start = lines.index("") + 1
    return [line.ljust(WIDTH) for line in lines[start : start + drawing(circuit).rows]]


def covered(part: Part) -> set[Cell]:
    (x, y), (width, height) = part.at, part.size
    return {(x + along, y + down) for along in range(width) for down in range(height)}


def followed(circuit: Circuit, ascii_only: bool = False) -> tuple[Sheet, dict[Cell, int], dict[Cell, str]]:
    """Net of every cell, by following the characters of the text; labels and parts do not conduct."""
    sheet, ways = drawing(circuit), ASCII_WAYS if ascii_only else WAYS
    points = {mark.at: mark.name for mark in sheet.marks}
    dead = {cell for part in sheet.parts for cell in covered(part)}
    dead |= {(label.start[0] + i, label.start[1]) for label in sheet.labels for i in range(len(label.text))}
    cells = {
        (x, y): [(x + STEPS[way][0], y + STEPS[way][1]) for way in ways[char]]
        for y, line in enumerate(drawn_lines(circuit, ascii_only))
        for x, char in enumerate(line)
        if char in ways and (x, y) not in dead
    }
    return sheet, joined(cells, points), points


def ends(part: Part, found: dict[Cell, int], points: dict[Cell, str]) -> list[frozenset[str]]:
    """The points wire joins with each end of a part."""
    return [frozenset(name for cell, name in points.items() if found[cell] == found.get(end)) for end in part.ends]


def plain(part: Part) -> str:
    return part.name.partition(":")[0]


@many
@given(circuits())
def test_every_test_point_of_the_circuit_is_drawn_once_and_named(circuit: Circuit) -> None:
    sheet, lines = drawing(circuit), drawn_lines(circuit)
    assert sorted(mark.name for mark in sheet.marks) == sorted(circuit.points)
    for mark in sheet.marks:
        assert lines[mark.at[1]][mark.at[0]] == "●"
        x, y = mark.label_at
        assert max(abs(x - mark.at[0]), abs(y - mark.at[1])) <= 2
        assert lines[y][x - len(mark.name) // 2 :].startswith(mark.name)


@many
@given(circuits())
def test_wires_join_the_points_that_the_solver_joins(circuit: Circuit) -> None:
    """Both with box-drawing characters and in ASCII; lines, breaker, fuses and heater are held against it below."""
    for ascii_only in (False, True):
        sheet, found, points = followed(circuit, ascii_only)
        control = {cell: name for cell, name in points.items() if name[0] not in "LBCTH"}
        assert nets(found, control) == model_nets(circuit, map(plain, sheet.parts))


@many
@given(circuits())
def test_every_control_part_lies_between_the_points_where_the_solver_has_it(circuit: Circuit) -> None:
    """What the solver loses when a part is opened lies where the part is drawn."""
    sheet, found, points = followed(circuit)
    links, branches = solved_ladder(circuit)
    checked = 0
    for part in sheet.parts:
        without_links, without_branches = solved_ladder(circuit, [plain(part)])
        for pair in [*links - without_links, *branches - without_branches]:
            sides = ends(part, found, points)[-2:]
            first, second = pair
            assert (first in sides[0] and second in sides[1]) or (first in sides[1] and second in sides[0])
            checked += 1
    assert checked == 9 + circuit.lamps + circuit.thermal_limit + (circuit.float_leg == "isolated")


@many
@given(circuits())
def test_power_parts_lie_where_the_solver_has_them(circuit: Circuit) -> None:
    sheet, found, points = followed(circuit)
    whole = power(circuit, HEALTHY, True, True, True).net
    for part in sheet.parts:
        if re.fullmatch(r"breaker|line\d|pole\d", part.name):
            one, other = (min(side) for side in ends(part, found, points))
            cut = power(circuit, Effects(opened=frozenset({part.name})), True, True, True).net
            assert whole.joined(one, other)
            assert not cut.joined(one, other)
    poles = {part.name for part in sheet.parts if part.name.startswith("pole")}
    assert len(poles) == min(circuit.poles, circuit.lines)
    for line in range(1, circuit.lines + 1):
        apart = {found[cell] for cell, name in points.items() if name in (f"C{line}", f"T{line}")}
        assert len(apart) == (2 if line <= circuit.poles else 1)


@many
@given(circuits())
def test_elements_lie_between_the_terminals_where_the_solver_has_them(circuit: Circuit) -> None:
    sheet, found, points = followed(circuit)
    drawn = Counter(
        frozenset(next((n for n in side if n[0] == "T"), "W") for side in ends(part, found, points))
        for part in sheet.parts
        if part.name.startswith("element")
    )
    assert drawn == Counter(frozenset(branch[:2]) for branch in elements(circuit, HEALTHY))


@many
@given(circuits())
def test_the_transformer_hangs_where_its_feed_says(circuit: Circuit) -> None:
    """Primary H1 and H4, secondary X1 and X2; fed from C1 and C2, or by a supply of its own."""
    sheet, found, points = followed(circuit)
    winding = next(part for part in sheet.parts if part.name == "winding")
    assert [*map(sorted, ends(winding, found, points))][:2] == [["H1"], ["H4"]]
    assert ["X1" in side for side in ends(winding, found, points)[2:]] == [True, False]
    feeds = [label.text for label in sheet.labels if label.text.startswith("to ")]
    assert feeds == (["to S1", "to S2"] if circuit.separate_supply else ["to C1", "to C2"])
    if circuit.separate_supply:
        assert "separate control supply" in [label.text for label in sheet.labels]


@many
@given(circuits())
def test_an_isolated_float_supply_is_fed_from_s_and_n(circuit: Circuit) -> None:
    sheet, found, points = followed(replace(circuit, float_leg="isolated"))
    own = next(part for part in sheet.parts if part.name == "isolated_supply")
    fed = ends(own, found, points)[:2]
    assert "s" in fed[0]
    assert "n" in fed[1]


@many
@given(circuits())
def test_every_device_is_drawn_and_named_once(circuit: Circuit) -> None:
    sheet = drawing(circuit)
    repeated = {"primary_fuse": 2, "breaker": circuit.lines, "water": 1}
    for name, count in Counter(map(plain, sheet.parts)).items():
        assert count <= repeated.get(name, 1), name
    words = Counter(label.text for label in sheet.labels)
    assert {text for text, count in words.items() if count > 1} <= {"lead", "not switched"}
    wanted = {"branch breaker", "contactor K", "coil of K", "thermostat", "level relay R", "secondary fuse", "NO", "NC"}
    wanted |= {"interlock"} if circuit.interlock else {"jumper"}
    wanted |= {"limit"} if circuit.thermal_limit else set()
    wanted |= {"enabled lamp", "heating lamp"} if circuit.lamps == 2 else {"enabled lamp"} if circuit.lamps else set()
    assert wanted <= words.keys()
    absent = {"enabled lamp", "heating lamp", "limit", "jumper", "interlock"} - wanted
    assert not absent & words.keys()


@many
@given(circuits())
def test_nothing_lies_on_anything_else_and_no_wires_cross(circuit: Circuit) -> None:
    """Every cell belongs to one part, label, name or wire; a test point sits on its wire."""
    sheet = drawing(circuit)
    taken = [covered(part) for part in sheet.parts if part.kind != "form_c"]
    taken += [{(label.start[0] + i, label.start[1]) for i in range(len(label.text))} for label in sheet.labels]
    taken += [
        {(mark.label_at[0] - len(mark.name) // 2 + i, mark.label_at[1]) for i in range(len(mark.name))}
        for mark in sheet.marks
    ]
    wires = {cell for path in sheet.wires for a, b in pairwise(path) for cell in between(a, b)}
    for one, other in combinations([*taken, wires], 2):
        assert not one & other
    assert all(0 <= x < WIDTH for cells in taken for x, _ in cells)
    assert "┼" not in wiring_text(circuit)


def between(one: Cell, other: Cell) -> set[Cell]:
    (left, right), (top, bottom) = sorted((one[0], other[0])), sorted((one[1], other[1]))
    assert left == right or top == bottom
    return {(x, y) for x in range(left, right + 1) for y in range(top, bottom + 1)}


@many
@given(circuits())
def test_no_line_is_wider_than_76_columns(circuit: Circuit) -> None:
    for line in wiring_text(circuit).split("\n"):
        assert columns(line) <= WIDTH
    narrow = wiring_text(circuit, ascii_only=True)
    assert narrow.isascii()
    assert max(map(len, narrow.split("\n"))) <= WIDTH


@pytest.mark.parametrize("name", HOSTILE, ids=ascii)
def test_an_id_cannot_add_a_line_or_act_on_the_terminal(name: str) -> None:
    plain_text, text = wiring_text(Circuit(id="x")), wiring_text(Circuit(id=name))
    assert text.split("\n")[1:] == plain_text.split("\n")[1:]
    assert not set(text) & {*map(chr, range(10)), *map(chr, range(11, 32)), "\x7f", "\u202e"}
    text.encode()


def test_a_wide_letter_takes_two_columns_and_a_combining_mark_none() -> None:
    assert [columns("ab"), columns("\u4e2d"), columns("e\u0301")] == [2, 2, 1]


@pytest.mark.parametrize("ascii_only", [False, True], ids=["boxes", "ascii"])
@pytest.mark.parametrize("name", KEPT)
def test_three_drawings_stay_as_they_were_looked_at(name: str, ascii_only: bool, snapshot: SnapshotAssertion) -> None:
    """Renewed with --snapshot-update after looking at each."""
    assert wiring_text(KEPT[name], ascii_only) == snapshot


def test_the_form_c_contact_is_told_by_temperature() -> None:
    """Source: what the contact does on a fall of temperature; common practice."""
    text = " ".join(wiring_text(Circuit()).split())
    for words in (
        "below cut-in C-NO is closed", "above cut-out C-NC is closed", "between them it stays as it was",
        "both closed or both open = failed", "test by temperature",
    ):  # fmt: skip
        assert words in text


WIRINGS = [(leg, side) for leg in ("neutral", "hot", "isolated") for side in ("x2", "x1", "none")]


def said(circuit: Circuit) -> str:
    return " ".join(wiring_text(circuit).split())


def spliced(circuit: Circuit, state: str, *leads: str) -> Solved:
    """Wet splices on leads, coming from proven heating."""
    fault = Fault((28,), "wet splices", Effects(grounds=frozenset((lead, 1.0) for lead in leads)))
    return solve(circuit, NAMED[state], fault, Coils(True, True, circuit.float_leg == "isolated"))


@pytest.mark.parametrize(("leg", "side"), WIRINGS)
def test_what_is_said_of_a_wet_splice_is_what_the_solver_finds(leg: str, side: str) -> None:
    """Source: the solver. Agreement: every leg of the float with every grounding of the secondary."""
    circuit = Circuit(float_leg=leg, grounded=side)
    text = said(circuit)
    runs_dry = spliced(circuit, "CL", "relay_lead")
    blows = any(spliced(circuit, "CF", lead).blows for lead in ("relay_lead", "other_lead"))
    assert ("keeps the relay in with the basin empty: the heater runs dry and no fuse blows" in text) == runs_dry.heats
    assert ("A wet splice to ground then blows a fuse" in text) == blows
    assert ("one wet splice shows nothing" in text) == (not runs_dry.heats and not blows)
    two = spliced(circuit, "CL", "relay_lead", "other_lead")
    assert "two act like shorted leads" not in text or two.heats
    shorted = solve(circuit, NAMED["CL"], FAULTS[27], Coils(True, True, leg == "isolated"))
    assert shorted.heats
    assert "Leads shorted to each other keep the relay in" in text


@pytest.mark.parametrize(("leg", "side"), WIRINGS)
def test_what_is_said_of_live_leads_is_what_the_solver_finds(leg: str, side: str) -> None:
    """Source: the solver, volts to ground on a 10 Mohm meter. Agreement: above 90 % or below 10 % of control volts."""
    circuit = Circuit(float_leg=leg, grounded=side)
    closed, down = solve(circuit, NAMED["CF"]), solve(circuit, NAMED["CL"])
    live = all(closed.share(lead) > 0.9 for lead in ("fa", "fb"))
    assert ("a live conductor goes under water" in said(circuit)) == live
    if found := re.search(r"relay-side lead \((f[ab])\)", said(circuit)):
        assert max(closed.share(lead) for lead in ("fa", "fb")) < 0.1
        assert down.share(found[1]) > 0.9
        assert solve(circuit, NAMED["CF"], FAULTS[28]).rungs.effects.grounds == {("relay_lead", 1.0)}


@pytest.mark.parametrize("side", ["x1", "x2", "none"])
def test_a_ground_on_k_starts_the_heater_only_with_x1_grounded_and_is_said_so(side: str) -> None:
    circuit = Circuit(grounded=side)
    found = solve(circuit, NAMED["WL"], Fault((28,), "ground on k", Effects(grounds=frozenset({("k", 1.0)}))))
    assert found.contactor == (side == "x1")
    assert ("a ground on k pulls K in past every contact" in said(circuit)) == found.contactor


@many
@given(circuits())
def test_lockout_names_every_supply_and_every_line_left_live(circuit: Circuit) -> None:
    text = said(circuit)
    assert "Lock out at the branch disconnect" in text
    assert "then prove dead" in text
    assert (
        "separate control supply, which the heater's breaker does not switch off" in text
    ) == circuit.separate_supply
    live = re.search(r"does not open the line to ([T0-9 and]+):", text)
    assert (live[1] if live else "") == " and ".join(f"T{n}" for n in range(circuit.poles + 1, circuit.lines + 1))
    assert text.count("Assumed:") == len(circuit.assumed)
