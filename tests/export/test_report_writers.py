"""The two writers: well formed, harmless, accessible, and the same content on both."""

import io
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pypdf import PdfReader

from seasonlog.export import plots
from seasonlog.export.plots_svg import to_svg
from seasonlog.export.report_html import to_html
from seasonlog.export.report_look import INKS, WORDS_ON
from seasonlog.export.report_model import (
    DEMONSTRATION,
    Badge,
    Bullets,
    Column,
    Document,
    Facts,
    Figure,
    Label,
    Notice,
    Para,
    Section,
    Stamp,
    Table,
    Tone,
    Voice,
    shown,
)
from seasonlog.export.report_pdf import to_pdf
from tests.builders import hostile
from tests.export.report_reading import parsed, pdf_pages, squeezed, tags, words

STAMP = Stamp("Halden Pruskett", "2026-11-20 08:00 UTC-06:00", "log", "ABCD-EFGH-IJKL-MNOP", "all entries",
              "seasonlog", 1_800_000_000_000)  # fmt: skip


def a_document(text: str = "line amps", rows: int = 3) -> Document:
    """A text in every place a text can stand in."""
    badge = Badge("✗", text, Tone.BAD, text)
    figure = Figure(text, text, 700.0, 40.0, (Label(10.0, 20.0, text),))
    table = Table(text, (Column(text), Column("n", 1.0, True)), (text, *((text, badge) for _ in range(rows))))
    blocks = (Para(text), Para(text, Voice.CAUTION), Bullets((text,)), Facts(((text, badge),)), figure, table)
    stamp = replace(STAMP, made_by=text or "nobody")
    return Document(text, text, text, (Notice(badge, (text,)),), (Section(text, blocks),), stamp)


def test_a_page_is_well_formed_and_holds_nothing_that_acts_or_is_fetched() -> None:
    """Against html5lib in strict mode, the parser of the HTML standard: no parse error."""
    tree = parsed(to_html(a_document()))
    assert {"script", "img", "link", "iframe", "object", "form", "base"}.isdisjoint(tags(tree))
    for element in tree.iter():
        for name, value in element.attrib.items():
            assert not str(name).startswith("on")
            assert name not in ("href", "src", "srcset", "action", "data") or value.startswith("#")
    style = tree.findtext(".//style") or ""
    assert "url(" not in style
    assert "@import" not in style


def test_a_page_can_be_read_aloud() -> None:
    """WCAG 2.2, 1.1.1, 1.3.1, 2.4.6, 3.1.1: names for pictures, scopes for heads, one h1 and no level left out."""
    tree = parsed(to_html(a_document()))
    assert tree.get("lang") == "en"
    levels = [int(tag[1]) for tag in tags(tree) if tag in ("h1", "h2", "h3")]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))
    assert all(head.get("scope") in ("col", "row", "rowgroup") for head in tree.iter("th"))
    assert all(table.find("caption") is not None for table in tree.iter("table"))
    pictures = [each for each in tree.iter() if str(each.tag).endswith("svg")]
    assert pictures
    assert all(each.get("role") == "img" and each.get("aria-label") for each in pictures)
    ids = [each.get("id") for each in tree.iter() if each.get("id")]
    assert len(ids) == len(set(ids))


@pytest.mark.parametrize("area", ["html_report", "markup", "terminal", "unicode"])
def test_hostile_texts_are_text_in_every_place_of_a_page(shared: Path, area: str) -> None:
    """Open hostile inputs (OWASP cross-site scripting prevention, CWE-79): the page has the same elements as for a
    tame text, and shows what was typed."""
    tame = tags(parsed(to_html(a_document())))
    for case in hostile(shared, area):
        text = case.get("input")
        if not text or "\n" in text:
            continue
        page = to_html(a_document(text))
        tree = parsed(page)
        assert tags(tree) == tame, case["id"]
        assert words(tree).count(" ".join(shown(text).split())) >= 8, case["id"]


