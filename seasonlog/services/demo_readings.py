"""What the invented towers read: from the limit computed for each heater, with a little scatter of its own.

A heater's place inside its band is its own and stays; around it each visit scatters a little. Both follow from the
story's seed, so that the same story reads the same in every run.
"""

import random
from collections.abc import Mapping
from dataclasses import replace
from datetime import date

from seasonlog.domain.answers import Raw
from seasonlog.domain.checklist import StepInstance, StepKind
from seasonlog.domain.limits import Limit, LimitContext, Verdict, judge, limit_for
from seasonlog.domain.visit import Progress
from seasonlog.errors import RatingError
from seasonlog.services.demo_story import Course
from seasonlog.services.limits import context_for

OWN_SHARE, VISIT_SHARE = 0.35, 0.12
"""How far from the middle of the pass zone, in half zones: the heater's own place, and what a visit adds."""
LINES = (0.0, 0.003, -0.002)
"""What the second and third line read more than the first, as a share: no supply is quite even."""


def healthy(at: Progress, instance: StepInstance, on: date) -> Raw:
    """What a healthy tower would give: the answer that is wanted, or the middle of the computed band."""
    step = instance.step
    if step.kind in (StepKind.CAUTION, StepKind.YES_NO):
        return step.expect or "yes"
    if step.kind is StepKind.CHOICE:
        return next((c.value for c in step.choices if c.verdict == Verdict.PASS), step.choices[0].value)
    if step.kind is StepKind.TEXT:
        return "as recorded in the register"
    middle = _typed(_middle(limit_for(step.quantity, _context(at, instance, on)))) if step.quantity else "45"
    return (middle, middle, middle) if step.kind is StepKind.THREE_LINES else middle


def _context(at: Progress, instance: StepInstance, on: date) -> LimitContext:
    """What a reading is made from: a meter past its calibration still shows what is there."""
    known = context_for(at, instance, on)
    return replace(known, instruments={k: replace(i, calibration_due=on) for k, i in known.instruments.items()})


def _typed(value: float) -> str:
    """As a meter shows it and a thumb types it: three decimals at most."""
    return f"{value:.3f}" if abs(value) < 1 else f"{value:.1f}"


def _middle(limit: Limit) -> float:
    low = limit.pass_low if limit.decides else limit.low
    high = limit.pass_high if limit.decides else limit.high
    if low is None:
        return 1.0 if high is None else min(high / 4, high)  # a freeze point below zero lies under its limit too
    return low * 1.2 if high is None else (low + high) / 2


class Readings:
    """What is read on each visit."""

    def __init__(self, seed: str, typical: Mapping[str, float], courses: Mapping[tuple[str, str], Course]) -> None:
        self._seed, self._typical, self._courses = seed, typical, courses
        self._read: dict[tuple[str, str], int] = {}
        self._since: dict[tuple[str, str], date] = {}

    def of(self, at: Progress, instance: StepInstance, on: date) -> Raw:
        """A reading or an answer of a tower that is as it should be, but for its courses."""
        step = instance.step
        if not step.quantity:
            return healthy(at, instance, on)
        course = self._courses.get((at.visit.tower, step.id))
        context = _context(at, instance, on)
        limit = limit_for(step.quantity, context)
        if course is not None and course.values:
            return self._next(course)
        value = self._value(at, instance, limit)
        if not _passes(value, limit):
            return healthy(at, instance, on)
        value *= self._moved(course, on)
        digits = _digits(context, step.instrument, value)
        if step.kind is not StepKind.THREE_LINES:
            return f"{value:.{digits}f}"
        return tuple(f"{value * (1 + more):.{digits}f}" for more in LINES)

    def share(self, *about: str) -> float:
        """A share from 0.15 to 0.85 that belongs to something: where in its window a visit lies."""
        return 0.5 + 0.35 * self._scatter(*about)

    def _value(self, at: Progress, instance: StepInstance, limit: Limit) -> float:
        own = self._scatter(at.visit.tower, instance.key) * OWN_SHARE
        visit = self._scatter(at.visit.tower, instance.key, *_name(at)) * VISIT_SHARE
        low, high = limit.pass_low, limit.pass_high
        usual = self._typical.get(limit.quantity)
        if low is None or high is None or usual is not None:
            return (_middle(limit) if usual is None else usual) * (1 + (own + visit) / 2)
        return (low + high) / 2 + (own + visit) * (high - low) / 2

    def _scatter(self, *about: str) -> float:
        return random.Random("/".join((self._seed, *about))).uniform(-1, 1)  # noqa: S311  (no secret)

    def _next(self, course: Course) -> str:
        """The next of the values that are told; the last one stays."""
        key = (course.tower, course.step)
        number = self._read.get(key, 0)
        self._read[key] = number + 1
        return course.values[min(number, len(course.values) - 1)]

    def _moved(self, course: Course | None, on: date) -> float:
        if course is None:
            return 1.0
        since = self._since.setdefault((course.tower, course.step), on)
        return 1 + course.percent_a_year / 100 * (on - since).days / 365.25


def _passes(value: float, limit: Limit) -> bool:
    try:
        return judge(value, limit) is Verdict.PASS
    except RatingError:
        return False


def _digits(context: LimitContext, kind: str, value: float) -> int:
    """As many as the instrument shows, three at most; fewer where the number is long anyway."""
    instrument = context.instruments.get(kind)
    step = float(instrument.resolution) if instrument is not None and instrument.resolution else 0.1
    shown = next((digits for digits in range(3) if 10**-digits <= step * 1.001), 3)
    return min(shown, 1) if abs(value) >= 100 else shown


def _name(at: Progress) -> tuple[str, ...]:
    """Which visit it is, in every run."""
    return at.visit.checklist, str(at.visit.season), str(at.visit.ordinal)
