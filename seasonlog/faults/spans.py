"""Readings with their spread, grouped into the outcomes that a meter can tell apart."""

import math
from collections.abc import Sequence
from typing import TypeAlias

BEYOND = 4.0
"""Standard deviations from every prediction at which a reading speaks for none of them."""

Scaled: TypeAlias = tuple[float, float]
"""Predicted reading on the test's own scale, and its standard deviation."""
Mixed: TypeAlias = tuple[tuple[Scaled, float], ...]
"""Readings that one fault may show, each with its share."""


def gauss(sigmas: float) -> float:
    """Share of a normal spread below so many standard deviations."""
    return 0.5 * (1.0 + math.erf(sigmas / math.sqrt(2.0)))


def outcomes_of(predicted: Sequence[Scaled]) -> tuple[list[tuple[float, float]], list[float]]:
    """Predictions that a meter cannot tell apart become one outcome: its span and its middle."""
    groups: list[list[Scaled]] = []
    for each in sorted(set(predicted)):
        if groups and each[0] - groups[-1][-1][0] < 2.0 * min(each[1], groups[-1][-1][1]):
            groups[-1].append(each)
        else:
            groups.append([each])
    spans = [(min(x - BEYOND * s for x, s in g), max(x + BEYOND * s for x, s in g)) for g in groups]
    for n in range(len(spans) - 1):
        border = (groups[n][-1][0] + groups[n + 1][0][0]) / 2.0
        high, low = spans[n][1], spans[n + 1][0]
        spans[n] = (spans[n][0], min(high, max(border, low)))
        spans[n + 1] = (max(low, min(border, high)), spans[n + 1][1])
    return spans, [(g[0][0] + g[-1][0]) / 2.0 for g in groups]


def masses(mixed: Mixed, edges: Sequence[tuple[float, float]]) -> list[float]:
    """How likely each outcome is, the last for a reading beyond them all."""
    found = [0.0] * len(edges)
    for (x, spread), share in mixed:
        for n, (low, high) in enumerate(edges):
            found[n] += share * (gauss((high - x) / spread) - gauss((low - x) / spread))
    return [*found, max(0.0, 1.0 - sum(found))]
