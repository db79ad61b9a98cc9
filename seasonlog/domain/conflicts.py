"""Answers that contradict each other because two devices wrote them without seeing each other. Pure.

Both are kept. A conflict is told until a supervisor decides it by an entry that names both, or until a later answer
that knew of one of them is decided between the same way. Entries come in causal order, the same on every device.
"""

from collections.abc import Iterable, Mapping
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
    """Answers to one step of one visit none of which knew of the others."""

    visit: str
    tower: str
    step: str
    about: str
    """Uid of the answer that both correct; empty when both are first answers."""
    answers: tuple[Answer, ...]
    """At least two, in causal order."""


def conflicts(answers: Iterable[Answer]) -> tuple[Conflict, ...]:
    """The conflicts nobody has decided yet, in the order in which they arose.

    Args:
        answers: Every answer (entries of kind step_answered), in causal order.
    """
    kept: dict[tuple[str, str, str], dict[str, Answer]] = {}
    decided: list[frozenset[str]] = []
    for answer in answers:
        body = answer.body
        if body.get("decides"):
            decided.append(frozenset(body["decides"]))
        elif not body.get("retest"):
            kept.setdefault((body["visit"], body["step"], body.get("corrects", "")), {}).setdefault(answer.uid, answer)
    found = (_conflict(key, tuple(group.values()), decided) for key, group in kept.items() if len(group) > 1)
    return tuple(conflict for conflict in found if conflict is not None)


def _conflict(
    key: tuple[str, str, str], group: tuple[Answer, ...], decided: Iterable[frozenset[str]]
) -> Conflict | None:
    """None when one decision names them all, or when all say the same."""
    uids = frozenset(answer.uid for answer in group)
    same = len({(str(a.body["value"]), a.body["verdict"]) for a in group}) == 1
    if same or any(uids <= names for names in decided):
        return None
    visit, step, about = key
    return Conflict(visit, str(group[0].body["tower"]), step, about, group)
