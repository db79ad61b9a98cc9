"""What is due on which tower: states, words, what is carried over and what a changed winter mode asks for."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seasonlog.domain.due_state import DueState
from seasonlog.domain.season import FALL_ENABLE, MID_WINTER, SPRING_DISABLE
from seasonlog.domain.season_due import DueHistory, DueItem, DueKey, ModeChange, due_words, mode_on, settles, to_do
from seasonlog.domain.season_items import due_items
from tests.domain.season_samples import register, site, southern_site, tower

# The sample site: first freeze 24 October, last 20 April. Fall enable 29 August to 3 October, monthly on the 24th,
# spring disable 11 May to 22 June.
FALL = DueKey("HOS-1", FALL_ENABLE, 2026, 1)
SPRING = DueKey("HOS-1", SPRING_DISABLE, 2026, 1)


def month(ordinal: int) -> DueKey:
    return DueKey("HOS-1", MID_WINTER, 2026, ordinal)


def listed(on: date, history: DueHistory | None = None, **changes: object) -> dict[DueKey, DueItem]:
    items = due_items(register(site(), tower(**changes)), on, history)
    found = {item.key: item for item in items}
    assert len(found) == len(items)
    return found


def states(on: date, history: DueHistory | None = None, **changes: object) -> dict[DueKey, str]:
    return {key: item.state.value for key, item in listed(on, history, **changes).items()}


@pytest.mark.parametrize(
    ("on", "state", "words"),
    [
        (date(2026, 8, 28), "upcoming", "opens 2026-08-29, in 1 day; due by 2026-10-03"),
        (date(2026, 8, 29), "open", "due by 2026-10-03, 35 days left"),
        (date(2026, 9, 21), "open", "due by 2026-10-03, 12 days left"),
        (date(2026, 10, 2), "open", "due by 2026-10-03, 1 day left"),
        (date(2026, 10, 3), "open", "due today, 2026-10-03"),
        (date(2026, 10, 6), "overdue", "overdue by 3 days"),
    ],
)
def test_a_fall_enable_through_its_window(on: date, state: str, words: str) -> None:
    item = listed(on)[FALL]
    assert (item.state.value, due_words(item, on)) == (state, words)


def test_a_whole_season_is_listed_the_one_due_first_first() -> None:
    items = due_items(register(site(), tower()), date(2026, 11, 1))
    assert [item.key for item in items] == [FALL, *(month(n) for n in range(1, 6)), SPRING]
    assert [item.due for item in items] == sorted(item.due for item in items)
    assert {item.site for item in items} == {"LAKE"}


def test_what_was_done_is_done_on_its_day() -> None:
    item = listed(date(2026, 12, 1), DueHistory(done={FALL: date(2026, 9, 28)}))[FALL]
    assert (item.state, item.planned) == (DueState.DONE, date(2026, 9, 28))
    assert due_words(item, date(2026, 12, 1)) == "done 2026-09-28"


def test_what_was_dropped_says_why() -> None:
    item = listed(date(2026, 12, 1), DueHistory(dropped={FALL: "tower sold"}))[FALL]
    assert item.state is DueState.DROPPED
    assert due_words(item, date(2026, 12, 1)) == "dropped: tower sold"


def test_a_visit_both_done_and_dropped_is_done() -> None:
    history = DueHistory(done={FALL: date(2026, 9, 28)}, dropped={FALL: "no access"})
    assert listed(date(2026, 12, 1), history)[FALL].state is DueState.DONE


def test_moving_a_visit_never_moves_its_last_sensible_day() -> None:
    history = DueHistory(moved={FALL: date(2026, 10, 20)})
    item = listed(date(2026, 10, 6), history)[FALL]
    assert (item.due, item.planned, item.state) == (date(2026, 10, 3), date(2026, 10, 20), DueState.OVERDUE)
    expected = "overdue by 3 days; planned for 2026-10-20, 17 days after the last sensible day"
    assert due_words(item, date(2026, 10, 6)) == expected


def test_a_visit_moved_ahead_of_its_window_opens_with_it() -> None:
    item = listed(date(2026, 8, 15), DueHistory(moved={FALL: date(2026, 8, 14)}))[FALL]
    assert (item.opens, item.state) == (date(2026, 8, 14), DueState.OPEN)


@pytest.mark.parametrize("mode", ["heated_basin", "remote_sump", "run_wet"])
def test_every_wet_tower_is_verified_monthly(mode: str) -> None:
    assert sum(key.checklist == MID_WINTER for key in states(date(2026, 11, 1), winter=mode)) == 5


def test_a_drained_tower_has_proof_of_drained_and_a_spring_disable() -> None:
    assert set(states(date(2026, 11, 1), winter="drained")) == {FALL, SPRING}


def test_a_fall_enable_nobody_made_lapses_with_its_season() -> None:
    assert states(date(2027, 7, 31))[FALL] == "overdue"
    assert {key.season for key in states(date(2027, 8, 1))} == {2026, 2027}
    assert FALL not in states(date(2027, 8, 1))
    assert not [key for key in states(date(2027, 8, 1)) if key.season == 2026 and key != SPRING]


def test_a_heater_left_on_is_carried_over_until_it_is_wanted_again() -> None:
    assert states(date(2027, 8, 28))[SPRING] == "overdue"
    assert SPRING not in states(date(2027, 8, 29))
    assert SPRING not in states(date(2027, 8, 5), DueHistory(done={SPRING: date(2027, 5, 20)}))
    enabled = DueHistory(done={FALL._replace(season=2027): date(2027, 8, 3)})
    assert SPRING not in states(date(2027, 8, 5), enabled)


def test_a_window_that_opens_before_its_season_begins_is_listed_when_it_opens() -> None:
    """A mountain site: first freeze 5 September, so the fall enable opens on 11 July of the season before."""
    high = register(site(first_freeze="09-05"), tower())
    ahead = FALL._replace(season=2027)
    assert ahead not in {item.key for item in due_items(high, date(2027, 7, 10))}
    assert {item.key: item.state.value for item in due_items(high, date(2027, 7, 11))}[ahead] == "open"


def test_a_southern_season_crosses_no_new_year() -> None:
    southern = register(southern_site(), tower(site="HILL"))
    assert {item.season for item in due_items(southern, date(2026, 3, 1))} == {2025, 2026}
    assert {item.season for item in due_items(southern, date(2027, 1, 31))} == {2026}
    fall = next(item for item in due_items(southern, date(2026, 4, 1)) if item.key == FALL)
    assert (fall.state, fall.due) == (DueState.OPEN, date(2026, 4, 29))


def changed(*changes: tuple[date, str], **history: object) -> DueHistory:
    return DueHistory(mode_changes={"HOS-1": [ModeChange(*each) for each in changes]}, **history)  # type: ignore[arg-type]


def test_wet_again_in_mid_winter_makes_the_fall_enable_due_at_once() -> None:
    """A drained tower proven drained in fall, taken into use on 5 December."""
    history = changed((date(2026, 12, 5), "heated_basin"), done={FALL: date(2026, 9, 28)})
    items = listed(date(2026, 12, 6), history, winter="drained")
    again = items[FALL._replace(ordinal=2)]
    assert items[FALL].state is DueState.DONE
    assert (again.opens, again.due, again.state) == (date(2026, 12, 5), date(2026, 12, 5), DueState.OVERDUE)
    assert again.why == "winter mode changed to heated basin on 2026-12-05"
    assert month(1) not in items
    assert {month(2), month(3), month(4), month(5)} <= set(items)


def test_a_change_before_the_visit_was_made_makes_it_due_at_once() -> None:
    item = listed(date(2026, 9, 10), changed((date(2026, 9, 10), "run_wet")))[FALL]
    assert (item.due, item.state) == (date(2026, 9, 10), DueState.OPEN)
    assert listed(date(2026, 9, 11), changed((date(2026, 9, 10), "run_wet")))[FALL].state is DueState.OVERDUE


def test_a_change_before_the_window_or_after_the_winter_asks_nothing_extra() -> None:
    for day in (date(2026, 8, 10), date(2025, 12, 1), date(2027, 4, 21)):
        items = listed(date(2027, 5, 1), changed((day, "run_wet"), done={}))
        assert items[FALL].due == date(2026, 10, 3)
        assert FALL._replace(ordinal=2) not in items


def test_a_change_after_the_last_freeze_asks_for_no_second_fall_enable() -> None:
    again = FALL._replace(ordinal=2)
    for day, is_asked in ((date(2027, 4, 20), True), (date(2027, 4, 21), False)):
        history = changed((day, "run_wet"), done={FALL: date(2026, 9, 28)})
        assert (again in listed(date(2027, 5, 1), history)) is is_asked


def test_a_change_on_the_day_of_the_visit_was_made_before_it() -> None:
    done = {FALL: date(2026, 12, 5)}
    assert FALL._replace(ordinal=2) not in states(date(2026, 12, 6), changed((date(2026, 12, 5), "run_wet"), done=done))


def test_each_later_change_asks_again() -> None:
    again = FALL._replace(ordinal=2)
    changes = (date(2026, 11, 1), "drained"), (date(2027, 1, 10), "heated_basin")
    done = {FALL: date(2026, 9, 28), again: date(2026, 11, 3)}
    found = states(date(2027, 1, 10), changed(*changes, done=done))
    assert [found[FALL._replace(ordinal=n)] for n in (1, 2, 3)] == ["done", "done", "open"]


def test_a_dropped_fall_enable_comes_back_with_a_changed_mode() -> None:
    history = changed((date(2026, 12, 5), "heated_basin"), dropped={FALL: "stands empty"})
    found = states(date(2026, 12, 5), history, winter="drained")
    assert (found[FALL], found[FALL._replace(ordinal=2)]) == ("dropped", "open")


def test_drained_in_mid_winter_takes_back_the_monthly_visits_to_come() -> None:
    history = changed((date(2026, 12, 5), "drained"), done={FALL: date(2026, 9, 28), month(1): date(2026, 11, 24)})
    found = listed(date(2026, 12, 6), history)
    assert [found[month(n)].state.value for n in range(1, 6)] == ["done"] + ["dropped"] * 4
    assert found[month(3)].why == "the tower is drained"


def test_a_visit_made_stays_listed_when_the_freeze_dates_change() -> None:
    """The sixth month exists no more after the site's last freeze was corrected; its visit was made all the same."""
    sixth, cold_snap = month(6), DueKey("HOS-1", "cold-snap", 2026, 1)
    found = listed(date(2027, 5, 1), DueHistory(done={sixth: date(2027, 4, 23), cold_snap: date(2027, 1, 3)}))
    assert (found[sixth].state, found[sixth].planned) == (DueState.DONE, date(2027, 4, 23))
    assert cold_snap not in found


