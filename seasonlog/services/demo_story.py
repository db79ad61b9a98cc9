"""The story of the demonstration, read from `sample_sites/history`: who did what when, and what went wrong."""

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, fields
from typing import Any, TypeVar

from seasonlog import resources
from seasonlog.domain.answers import Raw

FORMAT = 1
WHOLE, BRIEF = "story.toml", "brief.toml"
"""Several winters, and one fall for whoever is in a hurry."""
_T = TypeVar("_T")


@dataclass(frozen=True, slots=True)
class When:
    """A day: `days` after the visit it follows, or a day of a season."""

    season: int = 0
    """0: the newest one whose fall enable is over; -1: the one before."""
    day: str = ""
    """MM-DD."""
    days: int = 0


@dataclass(frozen=True, slots=True)
class Act:
    """Something that is done, other than a visit."""

    do: str
    """One of `demo_acts.ACTS`."""
    when: When
    by: str
    """Empty: whoever made the visit it follows, else the supervisor."""
    says: Mapping[str, Any]
    """The other keys."""


@dataclass(frozen=True, slots=True)
class VisitTold:
    """One visit that was not as usual."""

    tower: str
    checklist: str
    season: int = 0
    number: int = 1
    """Which of its kind in the season; 0: every one of them that is not told on its own."""
    what: str = ""
    """Told while it is made, after the tower."""
    by: str = ""
    late_days: int = 0
    """So many days after its last sensible day."""
    day: str = ""
    """MM-DD, of a visit that no window asks for."""
    days_ago: int = 0
    """Before the day the demonstration is made."""
    missed: bool = False
    answers: Mapping[str, Raw] = field(default_factory=dict)
    """Step key to what was read, where that is not as usual."""
    instruments: Mapping[str, str] = field(default_factory=dict)
    """Kind to id, where it is not the usual one."""
    ends: str = "complete"
    because: str = ""
    received_by: str = ""
    words: str = ""
    paper_days: int = 0
    """Written on paper, and entered so many days later."""
    entered_by: str = ""
    then: Sequence[Act] = ()
    """What followed."""


@dataclass(frozen=True, slots=True)
class Join:
    """From when a site, or some of its towers, stand in the record."""

    site: str
    season: int
    day: str
    towers: Sequence[str] = ()
    """All of the site when empty."""


@dataclass(frozen=True, slots=True)
class Drop:
    """Visits of a season that are dropped with a reason, as their windows open."""

    site: str
    season: int
    checklist: str
    because: str


@dataclass(frozen=True, slots=True)
class Course:
    """How a reading of one tower changes over the years."""

    tower: str
    step: str
    values: Sequence[str] = ()
    """What is read, visit by visit."""
    percent_a_year: float = 0.0
    """Or: by how much the usual reading moves."""


@dataclass(frozen=True, slots=True)
class Story:
    """The whole of it."""

    seed: str
    """Of the scatter of the readings."""
    routine: bool
    """Every visit that a window asks for is made, unless told otherwise; else only those that are told."""
    supervisor: str
    customers: Mapping[str, str]
    """Site to who receives a visit."""
    technicians: Mapping[str, str]
    """Site to who makes its visits."""
    typical: Mapping[str, float]
    """Quantity to a usual reading, where its limit has no other end."""
    climate: Mapping[str, str]
    """Site to its weather record, a file of `sample_sites`."""
    joins: Sequence[Join]
    drops: Sequence[Drop]
    visits: Sequence[VisitTold]
    courses: Sequence[Course]
    acts: Sequence[Act]


def story(name: str) -> Story:
    """The story of a file.

    Raises:
        ValueError: the file that comes with the program is wrong; a test sees to it that it is not.
    """
    told = tomllib.loads((resources.sample_sites() / "history" / name).read_text("utf-8"))
    if told["format"] != FORMAT:
        raise ValueError(f"{name}: format {told['format']} is not known")
    return Story(
        seed=told["seed"],
        routine=told["routine"],
        supervisor=told["supervisor"],
        customers=told["customers"],
        technicians=told["technicians"],
        typical=told["typical"],
        climate=told.get("climate", {}),
        joins=[_made(Join, each) for each in told["join"]],
        drops=[_made(Drop, each) for each in told.get("drop", [])],
        visits=[_visit(each) for each in told["visit"]],
        courses=[_made(Course, each) for each in told.get("course", [])],
        acts=[_act(each) for each in told.get("act", [])],
    )


def _made(of: type[_T], item: Mapping[str, Any]) -> _T:
    known = {each.name for each in fields(of)}  # type: ignore[arg-type]
    if not item.keys() <= known:
        raise ValueError(f"{item}: {', '.join(sorted(item.keys() - known))} is not known")
    return of(**item)


def _visit(item: Mapping[str, Any]) -> VisitTold:
    given = item.get("answers", {})
    answers = {key: tuple(raw) if isinstance(raw, list) else raw for key, raw in given.items()}
    return _made(VisitTold, {**item, "answers": answers, "then": [_act(each) for each in item.get("then", [])]})


def _act(item: Mapping[str, Any]) -> Act:
    when = {each.name: item[each.name] for each in fields(When) if each.name in item}
    rest = {key: value for key, value in item.items() if key not in (*when, "do", "by")}
    return Act(item["do"], When(**when), item.get("by", ""), rest)
