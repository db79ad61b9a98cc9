"""The wiring on paper: one page of SVG that joins what the solver joins and carries nothing but itself."""

import re
from itertools import combinations, pairwise
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings

from seasonlog.export.wiring_svg import COLUMN, HEAD, MARGIN, ROW, wiring_svg
from seasonlog.faults.circuit import Circuit
from seasonlog.faults.drawing import drawing, wiring_text
from seasonlog.faults.drawing_sheet import WIDTH, Cell
from tests.faults.drawn import HOSTILE, circuits, joined, model_nets, nets

SVG = "{http://www.w3.org/2000/svg}"
WIDEST = 0.62
"""Mean width of a letter over its size, of a wide sans font. Source: DejaVu Sans, measured on running text."""
many = settings(max_examples=40, deadline=None)
Box = tuple[float, float, float, float]


def parsed(circuit: Circuit) -> ElementTree.Element:
    return ElementTree.fromstring(wiring_svg(circuit).encode())


def group(circuit: Circuit) -> ElementTree.Element:
    found = parsed(circuit).find(f"{SVG}g")
    assert found is not None
    return found


def cell(x: str, y: str) -> Cell:
    at = float(x) / COLUMN - 0.5, float(y) / ROW - 0.5
    assert at == (round(at[0]), round(at[1]))
    return round(at[0]), round(at[1])


def corners(path: ElementTree.Element) -> list[Cell]:
    return [cell(*pair.split()) for pair in path.get("d", "")[1:].split("L")]


def along(one: Cell, other: Cell) -> list[Cell]:
    step = tuple((b > a) - (b < a) for a, b in zip(one, other, strict=True))
    count = max(abs(b - a) for a, b in zip(one, other, strict=True))
    return [(one[0] + step[0] * n, one[1] + step[1] * n) for n in range(count + 1)]


def points_of(drawn: ElementTree.Element) -> dict[Cell, str]:
    """Filled dots, each with the bold name written after it."""
    found = {}
    for dot, name in pairwise(drawn):
        if dot.tag == f"{SVG}circle" and dot.get("r") == "3":
            found[cell(dot.get("cx", ""), dot.get("cy", ""))] = name.text or ""
            assert name.get("class") == "point"
    return found


@many
@given(circuits())
def test_lines_join_the_points_that_the_solver_joins(circuit: Circuit) -> None:
    """The picture's own lines are followed. Source: the solver's links. Agreement: every control point."""
    drawn = group(circuit)
    points = points_of(drawn)
    ways: dict[Cell, set[Cell]] = {}
    for path in drawn.iter(f"{SVG}path"):
        if path.get("class") == "wire":
            for one, other in pairwise(corners(path)):
                for a, b in pairwise(along(one, other)):
                    ways.setdefault(a, set()).add(b)
                    ways.setdefault(b, set()).add(a)
    control = {at: name for at, name in points.items() if name[0] not in "LBCTH"}
    parts = [part.name.partition(":")[0] for part in drawing(circuit).parts]
    assert nets(joined(ways, points), control) == model_nets(circuit, parts)
    assert sorted(points.values()) == sorted(circuit.points)


@many
@given(circuits())
def test_it_is_one_page_of_plain_svg(circuit: Circuit) -> None:
    """It parses; no script, link, picture, font or style from elsewhere; nothing outside the page."""
    text, root = wiring_svg(circuit), parsed(circuit)
    assert {each.tag.removeprefix(SVG) for each in root.iter()} <= {
        "svg", "title", "style", "rect", "g", "path", "circle", "text", "tspan",
    }  # fmt: skip
    assert not re.search(r"href|url\(|@import|@font-face|\bon[a-z]+=|<!|javascript", text)
    assert re.findall(r"https?://\S+?(?=\")", text) == ["http://www.w3.org/2000/svg"]
    assert (root.get("width"), root.get("height")) == ("8.5in", "11in")
    _, _, width, height = map(float, root.get("viewBox", "").split())
    for each in root.findall(f"{SVG}text"):
        assert MARGIN <= float(each.get("x", "")) < width
        assert 0 < float(each.get("y", "")) < height - MARGIN / 2


