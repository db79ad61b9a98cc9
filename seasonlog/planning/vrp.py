"""A better plan in some seconds: PyVRP in a process of its own, every job optional and worth a prize.

Because every job may be left out, the answer is always legal; because a prize is worth more than any detour, a job is
left out only where nothing else was found. Where PyVRP is missing, fails or finds nothing better, the greedy plan
stands.
"""

import importlib.util
import json
import subprocess
import sys
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from seasonlog.planning import vrp_problem
from seasonlog.planning.greedy import Weights, greedy
from seasonlog.planning.measure import Size, size
from seasonlog.planning.model import Instance, Plan
from seasonlog.planning.reasons import reasons
from seasonlog.planning.room import make_room
from seasonlog.planning.routes import Roster

CHILD = Path(__file__).with_name("vrp_child.py")
NOT_INSTALLED = (
    "PyVRP is not installed, so this is the simple plan: what is due next and near goes first. "
    "A plan with less driving needs the extra: pip install 'seasonlog[plan]'."
)
_MOST_SECONDS = 3600.0
_WEIGHTINGS = tuple(Weights(per_day_left=days) for days in (5.0, 10.0, 20.0, 40.0))


@dataclass(frozen=True, slots=True)
class Progress:
    """How far the search is."""

    seconds: float
    left_out: int
    travel_minutes: int


@dataclass(frozen=True, slots=True)
class Improved:
    """A plan and how it was come by."""

    plan: Plan
    by: str
    """`pyvrp` or `greedy`."""
    says: str
    """One sentence for the person who plans."""


class _SolverError(Exception):
    """The solver's process did not answer as it should; carries its last words."""


def is_installed() -> bool:
    """Whether PyVRP can be imported; it is not imported for that."""
    return importlib.util.find_spec("pyvrp") is not None


def improve(
    instance: Instance, seconds: float, seed: int = 1, on_progress: Callable[[Progress], object] | None = None
) -> Improved:
    """The best plan found within some seconds, never worse than the greedy one.

    Args:
        instance: Days, people, jobs and places.
        seconds: How long to search; starting the solver's process comes on top, about a second.
        seed: Of the search. The same seed gives a like plan, not the same: the search ends by the clock.
        on_progress: Called about twice a second; an error in it ends the search and is passed on.

    Returns:
        A plan that breaks no hard rule, and who made it.
    """
    simple = _squeezed(instance, best_greedy(instance))
    if not is_installed():
        return Improved(simple, "greedy", NOT_INSTALLED)
    try:
        found = _solved(instance, simple, min(max(seconds, 0.0), _MOST_SECONDS), seed, on_progress)
    except _SolverError as problem:
        return Improved(simple, "greedy", f"The solver could not be used ({problem}), so this is the simple plan.")
    before, after = size(instance, simple), size(instance, found)
    if after >= before:
        return Improved(simple, "greedy", f"Nothing better than the simple plan was found in {seconds:g} seconds.")
    return Improved(found, "pyvrp", _says(before, after))


def _squeezed(instance: Instance, plan: Plan) -> Plan:
    """A plan with room made for what it leaves out."""
    roster = Roster.of(instance, plan)
    left_out = {left.job for left in plan.left_out}
    homeless = make_room(roster, [job for job in instance.jobs if job.id in left_out])
    return roster.plan(reasons(roster, homeless))


def best_greedy(instance: Instance) -> Plan:
    """The best of a few weightings of the greedy plan."""
    return min((greedy(instance, weights) for weights in _WEIGHTINGS), key=lambda plan: size(instance, plan))


def _says(before: Size, after: Size) -> str:
    return (
        f"Left out: {after.left_out}; on the road: {after.travel_minutes / 60:.0f} h. "
        f"The simple plan leaves out {before.left_out} and drives {before.travel_minutes / 60:.0f} h."
    )


def _solved(
    instance: Instance, simple: Plan, seconds: float, seed: int, on_progress: Callable[[Progress], object] | None
) -> Plan:
    """The solver's routes on our own timetable; what it left out is tried once more."""
    roster = Roster(instance)
    problem = vrp_problem.build(roster, simple)
    answer = _run({**problem.document, "seconds": seconds, "seed": seed}, on_progress) if problem.jobs else {}
    try:
        homeless = problem.fill(roster, answer.get("routes", []))
    except (LookupError, TypeError) as unexpected:
        raise _SolverError("its answer cannot be read") from unexpected
    return roster.plan(reasons(roster, make_room(roster, homeless)))


def _run(document: dict[str, Any], on_progress: Callable[[Progress], object] | None) -> dict[str, Any]:
    """The solver's answer; its process is ended whatever happens here."""
    command = [sys.executable, "-P", str(CHILD)]
    with tempfile.TemporaryFile("w+") as task, tempfile.TemporaryFile("w+") as complaints:
        json.dump(document, task)
        task.seek(0)
        child = subprocess.Popen(command, stdin=task, stdout=subprocess.PIPE, stderr=complaints, text=True)  # noqa: S603
        try:
            answer = _listened(child, on_progress)
        finally:
            child.kill()
            child.communicate()
        if answer is None:
            complaints.seek(0)
            raise _SolverError((complaints.read().strip().splitlines() or ["it ended without an answer"])[-1])
        return answer


def _listened(
    child: "subprocess.Popen[str]", on_progress: Callable[[Progress], object] | None
) -> dict[str, Any] | None:
    for line in child.stdout or ():
        said = _document(line)
        if "routes" in said:
            return said
        if on_progress and "left_out" in said:
            on_progress(Progress(said["seconds"], said["left_out"], said["travel_minutes"]))
    return None


def _document(line: str) -> dict[str, Any]:
    """One line of the solver; what is not one of its documents is no news."""
    try:
        said = json.loads(line)
    except ValueError:
        return {}
    return said if isinstance(said, dict) else {}
