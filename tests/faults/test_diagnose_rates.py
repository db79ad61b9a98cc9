"""How often and how soon simulated technicians find each fault, against the fixed reading order, on two seeds.

`pytest -m long` takes 200 runs of each fault; the same numbers come from `python -m tests.faults.simulate`.
"""

from functools import cache

import pytest

from seasonlog.faults.catalogue import faults_of
from seasonlog.faults.circuit import Circuit
from tests.faults.simulate import HARD, Tally, by_order, guided, simulated
from tests.faults.test_diagnose_safety import CIRCUITS

TUNED, UNSEEN = 1, 20261
"""The finder's weights were set while looking at runs of seeds 1 and 101 to 103; nobody looked at the second's."""
FEW, MANY = 10, 200
RUNS = [pytest.param(FEW, id="10-runs"), pytest.param(MANY, id="200-runs", marks=pytest.mark.long)]
SEEDS = [pytest.param(TUNED, id="seed-1"), pytest.param(UNSEEN, id="unseen-seed")]


@cache
def tally(way: str, runs: int, seed: int, errors: bool = True) -> Tally:
    found = simulated({"guided": guided, "order": by_order}[way], runs, seed, errors)
    print(f"{way}, {'with' if errors else 'without'} errors, {runs} runs of each fault, seed {seed}: {found}")
    return found


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("runs", RUNS)
class TestWithErrors:
    """Meter error, 5 % wrong answers, 10 % of tests that cannot be made."""

    def test_the_fault_is_first_in_nine_of_ten(self, runs: int, seed: int) -> None:
        assert tally("guided", runs, seed).right >= 0.90

    def test_it_takes_six_tests_in_the_middle_and_never_more_than_fifteen(self, runs: int, seed: int) -> None:
        found = tally("guided", runs, seed)
        assert found.median_tests <= 6
        assert found.mean_live <= 0.6
        assert found.most_tests <= 15

    def test_it_takes_fewer_tests_than_the_reading_order(self, runs: int, seed: int) -> None:
        """35 % fewer tests and 60 % fewer live ones, of the means; and the order finds the fault less often."""
        ours, order = tally("guided", runs, seed), tally("order", runs, seed)
        assert ours.mean_tests <= 0.65 * order.mean_tests
        assert ours.mean_live <= 0.40 * order.mean_live
        assert ours.right > order.right


@pytest.mark.long
@pytest.mark.parametrize("seed", SEEDS)
def test_each_fault_is_first_in_nine_of_ten_but_those_with_a_reason(seed: int) -> None:
    """Each by itself; 200 runs leave two in a hundred to chance. What stays below is in `simulate.HARD`, and stays
    above three in four."""
    found = tally("guided", MANY, seed)
    rates = {fault.number: found.of(fault.number).right for fault in faults_of(Circuit())[1:]}
    assert {number for number, rate in rates.items() if rate < 0.88} <= HARD.keys()
    assert min(rates.values()) >= 0.75


def test_without_errors_every_fault_is_first() -> None:
    """99 % are promised; without errors a run is the same each time, so each fault is met once."""
    found = tally("guided", 1, TUNED, errors=False)
    assert found.right >= 0.99
    assert found.exact >= 0.99
    assert found.median_tests <= 6
    order = tally("order", 1, TUNED, errors=False)
    assert found.mean_tests <= 0.65 * order.mean_tests
    assert found.mean_live <= 0.40 * order.mean_live


@pytest.mark.parametrize("circuit", CIRCUITS[1:], ids=lambda c: c.id)
def test_without_errors_every_fault_is_first_in_other_wirings(circuit: Circuit) -> None:
    """Hot-leg, isolated, single-phase and lampless circuits: 99 % too, and never more than 15 tests."""
    found = simulated(guided, 1, TUNED, errors=False, circuit=circuit)
    print(f"{circuit.id}, without errors: {found}")
    assert found.right >= 0.99
    assert found.most_tests <= 15
