"""The next test: most information per minute, with risk counted in minutes; and when to stop.

Looking comes before measuring and dead before live because touching, locking out and energised work cost minutes here
that they do not cost on the clock.
"""

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from seasonlog.faults import explain
from seasonlog.faults.likelihood import Answerbook, Answers, on_float
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
SURE, SURE_AGAINST, SURE_OF_NOTHING = 0.82, 0.93, 0.975
"""Probability from which one cause, or one group, is enough; the same while an answer speaks against it; and from which
nothing is wrong."""
HANGS_BITS, HANGS_UNTIL = 0.2, 5
"""A cause that was found in so few tests is read again where one reading may still tell so much."""
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
ABOUT_AS_MUCH = 0.85
"""Share of a test's information from which the likeliest part's own measurement is made in its place."""
APART = 0.5
"""Share of answers that must differ for a test to tell two faults apart."""
LEAST_CHANCE = 1e-5
"""A fault less likely than that weighs in no test's information."""
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
    10: (("ohms_switch", "volts_s", "volts_s_x2"),),
    12: (("ohms_interlock", "volts_p", "volts_p_x2"),),
    14: (("ohms_stat", "volts_t", "volts_t_x2"), ("coils_warmed", "contactor_warmed", "lamp_h_warmed")),
    22: (("lamp_h_down", "ohms_level", "volts_k_down"),),
    28: (("ohms_lead_ground",),),
    30: (("ohms_lead_ground",),),
    31: (("ohms_coil",),),
    32: (("ohms_coil",), ("ohms_lead_ground",)),
    43: (("lamp_h_warmed", "coils_warmed", "ohms_level"),),
    50: (("ohms_limit",),),
}
"""Fault -> measurements of the part itself, one of each row, before it is named; the first of a row is asked. A part
that reads right by the way current sneaks around it is not measured. A blown fuse: what blew it. 14, 22
and 43: what tells them from a wiring error that reads like them. Faults not named here are read by no sneak path; each
of them would cost a test."""
MOST_TESTS = 15
"""No session asks for more tests."""
_DEAD_MODES = (DEAD, JUMPER, DRAINED)


@dataclass(frozen=True, slots=True)
class Decision:
    """What comes next, without its words."""

    test: Answers | None
    """The test to make; None when the search ends."""
    reason: str = ""
    """Why it ends, as `Stop.reason` has it; why a test is made: a key of `explain.BEFORE_NAMING`, or nothing."""
    group: tuple[int, ...] = ()
    """Places of the faults that are named, the likeliest first."""


class Weighed:
    """A session weighed once: how likely each fault is, what each open test brings and costs.

    An answer that does not fit the likeliest fault may be read again: it is as open as a test not made.
    """

    def __init__(self, session: "Session") -> None:
        self.session, self.book = session, session.book
        self.chances = session.probabilities()
        self.first = max(range(len(self.chances)), key=lambda n: self.chances[n])
        self.odd = explain.contradictions(session, self.book.faults[self.first])
        self.fresh = offered(session)
        self.again = readable_again(session, self.book)
        self.tests = (*self.fresh, *(each for each in self.again if each.check.id in self.odd))
        self.bits = dict(zip((each.check.id for each in self.tests), gains_bits(self.tests, self.chances), strict=True))
        before = session.last_made
        self._was_dead = before is not None and before.mode in _DEAD_MODES

    def bits_of(self, test: Answers) -> float:
        """Expected information of an open test [bit]."""
        return self.bits[test.check.id]

    def worth(self, test: Answers) -> float:
        """Information for its cost [bit/min]."""
        return self.bits[test.check.id] / self.minutes(test.check)

    def minutes(self, check: Check) -> float:
        """What a test costs now [min]: its time, the change to its way of working, its risk."""
        is_dead = check.mode in _DEAD_MODES
        change = 0.0 if self._was_dead == is_dead else LOCK_OUT_MINUTES if is_dead else ENERGISE_MINUTES
        return check.minutes + SAY_MINUTES + RISK_MINUTES[check.mode] + change


def next_test(session: "Session") -> Choice | Stop:
    """The next test of a session, or why there is none."""
    if (first := _gate(session)) is not None:
        return first
    found = decided(session)
    if found.test is None:
        return explain.stop(session, found.reason, found.group)
    if meter_first(session, found.test):
        return Choice(METER, explain.WHY_METER, tuple(Outcome(a, p, says) for a, p, says in explain.METER_OUTCOMES))
    chances = session.probabilities()
    why = explain.why(session, found.test, chances, found.reason)
    return Choice(found.test.check, why, explain.outcomes(session, found.test, chances))


def meter_first(session: "Session", test: Answers) -> bool:
    """Volts of a float lead are asked for, and nobody said yet with which meter."""
    return on_float(test.check) and METER.id not in {*session.answers, *session.cannot}