def test_the_mode_of_a_day_is_the_last_one_set() -> None:
    changes = [ModeChange(date(2027, 1, 10), "run_wet"), ModeChange(date(2026, 11, 1), "drained")]
    days = date(2026, 10, 31), date(2026, 11, 1), date(2027, 1, 9), date(2027, 1, 10)
    assert [mode_on(tower(), changes, day) for day in days] == ["heated_basin", "drained", "drained", "run_wet"]


@pytest.mark.parametrize(
    ("on", "checklist", "settled"),
    [
        (date(2026, 8, 1), FALL_ENABLE, FALL),
        (date(2026, 12, 1), FALL_ENABLE, FALL),
        (date(2026, 11, 10), MID_WINTER, None),
        (date(2026, 11, 17), MID_WINTER, month(1)),
        (date(2027, 1, 28), MID_WINTER, month(3)),
        (date(2027, 4, 9), SPRING_DISABLE, None),
        (date(2027, 4, 10), SPRING_DISABLE, SPRING),
        (date(2027, 8, 10), SPRING_DISABLE, SPRING),
        (date(2026, 12, 1), "commissioning", None),
    ],
)
def test_a_finished_visit_settles_the_one_that_is_due(on: date, checklist: str, settled: DueKey | None) -> None:
    assert settles(listed(on).values(), "HOS-1", checklist, on) == settled
    assert settles(listed(on).values(), "HOS-2", checklist, on) is None


