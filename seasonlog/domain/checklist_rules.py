"""How the steps of one checklist fit together: ids, gates, variants. Every problem is found, none stops the search."""

from collections.abc import Iterator, Sequence

from seasonlog.domain.checklist import Step
from seasonlog.domain.condition import excludes
from seasonlog.domain.register_items import nearest
from seasonlog.domain.register_values import shown
from seasonlog.errors import Problem

Placed = tuple[Step, int]
"""A step and the line it stands on."""


def problems_between(steps: Sequence[Placed], name: str) -> list[Problem]:
    """What is wrong between the steps of a checklist.

    Args:
        steps: Each step with its line; steps without a usable id have an empty one.
        name: File name, for the problems' places.
    """
    found = [*_repeated(steps), *_unknown_gates(steps), *_circles(steps)]
    return [Problem(f"{name}, line {line}, step {step.id}{key}", says) for (step, line), key, says in found]


def never_together(one: Step, other: Step) -> bool:
    """Whether the conditions of two steps show that no target is ever asked both."""
    return any(excludes(a, b) for a in one.only_if for b in other.only_if)


def _repeated(steps: Sequence[Placed]) -> Iterator[tuple[Placed, str, str]]:
    """Each step that clashes with an earlier one of its id, told once: by the first it clashes with."""
    before: dict[str, list[Placed]] = {}
    for placed in (s for s in steps if s[0].id):
        earlier = before.setdefault(placed[0].id, [])
        clash = next((says for one in earlier if (says := _clash(one, placed[0]))), "")
        if clash:
            yield placed, "", clash
        earlier.append(placed)


def _clash(earlier: Placed, step: Step) -> str:
    one, line = earlier
    if one.per != step.per:
        return f"stands on line {line} too, asked per {one.per}; variants share their per"
    if not never_together(one, step):
        return f"stands on line {line} too; give it another id, or conditions that can never both be true"
    return ""


def _unknown_gates(steps: Sequence[Placed]) -> Iterator[tuple[Placed, str, str]]:
    ids = sorted({step.id for step, _ in steps if step.id})
    for placed in steps:
        for key in ("after", "after_pass"):
            for gate in getattr(placed[0], key):
                if gate not in ids:
                    yield (
                        placed,
                        f", key {key}",
                        f"waits for {shown(gate)}, but no step has that id; {nearest(gate, ids)}",
                    )


def _circles(steps: Sequence[Placed]) -> Iterator[tuple[Placed, str, str]]:
    at: dict[str, Placed] = {}
    for step, line in steps:
        at.setdefault(step.id, (step, line))
    waits: dict[str, set[str]] = {step_id: set() for step_id in at}
    for step, _ in steps:
        waits[step.id] |= {gate for gate in (*step.after, *step.after_pass) if gate in at}
    while _drop_free(waits):
        circle = _circle_in(waits)
        words = " waits for ".join([*circle, circle[0]])
        yield at[circle[0]], ", key after", f"can never be answered: {words}"
        for step_id in circle:
            del waits[step_id]


def _drop_free(waits: dict[str, set[str]]) -> bool:
    """Take out every step that can be answered at last; tell whether some are left."""
    while free := [step_id for step_id, gates in waits.items() if not gates & waits.keys()]:
        for step_id in free:
            del waits[step_id]
    return bool(waits)


def _circle_in(waits: dict[str, set[str]]) -> list[str]:
    walked = [next(iter(waits))]
    while True:
        following = sorted(waits[walked[-1]] & waits.keys())[0]
        if following in walked:
            return walked[walked.index(following) :]
        walked.append(following)
