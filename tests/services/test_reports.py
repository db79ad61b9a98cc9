"""Reports of a log in which something of everything happened, read back and held against the log itself."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path

import pytest

from seasonlog.domain.audit_rules import RULES
from seasonlog.domain.coverage_cells import Cell
from seasonlog.domain.records import Kind, Record
from seasonlog.domain.register import Register
from seasonlog.domain.season import season_bounds
from seasonlog.errors import InputRefusedError
from seasonlog.export.report_html import to_html
from seasonlog.export.report_model import DEMONSTRATION, Badge, Block, Document, Figure, Notice, Table
from seasonlog.export.report_pdf import to_pdf
from seasonlog.journal import queries
from seasonlog.services import board, closing, coverage, recall, register, registry, reports, rounds
from seasonlog.services.logbook import Logbook, Surroundings, make_log
from seasonlog.services.places import Places
from seasonlog.services.reports import Made
from tests.builders import INSTRUMENTS, TODAY, FixedBytes, FixedClock, a_book, a_visit, answered, around
from tests.export.report_reading import parsed, pdf_pages, squeezed, tags, words
from tests.services.report_samples import BOSS, NASTY, ON, Rich, rich_book
from tests.services.test_recalled_limit import AMPS, VOLTS, read

KINDS = ("tower", "site", "firm", "findings", "visit")


@pytest.fixture(scope="module")
def rich(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Rich]:
    with (made := rich_book(tmp_path_factory.mktemp("rich"))).book:
        reports.stamp(made.book, Made(BOSS, ON))  # states the checkpoint that the reports name
        yield made


def built(rich: Rich, kind: str, made: Made | None = None) -> Document:
    """A report, always at the same moment."""
    rich.clock.looks, rich.clock.now = 0, datetime(2026, 11, 20, 14, 0, tzinfo=rich.clock.now.tzinfo)
    made = made or Made(BOSS, ON)
    match kind:
        case "tower":
            return reports.tower_report(rich.book, "HOS-1", made)
        case "site":
            return reports.site_report(rich.book, "HOS", made)
        case "firm":
            return reports.firm_report(rich.book, made)
        case "findings":
            return reports.findings_report(rich.book, made)
        case _:
            return reports.visit_report(rich.book, rich.this_year, made)


@pytest.fixture(scope="module")
def tower(rich: Rich) -> tuple[Document, str, str]:
    """One tower's report with the words of its page and of its pages on paper, which pypdf reads slowly."""
    document = built(rich, "tower")
    kept = (replace(s, blocks=tuple(b for b in s.blocks if _is_read(b))) for s in document.sections)
    paper = to_pdf(replace(document, sections=tuple(s for s in kept if s.blocks)))
    return document, words(parsed(to_html(document))), squeezed(" ".join(pdf_pages(paper)))


def _is_read(block: Block) -> bool:
    """What these tests look for on paper."""
    is_trend = isinstance(block, Figure) and "devices fitted" in block.caption
    return is_trend or (isinstance(block, Table) and ("took the place" in block.caption or "Notes" in block.caption))


def tables(document: Document) -> list[Table]:
    return [block for section in document.sections for block in section.blocks if isinstance(block, Table)]


@pytest.mark.parametrize("kind", KINDS)
def test_each_report_is_a_sound_page(rich: Rich, kind: str) -> None:
    """html5lib, strict: well formed; nothing acts, nothing is fetched."""
    page = to_html(built(rich, kind))
    tree = parsed(page)
    assert {"script", "img", "link", "iframe", "object"}.isdisjoint(tags(tree))
    assert page.replace("http://www.w3.org/2000/svg", "").count("://") == 0
    assert NASTY not in page


def test_what_people_typed_is_shown_as_typed(tower: tuple[Document, str, str]) -> None:
    _, page, paper = tower
    assert NASTY in page
    assert squeezed(NASTY) in paper


@pytest.mark.parametrize("kind", KINDS)
def test_the_same_log_and_clock_give_the_same_bytes(rich: Rich, kind: str) -> None:
    one, other = built(rich, kind), built(rich, kind)
    assert one == other
    assert to_html(one) == to_html(other)
    rich.clock.minutes = -360
    assert to_html(built(rich, kind)) != to_html(one)
    rich.clock.minutes = -300


