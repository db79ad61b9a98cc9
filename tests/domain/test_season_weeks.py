"""A season's weeks, the chance of frost in each, and what stands in them; all against day counts by hand."""

import random
from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seasonlog.calc.freeze_chances import FreezeDays, Side
from seasonlog.calc.season_days import NORTH, SOUTH, SeasonCalendar
from seasonlog.domain.climate_record import SiteClimate
from seasonlog.domain.due_state import DueState
from seasonlog.domain.season_due import DueItem
from seasonlog.domain.season_weeks import (
    PRESSING,
    WEEKS,
    Count,
    Mark,
    SeasonWeeks,
    Sign,
    Span,
    chances_of,
    count,
    marks,
    share_at,
    shown,
    spans,
    week_shares,
)
from seasonlog.errors import RatingError

N_LAT, S_LAT = 42.0, -42.0


class TestWeeks:
    """52 weeks from the season's first day; the last one is the longest."""

    @pytest.mark.parametrize(
        ("latitude", "season", "day", "week"),
        [
            (N_LAT, 2026, date(2026, 8, 1), 0),
            (N_LAT, 2026, date(2026, 8, 7), 0),
            (N_LAT, 2026, date(2026, 8, 8), 1),
            (N_LAT, 2026, date(2027, 1, 1), 21),  # day 153
            (N_LAT, 2026, date(2027, 7, 23), 50),  # day 356
            (N_LAT, 2026, date(2027, 7, 24), 51),  # day 357
            (N_LAT, 2026, date(2027, 7, 31), 51),  # day 364: the day left over
            (N_LAT, 2027, date(2028, 2, 29), 30),  # day 212 of the season that holds the leap day
            (N_LAT, 2027, date(2028, 3, 1), 30),  # day 213
            (N_LAT, 2027, date(2028, 7, 31), 51),  # day 365: two days left over
            (0.0, 2026, date(2026, 8, 1), 0),  # the equator counts as north
            (S_LAT, 2026, date(2026, 2, 1), 0),
            (S_LAT, 2026, date(2026, 8, 1), 25),  # day 181
            (S_LAT, 2026, date(2027, 1, 31), 51),
            (S_LAT, 2028, date(2028, 2, 29), 4),  # day 28
            (S_LAT, 2028, date(2028, 3, 7), 5),  # day 35
        ],
        ids=str,
    )
    def test_the_week_of_a_day(self, latitude: float, season: int, day: date, week: int) -> None:
        assert SeasonWeeks.of(season, latitude).week(day) == week

    @pytest.mark.parametrize(("latitude", "first", "last"), [(N_LAT, 8, 7), (S_LAT, 2, 1)])
    def test_twelve_months_from_the_first_to_the_last(self, latitude: float, first: int, last: int) -> None:
        months = SeasonWeeks.of(2026, latitude).months
        assert [month for _, month in months] == [(first - 1 + n) % 12 + 1 for n in range(12)]
        assert (months[0], months[-1][1]) == ((0, first), last)
        assert list(months) == sorted(months)

    @given(st.integers(1990, 2060), st.sampled_from([N_LAT, S_LAT]), st.integers(0, 364))
    def test_every_day_has_a_week_that_begins_on_or_before_it(self, season: int, latitude: float, at: int) -> None:
        weeks = SeasonWeeks.of(season, latitude)
        day = weeks.first + timedelta(days=at)
        week = weeks.week(day)
        assert weeks.begins(week) <= day <= weeks.last
        assert (day - weeks.begins(week)).days <= (6 if week < WEEKS - 1 else 8)

    @pytest.mark.parametrize(("day", "week"), [(date(2026, 6, 1), 0), (date(2027, 8, 5), 51)])
    def test_a_day_outside_stands_in_the_nearest_week(self, day: date, week: int) -> None:
        weeks = SeasonWeeks.of(2026, N_LAT)
        assert weeks.week(day) == week
        assert not weeks.holds(day)


def climate(
    first: Sequence[str] = ("10-03", "10-15", "11-01"),
    last: Sequence[str] = ("04-20", "04-08", "03-20"),
    chance: str = "100",
    basis: str = "simulated",
    calendar: SeasonCalendar = NORTH,
) -> SiteClimate:
    """A climate entry with these 10, 50 and 90 % dates."""

    def side(dates: Sequence[str]) -> Mapping[str, Any]:
        told = dict(zip(("10", "50", "90"), dates, strict=False))
        return {basis: told, "chance_percent": chance, "published_chance_percent": chance}

    used = {"basis": basis, "threshold_degf": "32", "first": first[0], "last": last[0], "because": ""}
    thresholds = [{"threshold_degf": "32", "first": side(first), "last": side(last)}]
    source = {
        "station": {"id": "USW00000000", "name": "NOWHERE"},
        "published_station": {"id": "USW00000000", "name": "NOWHERE"},
        "period": {"seasons": 30, "first_season": 1987, "last_season": 2016},
    }
    body = {"used": used, "first_month": calendar.first_month, "thresholds": thresholds, **source}
    return SiteClimate("HOS", body, "Mirel Oduvane", date(2026, 9, 1))


