"""The solver's own process: one JSON document in, lines of progress and one answer out. Needs PyVRP, nothing of ours.

Run as a file, so that PyVRP and what it pulls in never load into the process a person is working in.
"""

import json
import sys
import time
from importlib import import_module
from typing import Any

PROGRESS_SECONDS = 0.5
_NOTHING_LEGAL = 1 << 52
"""The solver's cost where it has no legal answer yet is far above this."""


def main() -> None:
    """Solve what stands on stdin; every line on stdout is one JSON document."""
    problem = json.load(sys.stdin)
    data = _data(problem)
    say({"started": True})
    stop = _Clock(problem["seconds"], problem["prize"])
    best = _solve(data, stop, problem)
    routes = [
        {"shift": route.vehicle_type(), "jobs": [visit.idx for visit in route.schedule() if visit.is_client()]}
        for route in (best.routes() if best.is_feasible() else [])
    ]
    say({"routes": routes, "iterations": stop.iterations})


def say(document: dict[str, Any]) -> None:
    """One line to whoever started this process."""
    sys.stdout.write(json.dumps(document) + "\n")
    sys.stdout.flush()


class _Clock:
    """Stops after some seconds and tells now and then how far the search is."""

    def __init__(self, seconds: float, prize: int) -> None:
        self._seconds = seconds
        self._prize = prize
        self._start = self._said = time.perf_counter()
        self.iterations = 0

    def __call__(self, best_cost: int) -> bool:
        now = time.perf_counter()
        self.iterations += 1
        if now - self._said >= PROGRESS_SECONDS:
            self._said = now
            left_out, travel = divmod(best_cost, self._prize)  # all ways together are less than one prize
            if best_cost < _NOTHING_LEGAL:
                say({"seconds": now - self._start, "left_out": left_out, "travel_minutes": travel})
        return now - self._start > self._seconds


def _data(problem: dict[str, Any]) -> Any:
    np, vrp = import_module("numpy"), import_module("pyvrp")
    matrices = [np.array(matrix, dtype=np.int64) for matrix in problem["matrices"]]
    return vrp.ProblemData(
        [vrp.Location(0, 0) for _ in problem["matrices"][0]],
        [vrp.Client(**job, prize=problem["prize"], required=False) for job in problem["jobs"]],
        [vrp.Depot(location=place) for place in problem["bases"]],
        [vrp.VehicleType(**shift) for shift in problem["shifts"]],
        matrices,
        matrices,
    )


def _solve(data: Any, stop: _Clock, problem: dict[str, Any]) -> Any:
    vrp = import_module("pyvrp")
    first = [vrp.Route(data, route["jobs"], route["shift"]) for route in problem["first"]]
    return vrp.solve(data, stop, problem["seed"], False, False, initial_solution=vrp.Solution(data, first)).best


if __name__ == "__main__":
    main()