def test_the_pdf_is_the_same_bytes_too(rich: Rich) -> None:
    document = built(rich, "findings")
    assert to_pdf(document) == to_pdf(built(rich, "findings"))


def test_every_page_tells_its_number_who_made_it_when_and_the_code(rich: Rich) -> None:
    document = built(rich, "visit")
    pages = pdf_pages(to_pdf(document))
    code = document.stamp.code
    assert len(code) == 19
    assert code.count("-") == 3
    for number, page in enumerate(pages, 1):
        assert f"Page {number} of {len(pages)}" in page
        assert code in page
        assert "2026-11-20 09:00" in page
    assert BOSS in pages[-1]
    assert "Checkpoint of all entries" in squeezed(pages[-1]) or "Checkpoint of all entries" in pages[-1]


def test_what_is_not_proven_comes_first(rich: Rich) -> None:
    """The first thing of each report; the reasons are those of `board.covered`, which no report computes itself."""
    for tower in ("HOS-1", "HOS-2", "HOS-3"):
        document = reports.tower_report(rich.book, tower, Made(BOSS, ON))
        state = board.covered(rich.book, registry.of_tower(rich.book.db, tower), tower, ON)
        first = document.head[0]
        assert isinstance(first, Notice)
        assert first.badge.word == ("PROVEN" if tower == "HOS-1" else "NOT PROVEN")
        assert first.lines == state.reasons
    every = [t for site, _, _ in queries.sites(rich.book.db) for t, _ in queries.towers_of(rich.book.db, site)]
    firm = built(rich, "firm").head[0]
    assert isinstance(firm, Notice)
    assert {line.partition(":")[0] for line in firm.lines} == set(every) - {"HOS-1"}


def test_every_step_stands_in_the_record_with_its_answer_and_limit(rich: Rich) -> None:
    """Held against the log's own answers: none left out, each with the limit it was judged by and its basis."""
    at = rounds.progress(rich.book, rich.this_year)
    document = built(rich, "visit")
    steps = next(t for t in tables(document) if t.caption.startswith("Every step"))
    assert len([row for row in steps.rows if not isinstance(row, str)]) == len(at.instances)
    page = words(parsed(to_html(document)))
    for saved in at.answers.values():
        for limit in saved.limits:
            assert " ".join(limit["basis"].replace(" degF", " °F").replace(" degf", " °F").split()) in page
            assert limit["formula"] in page
            assert limit["source"].replace(" degF", " °F") in page
    for instrument in at.visit.instruments.values():
        assert f"{instrument} {at.register.instruments[instrument].name}" in page
        assert str(at.register.instruments[instrument].calibration_due) in page


CHANGED = {
    "answer": ("20.1 / 20.2 / 20.0 A", "21.1 / 21.2 / 21.0 A", "Mirel Oduvane", "misread by one ampere"),
    "retest": ("0.9 ohm", "0.2 ohm", "Mirel Oduvane", "read again after a repair"),
    "register": ("3", "Mirel Oduvane", "read again on the roof"),
    "plan": ("by its window", "planned for 2026-11-30", BOSS, "crane on the roof"),
}


def _changed_row(document: Document, *said: str) -> bool:
    rows = [row for t in tables(document) if "took the place" in t.caption for row in t.rows]
    return any(all(any(text in str(cell) for cell in row) for text in said) for row in rows if not isinstance(row, str))


@pytest.mark.parametrize("what", CHANGED)
def test_old_value_new_value_who_when_and_why_are_told(tower: tuple[Document, str, str], what: str) -> None:
    """As 21 CFR 11.10(e) asks (from memory): a change never hides the older value."""
    document, page, paper = tower
    assert _changed_row(document, *CHANGED[what])
    for text in CHANGED[what]:
        assert squeezed(text) in paper
        assert text in page


def test_an_answer_that_stands_is_not_told_as_replaced(rich: Rich) -> None:
    assert not any(
        "took the place" in t.caption for t in tables(reports.visit_report(rich.book, rich.winter, Made("", ON)))
    )


