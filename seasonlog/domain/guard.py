"""A limit put together: the rule's own edges, the trade's steps, and what the instrument at hand leaves of them."""

from collections.abc import Callable
from dataclasses import dataclass

from seasonlog.calc.instrument import Zones, guarded
from seasonlog.domain.limit import Limit

GUARD = "guarded acceptance w = U, ILAC-G8:09/2019"
COMMON = "common practice, no source"
_SIGNED = frozenset({"degf"})
"""Units whose readings go below zero; in others a pass edge below zero leaves nothing to read."""
_NO_ZONE = "; this instrument leaves no pass zone"


@dataclass(frozen=True, slots=True)
class Rule:
    """What a limit is called and where it comes from."""

    quantity: str
    """Name of the quantity."""
    unit: str
    """Unit of the limit."""
    source: str
    """Source tag, without the decision rule."""
    formula: str
    """Name and version."""


@dataclass(frozen=True, slots=True)
class Edges:
    """The limit itself. None: no limit on that side."""

    low: float | None = None
    high: float | None = None


@dataclass(frozen=True, slots=True)
class Meter:
    """How far off a reading may be, from one instrument or from several together."""

    uncertainty_at: Callable[[float], float]
    """Expanded uncertainty at a value, both in the unit of the limit."""
    who: str
    """Which instruments, or that none was named."""
    reach: Edges = Edges()
    """Lowest and highest reading it can show; None: not known."""


EXACT = Meter(lambda _: 0.0, "")
"""Nothing is guarded: no instrument with an accuracy takes part."""


@dataclass(frozen=True, slots=True)
class Steps:
    """The trade's own steps beside a limit: pass only from here, fail only beyond here. None: no step."""

    pass_low: float | None = None
    pass_high: float | None = None
    fail_low: float | None = None
    fail_high: float | None = None


NO_STEPS = Steps()


def limit(rule: Rule, edges: Edges, basis: str, meter: Meter = EXACT, steps: Steps = NO_STEPS) -> Limit:
    """A limit guarded by the instrument, with the trade's steps where they are wider.

    Args:
        rule: Name, unit, source and formula.
        edges: The limit itself.
        basis: Words and arithmetic, without the instrument's part.
        meter: How far off the reading may be.
        steps: The trade's own steps.
    """
    beyond = _beyond(meter, edges, steps, rule.unit)
    if beyond:
        return missing(rule, beyond)
    zones = _stepped(guarded(edges.low, edges.high, meter.uncertainty_at), steps, rule.unit)
    return Limit(
        quantity=rule.quantity,
        unit=rule.unit,
        low=edges.low,
        high=edges.high,
        pass_low=zones.pass_low,
        pass_high=zones.pass_high,
        fail_low=zones.fail_low,
        fail_high=zones.fail_high,
        basis=f"{basis}{_meter_words(meter, edges, rule.unit)}{'' if zones.decides else _NO_ZONE}",
        source=rule.source if meter is EXACT else f"{rule.source}; {GUARD}",
        formula=rule.formula,
        decides=zones.decides,
    )


def _beyond(meter: Meter, edges: Edges, steps: Steps, unit: str) -> str:
    """Why the instrument cannot show which side of the limit a value is on; empty when it can.

    Over range on a meter that ends below the limit says nothing of the limit.
    """
    wanted = [edge for edge in (edges.low, edges.high, steps.pass_low) if edge is not None]
    low, high = meter.reach.low, meter.reach.high
    if high is not None and wanted and max(wanted) > high:
        return f"{meter.who} reads up to {figure(high)} {unit}, the limit is {figure(max(wanted))}: take another one"
    if low is not None and wanted and min(wanted) < low:
        return f"{meter.who} reads from {figure(low)} {unit}, the limit is {figure(min(wanted))}: take another one"
    return ""


def missing(rule: Rule, says: str) -> Limit:
    """The limit that cannot be worked out, saying why."""
    return Limit(
        quantity=rule.quantity,
        unit=rule.unit,
        low=None,
        high=None,
        pass_low=None,
        pass_high=None,
        fail_low=None,
        fail_high=None,
        basis=says,
        source=rule.source,
        formula=rule.formula,
        missing=says,
    )


def _stepped(zones: Zones, steps: Steps, unit: str) -> Zones:
    pass_low = _pick(max, zones.pass_low, steps.pass_low)
    pass_high = _pick(min, zones.pass_high, steps.pass_high)
    fail_low = _pick(min, zones.fail_low, steps.fail_low)
    fail_high = _pick(max, zones.fail_high, steps.fail_high)
    empty = pass_low is not None and pass_high is not None and pass_low > pass_high
    below_nothing = unit not in _SIGNED and pass_low is None and pass_high is not None and pass_high < 0.0
    if not zones.decides or empty or below_nothing:
        return Zones(None, None, fail_low, fail_high, decides=False)
    return Zones(pass_low, pass_high, fail_low, fail_high, decides=True)


def _pick(choose: Callable[[float, float], float], edge: float | None, step: float | None) -> float | None:
    if edge is None or step is None:
        return step if edge is None else edge
    return choose(edge, step)


def _meter_words(meter: Meter, edges: Edges, unit: str) -> str:
    given = [edge for edge in (edges.low, edges.high) if edge is not None]
    if meter is EXACT or not given:
        return ""
    return f"; meter +/-{figure(meter.uncertainty_at(sum(given) / len(given)))} {unit} ({meter.who})"


def figure(value: float) -> str:
    """A number for people: about three figures, no exponent, no trailing zeros."""
    places = 0 if abs(value) >= 100 else 1 if abs(value) >= 10 else 2
    text = f"{value:.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
