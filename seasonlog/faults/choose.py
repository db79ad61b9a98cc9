"""The next test: most information per minute, with risk counted in minutes; and when to stop.

Looking comes before measuring and dead before live because touching, locking out and energised work cost minutes here
that they do not cost on the clock.
"""

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from seasonlog.faults import explain
from seasonlog.faults.likelihood import Answers
from seasonlog.faults.observation import DEAD, DOOR, DRAINED, HAND, JUMPER, LIVE, PANEL, Check, Choice, Outcome, Stop
from seasonlog.faults.tests_offered import GATE, READY, check_of

if TYPE_CHECKING:
    from seasonlog.faults.diagnose import Session

RISK_MINUTES: Mapping[str, float] = {
    DOOR: 0.0, PANEL: 0.5, HAND: 1.0, DEAD: 1.0, LIVE: 12.0, JUMPER: 40.0, DRAINED: 60.0,
}  # fmt: skip
"""What a kind of test counts more than its own time [min]. Common practice, no source."""
LOCK_OUT_MINUTES, ENERGISE_MINUTES = 8.0, 4.0
"""Locking out and proving dead before the first dead test; taking locks off again. Common practice, no source."""
SAY_MINUTES = 8.0
"""Asking, answering and writing down, of every test. Common practice, no source."""
SURE, SURE_OF_NOTHING = 0.93, 0.97
"""Probability from which one cause, or one group, is enough; and from which nothing is wrong."""
ORDER = ((DOOR, PANEL), (HAND,), (DEAD,), (LIVE,), (JUMPER, DRAINED))
"""Ways of making a test, from looking to what can go most wrong."""
BEFORE: Mapping[int, tuple[tuple[tuple[str, ...], float], ...]] = {
    0: (),
    1: ((ORDER[0], 0.9),),
    2: ((ORDER[0], 0.9),),
    3: ((ORDER[0], 0.25), (ORDER[1], 0.8), (ORDER[2], 0.7)),
    4: ((ORDER[0], 0.1), (ORDER[1], 0.4), (ORDER[2], 0.3), (ORDER[3], 0.5)),
}
"""Place in `ORDER` -> what goes before it, from this share of its information on. Common practice, no source."""
APART = 0.5
"""Share of answers that must differ for a test to tell two faults apart."""
LEAST_BITS = 0.01
"""A test that brings less is not worth asking."""
WORTH_NAMING = 0.01
"""A fault less likely than that is not told in a group."""
MOST_TESTS = 15
"""No session asks for more tests."""
_DEAD_MODES = (DEAD, JUMPER, DRAINED)


def next_test(session: "Session") -> Choice | Stop:
    """The next test of a session, or why there is none."""
    if (first := _gate(session)) is not None:
        return first
    chances = session.probabilities()
    open_tests = offered(session)
    group = _group(chances, open_tests)
    mass = sum(chances[n] for n in group)
    needed = SURE_OF_NOTHING if session.book.faults[group[0]].number == 0 else SURE
    if mass >= needed:
        return explain.stop(session, _reason(session, group), group)
    if session.asked >= MOST_TESTS:
        return explain.stop(session, "enough", group)
    best = _best(session, open_tests, chances)
    if best is None or gain_bits(best, chances) < LEAST_BITS:
        return explain.stop(session, "nothing_left" if session.qualified else "send_technician", group)
    return Choice(best.check, explain.why(session, best, chances), explain.outcomes(session, best, chances))


def _reason(session: "Session", group: tuple[int, ...]) -> str:
    """From outside only a fault that is seen alone is a cause; that nothing is wrong is never said from there."""
    if not session.qualified and (len(group) > 1 or session.book.faults[group[0]].number == 0):
        return "send_technician"
    return "one_cause" if len(group) == 1 else "group"


