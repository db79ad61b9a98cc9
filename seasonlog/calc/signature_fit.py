"""How well a case fits the readings: the tolerances and meter errors that explain them best, and what is left over.

Every healthy element may lie anywhere in its tolerance, the meters anywhere in theirs. The case is bent inside those
bounds as near to the readings as it goes (bounded Gauss-Newton); what remains, beyond the last digits of the meter,
speaks against it.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from operator import mul
from typing import TypeAlias

from seasonlog.calc.heater import CUSTOMARY, Tolerance
from seasonlog.calc.network import PAIRS, STAR, Branch, Flow, flow, line_currents, siemens_of_pairs
from seasonlog.calc.signature_cases import Case, Element, has_quantity

BOLTED = 4.0
"""Power of ten of the conductance of a ground fault without resistance [S]."""
_FAULTS = (BOLTED, -1.0, -1.7, -2.5)
"""Powers of ten at which the search for a fault's conductance may begin: bolted, 10, 50 and 300 ohm. Only a clamp
around all lines tells them apart."""
STEP = 1e-4
ROUNDS = 4
SWEEPS = 12
_SOFTNESS = 0.6
"""Last digits beyond the first at which confidence has fallen to 0.6."""
_STILL = 1e-3
_INSIDE = 0.3
"""Shares of a last digit: nearer than this there is nothing to bend for."""
_FELT = 1e-6
"""Below this a variable does nothing that a meter could show."""
_OHMS_ROOM = 0.06
"""How far R / (R + R0) may be moved by tolerance: 11 % of ohms at most, a quarter of that where R is R0."""
_PULL = 0.03
"""How strongly an element is drawn to its plate where the readings leave it free; far less than a reading weighs."""
_TAPS = (0.05, 0.1, 0.2, 0.35, 0.5, 0.65, 0.8, 0.9, 0.95)
"""Where along an element the search for a ground fault may begin."""
_SHORTS = (1.35, 1.8, 2.5, 4.0, 8.0, 16.0)
"""Multiples of conductance at which the search for shorted turns may begin."""

Vector: TypeAlias = list[float]
Ends: TypeAlias = tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Seen:
    """The readings, and how far each may be off."""

    amps: tuple[float, ...]
    """Lines A, B, C; of a single-phase heater one or both lines [A]."""
    amps_error: float
    """How far one line may be off from the others: the last digit, the place in the jaw [A]."""
    offset_error: float
    """By how much all lines may be off together: the counts of the clamp [A]."""
    scale_error: float
    """Share by which all amps may be off together: percent of clamp and voltmeter, volts not measured."""
    shares: tuple[float, ...] = ()
    """A-B, B-C, C-A cold as R / (R + R0), 0 shorted to 1 open; empty when not measured."""
    shares_error: tuple[float, ...] = ()
    healthy_ohms: float = 1.0
    """R0: ohms between two lines of the healthy heater [ohm]."""
    residual_amps: float | None = None
    """A clamp around all lines together [A]."""
    residual_error: float = 1.0
    """How far that may be off [A]."""
    tolerance: Tolerance = CUSTOMARY


@dataclass(frozen=True, slots=True)
class Fitted:
    """A case bent to the readings."""

    case: Case
    agreement: float
    """1: nothing is left over beyond the meter's digits; towards 0: it cannot be this."""
    strain: float
    """How far tolerances had to be used up for it: 0 as on the plate, 1 all at their ends."""
    branches: tuple[Branch, ...]
    at: Flow
    """The network as it then is."""


