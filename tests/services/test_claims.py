"""A visit that somebody has claimed or begun: a second person is told who and since when, and may go on."""

import json
import re
from datetime import date
from pathlib import Path

import pytest

from seasonlog.domain.register import Register
from seasonlog.errors import InputRefusedError
from seasonlog.journal import queries
from seasonlog.services import claims, closing, plan, rounds, season, today
from seasonlog.services.register import preview, write
from seasonlog.tui.app import SeasonlogApp
from seasonlog.tui.screens.plan import PlanScreen
from seasonlog.tui.screens.tower import TowerScreen
from seasonlog.tui.widgets.row_list import RowList
from tests.builders import INSTRUMENTS, a_visit, answered, sample_register
from tests.cli.runner import seasonlog
from tests.journal.laptops import Laptop, enrolled
from tests.services.plan_samples import request
from tests.tui.conftest import row_keys, seen, settled, tap_row

ON = date(2026, 9, 15)
WHERE = ("HOS-1", "fall-enable")


@pytest.fixture
def two(tmp_path: Path) -> tuple[Laptop, Laptop]:
    """The north and the south laptop, both with the sample sites."""
    north, south = enrolled(tmp_path)
    with north.book() as book:
        write(book, preview(Register.of(()), list(sample_register().records())))
    south.take(north.export())
    return north, south


def told(laptop: Laptop) -> list[str]:
    with laptop.book() as book:
        return claims.warnings(book, *WHERE, ON)


def hand_over(source: Laptop, to: Laptop) -> None:
    to.take(source.export())


def test_a_claim_is_told_to_others_only_until_it_is_given_up(two: tuple[Laptop, Laptop]) -> None:
    north, south = two
    with south.book() as book:
        claims.claim(book, *WHERE, ON)
    assert told(south) == []
    assert told(north) == []  # it has not heard of it yet
    hand_over(south, north)
    (words,) = told(north)
    assert words.startswith("south Example on the south laptop claimed it on 2026-09-15 08:0")
    with south.book() as book:
        claims.give_up(book, *WHERE)
    hand_over(south, north)
    assert told(north) == []


def test_two_claims_of_the_same_visit_both_stand(two: tuple[Laptop, Laptop]) -> None:
    north, south = two
    for laptop in two:
        with laptop.book() as book:
            claims.claim(book, *WHERE, ON)
    hand_over(south, north)
    hand_over(north, south)
    assert [words.split(" claimed")[0] for words in (*told(north), *told(south))] == [
        "south Example on the south laptop", f"north Example on device {north.dev[:4]}",
    ]  # fmt: skip


def test_a_visit_begun_twice_is_told_and_both_are_kept(two: tuple[Laptop, Laptop]) -> None:
    north, south = two
    for laptop in two:
        with laptop.book() as book:
            rounds.start(book, rounds.Start(*WHERE, INSTRUMENTS), ON)
    hand_over(south, north)
    (words,) = told(north)
    assert words.startswith("south Example on the south laptop began it on")
    with north.book() as book:
        assert len(queries.visits_of(book.db, "HOS-1")) == 2


def test_what_is_not_due_cannot_be_claimed(two: tuple[Laptop, Laptop]) -> None:
    with two[0].book() as book, pytest.raises(InputRefusedError, match="no spring-disable due"):
        claims.claim(book, "HOS-1", "spring-disable", ON)


def test_the_commands_tell_it(two: tuple[Laptop, Laptop]) -> None:
    north, south = two
    ran = seasonlog("plan", "claim", *WHERE, "--today", ON.isoformat(), "--log", south.at.log, "--by", "south Example")
    assert (ran.code, ran.out) == (0, "HOS-1 fall-enable 2026, number 1, is claimed by south Example.\n")
    due = seasonlog("due", "--tower", "HOS-1", "--today", ON.isoformat(), "--log", south.at.log).out
    assert "claimed by south Example" in next(line for line in due.splitlines() if "fall-enable" in line)
    hand_over(south, north)
    there = ("--today", ON.isoformat(), "--log", north.at.log)
    since = r"fall-enable claimed by south Example on the south laptop since \d{4}-\d\d-\d\d \d\d:\d\d"
    assert re.search(since, seasonlog("today", *there).out)
    assert re.search(since.removeprefix("fall-enable "), seasonlog("due", "--tower", "HOS-1", *there).out)
    (item,) = (i for i in json.loads(seasonlog("due", "--tower", "HOS-1", "--json", *there).out)
               if i["checklist"] == WHERE[1])  # fmt: skip
    assert re.fullmatch(since.removeprefix("fall-enable "), item["claimed"])
    ran = seasonlog("plan", "claim", *WHERE, "--today", ON.isoformat(), "--log", north.at.log, "--by", "north Example")
    assert "TAKEN ALREADY: south Example on the south laptop claimed it" in ran.err


async def test_the_app_asks_once_before_it_starts_a_visit_that_somebody_has(two: tuple[Laptop, Laptop]) -> None:
    north, south = two
    with south.book() as book:
        claims.claim(book, *WHERE, ON)
    hand_over(south, north)
    with north.book() as book:
        app = SeasonlogApp(book, ON)
        async with app.run_test(size=(80, 24)) as pilot:
            app.open_tower("HOS-1")
            await settled(pilot)
            from seasonlog.tui import starting

            starting.choose_instruments(app.screen, "HOS-1", "fall-enable")  # type: ignore[arg-type]
            await settled(pilot)
            assert "south Example on the south laptop claimed it" in seen(app)
            assert "both results are kept" in seen(app)
            await tap_row(pilot, "RowList", "go on")
            assert "somebody has it" not in seen(app)
            assert "START" in seen(app)