def chance_on(told: SiteClimate, *days: date) -> list[float]:
    found = chances_of(told)
    assert found is not None
    return [found.on(day) for day in days]


class TestChances:
    """Straight through the three dates, at both ends, times how often it freezes at all."""

    @pytest.mark.parametrize(
        ("day", "chance"),
        [
            (date(2026, 8, 1), 0.0),
            (date(2026, 9, 30), 0.0),  # 10 % - (50 % - 10 %) / 4 = 3 days before 3 October
            (date(2026, 10, 3), 0.1),
            (date(2026, 10, 9), 0.3),
            (date(2026, 10, 15), 0.5),
            (date(2026, 11, 1), 0.9),
            (date(2027, 1, 15), 1.0),
            (date(2027, 3, 20), 0.9),
            (date(2027, 4, 8), 0.5),
            (date(2027, 4, 20), 0.1),
            (date(2027, 4, 23), 0.0),
            (date(2027, 7, 31), 0.0),
        ],
        ids=str,
    )
    def test_at_the_dates_and_between_them(self, day: date, chance: float) -> None:
        """By hand, to 1e-12."""
        assert chance_on(climate(), day)[0] == pytest.approx(chance, abs=1e-12)
        assert chance_on(climate(chance="60"), day)[0] == pytest.approx(0.6 * chance, abs=1e-12)

    def test_the_same_in_the_south_half_a_year_later(self) -> None:
        told = climate(("05-02", "05-20", "06-10"), ("10-05", "09-20", "09-01"), calendar=SOUTH)
        assert chance_on(told, date(2026, 5, 2), date(2026, 7, 15), date(2026, 9, 20), date(2026, 12, 24)) == (
            pytest.approx([0.1, 1.0, 0.5, 0.0])
        )

    def test_the_leap_day_is_the_28th(self) -> None:
        told = climate(last=("03-10", "02-28", "02-10"))
        assert chance_on(told, date(2028, 2, 28), date(2028, 2, 29)) == pytest.approx([0.5, 0.5])

    def test_dates_on_one_day_are_a_step(self) -> None:
        told = climate(first=("10-03", "10-03", "10-03"))
        assert chance_on(told, date(2026, 10, 2), date(2026, 10, 3)) == [0.0, 1.0]

    def test_an_untold_share_of_winters_counts_as_all_and_says_so(self) -> None:
        found = chances_of(climate(chance=""))
        assert found is not None
        assert (found.comes, found.is_told) == (1.0, False)

    @pytest.mark.parametrize("basis", ["published", "raw", "simulated"])
    def test_every_basis_of_a_record_tells_chances(self, basis: str) -> None:
        assert chances_of(climate(basis=basis)) is not None

    @pytest.mark.parametrize(
        "told",
        [None, climate(basis="typed"), climate(first=("10-03", "10-15")), climate(last=("04-20",))],
        ids=["no record", "typed dates count", "no 90 % date", "one date"],
    )
    def test_nothing_is_invented(self, told: SiteClimate | None) -> None:
        assert chances_of(told) is None

    def test_it_is_the_share_of_made_up_winters(self) -> None:
        """Second method: counting 4000 drawn winters, a quarter without frost; to 3 hundredths on every tenth day."""
        draw = random.Random(7)
        winters = [(draw.uniform(60, 100), draw.uniform(230, 270)) for _ in range(3000)]
        firsts = FreezeDays(Side.FIRST, NORTH, tuple(sorted(round(a) for a, _ in winters)), 4000)
        lasts = FreezeDays(Side.LAST, NORTH, tuple(sorted(round(b) for _, b in winters)), 4000)
        dates = [[str(side.date(percent)) for percent in (10, 50, 90)] for side in (firsts, lasts)]
        found = chances_of(climate(*dates, chance="75"))
        assert found is not None
        for at in range(0, 365, 10):
            counted = sum(first <= at <= last for first, last in winters) / 4000
            assert found.on(date(2026, 8, 1) + timedelta(days=at)) == pytest.approx(counted, abs=0.03)

    @given(st.floats(-400, 400), st.floats(-400, 400))
    def test_a_share_rises_and_stays_between_none_and_all(self, one: float, other: float) -> None:
        curve = ((-3.0, 0.0), (0.0, 0.1), (12.0, 0.5), (12.0, 0.9), (20.0, 1.0))
        low, high = (share_at(curve, at) for at in sorted((one, other)))
        assert 0.0 <= low <= high <= 1.0

    @pytest.mark.parametrize("at", [float("nan"), float("inf"), -1e9])
    def test_an_impossible_day_is_refused(self, at: float) -> None:
        with pytest.raises(RatingError):
            share_at(((0.0, 0.0), (1.0, 1.0)), at)

    @pytest.mark.parametrize("season", [2026, 2027])
    def test_a_week_is_taken_on_its_fourth_day(self, season: int) -> None:
        found = chances_of(climate())
        assert found is not None
        shares = week_shares(SeasonWeeks.of(season, N_LAT), found)
        assert len(shares) == WEEKS
        assert shares[9] == found.on(date(season, 10, 6))  # the week of 3 October
        assert max(shares) == 1.0
        assert shares[0] == shares[-1] == 0.0