def test_the_certificate_of_the_day_is_told_not_that_of_today(tmp_path: Path) -> None:
    """ISO/IEC 17025 7.5.1 (from memory): what a result rests on is kept as it was when it was made."""
    clock = FixedClock()
    with a_book(tmp_path, surroundings=Surroundings(clock, FixedBytes("certificate"))) as book:
        clamp = replace(registry.whole(book.db).instruments["CL-01"], certificate="K-1", laboratory="Lab One")
        register.write(book, register.preview(registry.whole(book.db), [clamp]))
        visit = a_visit(book).visit.id
        clock.now = clock.now.replace(year=clock.now.year + 1)
        later = replace(clamp, certificate="K-2", as_found="out_of_tolerance")
        register.write(book, register.preview(registry.whole(book.db), [later]))
        page = words(parsed(to_html(reports.visit_report(book, visit, Made("", TODAY)))))
    assert "K-1, Lab One" in page
    assert "K-2" not in page


def test_signatures_are_told_with_what_they_mean(rich: Rich) -> None:
    page = words(parsed(to_html(built(rich, "visit"))))
    for name, who, means in (
        ("Done by", "Mirel Oduvane", "carried out the steps"),
        ("Reviewed by", BOSS, "another person looked at the record"),
        ("Received by", "Oren Tallis", "the customer was handed the result"),
    ):
        assert f"{name} {who}" in page
        assert means in page


def test_a_season_that_is_over_is_judged_on_its_last_day(rich: Rich) -> None:
    document = reports.tower_report(rich.book, "HOS-1", Made(BOSS, ON), 2025)
    page = words(parsed(to_html(document)))
    last = season_bounds(2025, 41.9)[1]
    assert f"Judged on {last.isoformat()}" in page
    assert rich.last_year in page
    assert rich.this_year not in page
    assert "Fall enable on 2025-09-09 by Mirel Oduvane" in page


def test_what_was_found_later_is_no_reason_against_a_season_that_is_over(tmp_path: Path) -> None:
    clock = FixedClock(datetime(2025, 9, 2, 13, 0, tzinfo=FixedClock().now.tzinfo))
    with a_book(tmp_path, surroundings=Surroundings(clock, FixedBytes())) as book:
        closing.sign_off(book, answered(book, a_visit(book, on=date(2025, 9, 2))), "Oren Tallis")
        clock.now = clock.now.replace(year=2026)
        at = answered(book, a_visit(book, on=date(2026, 9, 2)), {"line_amps": ("0", "18.7", "18.7")})
        closing.sign_off(book, at, "Oren Tallis")
        made = Made(BOSS, date(2026, 9, 2))
        heads = [reports.tower_report(book, "HOS-1", made, year).head[0] for year in (2025, 2026)]
        firm = [reports.firm_report(book, made, year).head[0] for year in (2025, 2026)]
    assert [h.badge.word for h in heads if isinstance(h, Notice)] == ["PROVEN", "NOT PROVEN"]
    assert ["HOS-1:" in " ".join(f.lines) for f in firm if isinstance(f, Notice)] == [False, True]


def test_a_trend_breaks_where_the_heater_was_replaced(tower: tuple[Document, str, str]) -> None:
    document, page, paper = tower
    assert "new heater S-2231" in page
    assert squeezed("new heater S-2231") in paper
    alt = " ".join(f.alt for s in document.sections if s.title == "Trends" for f in s.blocks if isinstance(f, Figure))
    assert "2026-06-15 new heater S-2231" in alt
    assert "2025-09-09" in alt
    assert "20.1" not in alt, "a reading that was corrected is no point of a trend"
    assert "21.1" in alt


def test_a_corrected_step_does_not_say_it_was_read_when_it_was_corrected(rich: Rich) -> None:
    steps = next(t for t in tables(built(rich, "visit")) if t.caption.startswith("Every step"))
    read = [str(row[4]) for row in steps.rows if not isinstance(row, str) and str(row[0]).startswith("Line amps")]
    assert [text.startswith("corrected ") for text in read] == [True]
    others = [str(row[4]) for row in steps.rows if not isinstance(row, str)]
    assert sum("corrected" in text for text in others) == 1