@dataclass(frozen=True, slots=True)
class _Problem:
    case: Case
    seen: Seen
    live: dict[str, complex]
    """Volts of the nodes that are driven; an open line is not."""
    ends: Ends
    start: tuple[float, ...]

    def branches(self, x: Sequence[float]) -> list[Branch]:
        """The network with these multiples."""
        found: list[Branch] = []
        for at, (element, times) in enumerate(zip(self.case.elements, x, strict=False)):
            siemens = element.siemens * times
            if at == self.case.tapped:
                found += _tapped(element, siemens, x[-2], 10.0 ** x[-1])
            elif siemens > 0.0:
                found.append((element.one, element.other, siemens))
        return found

    def flow(self, x: Sequence[float]) -> Flow:
        return flow(self.branches(x), self.live)

    def left_over(self, x: Sequence[float]) -> Vector:
        """Predicted less read, in units of what the last digits may hide."""
        seen, count = self.seen, len(self.case.elements)
        scale, offset = x[count], x[count + 1]
        branches = self.branches(x)
        amps = line_currents(branches, self.live)
        found = [(scale * abs(p) + offset - r) / seen.amps_error for p, r in zip(amps, seen.amps, strict=False)]
        if seen.residual_amps is not None:
            found.append((scale * abs(sum(amps)) - seen.residual_amps) / seen.residual_error)
        if seen.shares:
            found += self._ohms_left_over(branches, x[count + 2])
        return found

    def _ohms_left_over(self, branches: Sequence[Branch], cold: float) -> Vector:
        seen = self.seen
        siemens = siemens_of_pairs(branches, PAIRS[: len(seen.shares)])
        read = zip(siemens, seen.shares, seen.shares_error, strict=True)
        return [(ohms_share(cold * g, seen.healthy_ohms) - r) / error for g, r, error in read]


def ohms_share(siemens: float, healthy_ohms: float) -> float:
    """R / (R + R0) of a conductance: 0 for a short, 1 for an open pair, so that both ends can be compared."""
    return 1.0 / (1.0 + siemens * healthy_ohms)


def _tapped(element: Element, siemens: float, along: float, fault: float) -> list[Branch]:
    """An element that touches ground after this share of its length, through this conductance."""
    return [
        (element.one, "tap", siemens / along),
        ("tap", element.other, siemens / (1.0 - along)),
        ("tap", STAR, fault),
    ]


def fitted(case: Case, seen: Seen, driven: dict[str, complex]) -> Fitted | None:
    """The case bent to the readings as near as its bounds allow; None when it is beyond all tolerance.

    Args:
        case: What is guessed to be wrong.
        seen: The readings.
        driven: Volts of the supply's nodes to its star [V].
    """
    problem = _best_start(case, seen, driven)
    if not _is_near(problem):
        return None
    x = _closest(problem)
    return Fitted(case, _agreement(problem, x), _strain(problem, x), tuple(problem.branches(x)), problem.flow(x))


def _is_near(problem: _Problem) -> bool:
    """Whether a case is worth bending: its amps, as drawn, could come to those read."""
    seen, case = problem.seen, problem.case
    branches = problem.branches(problem.start)
    at = [abs(amps) for amps in line_currents(branches, problem.live)]
    room = 2.0 * seen.amps_error + seen.offset_error + (0.12 + seen.scale_error) * max(*at, *seen.amps)
    loose = 2.0 if has_quantity(case) else 1.0
    if any(abs(p - r) > loose * room for p, r in zip(at, seen.amps, strict=False)):
        return False
    if has_quantity(case) or not seen.shares:
        return True
    ohms = [ohms_share(g, seen.healthy_ohms) for g in siemens_of_pairs(branches, PAIRS[: len(seen.shares)])]
    return all(abs(p - r) <= _OHMS_ROOM + 3.0 * e for p, r, e in zip(ohms, seen.shares, seen.shares_error, strict=True))


def _strain(problem: _Problem, x: Sequence[float]) -> float:
    """How far tolerances had to be used up: 0 as on the plate, 1 all at their ends."""
    used = []
    for value, start, (low, high) in zip(x, problem.start, problem.ends, strict=True):
        if 0.0 < high < 1.3 * low:  # a tolerance, not the quantity that the case looks for
            end = high - start if value > start else start - low
            used.append(((value - start) / end) ** 2 if end > 0 else 0.0)
    return math.fsum(used) / max(1, len(used))


def _best_start(case: Case, seen: Seen, driven: dict[str, complex]) -> _Problem:
    """Of the places where the search could begin, the one nearest to the readings."""
    if not has_quantity(case):
        return _problem(case, seen, driven, 1.0)
    if case.tapped is None:
        begun = [_problem(case, seen, driven, start) for start in _SHORTS]
    else:
        faults = _FAULTS if seen.residual_amps is not None else _FAULTS[:1]
        begun = [_problem(case, seen, driven, start, fault) for start in _TAPS for fault in faults]
    return min(begun, key=lambda each: math.fsum(r * r for r in each.left_over(each.start)))


