"""What else is given out: reports as JSON, the customer's copy, the tables; how much is read for the firm's report."""

import csv
import io
import json
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from seasonlog.domain.register import Register
from seasonlog.domain.visit import Progress
from seasonlog.export.report_html import to_html
from seasonlog.export.report_json import FORMAT, VERSION, to_json
from seasonlog.export.report_pdf import to_pdf
from seasonlog.export.tables import from_csv, to_csv
from seasonlog.services import coverage, recall, reports, reports_csv, rounds
from seasonlog.services.customer_copy import customer_copy
from seasonlog.services.logbook import Logbook
from seasonlog.services.reports import Made
from tests.builders import INSTRUMENTS, TODAY, a_book, as_supervisor
from tests.export.report_reading import parsed, pdf_pages, words
from tests.services.report_samples import BOSS, ON, Rich, rich_book
from tests.services.test_recalled_limit import AMPS, VOLTS, read
from tests.services.test_reports import CHANGED, KINDS, built, tables


@pytest.fixture(scope="module")
def rich(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Rich]:
    with (made := rich_book(tmp_path_factory.mktemp("rich"))).book:
        yield made


def said(value: object) -> Iterator[str]:
    """Every text of a document of JSON that a page shows, in no order."""
    if isinstance(value, str):
        yield " ".join(value.split())
    for key, each in value.items() if isinstance(value, dict) else ():
        yield from said(each) if key not in ("block", "voice", "tone", "columns", "format", "words") else ()
    for each in value if isinstance(value, list) else ():
        yield from said(each)


def told(cell: str | dict[str, str]) -> str:
    return " ".join((cell if isinstance(cell, str) else f"{cell['word']} {cell['more']}").split())


@pytest.mark.parametrize("kind", KINDS)
def test_a_program_gets_the_facts_of_the_page(rich: Rich, kind: str) -> None:
    """Both ways, the page read by html5lib: every text of the JSON stands on it, and every cell of it in the JSON."""
    document = built(rich, kind)
    tree = parsed(to_html(document))
    found, page = json.loads(to_json(document)), words(tree)
    assert (found["format"], found["version"]) == (FORMAT, VERSION)
    assert [text for text in said(found) if text not in page] == []
    cells = [tuple(map(told, row["cells"].values())) for s in found["sections"] for b in s["blocks"]
             if b["block"] == "table" for row in b["rows"]]  # fmt: skip
    drawn = [tuple(words(cell) for cell in row) for body in tree.iter("tbody") for row in body
             if "over" not in str(row[0].get("class"))]  # fmt: skip
    assert len(cells) == len(drawn)
    for one, other in zip(cells, drawn, strict=True):
        assert all(text.endswith(said) for text, said in zip(other, one, strict=True)), (one, other)
    assert found["made"]["code"] == document.stamp.code


def test_corrections_are_in_the_tables_too(rich: Rich) -> None:
    found = {t.name: t for t in reports_csv.tables(rich.book, ON)}
    rows = list(from_csv(b"".join(to_csv(found["changes"])), found["changes"].fields))
    for what in ("answer", "retest", "register"):
        assert any(all(any(text in cell for cell in row) for text in CHANGED[what]) for row in rows)


def test_the_customers_page_says_what_its_text_says(rich: Rich) -> None:
    """Held against `customer_copy`, whose words they are; a lost line is not proven and has its repair offered."""
    at = rounds.progress(rich.book, rich.failed)
    page = words(parsed(to_html(reports.copy_report(rich.book, rich.failed, Made(BOSS, ON)))))
    assert "NOT PROVEN BY THIS VISIT" in page
    _, _, *told = customer_copy(rich.book, at).strip().split("\n\n")
    for line in (line for part in told if not part.startswith("Measured:") for line in part.splitlines()):
        said = line.strip().removeprefix("- ").removesuffix(":").replace(" degF", " °F").replace(" degf", " °F")
        assert " ".join(said.split()) in page
    judged = [(i, at.answers[i.key]) for i in at.instances if i.key in at.answers and at.answers[i.key].limits]
    (read,) = tables(reports.copy_report(rich.book, rich.failed, Made(BOSS, ON)))
    assert [row[0] for row in read.rows] == [instance.named for instance, _ in judged]
    amps = next(row for row in read.rows if str(row[0]).startswith("Line amps"))
    assert "looks like line open A" in str(amps[1])
    assert "FAIL" in str(amps[3])
    assert "accepted [ ] declined [ ]" in page


def test_the_customers_copy_is_one_page(rich: Rich) -> None:
    for visit in (rich.failed, rich.this_year):
        assert len(pdf_pages(to_pdf(reports.copy_report(rich.book, visit, Made(BOSS, ON))))) == 1


