"""Windows from a record's cautious dates, and cold snaps: counted by hand on a calendar, in both hemispheres."""

from datetime import date, timedelta
from decimal import Decimal
from itertools import pairwise

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from seasonlog.calc import freeze_windows
from seasonlog.calc.freeze_windows import Frost, Stretch
from seasonlog.calc.season_days import NORTH, SOUTH, MonthDay, SeasonCalendar
from seasonlog.domain.due_state import DueState
from seasonlog.domain.season import (
    COLD_SNAP,
    FALL_ENABLE,
    MID_WINTER,
    SPRING_DISABLE,
    SiteFrost,
    freeze_dates,
    windows,
)
from seasonlog.domain.season_due import ColdSnap, DueHistory, DueItem, DueKey, ModeChange, settles, to_do
from seasonlog.domain.season_items import due_items
from tests.domain.season_samples import register, site, southern_site, tower

COLDEST = Stretch(MonthDay(1, 13), MonthDay(2, 11), 14.8)
RECORD = SiteFrost(Frost(NORTH, 32.0, MonthDay(10, 3), MonthDay(5, 11)), COLDEST, "own record of NOWHERE")
"""NCEI normals 1991-2020 of Albany at 32 degF: 10 % dates 3 October and 11 May."""


def test_fall_enable_and_spring_disable_lie_around_the_ten_percent_dates() -> None:
    """14 days before 3 October; from the day after 11 May, 42 days long (common practice, no source)."""
    fall, *_, spring = windows(site(), 2026, frost=RECORD)
    assert (fall.checklist, fall.opens, fall.due) == (FALL_ENABLE, date(2026, 8, 8), date(2026, 9, 19))
    assert (spring.checklist, spring.opens, spring.due) == (SPRING_DISABLE, date(2027, 5, 12), date(2027, 6, 23))
    assert freeze_dates(site(), 2026, RECORD) == (date(2026, 10, 3), date(2027, 5, 11))


def test_every_window_says_why_and_from_whom() -> None:
    found = windows(site(), 2026, frost=RECORD)
    assert found[0].reason == (
        "14 days before the first freeze at 32 degF on the 10 % date, 3 October: in one season of 10 that freeze it "
        "comes by then (own record of NOWHERE)"
    )
    assert all(each.reason.endswith("(own record of NOWHERE)") for each in found)
    assert all(each.reason.endswith("as typed for the site") for each in windows(site(), 2026)[:-1])


def test_a_site_may_want_a_longer_lead_and_never_gets_a_shorter_one() -> None:
    """Typed dates keep 21 days, a record's 14, unless the site asks for more; 120 days are the most."""
    for asks, record_lead, typed_lead in ((10, 14, 21), (18, 18, 21), (30, 30, 30), (5000, 120, 120)):
        own = site(tighten={"enable_lead_days": Decimal(asks)})
        assert windows(own, 2026, frost=RECORD)[0].due == date(2026, 10, 3) - timedelta(days=record_lead)
        typed = windows(own, 2026)[0]
        assert typed.due == date(2026, 10, 24) - timedelta(days=typed_lead)
        assert typed.due - typed.opens == timedelta(days=35)


def test_monthly_visits_and_one_before_the_coldest_days() -> None:
    """Marks every thirty days from 3 October; 1 January is 12 days before 13 January: that month's own is this one."""
    checks = [each for each in windows(site(), 2026, frost=RECORD) if each.checklist == MID_WINTER]
    assert [each.ordinal for each in checks] == list(range(1, 8))
    assert [(each.opens, each.due) for each in checks[:4]] == [
        (date(2026, 10, 26), date(2026, 11, 9)), (date(2026, 11, 25), date(2026, 12, 9)),
        (date(2027, 1, 6), date(2027, 1, 13)), (date(2027, 1, 24), date(2027, 2, 7)),
    ]  # fmt: skip
    assert "13 January to 11 February are the coldest days" in checks[2].reason
    assert checks[-1].due <= date(2027, 5, 11)


def test_a_month_that_is_not_beside_the_coldest_days_keeps_its_own_visit() -> None:
    """Coldest from 16 January, 15 days after the mark of 1 January and before that of 31 January: one visit more."""
    apart = SiteFrost(RECORD.frost, Stretch(MonthDay(1, 16), MonthDay(2, 14), 14.0), "x")
    checks = [each for each in windows(site(), 2026, frost=apart) if each.checklist == MID_WINTER]
    assert [each.due for each in checks[2:5]] == [date(2027, 1, 8), date(2027, 1, 16), date(2027, 2, 7)]
    outside = SiteFrost(RECORD.frost, Stretch(MonthDay(9, 1), MonthDay(9, 30), 50.0), "x")
    assert len(windows(site(), 2026, frost=outside)) == len(
        windows(site(), 2026, frost=SiteFrost(RECORD.frost, None, "x"))
    )


def test_a_southern_record() -> None:
    """First freeze 18 April, last 21 October, season 2026; the windows lie in one calendar year."""
    south = SiteFrost(Frost(SOUTH, 36.0, MonthDay(4, 18), MonthDay(10, 21)), None, "x")
    fall, *checks, spring = windows(southern_site(), 2026, frost=south)
    assert (fall.due, spring.opens) == (date(2026, 4, 4), date(2026, 10, 22))
    assert {each.due.year for each in (fall, *checks, spring)} == {2026}
    assert "at 36 degF" in fall.reason


