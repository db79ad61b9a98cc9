"""The season at a glance: the strips say what the list of due visits says, and invent no chance of frost."""

from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from seasonlog.domain.due_state import DueState
from seasonlog.domain.season_due import to_do
from seasonlog.domain.season_weeks import Sign, marks
from seasonlog.errors import InputRefusedError
from seasonlog.services import closing, registry, season, season_strip
from seasonlog.services.logbook import Logbook
from seasonlog.services.season import DueRequest
from seasonlog.services.season_strip import SiteStrip, site_strips, tower_strips
from tests.builders import TODAY, a_book, a_visit, answered
from tests.domain.season_samples import site, southern_site
from tests.domain.test_season_weeks import climate
from tests.services.climate_samples import asked, imported, winters
from tests.services.plan_samples import FROM, published

DAYS = [TODAY, date(2026, 8, 1), date(2027, 1, 20), date(2027, 7, 31), date(2028, 2, 29), date(2026, 3, 29)]


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Logbook]:
    with a_book(tmp_path) as opened:
        yield opened


def strip(book: Logbook, ident: str, on: date = TODAY) -> SiteStrip:
    return next(each for each in site_strips(book, on) if each.id == ident)


@pytest.mark.parametrize("on", DAYS, ids=str)
def test_every_strip_holds_exactly_what_the_season_lists(book: Logbook, on: date) -> None:
    found = {each.id: each for each in site_strips(book, on)}
    listed = season.items(book, on)
    assert set(found) == set(registry.towers_and_sites(book.db).sites)
    for ident, each in found.items():
        ours = [item for item in listed if item.site == ident]
        assert {mark.item for mark in each.lane.marks} == set(ours)
        assert each.lane.marks == tuple(marks(ours, each.weeks))
        for mark in each.lane.marks:
            day = mark.item.due if mark.sign is Sign.OVERDUE else mark.item.planned
            assert mark.week == each.weeks.week(day)
        assert each.lane.count.overdue == sum(item.state is DueState.OVERDUE for item in to_do(ours))
        towers = tower_strips(book, ident, on)
        assert towers.site == each
        told = [mark.item for tower in towers.towers for mark in tower.lane.marks]
        assert sorted(told, key=lambda item: item.key) == sorted(ours, key=lambda item: item.key)


def test_the_south_runs_february_to_january(book: Logbook) -> None:
    north, south = strip(book, "HOS"), strip(book, "ORR")
    assert (north.weeks.first, north.season, north.today) == (date(2026, 8, 1), "winter 2026/27", 6)
    assert (south.weeks.first, south.season, south.today) == (date(2026, 2, 1), "winter 2026", 32)


def test_without_a_record_no_chance_is_shown_but_the_usual_dates(book: Logbook) -> None:
    for each in site_strips(book, TODAY):
        typed = registry.towers_and_sites(book.db).sites[each.id].first_freeze
        assert each.shares == ()
        assert len(each.usual) == 2
        assert each.basis == "typed"
        assert "as typed" in each.basis_words
        month, day = (int(part) for part in typed.split("-"))
        assert each.usual[0] == each.weeks.week(date(each.weeks.first.year, month, day))


def test_with_a_record_the_chance_is_a_tenth_in_the_week_of_the_cautious_dates(book: Logbook) -> None:
    used = imported(book, asked("HOS", winters())).climate.body["used"]
    each = strip(book, "HOS")
    assert (each.usual, each.basis) == ((), "own record")
    assert each.basis_words.startswith("1 winter in 10 by ")
    for year, month_day in ((2026, used["first"]), (2027, used["last"])):
        week = each.weeks.week(date.fromisoformat(f"{year}-{month_day}"))
        assert 0.0 < each.shares[week] < 0.45
    assert max(each.shares) == 1.0
    assert each.shares[0] == each.shares[-1] == 0.0
    assert all(other.shares == () for other in site_strips(book, TODAY) if other.id != "HOS")


def test_a_record_that_does_not_serve_shows_no_chance(book: Logbook) -> None:
    """Five seasons are too few to tell a date from."""
    imported(book, asked("HOS", winters(5)))
    each = strip(book, "HOS")
    assert (each.shares, each.basis, len(each.usual)) == ((), "typed", 2)


def test_a_record_of_the_other_half_of_the_earth_no_longer_counts() -> None:
    told = climate()
    assert season_strip.serves_site(told, site())
    assert not season_strip.serves_site(told, southern_site())
    assert "as typed" in season_strip.basis_words(southern_site(), told)


@pytest.mark.parametrize(
    ("chance", "says"),
    [("100", "20 April"), ("40", "; 40 % of the winters freeze"), ("", "; of the winters that freeze")],
)
def test_how_often_a_winter_freezes_is_said_where_it_is_not_every_one(chance: str, says: str) -> None:
    assert season_strip.basis_words(site(), climate(chance=chance)).endswith(says)


def test_done_and_dropped_stand_where_they_were_made(book: Logbook) -> None:
    closing.sign_off(book, answered(book, a_visit(book, "HOS-1")), "Odile Marrowby")
    season.drop(book, DueRequest("HOS-2", "fall-enable"), "tower taken down", TODAY)
    found = {tower.id: tower.lane for tower in tower_strips(book, "HOS", TODAY).towers}
    enables = {
        tower: [(mark.week, mark.sign) for mark in lane.marks if mark.item.checklist == "fall-enable"]
        for tower, lane in found.items()
    }
    assert enables["HOS-1"] == [(6, Sign.DONE)]  # the 15th of September is day 45
    assert [sign for _, sign in enables["HOS-2"]] == [Sign.DROPPED]
    assert found["HOS-1"].count.done == 1
    assert strip(book, "HOS").lane.count.done == 1


def test_the_published_plan_is_shown_as_such(book: Logbook) -> None:
    work = published(book, FROM)
    planned = {work.inputs.items[made.job].key: made.day for made in work.plan.assignments}
    found = {mark.item.key: mark for each in site_strips(book, FROM) for mark in each.lane.marks}
    assert planned
    for key, day in planned.items():
        assert found[key].sign is Sign.PLANNED
        assert found[key].item.planned == day
    words = {tower.id: tower.lane.next_words for tower in tower_strips(book, "HOS", FROM).towers}
    assert all(" at 0" in each or " at 1" in each for each in words.values())
    late = {tower.id: tower.lane.next_words for tower in tower_strips(book, "HOS", date(2026, 9, 15)).towers}
    assert all("as planned" in each for each in late.values())


def test_an_unknown_site_is_refused_in_a_sentence(book: Logbook) -> None:
    with pytest.raises(InputRefusedError, match="not in the register"):
        tower_strips(book, "NOPE", TODAY)


def test_the_site_with_most_overdue_comes_first(book: Logbook) -> None:
    told = [each.lane.count for each in site_strips(book, TODAY)]
    assert [each.overdue for each in told] == sorted((each.overdue for each in told), reverse=True)
    assert told[0].overdue > 0
