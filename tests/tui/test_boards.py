"""Today, site, tower, findings and search on the screen: what they say and what opens what."""

from datetime import date
from pathlib import Path

from textual.widgets import Static

from seasonlog.domain.visit import VisitState
from seasonlog.journal import queries
from seasonlog.services import board, closing, findings, rounds, season
from seasonlog.services.logbook import Logbook
from seasonlog.tui.app import SeasonlogApp
from seasonlog.tui.screens.finding import FindingScreen
from seasonlog.tui.screens.findings import FindingsScreen
from seasonlog.tui.screens.search import SearchScreen
from seasonlog.tui.screens.site import SiteScreen
from seasonlog.tui.screens.today import TodayScreen
from seasonlog.tui.screens.tower import TowerScreen
from seasonlog.tui.screens.visit import VisitScreen
from seasonlog.tui.widgets.row_list import RowList
from seasonlog.tui.widgets.trend import Trend
from tests.builders import TODAY, a_book
from tests.tui.conftest import failed, row_keys, row_texts, seen, settled, start, tap_row, yard_book


async def test_today_lists_visits_hazards_and_sites(book: Logbook) -> None:
    failed(book)
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        shown = seen(app)
        assert "GO ON WITH" in shown
        assert "UNPROTECTED TONIGHT" in shown
        assert "shut the make-up by hand" in shown
        assert "Marrow Yard" in shown
        assert "Tue 15 Sep 2026" in shown


async def test_a_log_without_sites_says_how_to_go_on(tmp_path: Path) -> None:
    with a_book(tmp_path, sites=False) as book:
        app = SeasonlogApp(book, TODAY)
        async with app.run_test(size=(80, 24)) as pilot:
            await settled(pilot)
            assert "register import" in seen(app)


async def test_from_site_to_tower_and_back_by_taps(book: Logbook) -> None:
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(40, 30)) as pilot:
        await settled(pilot)
        await tap_row(pilot, "#today", "site:YARD")
        assert isinstance(app.screen, SiteScreen)
        assert "NOT PROVEN" in seen(app)
        await tap_row(pilot, "#towers", "tower:YD-1")
        assert isinstance(app.screen, TowerScreen)
        await pilot.click("Banner", offset=(3, 0))
        await settled(pilot)
        assert isinstance(app.screen, SiteScreen)
        await pilot.press("escape")
        await settled(pilot)
        assert isinstance(app.screen, TodayScreen)
        await pilot.press("escape")  # nothing behind the first screen
        await settled(pilot)
        assert isinstance(app.screen, TodayScreen)


async def test_site_facts_and_handover(book: Logbook) -> None:
    visit = start(book)
    closing.make_change(book, rounds.progress(book, visit), "jumper", "across the level relay")
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        app.open_site("YARD")
        await settled(pilot)
        await pilot.press("2")
        await settled(pilot)
        assert "No rail on the east edge." in seen(app)
        assert "Lodge, day and night" in seen(app)
        await pilot.press("3")
        await settled(pilot)
        shown = seen(app)
        assert shown.index("STILL IN PLACE") < shown.index("VISITS")
        assert "jumper, across the level relay" in shown
        assert "Handover ▲1" in shown
        await pilot.press("m")
        await settled(pilot)
        shown = seen(app)
        assert "STILL IN PLACE" in shown  # as long as it is in place
        assert "VISITS" not in shown
    assert board.handover(book, "YARD").visits == []


async def test_a_tower_shows_state_limits_readings_plate_and_past(book: Logbook) -> None:
    visit = start(book)
    at = rounds.answer(book, rounds.progress(book, visit), "supply_volts", ("480", "481", "479"))
    rounds.add_note(book, "YD-1", "ladder loose")
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        app.open_tower("YD-1")
        await settled(pilot)
        assert "NOT PROVEN" in seen(app)
        for key, words in (("2", "18 kW, 480 V, 3-phase"), ("5", "plate amps"), ("6", "ladder loose")):
            await pilot.press(key)
            await settled(pilot)
            assert words in seen(app) + " ".join(row_texts(app, "RowList"))
        await pilot.press("3")
        await settled(pilot)
        assert "480 / 481 / 479 V" in seen(app)
        await pilot.press("enter")
        await settled(pilot)
        assert app.screen.query_one(Trend).plt is not None
        assert "2026-09-15" in seen(app)
    assert at.answers["supply_volts"].is_good


