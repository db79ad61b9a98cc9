"""Answers that contradict each other because two devices gave them without knowing of each other.

Both are kept. A conflict is told until a supervisor decides it by an entry that names all of them.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from seasonlog.domain.plain_words import chosen
from seasonlog.domain.units_shown import ON_SCREEN, in_units


@dataclass(frozen=True, slots=True)
class Answer:
    """The part of an answer that a conflict is about."""

    uid: str
    dev: str
    who: str
    wall_ms: int
    body: Mapping[str, Any]

    @property
    def says(self) -> str:
        """The verdict in words."""
        return str(self.body["says"])

    def value_in(self, units: str, signs: tuple[str, str] = ON_SCREEN) -> str:
        """What was answered, as people of a site read it; a person's own words as they stand."""
        value, unit = self.body["value"], self.body["unit"]
        told = value if isinstance(value, str) else " / ".join(value)
        return in_units(f"{told} {unit}", units, signs) if unit else chosen(told, self.says)

    def says_in(self, units: str, signs: tuple[str, str] = ON_SCREEN) -> str:
        """The verdict in words, as people of a site read it."""
        return in_units(self.says, units, signs)


@dataclass(frozen=True, slots=True)
class Conflict:
    """Answers to one step of one visit, given in parallel."""

    visit: str
    tower: str
    step: str
    answers: tuple[Answer, ...]
    """At least two, in causal order."""
    units: str = "us"
    """Units that people at the tower's site read."""

    @property
    def contradicts(self) -> bool:
        """Whether they differ at all: two devices that wrote the same leave nothing to decide."""
        return len({(str(a.body["value"]), str(a.body["verdict"])) for a in self.answers}) > 1