def test_a_record_of_the_other_half_of_the_earth_does_not_count() -> None:
    """The latitude's sign was corrected after the import: the typed dates stand until it is imported again."""
    assert windows(southern_site(), 2026, frost=RECORD) == windows(southern_site(), 2026)
    assert freeze_dates(southern_site(), 2026, RECORD) == freeze_dates(southern_site(), 2026)


@given(st.integers(1990, 2100), st.integers(0, 360), st.integers(15, 364), st.integers(0, 335), st.booleans())
def test_every_window_of_a_record_holds_together(season: int, first: int, last: int, cold: int, is_south: bool) -> None:
    assume(last > first and not (first < 14 and last >= 351))
    calendar: SeasonCalendar = SOUTH if is_south else NORTH
    stretch = Stretch(calendar.month_day(cold), calendar.month_day(cold + 29), 10.0)
    frost = SiteFrost(Frost(calendar, 32.0, calendar.month_day(first), calendar.month_day(last)), stretch, "x")
    found = windows(southern_site() if is_south else site(), season, frost=frost)
    assert all(each.opens <= each.planned <= each.due for each in found)
    checks = [each for each in found if each.checklist == MID_WINTER]
    assert [each.ordinal for each in checks] == list(range(1, len(checks) + 1))
    assert all(earlier.due < later.opens for earlier, later in pairwise(checks))
    assert found[0].due < freeze_dates(southern_site() if is_south else site(), season, frost).first < found[-1].opens


def test_the_windows_are_those_of_the_calculation() -> None:
    """Second method: `calc.freeze_windows` counts on a calendar without leap days; the same days in a common year."""
    worked = freeze_windows.windows(RECORD.frost, RECORD.coldest)
    ours = windows(site(), 2026, frost=RECORD)
    for mine, other in ((ours[0], worked[0]), (ours[-1], worked[-1])):
        assert [f"{day:%m-%d}" for day in (mine.opens, mine.due)] == [str(other.opens), str(other.due)]


# Cold snaps

SNAP = ColdSnap(2026, 1, date(2026, 12, 5), date(2026, 12, 7), date(2026, 11, 28), "8 degF forecast")
KEY = DueKey("HOS-1", COLD_SNAP, 2026, 1)


def listed(on: date, *snaps: ColdSnap, **history: object) -> dict[DueKey, DueItem]:
    known = DueHistory(snaps={"LAKE": snaps or [SNAP]}, **history)  # type: ignore[arg-type]
    winter = str(history.pop("winter", "heated_basin"))
    return {item.key: item for item in due_items(register(site(), tower(winter=winter)), on, known)}


@pytest.mark.parametrize(
    ("on", "state"), [(date(2026, 11, 28), "open"), (date(2026, 12, 4), "open"), (date(2026, 12, 7), "overdue")]
)
def test_a_cold_snap_is_due_the_day_before_its_first_night(on: date, state: str) -> None:
    item = listed(on)[KEY]
    assert (item.opens, item.due, item.state.value) == (date(2026, 11, 28), date(2026, 12, 4), state)
    assert item.why == item.reason == "8 degF forecast"
    assert item in to_do(listed(on).values())


def test_a_night_that_is_tonight_is_due_today() -> None:
    late = SNAP._replace(raised=date(2026, 12, 5))
    assert listed(date(2026, 12, 5), late)[KEY].due == date(2026, 12, 5)


def test_a_check_nobody_made_lapses_with_its_nights_and_one_made_stays() -> None:
    assert KEY not in listed(date(2026, 12, 8))
    done = listed(date(2027, 2, 1), done={KEY: date(2026, 12, 4)})
    assert done[KEY].state is DueState.DONE
    assert listed(date(2027, 2, 1), dropped={KEY: "shut down"})[KEY].state is DueState.DROPPED


def test_a_drained_tower_is_not_asked_and_one_wet_by_then_is() -> None:
    dry = DueHistory(snaps={"LAKE": [SNAP]})
    assert KEY not in {i.key for i in due_items(register(site(), tower(winter="drained")), date(2026, 12, 1), dry)}
    wet = DueHistory(snaps={"LAKE": [SNAP]}, mode_changes={"HOS-1": [ModeChange(date(2026, 12, 1), "run_wet")]})
    assert KEY in {i.key for i in due_items(register(site(), tower(winter="drained")), date(2026, 12, 1), wet)}


def test_a_visit_made_settles_the_cold_snap_that_is_asked() -> None:
    assert settles(listed(date(2026, 12, 1)).values(), "HOS-1", COLD_SNAP, date(2026, 12, 1)) == KEY
    assert settles(listed(date(2026, 11, 27)).values(), "HOS-1", COLD_SNAP, date(2026, 11, 27)) is None


def test_other_sites_and_other_seasons_are_not_asked() -> None:
    assert KEY not in {i.key for i in due_items(register(southern_site(), tower(site="HILL")), date(2026, 12, 1),
                                                DueHistory(snaps={"LAKE": [SNAP]}))}  # fmt: skip
    assert KEY not in listed(date(2026, 12, 1), SNAP._replace(season=2025))
