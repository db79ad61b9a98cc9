"""The freeze season and its windows, in both hemispheres.

Held against the calendar's own arithmetic and against the NCEI climate normals 1991-2020 (published freeze dates of 17
stations) and the GHCN-Daily records of two of them, where those files lie beside the checkout.
"""

import csv
from datetime import date, timedelta
from decimal import Decimal
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seasonlog.domain.season import (
    FALL_ENABLE,
    MID_WINTER,
    SPRING_DISABLE,
    WindowRules,
    freeze_dates,
    place,
    season_bounds,
    season_name,
    season_of,
    windows,
    working_day,
)
from tests.domain.season_samples import site, southern_site

CLIMATE = Path(__file__).parents[3] / "shared" / "data" / "climate"
NORTH, SOUTH = Decimal("41.9"), Decimal("-42.9")
DAYS = st.dates(date(1950, 1, 1), date(2150, 12, 31))
LATITUDES = st.sampled_from([NORTH, SOUTH, Decimal(0)])


def climate_rows(name: str) -> list[dict[str, str]]:
    path = CLIMATE / name
    if not path.exists():
        pytest.skip(f"climate data is not beside the checkout: {name}")
    with path.open(encoding="utf-8") as lines:
        return list(csv.DictReader(lines))


@pytest.mark.parametrize(
    ("on", "latitude_deg", "season"),
    [
        (date(2026, 7, 31), NORTH, 2025),
        (date(2026, 8, 1), NORTH, 2026),
        (date(2026, 12, 31), NORTH, 2026),
        (date(2027, 1, 1), NORTH, 2026),
        (date(2027, 1, 31), SOUTH, 2026),
        (date(2027, 2, 1), SOUTH, 2027),
        (date(2026, 12, 31), SOUTH, 2026),
        (date(2026, 7, 31), Decimal(0), 2025),
    ],
)
def test_a_day_belongs_to_the_winter_around_it(on: date, latitude_deg: Decimal, season: int) -> None:
    assert season_of(on, latitude_deg) == season


@given(DAYS, LATITUDES)
def test_every_day_lies_in_its_season_and_in_no_other(on: date, latitude_deg: Decimal) -> None:
    season = season_of(on, latitude_deg)
    first, last = season_bounds(season, latitude_deg)
    assert first <= on <= last
    assert season_bounds(season + 1, latitude_deg)[0] == last + timedelta(days=1)


@pytest.mark.parametrize(
    ("season", "latitude_deg", "days"), [(2026, NORTH, 365), (2027, NORTH, 366), (2027, SOUTH, 365), (2028, SOUTH, 366)]
)
def test_a_season_has_the_days_of_its_year(season: int, latitude_deg: Decimal, days: int) -> None:
    """29 February 2028 falls into the northern season of 2027 and the southern one of 2028 (Gregorian calendar)."""
    first, last = season_bounds(season, latitude_deg)
    assert (last - first).days + 1 == days


@given(DAYS, LATITUDES)
def test_a_day_of_the_year_comes_back_to_its_own_place(on: date, latitude_deg: Decimal) -> None:
    expected = on - timedelta(days=1) if (on.month, on.day) == (2, 29) else on
    assert place(f"{on:%m-%d}", season_of(on, latitude_deg), latitude_deg) == expected


def test_the_leap_day_is_the_28th_in_every_year() -> None:
    assert place("02-29", 2026, NORTH) == date(2027, 2, 28)
    assert place("02-29", 2027, NORTH) == date(2028, 2, 28)
    assert place("02-29", 2028, SOUTH) == date(2028, 2, 28)


@pytest.mark.parametrize("text", ["13-01", "02-30", "00-10", "", "october"])
def test_what_is_no_day_of_the_year_is_refused(text: str) -> None:
    with pytest.raises(ValueError):  # noqa: PT011  (date and int say it in their own words)
        place(text, 2026, NORTH)


def test_freeze_dates_stand_in_the_right_years() -> None:
    assert freeze_dates(site(), 2026) == (date(2026, 10, 24), date(2027, 4, 20))
    assert freeze_dates(southern_site(), 2026) == (date(2026, 5, 20), date(2026, 9, 30))
    assert freeze_dates(site(first_freeze="01-05", last_freeze="02-10"), 2026) == (date(2027, 1, 5), date(2027, 2, 10))
    assert freeze_dates(southern_site(last_freeze="01-02"), 2026).last == date(2027, 1, 2)


def test_a_season_is_called_as_people_call_it() -> None:
    assert season_name(2026, NORTH) == "winter 2026/27"
    assert season_name(2099, NORTH) == "winter 2099/00"
    assert season_name(2026, SOUTH) == "winter 2026"


def test_windows_of_a_northern_season() -> None:
    """First freeze 24 October: due three weeks before it. Counted by hand on a calendar."""
    fall, *monthly, spring = windows(site(), 2026)
    assert fall[:5] == (FALL_ENABLE, 1, date(2026, 8, 29), date(2026, 10, 3), date(2026, 9, 15))
    assert fall.reason == "21 days before the usual first freeze, 24 October, as typed for the site"
    assert [(each.checklist, each.ordinal) for each in monthly] == [(MID_WINTER, n) for n in range(1, 6)]
    assert [each.opens + timedelta(days=7) for each in monthly] == [
        date(2026, 11, 24), date(2026, 12, 24), date(2027, 1, 24), date(2027, 2, 24), date(2027, 3, 24),
    ]  # fmt: skip
    assert spring[:5] == (SPRING_DISABLE, 1, date(2027, 5, 11), date(2027, 6, 22), date(2027, 5, 11))


