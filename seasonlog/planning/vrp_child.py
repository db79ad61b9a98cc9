"""The solver's own process: one JSON document in, lines of progress and one answer out. Needs PyVRP, nothing of ours.

Run as a file, so that PyVRP and what it pulls in never load into the process a person is working in.
"""

import json
import sys
import time
from importlib import import_module
from typing import Any

PROGRESS_SECONDS = 0.5
MOST_PERTURBATIONS = 10
"""Clients shaken at a time. Of 5, 10, 25 (the solver's own) and 50, measured best on two seasons of 500 in 20 s."""


def main() -> None:
    """Solve what stands on stdin; every line on stdout is one JSON document."""
    problem = json.load(sys.stdin)
    data = _data(problem)
    watch = _Watch(problem["seconds"])
    best = _solve(data, watch, problem)
    say({"routes": _routes(best), "iterations": watch.iterations})


def say(document: dict[str, Any]) -> None:
    """One line to whoever started this process."""
    sys.stdout.write(json.dumps(document) + "\n")
    sys.stdout.flush()


class _Watch:
    """Stops the search after some seconds, and tells now and then how far it is."""

    def __init__(self, seconds: float) -> None:
        self._seconds = seconds
        self._start = self._said = time.perf_counter()
        self.iterations = 0

    def __call__(self, best_cost: int) -> bool:
        """Whether to stop; the solver asks at every iteration."""
        self.iterations += 1
        return time.perf_counter() - self._start > self._seconds

    def tell(self, best: Any) -> None:
        """One line of progress, unless one was just written."""
        now = time.perf_counter()
        if now - self._said >= PROGRESS_SECONDS and best.is_feasible():
            self._said = now
            travel, left_out = best.distance(), len(best.unplanned())
            say({"seconds": now - self._start, "left_out": left_out, "travel_minutes": travel})


def _routes(best: Any) -> list[dict[str, Any]]:
    """The answer's routes by the number of their vehicle; none where it is not legal."""
    return [
        {"shift": route.vehicle_type(), "jobs": [visit.idx for visit in route.schedule() if visit.is_client()]}
        for route in (best.routes() if best.is_feasible() else [])
    ]


def _data(problem: dict[str, Any]) -> Any:
    np, vrp = import_module("numpy"), import_module("pyvrp")
    matrices = [np.array(matrix, dtype=np.int64) for matrix in problem["matrices"]]
    return vrp.ProblemData(
        [vrp.Location(0, 0) for _ in problem["matrices"][0]],
        [vrp.Client(**job, required=False) for job in problem["jobs"]],
        [vrp.Depot(location=place) for place in problem["bases"]],
        [vrp.VehicleType(**shift) for shift in problem["shifts"]],
        matrices,
        matrices,
    )


def _solve(data: Any, watch: _Watch, problem: dict[str, Any]) -> Any:
    vrp = import_module("pyvrp")
    callbacks = vrp.IteratedLocalSearchCallbacks()
    callbacks.on_iteration = lambda current, candidate, best, evaluator: watch.tell(best)
    gentle = import_module("pyvrp.search").PerturbationParams(max_perturbations=MOST_PERTURBATIONS)
    params = vrp.SolveParams(vrp.IteratedLocalSearchParams(callbacks=callbacks), perturbation=gentle)
    first = vrp.Solution(data, [vrp.Route(data, route["jobs"], route["shift"]) for route in problem["first"]])
    return vrp.solve(data, watch, problem["seed"], False, False, params, first).best


if __name__ == "__main__":
    main()
