"""A metric site reads degC wherever a sentence reaches a person, and is taken at its word in the unit shown.

Held against t/degC = (t/degF - 32)/1.8 of NIST SP 811, B.8, worked here in exact fractions from what the record holds:
to the tenth for a reading, to the hundredth for a limit.
"""

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path

import pytest

from seasonlog.domain.checklist import StepInstance
from seasonlog.domain.conflicts import Answer, Conflict
from seasonlog.domain.desk import Desk
from seasonlog.domain.finding import Finding
from seasonlog.domain.limits import Verdict
from seasonlog.domain.visit import VisitState
from seasonlog.errors import InputRefusedError
from seasonlog.export.report_model import Table
from seasonlog.journal import queries
from seasonlog.services import (
    board,
    checklists,
    closing,
    corrections,
    findings,
    record_history,
    reports_history,
    reports_visit,
    rounds,
)
from seasonlog.services.logbook import Logbook
from seasonlog.services.paper import sheet_of
from seasonlog.services.record_units import as_read
from seasonlog.services.reports_words import SiteWords
from seasonlog.tui import conflict_sheets, record_page, step_page, tower_page
from seasonlog.tui.app import SeasonlogApp
from seasonlog.tui.reading import Reading
from seasonlog.tui.rows import finding as finding_row
from seasonlog.tui.screens.amend import AmendSheet
from seasonlog.tui.screens.finding import words
from seasonlog.tui.widgets.field import Field
from seasonlog.tui.widgets.row import Row
from seasonlog.voice import spoken
from seasonlog.voice.ground import ground_of
from tests.builders import TODAY
from tests.cli.runner import seasonlog
from tests.tui.conftest import seen, settled, start, visit_of, yard_book

KEY = "cut_in_degf"
READ = "0.5 C"
FAHRENHEIT = re.compile(r"\d ?(degf|degF|°F)\b")


@dataclass(frozen=True)
class Metric:
    book: Logbook
    visit: str

    @property
    def desk(self) -> Desk:
        return Desk(rounds.progress(self.book, self.visit), KEY)

    @property
    def limit(self) -> dict[str, str]:
        return rounds.progress(self.book, self.visit).answers[KEY].limits[0]

    def told(self, sign: str) -> str:
        """The verdict's own sentence, worked by hand from the record's degF."""
        low, high, pass_low, pass_high = (c(self.limit[n], 2) for n in ("low", "high", "pass_low", "pass_high"))
        return f"0.5 {sign}: limit {low} to {high} {sign}, pass {pass_low} to {pass_high}"


def c(degf: str | float | None, places: int) -> str:
    """Degrees Celsius by NIST SP 811, exact, then rounded once."""
    assert degf is not None
    return f"{float(round((Fraction(degf) - 32) * Fraction(5, 9), places)):.4g}"


def _failed(folder: Path) -> Logbook:
    """A visit of a site that reads degC, its cut-in failed at 0.5 C."""
    book = yard_book(folder, "southern.toml", "people.toml")
    at = rounds.progress(book, start(book, "SO-1", thermometer="TH-1"))
    at = rounds.answer(book, at, "supply_volts", ("400",) * 3)
    amps = rounds.limit_now(book, at, "line_amps")
    middle = f"{((amps.low or 0) + (amps.high or 0)) / 2:.1f}" if amps else ""
    rounds.answer(book, rounds.answer(book, at, "line_amps", (middle,) * 3), KEY, READ)
    return book


@pytest.fixture(scope="module")
def metric(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Metric]:
    with _failed(tmp_path_factory.mktemp("metric")) as book:
        yield Metric(book, queries.open_visits(book.db)[0].id)


def _page(metric: Metric) -> board.TowerView:
    return board.tower_view(metric.book, "SO-1", TODAY)


def _row(row: Row) -> str:
    return f"{row.title.plain}\n{row.words.plain}"


def _record(metric: Metric) -> str:
    found = as_read(metric.book, record_history.history(metric.book, metric.visit))
    return "\n".join(_row(row) for row in record_page.history(found))


def _findings(metric: Metric) -> list[Finding]:
    return findings.as_read(metric.book, findings.open_findings(metric.book))


