"""The next test: most information per minute, with risk counted in minutes; and when to stop.

Looking comes before measuring and dead before live because touching, locking out and energised work cost minutes here
that they do not cost on the clock.
"""

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from seasonlog.faults import explain
from seasonlog.faults.likelihood import Answers, on_float
from seasonlog.faults.observation import DEAD, DOOR, DRAINED, HAND, JUMPER, LIVE, PANEL, Check, Choice, Outcome, Stop
from seasonlog.faults.tests_offered import METER, READY, gate_of
from seasonlog.faults.words_here import words_here

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
    3: ((ORDER[0], 0.4), (ORDER[1], 0.9), (ORDER[2], 0.6)),
    4: ((ORDER[0], 0.1), (ORDER[1], 0.4), (ORDER[2], 0.3), (ORDER[3], 0.5)),
}
"""Place in `ORDER` -> what goes before it, from this share of its information on. Common practice, no source."""
APART = 0.5
"""Share of answers that must differ for a test to tell two faults apart."""
LEAST_BITS = 0.01
"""A test that brings less is not worth asking."""
WORTH_NAMING = 0.01
"""A fault less likely than that is not told in a group."""
ALIKE = tuple(
    map(
        frozenset,
        ((1, 2, 4, 5, 6), (3, 38), (14, 18), (15, 17), (24, 27, 28), (25, 26), (31, 33, 34), (6, 28, 30, 32)),
    )
)
"""Faults that read alike on the fault table, and those that are found with the same fuse blown: a group that may be
named together. Source: worked out by `solve`; in the trade's words common practice."""
OWN_TESTS: Mapping[int, tuple[tuple[str, ...], ...]] = {
    6: (("ohms_lead_ground",), ("ohms_coil",)),
    7: (("ohms_x2_lead", "volts_bus"),),
    12: (("ohms_interlock", "volts_p", "volts_p_x2"),),
    14: (("ohms_stat", "volts_t", "volts_t_x2"),),
    28: (("ohms_lead_ground",),),
    30: (("ohms_lead_ground",),),
    31: (("ohms_coil",),),
    32: (("ohms_coil",), ("ohms_lead_ground",)),
    50: (("ohms_limit",),),
}
"""Fault -> measurements of the part itself, one of each row, before it is named; the first of a row is asked. A part
that reads right by the way current sneaks around it is not measured. A blown fuse: what blew it. Faults not
named here are read by no sneak path; each of them would cost a test."""
MOST_TESTS = 15
"""No session asks for more tests."""
_DEAD_MODES = (DEAD, JUMPER, DRAINED)


def next_test(session: "Session") -> Choice | Stop:
    """The next test of a session, or why there is none."""
    if (first := _gate(session)) is not None:
        return first
    chances = session.probabilities()
    open_tests = offered(session)
    group = _group(session, chances, open_tests)
    mass = sum(chances[n] for n in group)
    needed = SURE_OF_NOTHING if session.book.faults[group[0]].number == 0 else SURE
    unproved = None
    if mass >= needed and _known(session, group):
        unproved = _own_test(session, group[0], open_tests)
        if unproved is None or session.asked >= MOST_TESTS:
            return explain.stop(session, _reason(session, group), group)
    if session.asked >= MOST_TESTS:
        return explain.stop(session, "enough", group)
    best = unproved or _best(session, open_tests, chances)
    if best is not None and on_float(best.check) and METER.id not in {*session.answers, *session.cannot}:
        return Choice(METER, explain.WHY_METER, tuple(Outcome(a, p, says) for a, p, says in explain.METER_OUTCOMES))
    if best is not None and best is unproved:
        return Choice(best.check, explain.why_own(session, best, chances), explain.outcomes(session, best, chances))
    if best is None or gain_bits(best, chances) < LEAST_BITS:
        return explain.stop(session, "nothing_left" if session.qualified else "send_technician", group)
    return Choice(best.check, explain.why(session, best, chances), explain.outcomes(session, best, chances))


def _known(session: "Session", group: tuple[int, ...]) -> bool:
    """One cause, or some that are known to read alike; any other crowd is no cause."""
    numbers = {session.book.faults[n].number for n in group}
    return len(group) == 1 or any(numbers <= alike for alike in ALIKE)


def _own_test(session: "Session", place: int, tests: Sequence[Answers]) -> Answers | None:
    """A measurement of the part itself that is still open; None when it was made, or cannot be made here."""
    done = _answered(session)
    names = [kinds[0] for kinds in OWN_TESTS.get(session.book.faults[place].number, ()) if not done & set(kinds)]
    return next((each for each in tests if each.check.id in names), None)


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
        return Choice(
            gate_of(session.circuit),
            words_here(session.circuit, explain.WHY_READY),
            tuple(Outcome(a, p, says) for a, p, says in explain.READY_OUTCOMES),
        )
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
    before = session.last_made
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


def _group(session: "Session", chances: Sequence[float], tests: Sequence[Answers]) -> tuple[int, ...]:
    """Places of the likeliest fault and of all that no test left tells from it, the likeliest first.

    No fault stands alone: it is no cause among causes.
    """
    first = max(range(len(chances)), key=lambda n: chances[n])
    if session.book.faults[first].number == 0:
        return (first,)
    real = (n for n, fault in enumerate(session.book.faults) if n != first and fault.number)
    worth_naming = [n for n in real if chances[n] >= WORTH_NAMING]
    made = [test for name in session.answers if (test := session.book.tests.get(name)) is not None]
    settled = made if chances[first] >= SURE else []
    others = [n for n in worth_naming if not _told_apart(first, n, [*tests, *settled])]
    return (first, *sorted(others, key=lambda n: -chances[n]))


def _told_apart(one: int, other: int, tests: Sequence[Answers]) -> bool:
    return any(_apart(test.shares[one], test.shares[other]) >= APART for test in tests)


def _apart(one: Sequence[float], other: Sequence[float]) -> float:
    return 0.5 * sum(abs(a - b) for a, b in zip(one, other, strict=True))
