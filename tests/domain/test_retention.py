"""How long a record must be kept at least, over random schedules (NFPA 25 4.3 as a yardstick)."""

from datetime import date

from hypothesis import given
from hypothesis import strategies as st

from seasonlog.domain.retention import PINNED, keep_until

days = st.dates(date(1990, 1, 1), date(2100, 12, 31))


@given(days, st.lists(days, max_size=20))
def test_a_test_is_kept_for_a_year_after_the_next_one_of_its_kind(day: date, others: list[date]) -> None:
    later = sorted(each for each in others if each > day)
    found = keep_until("fall", day, [day, *others])
    if not later:
        assert found.until is None
        assert "not made yet" in found.words
        return
    following = later[0]
    assert found.until is not None
    assert found.until > day
    assert (found.until.year, found.until.month) == (following.year + 1, following.month)
    assert found.until.day in (following.day, 28)
    assert str(found.until) in found.words


@given(days, days, st.lists(days, max_size=20))
def test_one_more_visit_never_shortens_what_an_earlier_one_leaves_open(
    day: date, new: date, others: list[date]
) -> None:
    """Only the next one of its kind decides: later ones change nothing."""
    before, after = keep_until("winter", day, others), keep_until("winter", day, [*others, new])
    first = min((each for each in others if each > day), default=date.max)
    assert before == after or new < first


@given(days, st.lists(days, max_size=20))
def test_commissioning_is_kept_for_the_life_of_the_tower(day: date, others: list[date]) -> None:
    found = keep_until(PINNED, day, others)
    assert found.until is None
    assert found.words.startswith("for the life of the tower")