def decided(session: "Session") -> Decision:
    """What comes next past the first question."""
    now = Weighed(session)
    group = _group(now)
    sure, full = _sure(now, group), session.asked >= MOST_TESTS
    if sure and not full:
        if (own := _own_test(session, group[0], now.fresh)) is not None:
            return Decision(own, "own", group)
        if (hanging := _hanging_on(now)) is not None:
            return Decision(hanging, "again", group)
    if sure or full:
        return Decision(None, _reason(session, group) if sure else "enough", group)
    best = _best(now)
    if best is None or now.bits_of(best) < LEAST_BITS:
        return Decision(None, "nothing_left" if session.qualified else "send_technician", group)
    return Decision(best, "odd" if any(best is each for each in now.again) else "", group)


def _sure(now: Weighed, group: tuple[int, ...]) -> bool:
    mass = sum(now.chances[n] for n in group)
    needed = SURE_AGAINST if now.odd else SURE
    if now.book.faults[group[0]].number == 0:
        needed = SURE_OF_NOTHING
    return mass >= needed and _known(now.session, group)


def _hanging_on(now: Weighed) -> Answers | None:
    """The reading that a quickly found cause hangs on, if a mistake in it would tell another story; none is live."""
    dead = [each for each in now.again if not each.check.live]
    if now.session.asked > HANGS_UNTIL or not dead:
        return None
    bits = gains_bits(dead, now.chances)
    most = max(range(len(bits)), key=lambda n: bits[n])
    return dead[most] if bits[most] >= HANGS_BITS else None


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


def readable_again(session: "Session", book: Answerbook) -> tuple[Answers, ...]:
    """Tests that were made once in this session and may be made a second time: each has room for one mistake."""
    if session.once:
        return ()
    counts = Counter(each.test for each in session.observations if not each.given)
    return tuple(
        book.again(name, places[-1])
        for name, places in session.outcomes(book).items()
        if counts[name] == len(places) == 1 and name not in session.cannot and _fit(session, book.tests[name].check)
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
    return gains_bits((test,), chances)[0]


def gains_bits(tests: Sequence[Answers], chances: Sequence[float]) -> list[float]:
    """The same of many tests at once [bit]."""
    likely = [(n, chance) for n, chance in enumerate(chances) if chance > LEAST_CHANCE]
    return [_gain_bits(test, likely) for test in tests]


def _gain_bits(test: Answers, likely: Sequence[tuple[int, float]]) -> float:
    weights = [0.0] * len(test.kinds)
    kind_of = test.kind_of
    for n, chance in likely:
        weights[kind_of[n]] += chance
    outcomes = [0.0] * len(test.labels)
    known = 0.0
    for weight, (shares, noise_bits) in zip(weights, test.kinds, strict=True):
        if weight:
            known += weight * noise_bits
            for place, share in enumerate(shares):
                outcomes[place] += weight * share
    return -sum(p * math.log2(p) for p in outcomes if p > 0.0) - known


def _best(now: Weighed) -> Answers | None:
    """The test worth most for its minutes; before it whatever tells about as much from further away.

    A look goes before a measurement and a dead test before a live one where it brings a comparable share of what the
    other would bring: an order, not only a price.
    """
    best = max(now.tests, key=now.worth, default=None)
    if best is None:
        return None
    for modes, share in BEFORE[_rank(best)]:
        enough = share * now.bits_of(best)
        nearer = [each for each in now.tests if each.check.mode in modes and now.bits_of(each) >= enough]
        if nearer:
            best = max(nearer, key=now.worth)
            break
    return _of_the_part(now, best)


def _of_the_part(now: Weighed, best: Answers) -> Answers:
    """In its place the measurement that the likeliest fault needs before it is named, where it tells about as much."""
    own = _own_test(now.session, now.first, now.fresh)
    if own is None or _rank(own) > _rank(best) or now.bits_of(own) < ABOUT_AS_MUCH * now.bits_of(best):
        return best
    return own


def _rank(test: Answers) -> int:
    return next(rank for rank, modes in enumerate(ORDER) if test.check.mode in modes)


def _group(now: Weighed) -> tuple[int, ...]:
    """Places of the likeliest fault and of all that no test left tells from it, the likeliest first.

    No fault stands alone: it is no cause among causes.
    """
    chances, faults = now.chances, now.book.faults
    first = now.first
    if faults[first].number == 0:
        return (first,)
    worth_naming = [n for n, fault in enumerate(faults) if n != first and fault.number and chances[n] >= WORTH_NAMING]
    made = [test for name in now.session.answers if (test := now.book.tests.get(name)) is not None]
    settled = made if chances[first] >= SURE_AGAINST else []
    others = [n for n in worth_naming if not _told_apart(first, n, [*now.fresh, *settled])]
    return (first, *sorted(others, key=lambda n: -chances[n]))


def _told_apart(one: int, other: int, tests: Sequence[Answers]) -> bool:
    return any(
        test.kind_of[one] != test.kind_of[other] and _apart(test.shares[one], test.shares[other]) >= APART
        for test in tests
    )


def _apart(one: Sequence[float], other: Sequence[float]) -> float:
    return 0.5 * sum(abs(a - b) for a, b in zip(one, other, strict=True))
