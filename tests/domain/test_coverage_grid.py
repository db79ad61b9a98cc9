"""A cell's state over random windows and visits: the short way of most cells, and what must hold of every cell."""

from dataclasses import dataclass
from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from seasonlog.domain.coverage_cells import CellKey, CellState
from seasonlog.domain.coverage_grid import Asked, AskedVisit, any_cell, cell

KEY, START = CellKey("HOS-1", "mid-winter", 2026), date(2026, 8, 1)
days = st.integers(0, 300).map(lambda n: START + timedelta(days=n))


@dataclass(frozen=True)
class Made:
    ordinal: int
    visit: str
    state: str
    day: str
    who: str = "Mirel Oduvane"


@st.composite
def windows(draw: st.DrawFn) -> list[AskedVisit]:
    found = []
    for ordinal in range(1, draw(st.integers(0, 4)) + 1):
        opens = draw(days)
        due = opens + timedelta(days=draw(st.integers(0, 40)))
        found.append(AskedVisit(ordinal, opens, due, draw(st.sampled_from(("", "", "", "drained")))))
    return found


states = st.sampled_from(("complete", "complete", "complete", "open", "not_possible"))
visits = st.lists(st.builds(Made, st.integers(1, 5), st.uuids().map(str), states, days.map(str)), max_size=5).map(
    lambda found: sorted(found, key=lambda v: (v.ordinal, v.day))
)
rules = st.sampled_from(((), (), (), ("steps_proven",)))


@given(windows(), visits, days, rules)
def test_both_ways_give_the_same_cell(
    asked: list[AskedVisit], made: list[Made], on: date, broken: tuple[str, ...]
) -> None:
    told = Asked(asked, on)
    assert cell(KEY, told, made, lambda _: broken) == any_cell(KEY, told, made, lambda _: broken)


@given(windows(), visits, days, rules)
def test_what_holds_of_every_cell(asked: list[AskedVisit], made: list[Made], on: date, broken: tuple[str, ...]) -> None:
    """Counted again by plain loops over windows and visits."""
    found = cell(KEY, Asked(asked, on), made, lambda _: broken)
    complete = {v.ordinal for v in made if v.state == "complete"}
    stands = [w for w in asked if not w.dropped]
    assert found.made == len(complete)
    assert found.missing == sum(1 for w in stands if on > w.due and w.ordinal not in complete)
    assert found.asked == sum(1 for w in stands if w.opens <= on or w.ordinal in complete)
    assert found.visits == tuple(v.visit for v in made)
    assert found.broken == (broken if complete else ())
    assert (found.state is CellState.MISSING) == (found.missing > 0)
    assert found.words
    if found.state is CellState.DONE:
        assert found.made >= found.asked
        assert not (found.broken)
        assert not (found.late)
    if found.state is CellState.NOT_ASKED:
        assert not asked
        assert not complete