def box(text: ElementTree.Element) -> Box:
    size = 12.0 if text.get("class") == "point" else 11.0
    x, y, width = float(text.get("x", "")), float(text.get("y", "")), len(text.text or "") * WIDEST * size
    return x - width / 2, y - 0.75 * size, x + width / 2, y + 0.2 * size


def overlap(one: Box, other: Box) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


@many
@given(circuits())
def test_no_words_touch_words_wires_or_dots(circuit: Circuit) -> None:
    """Letters counted as wide as those of a wide font."""
    drawn = group(circuit)
    texts = [(each.text, box(each)) for each in drawn.iter(f"{SVG}text")]
    wires = [
        (*map(min, zip(a, b, strict=True)), *map(max, zip(a, b, strict=True)))
        for path in drawn.iter(f"{SVG}path")
        if path.get("class") == "wire"
        for a, b in pairwise(
            [((x + 0.5) * COLUMN, (y + 0.5) * ROW) for x, y in corners(path)],
        )
    ]
    circles = [
        (x - r, y - r, x + r, y + r)
        for each in drawn.iter(f"{SVG}circle")
        for x, y, r in [[float(each.get(name, "")) for name in ("cx", "cy", "r")]]
        if r < 5
    ]
    for (name, one), (other_name, other) in combinations(texts, 2):
        assert not overlap(one, other), (name, other_name)
    for name, one in texts:
        assert not any(overlap(one, other) for other in (*wires, *circles)), name
        assert one[0] > -MARGIN / 2
        assert one[2] < WIDTH * COLUMN + MARGIN / 2


@pytest.mark.parametrize("name", HOSTILE, ids=ascii)
def test_an_id_is_text_whatever_it_holds(name: str) -> None:
    """Same elements, same everything but the title, whatever the id."""
    shown, plain = parsed(Circuit(id=name)), parsed(Circuit(id="x"))
    assert [each.tag for each in shown.iter()] == [each.tag for each in plain.iter()]
    different = [
        (one.tag, one.get("class"))
        for one, other in zip(shown.iter(), plain.iter(), strict=True)
        if (one.text, one.attrib) != (other.text, other.attrib)
    ]
    assert {tag for tag, _ in different} <= {f"{SVG}svg", f"{SVG}title", f"{SVG}text"}
    assert len(different) <= 3


def test_markup_in_an_id_comes_back_as_it_was() -> None:
    assert parsed(Circuit(id='<b a="1">&')).findtext(f"{SVG}title") == 'Wiring of heater circuit <b a="1">&'


@many
@given(circuits())
def test_paper_and_terminal_say_the_same_words(circuit: Circuit) -> None:
    said = " ".join("".join(each.itertext()) for each in parsed(circuit).findall(f"{SVG}text"))
    text = " ".join(wiring_text(circuit).split())
    for caution in said.split("CAUTION: ")[1:]:
        assert " ".join(caution.split()) in text
    assert said.count("CAUTION: ") == text.count("CAUTION: ")


@pytest.mark.parametrize("float_leg", ["neutral", "hot", "isolated"])
@pytest.mark.parametrize("connection", ["wye", "delta"])
def test_another_program_can_make_a_picture_of_it(float_leg: str, connection: str) -> None:
    """Source: an independent SVG renderer. Agreement: it makes a picture of a US letter's shape."""
    cairosvg = pytest.importorskip("cairosvg")
    data = cairosvg.svg2png(wiring_svg(Circuit(float_leg=float_leg, connection=connection)).encode(), output_width=850)
    assert data.startswith(b"\x89PNG")
    width, height = (int.from_bytes(data[at : at + 4]) for at in (16, 20))
    assert height / width == pytest.approx(11 / 8.5, rel=0.01)


def test_the_drawing_begins_below_the_title() -> None:
    assert group(Circuit()).get("transform") == f"translate({MARGIN:g} {MARGIN + HEAD:g})"