TOLD: dict[str, Callable[[Metric], str]] = {
    "finding": lambda m: words(_findings(m)[0], "", TODAY).plain,
    "findings": lambda m: _row(finding_row(_findings(m)[0], TODAY)),
    "findings of the tower": lambda m: _row(finding_row(_page(m).findings[0], TODAY)),
    "findings of the handover": lambda m: _row(finding_row(board.handover(m.book, "SOU").new_findings[0], TODAY)),
    "record": _record,
    "step typed": lambda m: Reading.of(m.book, m.desk).worth((READ,)).plain,
    "step saved": lambda m: step_page.saved_words(m.desk, m.desk.at.answers[KEY], None).plain,
    "correction of it": lambda m: corrections.preview(m.book, m.desk.at, KEY, READ, "misread").says,
}


@pytest.mark.parametrize("where", TOLD)
def test_a_screen_tells_the_verdict_in_degc(metric: Metric, where: str) -> None:
    text = TOLD[where](metric)
    assert metric.told("°C") in text
    assert not FAHRENHEIT.search(text)


COMMANDS: dict[str, Callable[[Metric], list[str]]] = {
    "findings": lambda m: ["findings"],
    "record": lambda m: ["record", m.visit],
    "copy": lambda m: ["copy", m.visit],
}


@pytest.mark.parametrize("name", COMMANDS)
def test_a_command_tells_the_verdict_in_degc(metric: Metric, name: str) -> None:
    ran = seasonlog(*COMMANDS[name](metric), "--log", metric.book.places.log)
    assert metric.told("degC") in ran.out
    assert not FAHRENHEIT.search(ran.out)


def test_a_script_gets_the_units_of_the_record(metric: Metric) -> None:
    (found,) = seasonlog("findings", "--json", "--log", metric.book.places.log).json
    assert found["says"].startswith("32.9 degf: limit 34 to 50 degf")
    limits = seasonlog("limits", "SO-1", "--checklist", "yard-check", "--json", "--log", metric.book.places.log).json
    (own,) = [each for each in limits if each["step"] == KEY]
    assert (own["low"], own["high"], own["unit"]) == (34, 50, "degf")


def test_what_a_step_tells_is_in_degc(metric: Metric) -> None:
    """40 and 32 degF are 4.4 and 0 degC."""
    book = metric.book
    dial = next(s for s in checklists.named("fall-enable", book.places.checklists).steps if s.id == "dial_mark")
    at = metric.desk.at
    shown = step_page.words(Desk(replace(at, instances=(StepInstance("", dial, "SO-1-H", "circuit"),)), "")).plain
    assert "A dial at 4.4 °C whose mark means cut-out may close no sooner than at 0 °C" in shown


def test_what_is_found_stands_as_recorded_and_as_read(metric: Metric) -> None:
    """Whoever looks for a number of the record must see it."""
    found = seasonlog("search", "32.9", "--log", metric.book.places.log).out
    assert "32.9 degf: limit 34 to 50 degf" in found
    assert f"(read there as {metric.told('degC')})" in found


def test_limits_and_readings_of_the_tower(metric: Metric) -> None:
    """Edges converted whole; the arithmetic stays as recorded, and says so."""
    (limit,) = [each.limit for each in _page(metric).limits if each.limit.quantity == KEY]
    told = (f"{c(limit.low, 2)} to {c(limit.high, 2)}", f"pass {c(limit.pass_low, 2)} to {c(limit.pass_high, 2)}")
    page = "\n".join(_row(row) for row in tower_page.limits(_page(metric)))
    assert f"{told[0]} °C, {told[1]}" in page
    assert "32 + 2 °F margin" in page
    assert "arithmetic as recorded, in °F" in page
    ran = seasonlog("limits", "SO-1", "--checklist", "yard-check", "--log", metric.book.places.log).out
    assert f"limit {told[0]} degC, {told[1]}" in ran
    assert "arithmetic as recorded, in degF" in ran
    read = "\n".join(_row(row) for row in tower_page.readings(_page(metric), str))
    assert f"0.5 °C   limit {c(metric.limit['low'], 2)} to {c(metric.limit['high'], 2)} °C" in read


def test_the_paper_has_degc_beside_the_blank(metric: Metric) -> None:
    sheet = sheet_of(metric.book, "SO-1", "yard-check", "asked for", TODAY)
    (row,) = [row for part in sheet.parts for row in part.rows if row.key == KEY]
    assert row.unit == "°C"
    assert row.limit.startswith(f"{c('34', 2)} to {c('50', 2)} °C")