@pytest.mark.parametrize("area", ["html_report", "markup"])
def test_hostile_texts_are_text_in_a_pdf(shared: Path, area: str) -> None:
    """In one document: what typst's own markup and code would be is printed as typed."""
    texts = [case["input"] for case in hostile(shared, area) if case.get("input") and "\n" not in case["input"]]
    texts += ['#panic("x")', '#import "x": *', "$ x^2 $", "= heading", "@ref", "<label>", "// comment", "\\u{41}"]
    document = a_document()
    columns = (Column("Text", 1.0),)
    printed = replace(document, sections=(Section("Texts", (Table("All", columns, tuple((t,) for t in texts)),)),))
    whole = squeezed(" ".join(pdf_pages(to_pdf(printed))))
    missing = [t for t in texts if t.isascii() and squeezed(t) not in whole]
    assert missing == []


def test_a_pdf_is_tagged_titled_and_numbered() -> None:
    """Read by pypdf: PDF/UA-1 (ISO 14289-1) identification, structure tree, language, title, alternative words."""
    data = to_pdf(a_document("Line amps", rows=200))
    reader = PdfReader(io.BytesIO(data), strict=True)
    root = reader.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"] == "en"
    assert reader.metadata is not None
    assert reader.metadata.title == "Line amps: Line amps"
    assert b"<pdfuaid:part>1</pdfuaid:part>" in root["/Metadata"].get_data()
    kinds = _structure(root["/StructTreeRoot"])
    assert {"/H1", "/H2", "/Table", "/TH", "/TD", "/Figure"} <= kinds
    pages = pdf_pages(data)
    assert len(pages) > 3
    assert all(f"Page {n} of {len(pages)}" in page for n, page in enumerate(pages, 1))
    heads = [page for page in pages[1:-1] if "Line amps n" in page]
    assert len(heads) == len(pages) - 2, "the table's head comes again on each of its pages"


def _structure(node: object, depth: int = 0) -> set[str]:
    found: set[str] = set()
    stack = [node]
    while stack:
        each = getattr(stack.pop(), "get_object", lambda: None)()
        if isinstance(each, dict):
            found |= {str(each["/S"])} if "/S" in each else set()
            stack.append(each.get("/K"))
        elif isinstance(each, list):
            stack += each
    return found


def test_a_demonstration_is_marked_on_every_page() -> None:
    document = replace(a_document(rows=200), is_demonstration=True)
    assert all(DEMONSTRATION in page for page in pdf_pages(to_pdf(document)))
    assert DEMONSTRATION in words(parsed(to_html(document)))
    assert DEMONSTRATION not in to_html(a_document())


@pytest.mark.parametrize("text", ["", " ", "\n", "\ue000", "\u0378", "\U0010ffff", "a" + "\u0301" * 9, "x" * 400])
def test_no_text_keeps_a_pdf_from_being_drawn(text: str) -> None:
    """PDF/UA-1 refuses a letter without a font and a title without words; a report is drawn all the same."""
    assert to_pdf(a_document(text)).startswith(b"%PDF-")


def test_a_letter_without_a_font_stands_as_its_number_and_the_report_says_so() -> None:
    """U+0378 is assigned to no letter (Unicode 16), so that no font has it; the signs of verdicts stay."""
    pages = " ".join(pdf_pages(to_pdf(a_document("amps \u0378 \u0379"))))
    assert "amps [U+0378] [U+0379]" in pages
    assert "✗" in pages
    assert "stand as their number" in pages
    assert "stand as their number" not in " ".join(pdf_pages(to_pdf(a_document("amps"))))


def test_the_margins_of_a_printed_page_hold_no_words_of_people() -> None:
    """A name that would end the style sheet, or a rule of it, stands nowhere in it."""
    for text in ("</style><script>", '";}body{display:none', "*/ \\22"):
        document = a_document(text)
        stamp = replace(document.stamp, made_at=text, code=text)
        tree = parsed(to_html(replace(document, stamp=stamp)))
        (style,) = tree.iter("style")
        tame = parsed(to_html(a_document())).findtext(".//style") or ""
        assert (style.text or "").count("{") == tame.count("{")
        assert "script" not in tags(tree)