def test_windows_of_a_southern_season() -> None:
    fall, *monthly, spring = windows(southern_site(), 2026)
    assert (fall.opens, fall.due) == (date(2026, 3, 25), date(2026, 4, 29))
    assert [each.opens + timedelta(days=7) for each in monthly] == [date(2026, m, 20) for m in (6, 7, 8, 9)]
    assert (spring.opens, spring.due) == (date(2026, 10, 21), date(2026, 12, 2))


def test_the_31st_comes_back_after_a_short_month() -> None:
    monthly = windows(site(first_freeze="10-31", last_freeze="04-30"), 2027)[1:-1]
    marks = [each.opens + timedelta(days=7) for each in monthly]
    assert marks == [
        date(2027, 11, 30), date(2027, 12, 31), date(2028, 1, 31), date(2028, 2, 29), date(2028, 3, 31),
        date(2028, 4, 30),
    ]  # fmt: skip


def test_no_monthly_visit_is_due_after_the_last_freeze() -> None:
    monthly = windows(site(last_freeze="04-25"), 2026)[1:-1]
    assert monthly[-1].due == date(2027, 4, 25)


def test_swapped_or_close_freeze_dates_give_no_monthly_visit() -> None:
    for dates in ({"first_freeze": "12-20", "last_freeze": "01-10"}, {"first_freeze": "04-20", "last_freeze": "10-24"}):
        assert [each.checklist for each in windows(site(**dates), 2026)] == [FALL_ENABLE, SPRING_DISABLE]


@given(
    st.integers(1990, 2100),
    st.dates(date(2023, 1, 1), date(2023, 12, 31)),
    st.dates(date(2023, 1, 1), date(2023, 12, 31)),
)
def test_every_window_holds_together(season: int, first: date, last: date) -> None:
    for a_site in (site, southern_site):
        found = windows(a_site(first_freeze=f"{first:%m-%d}", last_freeze=f"{last:%m-%d}"), season)
        assert all(each.opens <= each.planned <= each.due for each in found)
        monthly = [each for each in found if each.checklist == MID_WINTER]
        marks = [each.opens + timedelta(days=7) for each in monthly]
        assert len({(mark.year, mark.month) for mark in marks}) == len(marks)
        assert all(earlier.due < later.opens for earlier, later in pairwise(monthly))


def test_visits_are_planned_for_working_days() -> None:
    wide = (date(2026, 1, 1), date(2026, 12, 31))
    assert working_day(date(2026, 10, 2), *wide) == date(2026, 10, 2)  # a Friday
    assert working_day(date(2026, 10, 3), *wide) == date(2026, 10, 5)
    assert working_day(date(2026, 10, 4), *wide) == date(2026, 10, 5)
    assert working_day(date(2026, 10, 4), date(2026, 10, 1), date(2026, 10, 4)) == date(2026, 10, 2)
    assert working_day(date(2026, 10, 4), date(2026, 10, 3), date(2026, 10, 4)) == date(2026, 10, 4)


def test_published_freeze_dates_stand_in_season_order() -> None:
    """NCEI normals 1991-2020: at every station, threshold and probability the first freeze precedes the last one."""
    pairs = [
        (row[f"first{rest}"], row[f"last{rest}"])
        for row in climate_rows("published-freeze-dates-1991-2020.csv")
        for rest in ("32_P50", "32_P10", "24_P50", "24_P10")
    ]
    assert len(pairs) == 68
    for first, last in pairs:
        freezes = freeze_dates(site(first_freeze=first.replace("/", "-"), last_freeze=last.replace("/", "-")), 2026)
        assert date(2026, 8, 1) <= freezes.first < freezes.last <= date(2027, 7, 31)


def test_three_weeks_lead_beats_the_freeze_that_comes_early_once_in_ten_years() -> None:
    """NCEI normals: a fall enable due by the median first freeze less the lead is done before the 10 % date."""
    for row in climate_rows("published-freeze-dates-1991-2020.csv"):
        usual = {
            "first_freeze": row["first32_P50"].replace("/", "-"),
            "last_freeze": row["last32_P50"].replace("/", "-"),
        }
        fall, *_, spring = windows(site(**usual), 2026)
        assert fall.due < place(row["first32_P10"].replace("/", "-"), 2026, NORTH), row["name"]
        late = place(row["last32_P10"].replace("/", "-"), 2026, NORTH)
        assert late - spring.opens <= timedelta(days=1), row["name"]  # Salt Lake City: 22 days after the median


def test_the_seasons_of_the_daily_record_are_ours() -> None:
    """GHCN-Daily, Albany and New York: first and last freezes grouped by August-July seasons outside this project."""
    rows = climate_rows("first-last-by-season.csv")
    days = [
        (date.fromisoformat(row[end]), int(row["season_start_year"]))
        for row in rows
        for end in ("first_fall", "last_spring")
        if row[end]
    ]
    assert len(days) > 500
    assert all(season_of(day, NORTH) == season for day, season in days)


def test_the_rules_can_be_changed() -> None:
    fall = windows(site(), 2026, WindowRules(enable_opens_days=30, enable_lead_days=0))[0]
    assert (fall.opens, fall.due) == (date(2026, 9, 24), date(2026, 10, 24))
