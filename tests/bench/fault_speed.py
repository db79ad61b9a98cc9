"""The fault finder: what every fault shows in every test of a circuit, and the next test of a session."""

import time
from collections.abc import Iterator
from itertools import count
from pathlib import Path

from seasonlog.faults.circuit import Circuit
from seasonlog.faults.diagnose import Session
from seasonlog.faults.likelihood import answerbook
from seasonlog.faults.observation import Choice
from seasonlog.faults.table import table
from tests.faults.simulate import trade_weights

ANSWERS = {"ready": "cold", "lamps": "none", "breaker_handle": "on"}
FULLEST = {"thermal_limit": True, "heaters": 2, "float_leg": "hot"}
"""The circuit with the most faults."""
_fresh = count(1)


def measure(folder: Path) -> Iterator[tuple[str, float, float, str]]:
    del folder  # nothing is written
    trade_weights()
    yield "fault table of one circuit", best_of(3, lambda: table(new_circuit())), 2, "s"
    yield "every test under every fault of one circuit", best_of(3, lambda: answerbook(new_circuit(), "cold")), 2, "s"
    circuit = new_circuit()
    answerbook(circuit, "cold")
    yield "next test, the slowest of a session", 1000 * slowest_step(circuit), 100, "ms"


def new_circuit() -> Circuit:
    """One that is in no cache yet."""
    return Circuit(heater_kw=18.0 + 0.001 * next(_fresh), **FULLEST)  # type: ignore[arg-type]


def best_of(times: int, work: object) -> float:
    spent = []
    for _ in range(times):
        began = time.perf_counter()
        work()  # type: ignore[operator]
        spent.append(time.perf_counter() - began)
    return min(spent)


def slowest_step(circuit: Circuit) -> float:
    session, slowest = Session(circuit, priors=trade_weights()), 0.0
    while True:
        began = time.perf_counter()
        found = session.next_test()
        slowest = max(slowest, time.perf_counter() - began)
        if not isinstance(found, Choice):
            return slowest
        answer = ANSWERS.get(found.test.id, found.test.choices[0] if found.test.choices else 0.0)
        session = session.with_answer(found.test.id, answer)
