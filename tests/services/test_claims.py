"""A visit that somebody has claimed or begun: a second person is told who and since when, and may go on."""

from datetime import date
from pathlib import Path

import pytest

from seasonlog.domain.register import Register
from seasonlog.errors import InputRefusedError
from seasonlog.journal import queries
from seasonlog.services import claims, rounds
from seasonlog.services.register import preview, write
from seasonlog.tui.app import SeasonlogApp
from tests.builders import INSTRUMENTS, sample_register
from tests.cli.runner import seasonlog
from tests.journal.laptops import Laptop, enrolled
from tests.tui.conftest import seen, settled, tap_row

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
        claims.claim(book, *WHERE, ON, give_up=True)
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
