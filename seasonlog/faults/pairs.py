"""Two faults at once: only asked for when no single fault explains what was seen, and told as such."""

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from seasonlog.faults.catalogue import Fault, both
from seasonlog.faults.effects import UnmodelledError
from seasonlog.faults.likelihood import Bench, second_share, share_of
from seasonlog.faults.observation import Suspect

if TYPE_CHECKING:
    from seasonlog.faults.diagnose import Session

LEADING = 8
"""A pair holds at least one of so many likeliest single faults: the others are too many to solve while one waits."""
TOLD = 10


def suspected_pairs(session: "Session") -> tuple[Suspect, ...]:
    """The likeliest pairs, and the single faults that are as likely; probabilities are of singles and pairs together.

    Source:
        The prior of a pair is the product of both, as if they were independent.
    """
    singles = list(zip(session.book.faults, session.log_weights(), strict=True))
    weighed = singles + [(pair, _log_weight(session, pair)) for pair in _pairs(session)]
    highest = max(log for _, log in weighed)
    whole = sum(math.exp(log - highest) for _, log in weighed)
    ranked = sorted(weighed, key=lambda each: (-each[1], each[0].numbers))
    return tuple(Suspect(fault.code, math.exp(log - highest) / whole, fault.name) for fault, log in ranked[:TOLD])


def _pairs(session: "Session") -> Iterator[Fault]:
    faults = {suspect.fault: fault for suspect, fault in _in_order(session) if fault.number}
    leading = list(faults.values())[:LEADING]
    seen: set[tuple[int, ...]] = set()
    for one in leading:
        for other in faults.values():
            numbers = tuple(sorted((one.number, other.number)))
            if one is not other and numbers not in seen:
                seen.add(numbers)
                yield from _composed(one, other)


def _in_order(session: "Session") -> Sequence[tuple[Suspect, Fault]]:
    by_code = {fault.code: fault for fault in session.book.faults}
    return [(suspect, by_code[suspect.fault]) for suspect in session.suspects()]


def _composed(one: Fault, other: Fault) -> Iterator[Fault]:
    try:
        yield both(one, other)
    except UnmodelledError:
        return


def _log_weight(session: "Session", pair: Fault) -> float:
    bench = Bench(session.circuit, pair, session.base)
    log = session.log_prior(pair.numbers)
    for test_id, places in session.outcomes(session.book).items():
        test, answer = session.book.tests[test_id], session.answers[test_id]
        share = share_of(test, bench, answer)
        log += math.log(share)
        if places[-1:] == places[-2:-1]:
            log += math.log(second_share(share, len(test.labels)))
    return log
