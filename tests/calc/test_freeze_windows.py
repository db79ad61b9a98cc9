"""From freeze dates to windows: the days that follow, each with its reason, north and south."""

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seasonlog.calc.freeze_chances import is_at_both_ends
from seasonlog.calc.freeze_dates import Record
from seasonlog.calc.freeze_windows import (
    DISABLE_OPEN_DAYS,
    ENABLE_LEAD_DAYS,
    ENABLE_OPEN_DAYS,
    Frost,
    Stretch,
    Visit,
    Window,
    coldest_stretch,
    windows,
)  # fmt: skip
from seasonlog.calc.season_days import NORTH, SOUTH, MonthDay, SeasonCalendar
from seasonlog.errors import RatingError
from tests.calc.climate_files import PLACES, record_of

ALBANY = Frost(NORTH, 32, MonthDay(10, 3), MonthDay(5, 11))
"""NCEI normals 1991-2020, 10 % dates at 32 degF."""
COLDEST = Stretch(MonthDay(1, 13), MonthDay(2, 11), 14.8)


def of(found: list[Window], visit: Visit) -> list[Window]:
    return [each for each in found if each.visit is visit]


def test_the_fall_enable_is_done_before_the_early_first_freeze() -> None:
    """Albany's published 3 October less 14 days, worked on the calendar: 19 September."""
    (enable,) = of(windows(ALBANY), Visit.FALL_ENABLE)
    assert enable.due == MonthDay(9, 19)
    assert date(2026, 9, 19) - timedelta(days=ENABLE_OPEN_DAYS) == date(2026, *enable.opens)
    assert "14 days before the first freeze at 32 degF on the 10 % date, 3 October" in enable.reason
    assert "in one season of 10" in enable.reason


@pytest.mark.parametrize(("lead", "due"), [(0, (10, 3)), (7, (9, 26)), (21, (9, 12)), (120, (6, 5))])
def test_the_lead_can_be_chosen(lead: int, due: tuple[int, int]) -> None:
    """Days counted on the calendar."""
    assert windows(ALBANY, None, lead)[0].due == MonthDay(*due)


def test_the_spring_disable_waits_for_the_late_last_freeze() -> None:
    (disable,) = of(windows(ALBANY), Visit.SPRING_DISABLE)
    assert disable.opens == MonthDay(5, 12)
    assert date(2027, 5, 12) + timedelta(days=DISABLE_OPEN_DAYS) == date(2027, *disable.due)
    assert "on the 10 % date, 11 May" in disable.reason
    assert "look at the forecast" in disable.reason


def test_a_check_each_month_of_frost() -> None:
    """3 October to 11 May is 220 days: seven checks, 30 days apart, each in its week."""
    checks = of(windows(ALBANY), Visit.MID_WINTER)
    assert [str(each.due) for each in checks] == ["11-02", "12-02", "01-01", "01-31", "03-02", "04-01", "05-01"]
    assert all(NORTH.number(each.due) - NORTH.number(each.opens) == 7 for each in checks)


def test_a_check_before_the_coldest_stretch() -> None:
    found = windows(ALBANY, COLDEST)
    (check,) = of(found, Visit.COLDEST)
    assert (str(check.opens), str(check.due)) == ("01-06", "01-13")
    assert "13 January to 11 February" in check.reason
    assert "14.8 degF" in check.reason
    assert len(windows(ALBANY)) == len(found) - 1


def test_windows_come_in_the_order_of_the_season() -> None:
    found = windows(ALBANY, COLDEST)
    numbers = [NORTH.number(each.due) for each in found]
    assert numbers == sorted(numbers)
    assert (found[0].visit, found[-1].visit) == (Visit.FALL_ENABLE, Visit.SPRING_DISABLE)


def test_36_degf_is_earlier_and_later() -> None:
    """The first 36 degF day comes before the first 32 degF day; the window with it."""
    wide = windows(Frost(NORTH, 36, MonthDay(9, 23), MonthDay(5, 25)))
    assert NORTH.number(wide[0].due) < NORTH.number(windows(ALBANY)[0].due)
    assert "36 degF" in wide[0].reason


@pytest.mark.parametrize(("first", "last", "is_refused"), [(13, 351, True), (14, 351, False), (13, 350, False)])
def test_frost_at_both_ends_of_the_season_is_no_season(first: int, last: int, is_refused: bool) -> None:
    """Two weeks at either end, counted."""
    frost = Frost(NORTH, 36, NORTH.month_day(first), NORTH.month_day(last))
    if is_refused:
        with pytest.raises(RatingError, match="at both ends of the season"):
            windows(frost)
    else:
        assert windows(frost)