def test_only_what_was_claimed_here_can_be_given_up_here(two: tuple[Laptop, Laptop]) -> None:
    north, south = two
    with north.book() as book, pytest.raises(InputRefusedError, match=r"you \(.*\) have not claimed it"):
        claims.give_up(book, *WHERE)
    with south.book() as book:
        claims.claim(book, *WHERE, ON)
        who = book.who
    hand_over(south, north)
    with north.book() as book:
        book.who = who
        with pytest.raises(InputRefusedError, match="claimed it on the south laptop; give it up there"):
            claims.give_up(book, *WHERE)


def test_a_claim_of_what_is_made_or_dropped_stands_no_more(two: tuple[Laptop, Laptop]) -> None:
    with two[1].book() as book:
        claims.claim(book, *WHERE, ON)
        claims.claim(book, "HOS-2", WHERE[1], ON)
        assert [each.item.tower for each in claims.claimed_visits(book, ON)] == ["HOS-1", "HOS-2"]
        closing.sign_off(book, answered(book, a_visit(book, *WHERE, ON)), closing.NOT_AVAILABLE)
        season.drop(book, season.DueRequest("HOS-2", WHERE[1]), "sold", ON)
        assert claims.claimed_visits(book, ON) == claims.standing(book) == []


def test_many_claims_are_found_like_few_and_the_first_board_lists_the_first_due(two: tuple[Laptop, Laptop]) -> None:
    with two[1].book() as book:
        due = [
            item for item in season.items(book, ON) if item.checklist == WHERE[1] and item.state in ("open", "overdue")
        ]
        for item in due:
            claims.claim(book, item.tower, item.checklist, ON)
        found = claims.claimed_visits(book, ON)
        assert len(due) > claims.FEW_TOWERS
        assert {each.item.key for each in found} == {item.key for item in due}
        shown = today.today_board(book, ON).claimed
        assert [each.item for each in shown] == [each.item for each in found[: today.MOST_CLAIMS]]
        assert [each.item.due for each in shown] == sorted(item.due for item in due)[: today.MOST_CLAIMS]


def noted(app: SeasonlogApp) -> str:
    return " ".join(str(note.message) for note in app._notifications)


async def test_the_first_board_tells_who_has_what_since_when_and_gives_up_what_is_yours(
    two: tuple[Laptop, Laptop],
) -> None:
    north, south = two
    with south.book() as book:
        claims.claim(book, *WHERE, ON)
    hand_over(south, north)
    with north.book() as book:
        claims.claim(book, "HOS-2", WHERE[1], ON)
        app = SeasonlogApp(book, ON)
        async with app.run_test(size=(80, 30)) as pilot:
            await settled(pilot)
            rows = app.screen.query_one(RowList)
            assert "CLAIMED" in seen(app)
            assert re.search(r"claimed by south Example on the south laptop since 2026-09-15 \d\d:\d\d", seen(app))
            rows.go_to("site:HOS")
            await pilot.press("u")
            assert "Choose one of the claimed visits first" in noted(app)
            rows.go_to("claim:HOS-1:fall-enable")
            await pilot.press("u")
            assert "have not claimed it" in noted(app)
            assert len(claims.standing(book)) == 2
            rows.go_to("claim:HOS-2:fall-enable")
            await pilot.press("u")
            await settled(pilot)
            assert [each.key.tower for each in claims.standing(book)] == ["HOS-1"]
            assert "HOS-2 · fall enable" not in seen(app)
            await tap_row(pilot, "RowList", "claim:HOS-1:fall-enable")
            assert isinstance(app.screen, TowerScreen)


async def test_a_tower_and_the_plan_claim_and_give_up_by_key_and_by_sheet(two: tuple[Laptop, Laptop]) -> None:
    with two[0].book() as book:
        plan.publish(book, plan.draft(book, request(ON)))
        app = SeasonlogApp(book, ON)
        async with app.run_test(size=(80, 40)) as pilot:
            app.open_tower("HOS-1")
            await settled(pilot)
            await pilot.press("u")
            assert "claimed nothing at this tower" in noted(app)
            await pilot.press("c")
            await settled(pilot)
            assert "claimed by north Example since 2026-09-15" in seen(app)
            await tap_row(pilot, "#state", "due:fall-enable")
            await tap_row(pilot, "ChooseSheet RowList", "give_up")
            assert claims.standing(book) == []
            assert "claimed by" not in seen(app)
            await tap_row(pilot, "#state", "due:fall-enable")
            await tap_row(pilot, "ChooseSheet RowList", "claim")
            await pilot.press("u")
            await settled(pilot)
            assert claims.standing(book) == []
            app.push_screen(PlanScreen())
            await settled(pilot)
            job = next(key for key in row_keys(app, "#days") if key.startswith("stop:HOS-1 fall-enable"))
            app.screen.query_one("#days", RowList).go_to(job)
            await pilot.press("c")
            await settled(pilot)
            assert [each.key[:2] for each in claims.standing(book)] == [WHERE]
            assert "claimed by north Example since" in seen(app)
            await pilot.press("u")
            await settled(pilot)
            assert claims.standing(book) == []
            assert "claimed by north" not in seen(app)
