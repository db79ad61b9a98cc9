"""How one cell of the coverage table comes to its state, from the windows that were asked and the visits made. Pure."""

from collections.abc import Callable, Collection, Sequence
from datetime import date
from typing import NamedTuple, Protocol, TypeVar

from seasonlog.domain.coverage_cells import Cell, CellKey, CellState
from seasonlog.domain.visit import VisitState

_COMPLETE = str(VisitState.COMPLETE)
_NEVER = "9999"
"""After every last sensible day."""


class AskedVisit(NamedTuple):
    """One visit that a window, a cold snap or a change of winter mode asked for."""

    ordinal: int
    opens: date
    due: date
    """Last sensible day."""
    dropped: str = ""
    """Why it was dropped; empty while it stands."""
    reason: str = ""
    """Why the window lies where it lies, in words."""


class Asked:
    """What was asked of one checklist in a season, told for a day; towers of one site share it."""

    __slots__ = ("due", "opened", "over", "visits")

    def __init__(self, visits: Sequence[AskedVisit], on: date) -> None:
        standing = [each for each in visits if not each.dropped]
        self.visits = tuple(visits)
        self.due = {each.ordinal: each.due.isoformat() for each in standing}
        """Ordinal to the last sensible day of what was not dropped."""
        self.opened = frozenset(each.ordinal for each in standing if each.opens <= on)
        self.over = tuple(each.ordinal for each in standing if each.due < on)
        """Ordinals whose last sensible day is over."""


class VisitMade(Protocol):
    """What a cell wants to know of a visit."""

    @property
    def ordinal(self) -> int:
        """Which visit of its kind in the season."""
        ...

    @property
    def visit(self) -> str:
        """Its id."""
        ...

    @property
    def state(self) -> str:
        """`open`, `complete`, `incomplete` or `not_possible`."""
        ...

    @property
    def day(self) -> str:
        """The local day, YYYY-MM-DD."""
        ...

    @property
    def who(self) -> str:
        """Who did it."""
        ...


Made = TypeVar("Made", bound=VisitMade)


def cell(key: CellKey, asked: Asked, visits: Sequence[Made], broken_of: Callable[[Made], tuple[str, ...]]) -> Cell:
    """One cell.

    Args:
        key: Which.
        asked: What was asked.
        visits: What was made of it, by ordinal, then oldest first.
        broken_of: Names of the rules that a visit signed off as complete breaks.
    """
    if len(visits) == 1 == len(asked.due) and visits[0].state == _COMPLETE and visits[0].ordinal in asked.due:
        return _only(key, asked.due[visits[0].ordinal], visits[0], broken_of(visits[0]))
    return any_cell(key, asked, visits, broken_of)


def _only(key: CellKey, due: str, visit: VisitMade, broken: tuple[str, ...]) -> Cell:
    """One visit asked for and made, as most cells are."""
    is_late = visit.day > due
    state = CellState.AMISS if broken else CellState.LATE if is_late else CellState.DONE
    words = f"made {visit.day} by {visit.who}"
    return Cell(*key, state, 1, 1, int(is_late), 0, broken, (visit.visit,), words)


def any_cell(key: CellKey, asked: Asked, visits: Sequence[Made], broken_of: Callable[[Made], tuple[str, ...]]) -> Cell:
    """The same for any number of windows and visits."""
    done = {visit.ordinal: visit for visit in visits if visit.state == _COMPLETE}
    missing = [ordinal for ordinal in asked.over if ordinal not in done]
    due, late = asked.due, 0
    broken: tuple[str, ...] = ()
    for ordinal, visit in done.items():
        late += visit.day > due.get(ordinal, _NEVER)
        broken += broken_of(visit)
    begun = len(asked.opened)
    if not done.keys() <= asked.opened:
        begun += len(due.keys() & (done.keys() - asked.opened))
    counted = _Counted(begun, len(done), late, len(missing))
    state = _state(counted, broken, asked)
    words = _words(state, counted, asked, visits, missing)
    ids = tuple([visit.visit for visit in visits])
    rules = tuple(dict.fromkeys(broken)) if broken else ()
    return Cell(*key, state, begun, len(done), late, len(missing), rules, ids, words)


class _Counted(NamedTuple):
    asked: int
    made: int
    late: int
    missing: int


def _state(counted: _Counted, broken: Collection[str], asked: Asked) -> CellState:
    if counted.missing:
        return CellState.MISSING
    if broken:
        return CellState.AMISS
    if counted.late:
        return CellState.LATE
    if counted.made < counted.asked:
        return CellState.DUE
    if counted.made:
        return CellState.DONE
    if asked.due:
        return CellState.COMING
    return CellState.DROPPED if asked.visits else CellState.NOT_ASKED


def _words(
    state: CellState, counted: _Counted, asked: Asked, visits: Sequence[VisitMade], missing: Sequence[int]
) -> str:
    if state is CellState.MISSING:
        return _missing_words(counted, asked.due[missing[0]], visits)
    if state is CellState.DROPPED:
        return f"dropped: {asked.visits[0].dropped}"
    if state is CellState.COMING:
        return f"opens {min(each.opens for each in asked.visits if not each.dropped)}"
    if state is CellState.DUE and counted.asked == 1:
        return f"due by {min(asked.due.values())}{_attempt(visits)}"
    if counted.asked > 1 or counted.made > 1:
        late = f", {counted.late} late" if counted.late else ""
        return f"{counted.made} of {max(counted.asked, counted.made)} made{late}"
    last = next((visit for visit in reversed(visits) if visit.state == _COMPLETE), None)
    return "not asked" if last is None else f"made {last.day} by {last.who}"


def _missing_words(counted: _Counted, first: str, visits: Sequence[VisitMade]) -> str:
    if counted.asked == 1:
        return f"was due by {first}{_attempt(visits) or ', no visit'}"
    return f"{counted.missing} of {counted.asked} missing, the first was due by {first}"


def _attempt(visits: Sequence[VisitMade]) -> str:
    """What became of a visit that was not signed off."""
    if not visits or visits[-1].state == _COMPLETE:
        return ""
    last = visits[-1]
    words = "started and left open" if last.state == VisitState.OPEN else f"closed as {last.state.replace('_', ' ')}"
    return f", {words} on {last.day}"