def test_what_is_said_aloud_is_in_degc(metric: Metric) -> None:
    """Also the answer on record, which is kept in degF: 32.9 degF are 0.5 degC."""
    ground = ground_of(metric.book, metric.desk)
    assert spoken.saved_aloud(ground.step) == "zero point five degrees Celsius"
    back = spoken.read_back(ground.step, "33 F", Verdict.FAIL, "")
    assert (
        back
        == "thirty three degrees Fahrenheit, fail, a finding is open, outside one point one one to ten degrees Celsius."
    )


def test_what_cannot_be_is_refused_in_degc(metric: Metric) -> None:
    """-40 to 212 degF are -40 to 100 degC, the two fixed points of the scales."""
    at = rounds.progress(metric.book, metric.visit)
    with pytest.raises(InputRefusedError) as refused:
        rounds.judgement(metric.book, at, KEY, "150 C")
    assert "150 degC cannot be; -40 to 100 degC is taken" in str(refused.value)


def test_a_correction_on_the_command_line_names_its_unit(metric: Metric) -> None:
    """The step's key says degF and the answers are shown in degC: digits alone could be either."""
    said = ("amend", metric.visit, KEY, "--by", "Mirel Oduvane", "--log", str(metric.book.places.log))
    refused = seasonlog(*said[:3], "4.5", "--because", "misread", *said[3:])
    assert (refused.code, '"4.5 C" or "4.5 F"' in refused.err) == (2, True)
    assert rounds.progress(metric.book, metric.visit).answers[KEY].value == "32.9"
    assert "0.5 degC  fail" in seasonlog(*said[:3], "--history", "--log", said[-1]).out


def test_an_answers_file_tells_what_its_digits_are_taken_in(metric: Metric) -> None:
    ran = seasonlog("checklist", "show", "yard-check", "--answers", "--tower", "SO-1", home=metric.book.places.home)
    assert 'cut_in_degf = ""  # Cut-in temperature: degF; degC as "4.5 C"' in ran.out


def test_two_answers_to_decide_are_told_in_degc() -> None:
    """-40 is the same on both scales; 50 degF are 10 degC. A person's own words are left alone."""
    bodies = ({"value": "-40", "unit": "degf"}, {"value": "50", "unit": "degf"}, {"value": "at 50 degF", "unit": ""})
    answers = tuple(Answer("", "", "", 0, body | {"says": "noted"}) for body in bodies)
    (row,) = conflict_sheets.rows([Conflict("V-1", "SO-1", KEY, answers, "si")])
    assert row.words.plain == "-40 °C or 10 °C or at 50 degF"


async def test_after_sign_off_the_unit_shown_is_the_unit_taken(tmp_path: Path) -> None:
    """4.5 typed beside degC is 40.1 degF on record (4.5 x 1.8 + 32), and both verdicts are read in degC first."""
    with _failed(tmp_path) as book:
        visit = queries.open_visits(book.db)[0].id
        closing.close_unfinished(book, rounds.progress(book, visit), VisitState.INCOMPLETE, "dark")
        app = SeasonlogApp(book, TODAY)
        async with app.run_test(size=(80, 40)) as pilot:
            app.open_visit(visit)
            await settled(pilot)
            screen = visit_of(app)
            await screen.go_to(KEY)
            await settled(pilot)
            await pilot.press("f5")
            await settled(pilot)
            await pilot.press(*"misread", "enter")
            await settled(pilot)
            assert screen.query_one("#dock Field", Field).border_subtitle == "°C"
            await pilot.press("4", ".", "5", "enter")
            await settled(pilot)
            assert isinstance(app.screen, AmendSheet)
            shown = seen(app)
            assert "0.5 °C" in shown
            assert "4.5 °C: limit" in shown
            assert not FAHRENHEIT.search(shown)
            await pilot.press("enter")
            await settled(pilot)
        saved = rounds.progress(book, visit).answers[KEY]
        assert (saved.raw, saved.value) == ("4.5 C", "40.1")
        at = rounds.progress(book, visit)
        site = SiteWords(at.register.site_of(at.visit.tower))
        (table,) = reports_visit.changed(reports_history.of_visit(book, visit), site)
        assert isinstance(table, Table)
        assert table.rows[0][:3] == ("cut in", "0.5 °C (fail)", "4.5 °C (pass)")