def test_a_visit_is_held_against_every_rule_of_the_audit(rich: Rich) -> None:
    """Each title of `audit_rules.RULES`, with the published requirement it serves."""
    document = built(rich, "visit")
    table = next(t for t in tables(document) if t.caption.startswith("Every rule"))
    told = {str(row[0]): row[1] for row in table.rows}
    assert set(told) == {rule.title for rule in RULES}
    page = words(parsed(to_html(document)))
    assert all(rule.requirement in page for rule in RULES)
    failed = reports.visit_report(rich.book, rich.failed, Made(BOSS, ON))
    broken = [row for t in tables(failed) if t.caption.startswith("Every rule") for row in t.rows]
    assert "BROKEN" in str(broken[0][1])


def test_photos_are_named_and_an_erased_one_says_so(tmp_path: Path) -> None:
    body = {
        "sha256": "ab" * 32, "kind": "photo", "format": "jpeg", "bytes": 1234, "name": "p.jpg", "tower": "HOS-1",
        "step": "line_amps", "taken_at": "", "taken_from": "file", "keep_until": "",
    }  # fmt: skip
    with a_book(tmp_path) as book:
        visit = rounds.start(book, rounds.Start("HOS-1", "fall-enable", INSTRUMENTS), TODAY).visit.id
        for ident, says in (("A-1", "the nameplate"), ("A-2", "somebody's face")):
            book.write(Record(Kind.ATTACHED, body | {"attachment": ident, "visit": visit, "words": says}))
        book.write(
            Record(Kind.ATTACHMENT_ERASED, {"attachment": "A-2", "sha256": "ab" * 32, "because": "shows a person"})
        )
        page = words(parsed(to_html(reports.visit_report(book, visit, Made("", TODAY)))))
    assert "photo A-1 Line amps A, B, C the nameplate" in page
    assert "photo A-2 Line amps A, B, C abab" in page
    assert "ERASED on 2026-09-15 by Mirel Oduvane: shows a person" in page
    assert "somebody's face" not in page


def test_seasons_are_told_as_the_table_of_coverage_tells_them(rich: Rich) -> None:
    found = coverage.grid(rich.book, ON, coverage.Wanted(site="HOS"))
    table = next(t for t in tables(built(rich, "site")) if t.caption.startswith("The fall enable of each season"))
    assert [c.name for c in table.columns[1:]] == [str(year) for year in found.seasons]
    for row in table.rows:
        tower = str(row[0]).partition(",")[0]
        states = [found.cell(tower, "fall-enable", year).state for year in found.seasons]
        assert [getattr(cell, "word", "").casefold() for cell in row[1:]] == [
            {"not_asked": "", "coming": "to come", "dropped": "taken out"}.get(s, str(s)) for s in states
        ]


def test_what_the_auditor_sees_missing_amiss_or_late_stands_in_every_report_of_the_season(rich: Rich) -> None:
    """Cells of coverage as known on the day of the report, also of a season that is over; none of later ones."""
    for year in (2025, 2026):
        found = [c for c in coverage.grid(rich.book, ON).gaps() if c.season == year]
        assert found, year
        hos = [c for c in found if c.tower.startswith("HOS")]
        assert gaps_in(reports.site_report(rich.book, "HOS", Made(BOSS, ON), year)) == wanted(hos)
        assert gaps_in(reports.firm_report(rich.book, Made(BOSS, ON), year)) == wanted(found)
        mine = [c for c in hos if c.tower == "HOS-1"]
        assert gaps_in(reports.tower_report(rich.book, "HOS-1", Made(BOSS, ON), year)) == wanted(mine)
    past = reports.site_report(rich.book, "HOS", Made(BOSS, ON), 2025)
    (table,) = (t for t in tables(past) if t.caption.startswith("The fall enable of each season"))
    assert [column.name for column in table.columns][1:] == ["2025"]
    notice = past.head[0]
    assert isinstance(notice, Notice)
    assert " missing" in notice.badge.more


def wanted(cells: list[Cell]) -> set[tuple[str, str, str]]:
    return {(c.tower, c.state.upper(), c.words) for c in cells}


def gaps_in(document: Document) -> set[tuple[str, str, str]]:
    told = [t for t in tables(document) if t.caption == "Missing, amiss or late in this season"]
    return {(str(row[0]), row[2].word, str(row[3])) for t in told for row in t.rows if isinstance(row[2], Badge)}