async def test_the_due_checklist_is_offered_first(book: Logbook) -> None:
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        app.open_tower("YD-1")
        await settled(pilot)
        await pilot.press("s")
        await settled(pilot)
        assert app.screen.query_one(RowList).row(0).key == "fall-enable"


async def test_a_finding_from_the_list_to_its_end(book: Logbook) -> None:
    finding = failed(book)
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("f")
        await settled(pilot)
        assert isinstance(app.screen, FindingsScreen)
        await pilot.press("enter")
        await settled(pilot)
        assert isinstance(app.screen, FindingScreen)
        await pilot.press("m")
        await settled(pilot)
        await pilot.press(*"shut", "enter", *"lodge", "enter", *"now", "enter")
        await settled(pilot)
        await pilot.press("s")
        await settled(pilot)
        await pilot.press(*"Halden", "enter", *"tomorrow", "enter")
        await settled(pilot)
        assert "is not a day; write it as 2026-10-03" in str(app.screen.query_one(".wrong", Static).content)
        await pilot.press(*["backspace"] * 8, *"2026-09-20", "enter")
        await settled(pilot)
        await pilot.press("p", "enter")
        await settled(pilot)
        await pilot.press("enter", "enter")
        await settled(pilot)
        text = str(app.screen.query_one("#finding-words", Static).content)
        assert "shut; told lodge, now" in text
        assert "Halden, by 2026-09-20" in text
        assert "make-up valve seat ordered 2026-09-15" in text
        await pilot.press("c")
        await settled(pilot)
        await pilot.press(*"seat changed", "enter")
        await settled(pilot)
        assert "CLOSED" in seen(app)
    assert findings.named(book, finding).closed_words == "seat changed (Mirel Oduvane)"


async def test_a_hazard_does_not_close_in_words_and_only_a_supervisor_accepts(book: Logbook) -> None:
    finding = failed(book, "relay_drop_seconds", "60")
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        app.open_finding(finding)
        await settled(pilot)
        await pilot.press("c")
        await settled(pilot)
        assert isinstance(app.screen, FindingScreen)  # told before anything is typed
        assert "start a repair retest" in " ".join(seen(app).replace("▌", "").split())
        await pilot.press("u")
        await settled(pilot)
        assert isinstance(app.screen, FindingScreen)
        assert "is not on record as a supervisor" in " ".join(seen(app).replace("▌", "").split())
    assert findings.named(book, finding).is_open


async def test_search_finds_while_one_types(book: Logbook) -> None:
    rounds.add_note(book, "YD-2", "wasps under the deck")
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(40, 30)) as pilot:
        await settled(pilot)
        await pilot.press("slash")
        await settled(pilot)
        assert isinstance(app.screen, SearchScreen)
        await pilot.press(*"wasp")
        await settled(pilot)
        assert "wasps under the deck" in seen(app)
        await pilot.press("enter")
        await settled(pilot)
        assert isinstance(app.screen, TowerScreen)
        assert app.screen.tower == "YD-2"
        await pilot.press("escape")
        await settled(pilot)
        await pilot.press("ctrl+u", *"YD-1-H")
        await settled(pilot)
        await pilot.press("down", "up", "enter")
        await settled(pilot)
        assert isinstance(app.screen, TowerScreen)
        assert app.screen.tower == "YD-1"


async def test_a_due_visit_can_be_planned_for_another_day_and_dropped(book: Logbook) -> None:
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        app.open_tower("YD-2")
        await settled(pilot)
        await tap_row(pilot, "#state", "due:fall-enable")
        await pilot.press("down", "enter")
        await settled(pilot)
        await pilot.press(*"2026-09-20", "enter", *"crane on the roof", "enter")
        await settled(pilot)
        (item,) = [i for i in season.items(book, TODAY, tower="YD-2") if i.checklist == "fall-enable"]
        assert item.planned == date(2026, 9, 20)
        await tap_row(pilot, "#state", "due:fall-enable")
        await pilot.press("end", "enter")
        await settled(pilot)
        await pilot.press(*"taken down", "enter")
        await settled(pilot)
        assert "due:fall-enable" not in row_keys(app, "#state")


