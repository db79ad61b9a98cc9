"""Correcting after sign-off, an instrument in doubt asked about once, why a finding stands open again: on the screen.

A correction keeps the old value, who, when and why: 21 CFR 11.10(e), ISO/IEC 17025 7.5.2.
"""

from datetime import date
from pathlib import Path
from typing import Any

import pytest
from syrupy.assertion import SnapshotAssertion
from textual.pilot import Pilot

from seasonlog.domain.answers import Raw
from seasonlog.domain.desk import Mode
from seasonlog.domain.records import Kind
from seasonlog.domain.visit import VisitState
from seasonlog.services import closing, corrections, findings, recall, rounds
from seasonlog.services.logbook import Logbook
from seasonlog.tui.app import SeasonlogApp
from seasonlog.tui.screens.amend import AmendSheet
from seasonlog.tui.screens.choose import ChooseSheet
from seasonlog.tui.screens.instruments import InstrumentsSheet
from seasonlog.tui.widgets.key_bar import KeyBar
from tests.builders import TODAY
from tests.tui.conftest import SIZES, seen, settled, start, visit_of, yard_book
from tests.tui.test_pictures import at_rest

VOLTS = ("480", "481", "479")
AMPS = ("2.15", "21.6", "21.4")
"""The first one typed wrong: a decimal point too far left."""
BEFORE_AMPS: dict[str, Raw] = {
    "weather": "good",
    "no_entry": "yes",
    "plan": "WT-7",
    "makeup_closes": "yes",
    "supply_volts": VOLTS,
}


def signed(book: Logbook) -> str:
    """A visit signed off, its amps typed wrong."""
    at = rounds.progress(book, start(book, clamp="CL-1"))
    for key, raw in {**BEFORE_AMPS, "line_amps": AMPS}.items():
        at = rounds.answer(book, at, key, raw)
    for key in [i.key for i in at.instances if i.key not in at.answers]:
        at = rounds.skip(book, at, key, "no time")
    return closing.sign_off(book, at, closing.NOT_AVAILABLE).visit.id


async def asked_again(app: SeasonlogApp, pilot: Pilot[Any], visit: str) -> None:
    """Up to the amps asked for once more, the reason given."""
    app.open_visit(visit)
    await settled(pilot)
    await visit_of(app).go_to("line_amps")
    await settled(pilot)
    await pilot.press("f5")
    await settled(pilot)
    await pilot.press(*"point", "enter")
    await settled(pilot)


async def corrected(app: SeasonlogApp, pilot: Pilot[Any], visit: str) -> None:
    """Up to the sheet that shows both verdicts."""
    await asked_again(app, pilot, visit)
    await pilot.press(*"21.5", "enter", *"21.6", "enter", *"21.4", "enter")
    await settled(pilot)


@pytest.mark.parametrize("size", [(80, 24), (40, 30)], ids=str)
async def test_an_answer_is_corrected_after_sign_off_once_both_verdicts_were_seen(
    book: Logbook, size: tuple[int, int]
) -> None:
    visit = signed(book)
    (found,) = findings.open_findings(book)
    count = book.journal.count()
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=size) as pilot:
        await corrected(app, pilot, visit)
        assert isinstance(app.screen, AmendSheet)
        words = seen(app)
        for part in ("AS IT STANDS", "2.15 / 21.6 / 21.4", "FAIL", "CORRECTED", "21.5 / 21.6 / 21.4", "PASS", "point"):
            assert part in words, part
        assert book.journal.count() == count  # nothing is written before it is agreed to
        await pilot.press("enter")
        await settled(pilot)
        assert visit_of(app).at_desk.mode is Mode.CLOSED
        assert "First observed: 2.15" in " ".join(seen(app).split())
        told = [chip.action for chip in app.screen.query_one(KeyBar).chips()]
        assert told[:3] == ["screen.back", "screen.steps", "screen.correct"]
        assert not {"screen.stop", "screen.skip", "screen.note", "screen.finish"} & {*told}
    first, last = corrections.chain(book, visit, "line_amps")
    assert (first.body["raw"], last.body["corrects"], last.body["because"]) == (list(AMPS), first.uid, "point")
    assert rounds.progress(book, visit).visit.state is VisitState.COMPLETE
    assert findings.named(book, found.id).state == "withdrawn"


