"""How far a meter can be off, and what that leaves of a limit.

Accuracy as makers print it: plus or minus (a percent of the reading + n counts of the last digit). The decision rule:
accept only inside the limit by the expanded uncertainty, reject only beyond it by as much; between, say "near".
"""

import math
from collections.abc import Callable
from dataclasses import dataclass

from seasonlog.calc.units import within

COVERAGE = 2.0
"""Coverage factor: about 95 %. Source: JCGM 100 (from memory)."""
MOST_TURNS = 10


@dataclass(frozen=True, slots=True)
class Accuracy:
    """Accuracy of one meter on one range."""

    percent: float
    """Percent of the reading."""
    counts: float
    """Counts of the last digit, added."""
    resolution: float
    """Value of one count, in the unit measured."""

    def at(self, value: float) -> float:
        """Largest error allowed at a reading, in its unit: (a % of reading + n counts x resolution)."""
        return abs(value) * self.percent / 100.0 + self.counts * self.resolution

    def uncertainty_at(self, value: float) -> float:
        """Expanded uncertainty of one reading at a value, in its unit."""
        return expanded(self.at(value))

    def with_turns(self, turns: int) -> "Accuracy":
        """A clamp with `turns` turns of the same conductor through its jaw, readings divided by the turns.

        The percent stays; a count is worth only 1/turns.

        Source:
            Common practice; arithmetic of the accuracy statement.
        """
        within(turns, "turns through the jaw", "", 1, MOST_TURNS)
        return Accuracy(self.percent, self.counts, self.resolution / turns)


def expanded(*half_widths: float) -> float:
    """Expanded uncertainty of independent errors, each known only to lie within plus or minus its half width.

    Args:
        half_widths: Largest errors, all in the unit of the result.

    Source:
        JCGM 100 (from memory): rectangular distributions, u = a / sqrt(3), added as squares, U = 2 u.
    """
    return COVERAGE * math.sqrt(math.fsum(a * a for a in half_widths) / 3.0)


def amps_uncertainty(amps: float, clamp: Accuracy, volts: float, voltmeter: Accuracy) -> float:
    """Expanded uncertainty of a line current held against a limit that was worked from measured volts [A].

    Args:
        amps: Where on the scale [A].
        clamp: Accuracy of the clamp [A].
        volts: Volts measured [V].
        voltmeter: Accuracy of the voltmeter [V].

    Source:
        JCGM 100 (from memory). U = 2 sqrt((a_I / sqrt 3)^2 + (I a_V / (V sqrt 3))^2).
    """
    return expanded(clamp.at(amps), amps * voltmeter.at(volts) / volts)


@dataclass(frozen=True, slots=True)
class Zones:
    """A limit after the meter has had its share. None: no edge on that side, or no pass zone at all."""

    pass_low: float | None
    pass_high: float | None
    fail_low: float | None
    fail_high: float | None
    decides: bool
    """False: the meter is so coarse that no reading could be called a pass."""


def guarded(low: float | None, high: float | None, uncertainty_at: Callable[[float], float]) -> Zones:
    """Pass and fail edges of a limit, each moved by the uncertainty at that edge.

    Args:
        low: Lower limit, or None.
        high: Upper limit, or None.
        uncertainty_at: Expanded uncertainty at a value, in the unit of the limit.

    Source:
        Guarded acceptance with w = U, ILAC-G8:09/2019; JCGM 106:2012 (from memory).
    """
    pass_low = None if low is None else low + uncertainty_at(low)
    pass_high = None if high is None else high - uncertainty_at(high)
    fail_low = None if low is None else low - uncertainty_at(low)
    fail_high = None if high is None else high + uncertainty_at(high)
    if pass_low is not None and pass_high is not None and pass_low > pass_high:
        return Zones(None, None, fail_low, fail_high, decides=False)
    return Zones(pass_low, pass_high, fail_low, fail_high, decides=True)


def turns_needed(
    low: float, high: float, clamp: Accuracy, uncertainty_with: Callable[[float, Accuracy], float]
) -> int | None:
    """Fewest turns through the jaw that leave a pass zone; None when ten are not enough.

    Args:
        low: Lower limit [A].
        high: Upper limit [A].
        clamp: The clamp with one turn.
        uncertainty_with: Expanded uncertainty at a value with a given clamp accuracy [A].
    """
    for turns in range(1, MOST_TURNS + 1):
        wound = clamp.with_turns(turns)
        if low + uncertainty_with(low, wound) <= high - uncertainty_with(high, wound):
            return turns
    return None