def test_the_same_values_give_the_same_bytes() -> None:
    assert to_pdf(a_document()) == to_pdf(a_document())
    assert to_html(a_document()) == to_html(a_document())


def test_both_writers_say_the_same() -> None:
    document = a_document("Line amps 0 / 18.7 / 18.7 A", rows=2)
    page, paper = words(parsed(to_html(document))), " ".join(pdf_pages(to_pdf(document)))
    said = "Line amps 0 / 18.7 / 18.7 A"
    assert page.count(said) >= 12
    assert paper.count(said) >= 12


def _luminance(colour: str) -> float:
    """Relative luminance, WCAG 2.2, definitions."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    r, g, b = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


def contrast(one: str, other: str) -> float:
    light, dark = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_the_contrast_formula_is_that_of_wcag() -> None:
    """Published values: black on white 21:1; #767676 on white is the lightest grey that passes 4.5:1 (4.54)."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.01)


@pytest.mark.parametrize(("word", "ground"), WORDS_ON)
def test_words_stand_out_from_their_ground(word: str, ground: str) -> None:
    """WCAG 2.2, 1.4.3: 4.5 to 1 for text."""
    assert contrast(INKS[word], INKS[ground]) >= 4.5


def test_marks_in_pictures_stand_out() -> None:
    """WCAG 2.2, 1.4.11: 3 to 1 for what is needed to understand a picture."""
    for ink in ("pass", "near", "unsure", "bad", "calm", "accent", "frost"):
        assert contrast(INKS[ink], INKS["ground"]) >= 3.0


@given(st.floats(0.1, 1e4), st.floats(0.01, 1e4), st.floats(-0.5, 1.5), st.sampled_from([(True, True), (True, False)]))
@settings(max_examples=200)
def test_a_reading_is_drawn_on_its_side_of_the_limit(
    low: float, span: float, part: float, sides: tuple[bool, bool]
) -> None:
    """Against plain comparison of the numbers: inside is drawn between the edges, outside beyond them."""
    has_low, has_high = sides
    edges = (low if has_low else None, low + span if has_high else None)
    value = max(low + part * span, 0.0)
    row = plots.Band("n", (value,), *edges, None, None, "r", "l", "PASS", Tone.PASS)
    figure = plots.bands([row], "c")
    (sign,) = (s for s in figure.shapes if type(s).__name__ == "Sign")
    drawn = sorted(s.x1 for s in figure.shapes if type(s).__name__ == "Line" and s.x1 == s.x2)
    for edge, x in zip((e for e in edges if e is not None), drawn, strict=True):
        assert (value < edge) <= (sign.x <= x)
        assert (value > edge) <= (sign.x >= x)


@given(st.floats(1e-6, 1e6), st.integers(2, 8))
def test_a_scale_has_round_steps(most: float, parts: int) -> None:
    step = plots.nice_step(most, parts)
    leading = float(f"{step:e}".partition("e")[0])
    assert leading in (1.0, 2.0, 2.5, 5.0)
    assert most / parts * 0.99 <= step <= most / parts * 2.6


def test_a_picture_is_xml_with_nothing_from_outside(shared: Path) -> None:
    """Read by Python's XML parser, which takes no forbidden character."""
    for case in hostile(shared, "html_report", "unicode", "terminal"):
        if case.get("input"):
            tree = ElementTree.fromstring(to_svg(Figure("c", case["input"], 9.0, 9.0, (Label(0, 0, case["input"]),))))
            assert {each.tag.rpartition("}")[2] for each in tree.iter()} == {"svg", "text"}


def test_columns_that_say_nothing_are_left_out() -> None:
    table = Table("c", (Column("a"), Column("b"), Column("c")), (("x", "", "1"), "over", ("y", "", "")))
    assert [c.name for c in table.filled().columns] == ["a", "c"]
    assert table.filled().rows == (("x", "1"), "over", ("y", ""))
    with pytest.raises(ValueError, match="has not 3 cells"):
        Table("c", table.columns, (("x",),))