def test_of_several_missed_months_only_the_latest_is_to_do() -> None:
    assert [item.key for item in to_do(listed(date(2027, 2, 20)).values())] == [FALL, month(4)]
    assert [item.key for item in to_do(listed(date(2026, 9, 1)).values())] == [FALL]


def test_a_month_dropped_in_its_time_asks_for_no_earlier_one_and_one_dropped_beforehand_does() -> None:
    """The fourth month may be made from 17 February on; a drop before that day takes nothing else with it."""
    settled = DueHistory(done={FALL: date(2026, 9, 28)}, dropped={month(4): "no access"})
    assert listed(date(2027, 2, 20))[month(4)].opens == date(2027, 2, 17)
    for on, asked in ((date(2027, 2, 16), [month(3)]), (date(2027, 2, 17), []), (date(2027, 2, 20), [])):
        assert [item.key for item in to_do(listed(on, settled).values())] == asked
    assert [item.key for item in to_do(listed(date(2027, 3, 10), settled).values())] == []


def test_missed_months_are_not_asked_for_once_a_later_month_was_made() -> None:
    """They stay overdue in the list of the season; a second visit days after the month's own proves nothing more."""
    made = DueHistory(done={FALL: date(2026, 9, 28), month(3): date(2027, 1, 24)})
    on = date(2027, 2, 10)
    assert [listed(on, made)[month(n)].state for n in (1, 2)] == [DueState.OVERDUE] * 2
    assert {item.checklist for item in to_do(listed(on, made).values())} == set()
    assert [item.key for item in to_do(listed(date(2027, 3, 10), made).values())] == [month(4)]


@given(st.dates(date(2026, 1, 1), date(2029, 12, 31)), st.booleans())
def test_states_follow_the_days(on: date, is_south: bool) -> None:
    where = southern_site() if is_south else site()
    for item in due_items(register(where, tower(site=where.id)), on):
        expected = "upcoming" if on < item.opens else "open" if on <= item.due else "overdue"
        assert item.state.value == expected
        assert abs(item.due - on) < timedelta(days=560)
