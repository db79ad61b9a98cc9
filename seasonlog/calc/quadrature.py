"""The integral of a smooth function, as exact as asked for."""

import math
from collections.abc import Callable
from heapq import heappop, heappush

_KRONROD = (
    (0.991455371120812639206854697526329, 0.022935322010529224963732008058970, 0.0),
    (0.949107912342758524526189684047851, 0.063092092629978553290700663189204, 0.129484966168869693270611432679082),
    (0.864864423359769072789712788640926, 0.104790010322250183839876322541518, 0.0),
    (0.741531185599394439863864773280788, 0.140653259715525918745189590510238, 0.279705391489276667901467771423780),
    (0.586087235467691130294144691693013, 0.169004726639267902826583426598550, 0.0),
    (0.405845151377397166906606412076961, 0.190350578064785409913256402421014, 0.381830050505118944950369775488975),
    (0.207784955007898467600689403773245, 0.204432940075298892414161999234649, 0.0),
)
_KRONROD_MIDDLE, _GAUSS_MIDDLE = 0.209482141084727828012999174891714, 0.417959183673469387755102040816327
"""Nodes and weights of 15 points, and the weights of the 7 among them. Source: Gauss and Kronrod, as in QUADPACK."""
TOLERANCE = 1e-10
MOST_SPLITS = 100

_Panel = tuple[float, float, float, float]
"""Minus the error, so that a heap gives the worst first; where it begins and ends; its integral."""


def integral(function: Callable[[float], float], low: float, high: float) -> float:
    """The integral of a function from `low` to `high`, to about 1e-10 of it.

    The panel where 15 and 7 points disagree most is halved, so a steep end costs only a few more points.

    Args:
        function: Smooth between the ends.
        low: Where it begins.
        high: Where it ends.

    Source:
        Globally adaptive Gauss and Kronrod rule, as in QUADPACK.
    """
    panels = [_panel(function, low, high)]
    for _ in range(MOST_SPLITS):
        if -math.fsum(panel[0] for panel in panels) <= TOLERANCE * abs(math.fsum(panel[3] for panel in panels)):
            break
        _, begin, end, _ = heappop(panels)
        middle = (begin + end) / 2.0
        heappush(panels, _panel(function, begin, middle))
        heappush(panels, _panel(function, middle, end))
    return math.fsum(panel[3] for panel in panels)


def _panel(function: Callable[[float], float], low: float, high: float) -> _Panel:
    middle, half = (low + high) / 2.0, (high - low) / 2.0
    at_middle = function(middle)
    fine, coarse = _KRONROD_MIDDLE * at_middle, _GAUSS_MIDDLE * at_middle
    for node, weight, gauss in _KRONROD:
        pair = function(middle - half * node) + function(middle + half * node)
        fine += weight * pair
        coarse += gauss * pair
    return -abs(half * (fine - coarse)), low, high, half * fine


def root(function: Callable[[float], float], low: float, high: float, near: float = 1e-10) -> float:
    """Where a growing function is zero, to `near` in its argument.

    Args:
        function: Not above zero at `low`, above zero at `high`.
        low: Lower end.
        high: Upper end.
        near: How near.

    Source:
        False position in the Illinois form: the end that stays has its value halved, so both ends close in.
    """
    at_low, at_high = function(low), function(high)
    kept = 0
    while high - low > near and at_low < 0.0:
        middle = min(high, max(low, (low * at_high - high * at_low) / (at_high - at_low)))
        value = function(middle)
        if value == 0.0 or middle in (low, high):
            return middle
        if value < 0.0:
            low, at_low, at_high = middle, value, at_high / 2.0 if kept < 0 else at_high
            kept = -1
        else:
            high, at_high, at_low = middle, value, at_low / 2.0 if kept > 0 else at_low
            kept = 1
    return low if at_low == 0.0 else (low + high) / 2.0