async def test_left_before_it_is_agreed_to_nothing_is_written(book: Logbook) -> None:
    visit = signed(book)
    count = book.journal.count()
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        await corrected(app, pilot, visit)
        await pilot.press("escape")
        await settled(pilot)
        assert not isinstance(app.screen, AmendSheet)
    assert book.journal.count() == count


async def test_what_is_no_answer_is_refused_and_stays_to_be_mended(book: Logbook) -> None:
    visit = signed(book)
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        await asked_again(app, pilot, visit)
        await pilot.press(*"99999", "enter", *"1", "enter", *"1", "enter")
        await settled(pilot)
        assert visit_of(app).at_desk.mode is Mode.ASK


async def test_who_neither_gave_it_nor_supervises_is_told_so(book: Logbook) -> None:
    visit = signed(book)
    book.who = "Jessa Wickmoor"
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        app.open_visit(visit)
        await settled(pilot)
        await visit_of(app).go_to("line_amps")
        await settled(pilot)
        await pilot.press("f5")
        await settled(pilot)
        assert "or a supervisor may correct it" in " ".join(str(note.message) for note in app._notifications)


@pytest.fixture
def doubted(book: Logbook) -> tuple[Logbook, str]:
    """A visit at its amps, whose clamp was recalled after it was chosen."""
    at = rounds.progress(book, start(book, clamp="CL-1"))
    for key, raw in BEFORE_AMPS.items():
        at = rounds.answer(book, at, key, raw)
    recall.recall(book, "CL-1", date(2026, 9, 1), "found out of tolerance")
    return book, at.visit.id


@pytest.mark.parametrize("other", [False, True], ids=["anyway", "another"])
async def test_a_recalled_instrument_is_asked_about_before_its_first_reading(
    doubted: tuple[Logbook, str], *, other: bool
) -> None:
    book, visit = doubted
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(40, 30)) as pilot:
        app.open_visit(visit)
        await settled(pilot)
        await visit_of(app).go_to("line_amps")
        await settled(pilot)
        await pilot.press("enter")  # its own caution
        await settled(pilot)
        assert "recalled for readings since 2026-09-01" in " ".join(seen(app).split())
        assert visit_of(app).at_desk.asks_of_doubt
        await pilot.press(*(("tab", "enter") if other else ("enter",)))
        await settled(pilot)
        if other:
            assert isinstance(app.screen, InstrumentsSheet)
            await pilot.press("tab", "enter")  # the same one all the same
            await settled(pilot)
            assert isinstance(app.screen, ChooseSheet)
            await pilot.press("enter")
            await settled(pilot)
            assert visit_of(app).at_desk.mode is Mode.ASK
            await pilot.press("f8", "tab", "enter")  # it was told: asked no more
            await settled(pilot)
            assert visit_of(app).at_desk.mode is Mode.ASK
            (chosen,) = [s for s in book.journal.entries(kind=Kind.INSTRUMENT_CHOSEN) if s.entry.body.get("doubt")]
            assert "recalled" in chosen.entry.body["doubt"]
            return
        await pilot.press(*"21.5", "enter", *"21.6", "enter", *"21.4", "enter")
        await settled(pilot)
        assert "CANNOT TELL" in seen(app)
    assert not [s for s in book.journal.entries(kind=Kind.INSTRUMENT_CHOSEN) if s.entry.body.get("doubt")]


async def test_a_finding_that_stands_open_again_says_why(book: Logbook) -> None:
    visit = signed(book)
    (found,) = findings.open_findings(book)
    at = rounds.progress(book, start(book, clamp="CL-1"))
    for key, raw in {**BEFORE_AMPS, "line_amps": ("21.5", "21.6", "21.4")}.items():
        at = rounds.answer(book, at, key, raw)
    recall.recall(book, "CL-1", date(2026, 9, 1), "found out of tolerance")
    assert found.visit == visit
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        app.open_row(f"finding:{found.id}")
        await settled(pilot)
        assert "REOPENED" in seen(app)
        assert "CL-1, recalled since 2026-09-01" in seen(app)


@pytest.mark.parametrize("size", ["laptop", "narrow"])
async def test_picture(tmp_path: Path, svg: SnapshotAssertion, size: str) -> None:
    with yard_book(tmp_path) as book:
        visit = signed(book)
        app = SeasonlogApp(book, TODAY)
        async with app.run_test(size=SIZES[size], notifications=False, tooltips=False) as pilot:
            await corrected(app, pilot, visit)
            shown = await at_rest(app, pilot)
    assert shown.encode() == svg