def _gate(session: "Session") -> Choice | Stop | None:
    """The first question stays open until it is answered, whatever else was seen; nothing is asked past it."""
    ready = session.answers.get(READY)
    if ready == "low":
        return explain.stop(session, "fill_first", ())
    if ready == "not_ready":
        return explain.stop(session, "make_ready", ())
    if ready is None and READY in session.cannot:
        return explain.stop(session, "not_seen_ready", ())
    if ready is None:
        return Choice(GATE, explain.WHY_READY, tuple(Outcome(a, p, says) for a, p, says in explain.READY_OUTCOMES))
    return None


def offered(session: "Session") -> tuple[Answers, ...]:
    """The tests that may be asked now: not asked yet, possible, and fit for who is at the panel."""
    done = _answered(session)
    return tuple(
        each
        for name, each in session.book.tests.items()
        if name not in session.cannot and not done & {name, *each.check.covers} and _fit(session, each.check)
    )


def _answered(session: "Session") -> set[str]:
    """Tests that were answered, and those that a wider one answered with them."""
    found = set(session.answers)
    for name in session.answers:
        if (test := session.book.tests.get(name)) is not None:
            found |= set(test.check.covers)
    return found


def _fit(session: "Session", check: Check) -> bool:
    if not session.qualified:
        return check.door_closed
    return check.id != "ammeter"


def gain_bits(test: Answers, chances: Sequence[float]) -> float:
    """Expected information of a test [bit]: entropy of its outcome, less what mistakes and meters make of it.

    Source:
        Shannon's mutual information between fault and outcome.
    """
    outcomes = [0.0] * len(test.labels)
    known = 0.0
    for chance, shares, noise in zip(chances, test.shares, test.noise_bits, strict=True):
        if chance > 1e-5:
            known += chance * noise
            for place, share in enumerate(shares):
                outcomes[place] += chance * share
    return -sum(p * math.log2(p) for p in outcomes if p > 0.0) - known


def minutes(session: "Session", check: Check) -> float:
    """What a test costs now [min]: its time, the change to its way of working, its risk."""
    last = next((each.test for each in reversed(session.observations) if not each.given), READY)
    before = check_of(session.circuit, last, session.base)
    was_dead = before is not None and before.mode in _DEAD_MODES
    is_dead = check.mode in _DEAD_MODES
    change = 0.0 if was_dead == is_dead else LOCK_OUT_MINUTES if is_dead else ENERGISE_MINUTES
    return SAY_MINUTES + check.minutes + change + RISK_MINUTES[check.mode]


def _best(session: "Session", tests: Sequence[Answers], chances: Sequence[float]) -> Answers | None:
    """The test worth most for its minutes; before it whatever tells about as much from further away.

    A look goes before a measurement and a dead test before a live one where it brings a comparable share of what the
    other would bring: an order, not only a price.
    """
    best = max(tests, key=lambda each: _worth(session, each, chances), default=None)
    if best is None:
        return None
    for modes, share in BEFORE[_rank(best)]:
        enough = share * gain_bits(best, chances)
        nearer = [each for each in tests if each.check.mode in modes and gain_bits(each, chances) >= enough]
        if nearer:
            return max(nearer, key=lambda each: _worth(session, each, chances))
    return best


def _rank(test: Answers) -> int:
    return next(rank for rank, modes in enumerate(ORDER) if test.check.mode in modes)


def _worth(session: "Session", test: Answers, chances: Sequence[float]) -> float:
    return gain_bits(test, chances) / minutes(session, test.check)


def _group(chances: Sequence[float], tests: Sequence[Answers]) -> tuple[int, ...]:
    """Places of the likeliest fault and of all that no test left tells from it, the likeliest first."""
    first = max(range(len(chances)), key=lambda n: chances[n])
    worth_naming = [n for n in range(len(chances)) if n != first and chances[n] >= WORTH_NAMING]
    others = [n for n in worth_naming if not _told_apart(first, n, tests)]
    return (first, *sorted(others, key=lambda n: -chances[n]))


def _told_apart(one: int, other: int, tests: Sequence[Answers]) -> bool:
    return any(_apart(test.shares[one], test.shares[other]) >= APART for test in tests)


def _apart(one: Sequence[float], other: Sequence[float]) -> float:
    return 0.5 * sum(abs(a - b) for a, b in zip(one, other, strict=True))
