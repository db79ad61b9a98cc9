"""How a visit ends on the screen: stopped, signed, received or declined, closed as incomplete; and what it is after."""

import pytest

from seasonlog.domain.desk import Mode
from seasonlog.domain.visit import VisitState
from seasonlog.services import rounds
from seasonlog.services.logbook import Logbook
from seasonlog.tui.app import SeasonlogApp
from seasonlog.tui.screens.sign_off import SignOffScreen
from seasonlog.tui.screens.visit import VisitScreen
from seasonlog.tui.widgets.big_button import BigButton
from seasonlog.tui.widgets.field import Field
from tests.builders import TODAY
from tests.tui.conftest import at_step, seen, settled, start, visit_of


async def test_stop_not_safe_is_one_key_from_any_step(book: Logbook) -> None:
    visit = start(book)
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(40, 30)) as pilot:
        await at_step(app, pilot, visit, "relay_drop_seconds")
        await pilot.press("4")  # a half-typed reading does not stand in the way
        await pilot.press("f9")
        await settled(pilot)
        assert "never counted against anyone" in seen(app)
        await pilot.press("enter")
        await settled(pilot)
        assert visit_of(app).at_desk.mode is Mode.CLOSED
        assert "NOT POSSIBLE" in seen(app)
    stopped = rounds.progress(book, visit).visit
    assert (stopped.state, stopped.closed_words) == (VisitState.NOT_POSSIBLE, "not safe")


async def test_a_temporary_change_stands_in_the_way_until_restored(book: Logbook) -> None:
    visit = start(book, "YD-2")
    at = rounds.progress(book, visit)
    for key, raw in (("weather", "good"), ("no_entry", "yes"), ("plan", "WT-7")):
        at = rounds.answer(book, at, key, raw)
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        screen = await at_step(app, pilot, visit)
        await pilot.press("f7", "enter")
        await settled(pilot)
        await pilot.press(*"across the float", "enter")
        await settled(pilot)
        assert [c.what for c in screen.at_desk.at.open_changes] == ["jumper"]
        await pilot.press("f10", "enter")
        await settled(pilot)
        assert isinstance(app.screen, SignOffScreen)
        assert "jumper, across the float" in seen(app)
        await pilot.press(*"Oren Tallis", "enter")
        await settled(pilot)
        assert isinstance(app.screen, SignOffScreen)  # refused, and the name stays
        assert app.screen.query_one("#received", Field).value == "Oren Tallis"
        await pilot.press("f7", "enter")
        await settled(pilot)
        assert "Nothing stands in the way" in seen(app)
        await pilot.press("f10")
        await settled(pilot)
        assert visit_of(app).at_desk.mode is Mode.CLOSED
    signed = rounds.progress(book, visit).visit
    assert signed.state is VisitState.COMPLETE
    assert [(str(s.meaning), s.name) for s in signed.signatures] == [
        ("done_by", "Mirel Oduvane"),
        ("received_by", "Oren Tallis"),
    ]


@pytest.mark.parametrize(("keys", "received"), [("f9", "not available"), ("words", "declined")])
async def test_the_customer_may_be_absent_or_decline_with_words(book: Logbook, keys: str, received: str) -> None:
    visit = start(book, "YD-2")
    at = rounds.progress(book, visit)
    for key, raw in (("weather", "good"), ("no_entry", "yes"), ("plan", "WT-7")):
        at = rounds.answer(book, at, key, raw)
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        await at_step(app, pilot, visit)
        await pilot.press("f10", "enter")
        await settled(pilot)
        if keys == "f9":
            await pilot.press("f9", "f10")
        else:
            app.screen.query_one("#declined", Field).focus()
            await pilot.press(*"bill first", "enter")
        await settled(pilot)
    last = rounds.progress(book, visit).visit.signatures[-1]
    assert (last.name, last.words) == (received, "" if keys == "f9" else "bill first")


async def test_sign_off_leads_to_the_first_open_step(book: Logbook) -> None:
    visit = start(book)
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        screen = await at_step(app, pilot, visit, "cut_in_degf")
        screen.action_sign()
        await settled(pilot)
        assert "CANNOT BE SIGNED YET" in seen(app)
        await pilot.click(app.screen.query_one("#first", BigButton))
        await settled(pilot)
        assert visit_of(app).at_desk.key == "weather"


async def test_closing_as_incomplete_needs_a_reason(book: Logbook) -> None:
    visit = start(book)
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        await at_step(app, pilot, visit)
        await pilot.press("f10", "down", "enter")
        await settled(pilot)
        await pilot.press("enter")
        await settled(pilot)
        assert "a reason in words is needed" in seen(app)
        await pilot.press(*"dark", "enter")
        await settled(pilot)
    assert rounds.progress(book, visit).visit.state is VisitState.INCOMPLETE


async def test_a_closed_visit_can_be_read_and_not_written(book: Logbook) -> None:
    visit = start(book)
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        await at_step(app, pilot, visit)
        await pilot.press("f9", "enter")
        await settled(pilot)
        count = book.journal.count()
        for key in ("f3", "f5", "f6", "f9", "f10", "enter"):
            await pilot.press(key)
            await settled(pilot)
            if not isinstance(app.screen, VisitScreen):
                await pilot.press("escape")
                await settled(pilot)
    assert book.journal.count() == count


async def test_signing_for_nobody_says_what_is_wanted_and_what_could_not_be_told(book: Logbook) -> None:
    """An empty name asks for one, and no longer once it is there; an answer that proves nothing is named."""
    visit = start(book, "YD-1", voltmeter="VM-1")  # overdue
    at = rounds.progress(book, visit)
    for key, raw in (("weather", "good"), ("no_entry", "yes"), ("plan", "WT-7")):
        at = rounds.answer(book, at, key, raw)
    at = rounds.answer(book, at, "supply_volts", ("480", "481", "479"))
    for instance in at.remaining:
        at = rounds.skip(book, at, instance.key, "no access")
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        await at_step(app, pilot, visit)
        await pilot.press("f10", "enter")
        await settled(pilot)
        assert "? Supply volts: 480 / 481 / 479 V" in seen(app)
        await pilot.press("f10")
        await settled(pilot)
        assert "Say who received it" in seen(app)
        await pilot.press("f9")
        await settled(pilot)
        assert "Say who received it" not in seen(app)
        await pilot.press("f10")
        await settled(pilot)
    assert rounds.progress(book, visit).visit.state is VisitState.COMPLETE