def test_an_overdue_instrument_is_told(tmp_path: Path) -> None:
    clock = FixedClock(datetime(2040, 9, 15, 13, 0, tzinfo=FixedClock().now.tzinfo))
    with a_book(tmp_path, surroundings=Surroundings(clock, FixedBytes())) as book:
        at = rounds.start(book, rounds.Start("HOS-1", "fall-enable", INSTRUMENTS), date(2040, 9, 15))
        page = words(parsed(to_html(reports.visit_report(book, at.visit.id, Made("", date(2040, 9, 15))))))
        assert page.count("OUT OF CALIBRATION") == len(INSTRUMENTS)
        assert "not on record as qualified" in page
        assert "Not signed off" in page


def test_every_meter_read_with_is_told_and_a_recalled_one_is_not_called_in_calibration(tmp_path: Path) -> None:
    """One clamp is changed half way; later the first is recalled, and of the second no calibration is on record."""
    with a_book(tmp_path) as book:
        bare = replace(registry.shared(book.db).instruments["CL-01"], id="CL-09", calibration_due=None)
        register.write(book, register.preview(Register.of(()), [bare]))
        at = rounds.start(book, rounds.Start("HOS-1", "mid-winter", INSTRUMENTS), TODAY)
        at = read(book, at, supply_volts=VOLTS, line_amps=AMPS)
        at = rounds.choose_instrument(book, at, "clamp", "CL-09")
        states = [calibration_of(book, at.visit.id)]
        recall.recall(book, "CL-01", date(2026, 9, 1), "jaw cracked")
        states.append(calibration_of(book, at.visit.id))
    assert [state["CL-01"] for state in states] == ["IN CALIBRATION", "RECALLED"]
    assert [state["CL-09"] for state in states] == ["NOT ON RECORD"] * 2
    assert [state["VM-01"] for state in states] == ["IN CALIBRATION"] * 2


def calibration_of(book: Logbook, visit: str) -> dict[str, str]:
    told = tables(reports.visit_report(book, visit, Made("", TODAY)))
    (table,) = (t for t in told if t.caption.startswith("Instruments used"))
    return {str(row[0]): row[-1].word for row in table.rows if isinstance(row[-1], Badge)}


def test_a_demonstration_says_so(tmp_path: Path) -> None:
    places = Places(tmp_path / "seasonlog.db")
    with Logbook(make_log(places, around(), BOSS, demonstration=True), places, around(), BOSS) as book:
        document = reports.firm_report(book, Made(BOSS, TODAY))
        assert DEMONSTRATION in words(parsed(to_html(document)))
        assert all(DEMONSTRATION in page for page in pdf_pages(to_pdf(document)))


def test_without_a_name_no_code_is_made_up(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        places = book.places
    with Logbook.open(places, around(), "", writing=False) as book:
        stamp = reports.stamp(book, Made("", TODAY))
    assert stamp.code == "none"
    assert stamp.made_by == "nobody named"


@pytest.mark.parametrize(
    ("build", "says"),
    [
        (lambda book, made: reports.tower_report(book, "NO-1", made), "tower NO-1"),
        (lambda book, made: reports.site_report(book, "NO", made), "site NO"),
        (lambda book, made: reports.visit_report(book, "V-0", made), "visit V-0"),
        (lambda book, made: reports.findings_report(book, made, site="NO"), "site NO"),
    ],
    ids=["tower", "site", "visit", "findings"],
)
def test_what_is_not_there_is_refused_with_a_sentence(rich: Rich, build, says: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(InputRefusedError) as refused:
        build(rich.book, Made(BOSS, ON))
    assert says in str(refused.value.problems[0])


@pytest.mark.parametrize("kind", ["site", "firm"])
def test_long_work_tells_how_far_it_is(rich: Rich, kind: str) -> None:
    told: list[tuple[int, int]] = []
    built(rich, kind, Made(BOSS, ON, lambda done, whole: told.append((done, whole))))
    assert told[0][0] == 0
    assert len(told) > 5
    assert told[-1][0] == told[-1][1]
    assert [done for done, _ in told] == sorted(done for done, _ in told)


def test_a_metric_site_reads_its_own_units(rich: Rich) -> None:
    document = reports.site_report(rich.book, "ORR", replace(Made(BOSS, ON)))
    assert document.paper == "a4"
    page = words(parsed(to_html(document)))
    assert "°C" in page
    assert "degF" not in page