async def test_the_winter_mode_is_changed_with_a_reason(book: Logbook) -> None:
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        app.open_tower("YD-1")
        await settled(pilot)
        await pilot.press("w")
        await settled(pilot)
        await tap_row(pilot, ".choices", "drained")
        await pilot.press("enter", "enter")
        await settled(pilot)
        assert "a reason in words is needed" in str(app.screen.query_one(".wrong", Static).content)
        await pilot.press(*"pump seized", "enter")
        await settled(pilot)
        assert "Winters as: drained" in " ".join(row_texts(app, "#state"))
    assert queries.winter_modes(book.db)["YD-1"] == [("2026-09-15", "drained")]


async def test_a_closed_visit_has_a_customers_copy_and_is_reviewed_by_another_person(tmp_path: Path) -> None:
    with yard_book(tmp_path) as book:
        visit = start(book, "YD-2")
        closing.close_unfinished(book, rounds.progress(book, visit), VisitState.INCOMPLETE, "no shutdown")
    with Logbook.open(book.places, book.around, "Halden Pruskett", writing=True) as book:
        app = SeasonlogApp(book, TODAY)
        async with app.run_test(size=(80, 24)) as pilot:
            app.open_visit(visit)
            await settled(pilot)
            await pilot.press("c")
            await settled(pilot)
            assert "It proves nothing." in " ".join(str(s.content) for s in app.screen.query(Static))
            await pilot.press("escape", "v")
            await settled(pilot)
            await pilot.press(*"agreed", "enter")
            await settled(pilot)
            assert "reviewed by: Halden Pruskett (agreed)" in seen(app)


async def test_the_heat_of_a_tower_and_at_another_temperature(book: Logbook) -> None:
    """Enough or not at the design temperature, hours without, and the same at a temperature that is typed."""
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        app.open_tower("YD-1")
        await settled(pilot)
        await pilot.press("4")
        await settled(pilot)
        rows = " ".join(row_texts(app, "#heat"))
        for words in ("Freezes first", "Heater off at", "A meter should show", "Wiring should be", "Caution"):
            assert words in rows
        assert "asked for" not in rows
        await pilot.press("t", *"nonsense", "enter")
        await settled(pilot)
        assert "is not a temperature" in seen(app)
        await pilot.press("escape", "t", *"12.5", "enter")
        await settled(pilot)
        assert any("asked for" in text for text in row_texts(app, "#heat"))


async def test_a_failing_triple_of_amps_is_named_while_it_is_typed(book: Logbook) -> None:
    visit = start(book)
    rounds.answer(book, rounds.progress(book, visit), "supply_volts", ("480", "481", "479"))
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        app.open_visit(visit)
        await settled(pilot)
        assert isinstance(app.screen, VisitScreen)
        await app.screen.go_to("line_amps")
        await settled(pilot)
        await pilot.press("enter", "0", "enter", *"18.7", "enter", *"18.7")
        await settled(pilot)
        assert "looks like line open A" in seen(app)
        await pilot.press("enter")
        await settled(pilot)
        assert "line A is open" in seen(app)
        assert "Next:" in seen(app)
    (found,) = findings.open_findings(book, tower="YD-1")
    assert found.causes[0]["cause"] == "line_open"


async def test_escape_on_the_first_screen_says_how_to_leave(book: Logbook) -> None:
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settled(pilot)
        await pilot.press("escape")
        await settled(pilot)
        assert "^q leaves" in seen(app)


async def test_the_search_key_begins_again_in_the_search(book: Logbook) -> None:
    """Back from what was found, a second search is not typed behind the first one's words."""
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("slash", *"YD-1", "enter")
        await settled(pilot)
        await pilot.press("escape", "slash", *"YD-2")
        await settled(pilot)
        assert isinstance(app.screen, SearchScreen)
        assert "West tower" in seen(app)
        await pilot.press("escape")
        await settled(pilot)
        assert isinstance(app.screen, TodayScreen)