@given(st.integers(0, 364), st.integers(0, 364), st.integers(0, 120))
def test_the_south_is_the_north_half_a_year_later(first: int, last: int, lead: int) -> None:
    """The same days of the season give the same windows, counted in days of the season."""
    first, last = sorted((first, last))
    if is_at_both_ends(first, last):
        with pytest.raises(RatingError, match="at both ends of the season"):
            windows(Frost(NORTH, 32, NORTH.month_day(first), NORTH.month_day(last)))
        return
    made = [
        windows(Frost(each, 32, each.month_day(first), each.month_day(last)), None, lead) for each in (NORTH, SOUTH)
    ]
    for north, south in zip(*made, strict=True):
        assert (north.visit, NORTH.number(north.due)) == (south.visit, SOUTH.number(south.due))
    due = NORTH.number(made[0][0].due)
    assert (first - due) % 365 == lead


class TestColdestStretch:
    @pytest.mark.parametrize("calendar", [NORTH, SOUTH], ids=["north", "south"])
    def test_a_made_up_winter(self, calendar: SeasonCalendar) -> None:
        """Days 160 to 189 at 5 degF in a year at 40: found to the day, mean exact."""
        lowest = {}
        for season in (2001, 2002, 2003):
            day, end = calendar.bounds(season)
            while day <= end:
                lowest[day] = 5.0 if 160 <= calendar.number(day) < 190 else 40.0
                day += timedelta(days=1)
        found = coldest_stretch(Record(lowest, calendar), range(2001, 2004))
        assert found == Stretch(calendar.month_day(160), calendar.month_day(189), 5.0)

    @pytest.mark.parametrize("place", PLACES, ids=[each.short for each in PLACES])
    def test_open_records_by_a_plain_second_count(self, shared: Path, place: object) -> None:
        """Mean of every 30-day stretch, counted anew day by day: no stretch is colder; it lies around January."""
        chosen = next(each for each in PLACES if each is place)
        record = record_of(shared, chosen)
        found = coldest_stretch(record, chosen.seasons)
        by_day: dict[int, list[float]] = {}
        for day, low in record.lowest.items():
            if NORTH.season_of(day) in chosen.seasons:
                by_day.setdefault(NORTH.number(day), []).append(low)
        mean = {number: sum(lows) / len(lows) for number, lows in by_day.items()}
        stretches = [sum(mean[at + each] for each in range(30)) / 30 for at in range(336)]
        assert found.mean_degf == pytest.approx(min(stretches), abs=1e-9)
        assert found.begins.month in (12, 1)
        assert (NORTH.number(found.ends) - NORTH.number(found.begins)) == 29

    def test_a_day_that_is_never_told(self) -> None:
        with pytest.raises(RatingError, match="no season tells the lowest temperature of 1 August"):
            coldest_stretch(Record({date(2001, 8, 2): 50.0}, NORTH), [2001])

    @pytest.mark.parametrize("days", [0, -1, 181, float("nan")])
    def test_impossible_lengths(self, days: int) -> None:
        with pytest.raises(RatingError, match="length of the stretch"):
            coldest_stretch(Record({}, NORTH), [2001], days)


@pytest.mark.parametrize("lead", [-1, 121, float("nan"), float("inf")])
def test_impossible_leads(lead: int) -> None:
    with pytest.raises(RatingError, match="days before the first freeze"):
        windows(ALBANY, None, lead)


def test_swapped_dates_or_the_wrong_half_of_the_earth() -> None:
    with pytest.raises(RatingError, match="swapped or the latitude has the wrong sign"):
        windows(replace(ALBANY, calendar=SOUTH))
    with pytest.raises(RatingError, match="swapped"):
        windows(replace(ALBANY, first=ALBANY.last, last=ALBANY.first))


@pytest.mark.parametrize("bad", [MonthDay(2, 30), MonthDay(0, 0)])
def test_dates_that_are_none(bad: MonthDay) -> None:
    with pytest.raises(RatingError, match="there is no day"):
        windows(replace(ALBANY, first=bad))


def test_the_default_lead_is_two_weeks() -> None:
    assert ENABLE_LEAD_DAYS == 14