def _problem(case: Case, seen: Seen, driven: dict[str, complex], quantity: float, fault: float = BOLTED) -> _Problem:
    low, high = 1.0 - seen.tolerance.watts_below_percent / 100.0, 1.0 + seen.tolerance.watts_above_percent / 100.0
    ends = [(low * each.span[0], high * each.span[1]) for each in case.elements]
    start = [each.span[0] if each.span[0] == each.span[1] else quantity for each in case.elements]
    cold = seen.tolerance.hot_over_cold if seen.shares else 1.0
    off = seen.offset_error
    ends += [(1.0 - seen.scale_error, 1.0 + seen.scale_error), (-off, off), (1.0, cold)]
    start += [1.0, 0.0, 1.0]
    if case.tapped is not None:
        ends += [(0.02, 0.98), (_FAULTS[-1], BOLTED) if fault < BOLTED else (BOLTED, BOLTED)]
        start += [quantity, fault]
    live = {node: volts for node, volts in driven.items() if node not in case.open_lines}
    return _Problem(case, seen, live, tuple(ends), tuple(start))


def _closest(problem: _Problem) -> Vector:
    x = list(problem.start)
    for _ in range(2 * ROUNDS if has_quantity(problem.case) else ROUNDS):
        residual = problem.left_over(x)
        if max(map(abs, residual)) < _INSIDE:
            break
        before, x = x, _bounded_step(_slopes(problem, x, residual), residual, x, problem)
        if max(abs(new - old) for new, old in zip(x, before, strict=True)) < _STILL:
            break
    return x


def _slopes(problem: _Problem, x: Vector, here: Vector) -> list[Vector]:
    """Column by column: what each variable does to each residual; one that cannot move does nothing."""
    found = []
    scale = len(problem.case.elements)
    for at, (low, high) in enumerate(problem.ends):
        if low == high:
            found.append([0.0] * len(here))
            continue
        if at in (scale, scale + 1):
            found.append(_meter_slope(problem, x, here, of_scale=at == scale))
            continue
        moved = x.copy()
        moved[at] += STEP
        there = problem.left_over(moved)
        found.append([(new - own) / STEP for new, own in zip(there, here, strict=True)])
    return found


def _meter_slope(problem: _Problem, x: Vector, here: Vector, *, of_scale: bool) -> Vector:
    """What the clamp's scale or offset does: known without solving anything again."""
    seen, count = problem.seen, len(problem.seen.amps)
    scale, offset = x[len(problem.case.elements)], x[len(problem.case.elements) + 1]
    slope = [0.0] * len(here)
    for at, (residual, read) in enumerate(zip(here, seen.amps, strict=False)):
        shown = residual * seen.amps_error + read - offset
        slope[at] = (shown / scale if of_scale else 1.0) / seen.amps_error
    if of_scale and seen.residual_amps is not None:
        slope[count] = (here[count] * seen.residual_error + seen.residual_amps) / scale / seen.residual_error
    return slope


def _bounded_step(slopes: list[Vector], residual: Vector, x: Vector, problem: _Problem) -> Vector:
    """The linear least-squares step inside the bounds, by going round the variables."""
    x, residual = x.copy(), residual.copy()
    weights = [sum([s * s for s in column]) for column in slopes]
    movable = [at for at, weight in enumerate(weights) if weight > _FELT]
    for _ in range(SWEEPS):
        moved = 0.0
        for at in movable:
            low, high = problem.ends[at]
            pull = _PULL * weights[at]
            ask = sum(map(mul, slopes[at], residual))
            wish = x[at] - (ask + pull * (x[at] - problem.start[at])) / (weights[at] + pull)
            step = min(high, max(low, wish)) - x[at]
            if step:
                x[at] += step
                residual = [r + step * s for r, s in zip(residual, slopes[at], strict=True)]
                moved = max(moved, abs(step))
        if moved < _STILL:
            break
    return x


def _agreement(problem: _Problem, x: Sequence[float]) -> float:
    """A residual of one last digit costs nothing; beyond it confidence falls as a normal error's."""
    beyond = [max(0.0, abs(r) - 1.0) for r in problem.left_over(x)]
    return math.exp(-0.5 * math.fsum(b * b for b in beyond) / _SOFTNESS**2)
