"""Answers that contradict each other because two devices gave them without knowing of each other.

Both are kept. A conflict is told until a supervisor decides it by an entry that names all of them.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any


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


@dataclass(frozen=True, slots=True)
class Conflict:
    """Answers to one step of one visit, given in parallel."""

    visit: str
    tower: str
    step: str
    answers: tuple[Answer, ...]
    """At least two, in causal order."""

    @property
    def contradicts(self) -> bool:
        """Whether they differ at all: two devices that wrote the same leave nothing to decide."""
        return len({(str(a.body["value"]), str(a.body["verdict"])) for a in self.answers}) > 1
