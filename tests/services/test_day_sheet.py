"""The morning's sheet: whose sites, in which order, with what is wanted there; nothing is given to nobody silently."""

from dataclasses import replace
from datetime import timedelta
from pathlib import Path

from seasonlog.journal import queries
from seasonlog.services import closing, findings
from seasonlog.services.day_sheet import DaySheets, Sheet, day_sheets, parts_missing
from seasonlog.services.logbook import Logbook
from tests.builders import QUALIFIED, TODAY, a_book, a_visit, answered


def of(found: DaySheets, person: str) -> Sheet:
    return next(sheet for sheet in found.sheets if sheet.person == person)


def a_fault(book: Logbook) -> str:
    at = answered(book, a_visit(book), {"line_amps": ("0", "18.7", "18.7")})
    closing.sign_off(book, at, closing.NOT_AVAILABLE)
    return queries.findings(book.db, open_only=True)[0].id


def test_until_somebody_was_there_every_site_is_nobodys(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        (sheet,) = day_sheets(book, TODAY).sheets
    assert sheet.person == ""
    assert {"HOS-1", "DAT-1"} <= {stop.tower for stop in sheet.stops}


def test_a_site_belongs_to_whoever_was_last_there(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        a_visit(book, "HOS-1")
        book.who = "Halden Pruskett"
        a_visit(book, "DAT-1")
        found = day_sheets(book, TODAY)
    assert {stop.site for stop in of(found, QUALIFIED).stops} == {"HOS"}
    assert {stop.site for stop in of(found, "Halden Pruskett").stops} == {"DAT"}
    assert {stop.site for stop in of(found, "").stops}.isdisjoint({"HOS", "DAT"})
    assert [visit.visit.tower for visit in of(found, QUALIFIED).open_visits] == ["HOS-1"]
    assert found.sheets[-1].person == ""


def test_one_person_sees_their_own_and_what_nobody_has(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        a_visit(book, "HOS-1")
        book.who = "Halden Pruskett"
        a_visit(book, "DAT-1")
        found = day_sheets(book, TODAY, "mirel oduvane")
        stranger = day_sheets(book, TODAY, "A. Stranger")
        unqualified = day_sheets(book, TODAY, "halden")
    assert [each.stranger for each in (found, stranger, unqualified)] == ["", "A. Stranger", ""]
    assert [sheet.person for sheet in found.sheets] == [QUALIFIED, ""]
    assert [sheet.person for sheet in stranger.sheets] == ["A. Stranger", ""]
    assert stranger.sheets[0].stops == ()


def test_towers_stand_in_the_order_in_which_they_are_due_each_once(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        (sheet,) = day_sheets(book, TODAY + timedelta(days=80)).sheets
    dues = [stop.visits[0].due for stop in sheet.stops]
    towers = [stop.tower for stop in sheet.stops]
    assert dues == sorted(dues)
    assert len(towers) == len(set(towers))
    assert any(len(stop.visits) > 1 for stop in sheet.stops)


def test_a_stop_tells_access_permits_roof_and_missing_parts(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        finding = a_fault(book)
        findings.note_part(book, finding, "contactor", "ordered", TODAY)
        findings.note_part(book, finding, "heater", "fitted", TODAY)
        found = day_sheets(book, TODAY + timedelta(days=80))
        stop = next(stop for stop in of(found, QUALIFIED).stops if stop.tower == "HOS-1")
    assert "Escort needed" in stop.access
    assert "Roof permit" in stop.permits
    assert "No parapet" in stop.roof_note
    assert stop.parts_missing == ("line fuse", "contactor (ordered 2026-09-15)")
    assert stop.findings == (finding,)
    assert any(each.found.tower == "HOS-1" for each in found.exposed.exposed)


def test_a_part_named_on_site_counts_beside_the_usual_ones(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        found = queries.finding(book.db, a_fault(book))
    assert found is not None
    told = replace(found, parts=("lug",), part_stages=("door seal promised 2026-10-01", "lug fitted 2026-09-20", "odd"))
    assert parts_missing(told) == ("door seal (promised 2026-10-01)",)
