"""Sheets hold every step with the limit the program would judge by; what comes back is marked and keeps its time."""

import re
from datetime import UTC, date, datetime
from html.parser import HTMLParser
from pathlib import Path

import pytest

from seasonlog.domain.checklist import applicable, gate_keys
from seasonlog.domain.limits import Verdict
from seasonlog.domain.records import Kind
from seasonlog.errors import InputRefusedError
from seasonlog.export.paper_html import to_html
from seasonlog.export.paper_model import Part, Row, Sheet
from seasonlog.export.paper_text import WIDTH, to_text
from seasonlog.journal.views import LogViews
from seasonlog.services import board, checklists, paper, registry, rounds, season
from seasonlog.services.answered_file import Work, carry_out
from seasonlog.services.checklists import shipped
from seasonlog.services.limits import limits_of
from tests.builders import TODAY, a_book, around, hostile

READ = "2026-09-14 16:30"
"""The afternoon before the fixed clock's morning."""


class Page(HTMLParser):
    """Tags and words of a page."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.words = ""
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)

    def handle_data(self, data: str) -> None:
        self.words += data


def test_a_sheet_asks_what_the_visit_asks_with_the_same_limits_and_gates(tmp_path: Path) -> None:
    """Held against `applicable`, `limits_of` and `gate_keys`, for every shipped checklist on every sample tower."""
    with a_book(tmp_path) as book:
        seen = 0
        for tower in ("HOS-2", "ICE-1", "ULV-3"):
            register = registry.of_known_tower(book.db, tower, TODAY)
            for checklist in shipped():
                sheet = paper.sheet_of(book, tower, checklist, "asked for", TODAY)
                chosen = checklists.named(checklist, book.places.checklists)
                asked = applicable(chosen, register, tower)
                assert sorted(row.key for row in sheet.rows) == sorted(i.key for i in asked)
                numbers = {row.key: row.number for row in sheet.rows}
                for row in sheet.rows:
                    instance = next(i for i in asked if i.key == row.key)
                    first = [numbers[k] for keys in gate_keys(instance, asked) for k in keys]
                    assert sorted(map(int, re.findall(r"\d+", row.waits))) == sorted(first)
                    assert bool(row.boxes) + bool(row.blanks) + (instance.step.kind == "text") == 1
                for part in sheet.parts:
                    for row in part.rows:  # no caution is lost by being said once
                        own = next(i for i in asked if i.key == row.key).step.caution
                        assert own in (part.caution, row.caution)
                bands = {(e.limit.quantity, e.target) for e in limits_of(register, tower, chosen, TODAY)}
                for row in sheet.rows:
                    instance = next(i for i in asked if i.key == row.key)
                    assert bool(row.limit) == ((instance.step.quantity, instance.target or "") in bands)
                    seen += bool(row.limit)
    assert seen > 200


def test_the_sheet_of_a_heater_shows_its_own_amps(tmp_path: Path) -> None:
    """18 kW at 480 V, three-phase: 21.65 A, element tolerance -10/+5 %: 19.49 to 22.73 A (circuit theory)."""
    with a_book(tmp_path) as book:
        (sheet,) = paper.sheets(book, paper.Wish(tower="HOS-1", checklist="fall-enable"), TODAY)
    (amps,) = [row for row in sheet.rows if row.key == "line_amps"]
    assert amps.limit.startswith("19.49 to 22.73 A")
    assert (amps.blanks, amps.unit, amps.photo) == (3, "A", True)
    text, page = to_text([sheet]), Page(to_html([sheet]))
    for words in ("19.49 to 22.73 A", "HOS-1-H", "18 kW, 480 V", "--from-paper", "Received by"):
        assert words in text
        assert words in " ".join(page.words.split())
    assert max(len(line) for line in text.split("\n")) <= WIDTH + 4
    assert page.tags.count("tr") == len(sheet.rows) + len(sheet.parts)
    assert page.tags.count("article") == 1


def test_what_is_due_is_printed_once_per_tower_and_list(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        found = paper.sheets(book, paper.Wish(site="HOS"), date(2026, 12, 20))
        due = {(s.tower, s.checklist) for s in found}
        assert len(due) == len(found) > 3
        for sheet in paper.sheets(book, paper.Wish(tower="HOS-1"), TODAY):
            season.drop(book, season.DueRequest("HOS-1", sheet.checklist), "not wanted", TODAY)
        with pytest.raises(InputRefusedError, match="nothing is to be done there on 2026-09-15"):
            paper.sheets(book, paper.Wish(tower="HOS-1"), TODAY)
        with pytest.raises(InputRefusedError, match="is not in the register"):
            paper.sheets(book, paper.Wish(site="NO-SUCH"), TODAY)


@pytest.mark.parametrize("area", ["markup", "unicode", "terminal", "html_report"])
def test_hostile_words_on_a_sheet_are_only_words(shared: Path, area: str) -> None:
    cases = [str(c["input"]) for c in hostile(shared, area) if isinstance(c.get("input"), str)]
    assert cases
    plain = Page(to_html([_sheet("word")])).tags
    for text in cases:
        page = to_html([_sheet(text)])
        assert Page(page).tags == plain or "\n" in text
        assert set(Page(page).tags) == set(plain) | ({"br"} & set(Page(page).tags))
        told = page + to_text([_sheet(text)])
        assert not re.search(r"[\x00-\x08\x0b\x0e-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]", told)


def _sheet(text: str) -> Sheet:
    row = Row(1, "key", text, text, text, text, text, (text,), 0, text, photo=True, live=True, required=False)
    facts, lines = ((text, text),), (text,)
    return Sheet(
        text, text, text, "c", text, 1, text, text, lines, facts, lines, lines, lines, (Part(text, text, (row,)),)
    )


_FILE = """
[instruments]
angle = "AN-01"
[answers]
weather = "good"
probe_plumb_deg = {value = "2", at = "16:45"}
bond_ohms = {skip = "dark"}
[close]
as = "incomplete"
because = "dark"
"""


def _work(data: str, late: paper.Late | None) -> Work:
    return Work("HOS-1", "fall-enable", data.encode(), "sheet.toml", late)


def test_an_entry_from_paper_keeps_when_it_was_read_apart_from_when_it_was_entered(tmp_path: Path) -> None:
    with a_book(tmp_path, who="Jessa Wickmoor") as book:
        late = paper.late_from(book, "HOS-1", READ, "Mirel Oduvane")
        outcome = carry_out(book, _work(_FILE, late), TODAY, lambda saved: None)
        again = carry_out(book, _work(_FILE, late), TODAY, lambda saved: None)
        entries = [s.entry for s in book.journal.entries() if s.entry.kind in (Kind.STEP_ANSWERED, Kind.STEP_SKIPPED)]
        seen = book.journal.count()
        book.journal.rebuild_views(LogViews())
        rebuilt = rounds.progress(book, outcome.at.visit.id)
        assert book.journal.count() == seen
    assert again.at.answers == outcome.at.answers == rebuilt.answers
    assert {e.body["step"]: (e.body["observed_at"], e.body["from_paper"], e.who) for e in entries} == {
        "weather": ("2026-09-14T16:30-05:00", "Mirel Oduvane", "Jessa Wickmoor"),
        "probe_plumb_deg": ("2026-09-14T16:45-05:00", "Mirel Oduvane", "Jessa Wickmoor"),
        "bond_ohms": ("2026-09-14T16:30-05:00", "Mirel Oduvane", "Jessa Wickmoor"),
    }
    assert all(datetime.fromtimestamp(e.wall / 1000, UTC).date() == TODAY for e in entries)
    assert rebuilt.visit.day == "2026-09-14"
    assert rebuilt.visit.qualified  # whoever read it was; whoever types it in need not be
    (signature,) = rebuilt.visit.signatures
    assert (signature.name, signature.words) == ("Mirel Oduvane", "on paper; entered by Jessa Wickmoor")


def test_paper_is_judged_on_the_day_it_was_read(tmp_path: Path) -> None:
    """The angle gauge of the samples is in calibration in fall 2026 and overdue when the sheet is typed in."""
    with a_book(tmp_path) as book:
        due = registry.shared(book.db).instruments["AN-01"].calibration_due
    assert due is not None
    typed = datetime(due.year, due.month, due.day, 20, tzinfo=UTC).replace(hour=20)
    from datetime import timedelta

    with a_book(tmp_path, sites=False, surroundings=around(typed + timedelta(days=1))) as book:
        late = paper.late_from(book, "HOS-1", f"{due - timedelta(days=3)} 09:00", "Mirel Oduvane")
        at = carry_out(book, _work(_FILE, late), book.today(), lambda saved: None).at
        assert at.answers["probe_plumb_deg"].verdict is Verdict.PASS
        assert not at.visit.uncalibrated
        view = board.tower_view(book, "HOS-1", book.today())
    assert view.visits[0].day == str(due - timedelta(days=3))


@pytest.mark.parametrize(
    ("observed", "says"),
    [
        ("2026-09-15 23:59", "is still to come"),
        ("2024-09-15 09:00", "more than 400 days ago"),
        ("2026-02-30 09:00", "is not a time"),
        ("yesterday", "is not a time"),
        ("2026-09-14T25:00", "is not a time"),
        ("\u0662026-09-14 09:00", "is not a time"),
        ("2026-09-14 09:00\x1b[2J", "is not a time"),
    ],
)
def test_a_time_that_cannot_be_is_refused(tmp_path: Path, observed: str, says: str) -> None:
    with a_book(tmp_path) as book, pytest.raises(InputRefusedError, match=says) as refused:
        paper.late_from(book, "HOS-1", observed, "Mirel Oduvane")
    assert "\x1b" not in str(refused.value)


def test_a_time_of_day_belongs_to_paper_and_must_be_one(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        before = book.journal.count()
        with pytest.raises(InputRefusedError, match="which only paper has"):
            carry_out(book, _work(_FILE, None), TODAY, lambda saved: None)
        late = paper.late_from(book, "HOS-1", READ, "Mirel Oduvane")
        with pytest.raises(InputRefusedError, match="is not a time of day"):
            carry_out(book, _work(_FILE.replace("16:45", "24:45"), late), TODAY, lambda saved: None)
        assert book.journal.count() == before


def test_a_correction_of_what_came_from_paper_keeps_its_time(tmp_path: Path) -> None:
    from seasonlog.services import corrections

    with a_book(tmp_path) as book:
        late = paper.late_from(book, "HOS-1", READ, "Mirel Oduvane")
        at = carry_out(book, _work(_FILE, late), TODAY, lambda saved: None).at
        at = corrections.amend(book, at.visit.id, "probe_plumb_deg", "1", "a 1, not a 2")
    assert at.answers["probe_plumb_deg"].observed_at == "2026-09-14T16:45-05:00"