def item(state: DueState, opens: str, due: str, planned: str, **more: Any) -> DueItem:
    days = [date.fromisoformat(each) for each in (opens, due, planned)]
    fields = {"tower": "HOS-1", "checklist": "fall-enable", "ordinal": 1} | more
    return DueItem(site="HOS", season=2026, opens=days[0], due=days[1], planned=days[2], state=state, **fields)


WEEKS_2026 = SeasonWeeks.of(2026, N_LAT)
WINDOW = ("2026-08-20", "2026-10-01", "2026-09-10")


class TestMarks:
    """One mark a visit; a second one where an overdue visit is planned again."""

    @pytest.mark.parametrize(
        ("state", "with_", "found"),
        [
            (DueState.UPCOMING, "", [(5, Sign.UPCOMING)]),
            (DueState.OPEN, "", [(5, Sign.OPEN)]),
            (DueState.OPEN, "Mirel at 07:30", [(5, Sign.PLANNED)]),
            (DueState.UPCOMING, "Mirel at 07:30", [(5, Sign.PLANNED)]),
            (DueState.OVERDUE, "", [(8, Sign.OVERDUE)]),
            (DueState.OVERDUE, "Mirel at 07:30", [(8, Sign.OVERDUE), (5, Sign.PLANNED)]),
            (DueState.DONE, "", [(5, Sign.DONE)]),
            (DueState.DONE, "Mirel at 07:30", [(5, Sign.DONE)]),
            (DueState.DROPPED, "", [(5, Sign.DROPPED)]),
        ],
    )
    def test_what_each_state_shows_in_which_week(
        self, state: DueState, with_: str, found: list[tuple[int, Sign]]
    ) -> None:
        """Week 5 holds 10 September, day 40; week 8 holds 1 October, day 61."""
        made = list(marks([item(state, *WINDOW, planned_with=with_)], WEEKS_2026))
        assert [(mark.week, mark.sign) for mark in made] == found

    def test_of_several_in_a_week_the_most_pressing_shows(self) -> None:
        one = item(DueState.DONE, *WINDOW)
        for first, second in pairwise(PRESSING):
            assert shown([Mark(3, second, one), Mark(3, first, one)]) == {3: first}
        assert shown([Mark(3, Sign.DONE, one), Mark(4, Sign.OPEN, one)]) == {3: Sign.DONE, 4: Sign.OPEN}

    def test_a_window_stands_once_and_one_of_the_season_before_not_at_all(self) -> None:
        old = item(DueState.OVERDUE, "2026-05-01", "2026-06-10", "2026-05-01", checklist="spring-disable")
        ours = [item(DueState.OPEN, *WINDOW), item(DueState.DONE, *WINDOW, tower="HOS-2"), old]
        assert spans(ours, WEEKS_2026) == (Span(2, 8, "fall-enable"),)
        assert [mark.week for mark in marks([old], WEEKS_2026)] == [0]

    def test_what_is_dropped_is_not_asked_for(self) -> None:
        each = [item(state, *WINDOW, checklist=f"kind {state}") for state in DueState]
        assert count(each) == Count(asked=4, done=1, due_now=1, overdue=1)

    def test_a_missed_month_that_a_later_one_replaced_is_not_to_be_done_twice(self) -> None:
        """As `to_do`, which the other boards count by: one visit now is all that can be done about three months."""
        months = [item(DueState.OVERDUE, *WINDOW, checklist="mid-winter", ordinal=n) for n in (1, 2, 3)]
        last = item(DueState.OPEN, *WINDOW, checklist="mid-winter", ordinal=4)
        assert count(months) == Count(asked=3, done=0, due_now=0, overdue=1)
        assert count([*months, last]) == Count(asked=4, done=0, due_now=1, overdue=0)