def test_of_each_tower_only_the_visit_that_can_prove_it_is_read_whole(
    rich: Rich, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What the firm's report takes its time for: two towers have a fall enable this season, one a winter visit too."""
    read: list[str] = []
    real = rounds.progress

    def counted(book: Logbook, visit: str, register: Register | None = None) -> Progress:
        read.append(visit)
        return real(book, visit, register)

    monkeypatch.setattr(rounds, "progress", counted)
    document = built(rich, "firm")
    assert sorted(read) == sorted([rich.this_year, rich.failed])
    assert "HOS-1, North tower ✓ PROVEN" in words(parsed(to_html(document)))


@pytest.mark.parametrize("name", ["answers", "register-site", "register-basin"])
def test_the_tables_say_in_which_units_their_numbers_are(rich: Rich, name: str) -> None:
    """Units of the record on metric sites too: in the column's name, or in a column of their own."""
    table = next(t for t in reports_csv.tables(rich.book, ON) if t.name == name)
    columns = [field.name for field in table.fields]
    assert (
        "unit" in columns or {"design_degf", "elevation_ft"} < set(columns) or {"area_ft2", "depth_ft"} < set(columns)
    )


def test_the_tables_hold_everything(rich: Rich) -> None:
    """Read by the csv module and counted against the log's own entries."""
    count = rich.book.journal.query
    expected = {
        "entries": count("SELECT count(*) FROM entry")[0][0],
        "answers": count("SELECT count(*) FROM entry WHERE kind IN ('step_answered', 'step_skipped')")[0][0],
        "visits": count("SELECT count(*) FROM visit")[0][0],
        "findings": count("SELECT count(*) FROM finding")[0][0],
        "notes": count("SELECT count(*) FROM note")[0][0],
        "register-tower": count("SELECT count(*) FROM register_item WHERE what='tower' AND retired=0")[0][0],
        "coverage": count("SELECT count(*) FROM register_item WHERE what='tower' AND retired=0")[0][0],
    }
    for table in reports_csv.tables(rich.book, ON):
        data = b"".join(to_csv(table)).decode("utf-8-sig")
        rows = list(csv.reader(io.StringIO(data, newline=""), strict=True))
        assert {len(row) for row in rows} == {len(table.fields)}
        if table.name in expected:
            assert len(rows) - 1 == expected.pop(table.name), table.name
    assert expected == {}


def test_a_reading_is_a_number_in_the_table_and_as_typed_beside_it(rich: Rich) -> None:
    answers = next(t for t in reports_csv.tables(rich.book, ON) if t.name == "answers")
    names = [field.name for field in answers.fields]
    rows = [dict(zip(names, row, strict=True)) for row in from_csv(b"".join(to_csv(answers)), answers.fields)]
    amps = [r for r in rows if r["visit"] == rich.this_year and r["step"] == "line_amps"]
    assert [(r["stands"], r["number_a"], r["number_b"], r["number_c"]) for r in amps] == [
        ("no", "20.1", "20.2", "20.0"),
        ("yes", "21.1", "21.2", "21.0"),
    ]
    assert amps[1]["because"] == "misread by one ampere"
    assert float(amps[1]["low"]) < 21.0 < float(amps[1]["high"])


def rows_of(book: Logbook, name: str) -> list[dict[str, object]]:
    """A table as a spreadsheet gets it."""
    table = next(t for t in reports_csv.tables(book, ON) if t.name == name)
    names = [field.name for field in table.fields]
    return [dict(zip(names, row, strict=True)) for row in from_csv(b"".join(to_csv(table)), table.fields)]


def test_the_tables_tell_of_each_cell_what_the_auditors_screen_tells(rich: Rich) -> None:
    found = coverage.grid(rich.book, ON, coverage.Wanted(seasons=20)).cells.values()
    rows = rows_of(rich.book, "coverage-seasons")
    told = {(r["tower"], r["checklist"], r["season"], r["state"], r["words"]) for r in rows}
    assert told == {(c.tower, c.checklist, str(c.season), str(c.state), c.words) for c in found}


def test_a_recalled_reading_does_not_pass_in_a_spreadsheet(tmp_path: Path) -> None:
    """What was judged then and what it counts as now stand side by side (ISO/IEC 17025 7.10, from memory)."""
    with a_book(tmp_path) as book:
        at = rounds.start(book, rounds.Start("HOS-1", "mid-winter", INSTRUMENTS), TODAY)
        read(book, at, supply_volts=VOLTS, line_amps=AMPS)
        ident = recall.recall(book, "CL-01", date(2026, 9, 1), "jaw cracked").recalls[-1].id
        told = {r["step"]: (r["verdict"], r["verdict_now"], r["recall"]) for r in rows_of(book, "answers")}
        assert told == {"supply_volts": ("pass", "pass", ""), "line_amps": ("pass", "cannot_tell", ident)}
        (row,) = rows_of(book, "recalls")
        assert (row["recall"], row["instrument"], row["because"], row["review"]) == (ident, "CL-01", "jaw cracked", "")
        recall.review(as_supervisor(book), ident, recall.STANDS, "the panel meter bears it out")
        assert {r["verdict_now"] for r in rows_of(book, "answers")} == {"pass"}
        assert [(r["review_of_visit"], r["review"]) for r in rows_of(book, "recalls")] == [("all", "stands")]
