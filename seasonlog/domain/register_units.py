"""Metric and US names of one field: a site file may say `depth_m` where the register holds `depth_ft`.

The register holds US units only; conversion happens here, once, with exact decimal factors, rounded to four decimals.
What is exported carries the US names, so that reading it again changes nothing.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import ROUND_CEILING, ROUND_FLOOR, Context, Decimal
from types import MappingProxyType

from seasonlog.domain.fields import Kind, Spec
from seasonlog.domain.register_records import SPECS

_STEP = Decimal("0.0001")
_NONE = Decimal(0)
_UP = Context(prec=4, rounding=ROUND_CEILING)  # bounds of four digits, rounded inwards
_DOWN = Context(prec=4, rounding=ROUND_FLOOR)


@dataclass(frozen=True, slots=True)
class _Metric:
    ending: str
    metric_ending: str
    unit: str
    metric_per_us: Decimal
    us_at_metric_zero: Decimal = _NONE


_FOOT = Decimal("0.3048")  # m per ft, exact: international yard and pound agreement of 1959
_METRIC = {
    "ft": _Metric("_ft", "_m", "m", _FOOT),
    "ft2": _Metric("_ft2", "_m2", "m2", _FOOT * _FOOT),
    "in": _Metric("_in", "_mm", "mm", Decimal("25.4")),
    "gal": _Metric("_gal", "_l", "l", Decimal("3.785411784")),  # US gallon of 231 cubic inches, exact
    "degf": _Metric("_degf", "_degc", "degc", Decimal(5) / Decimal(9), Decimal(32)),
    "W/ft": _Metric("_ft", "_m", "W/m", 1 / _FOOT),
}


@dataclass(frozen=True, slots=True)
class Alternate:
    """A second name a field may be given by, in another unit."""

    name: str
    """The second name: `depth_m`."""
    field: str
    """The field's own name: `depth_ft`."""
    spec: Spec
    """The number as it reads in the other unit, bounds included."""
    metric_per_us: Decimal | None
    """How many of the other unit make one of the field's own; None for a conductor, which is kept as printed."""
    us_at_metric_zero: Decimal = _NONE
    """The field's value where the other scale reads zero."""

    def held(self, given: Decimal) -> Decimal | str:
        """What the field holds for a number in the other unit: converted, rounded to four decimals, or as printed."""
        if self.metric_per_us is None:
            return f"{given:f} {self.spec.unit}"
        return (given / self.metric_per_us + self.us_at_metric_zero).quantize(_STEP).normalize()


def _alternate(name: str, spec: Spec) -> Alternate | None:
    metric = _METRIC.get(spec.unit)
    if spec.kind is Kind.CONDUCTOR:
        return _as_printed(name, spec)
    if metric is None or spec.low is None or spec.high is None:
        return None
    zero = _NONE if spec.difference else metric.us_at_metric_zero
    low = _UP.multiply(spec.low - zero, metric.metric_per_us).normalize().normalize()
    high = _DOWN.multiply(spec.high - zero, metric.metric_per_us).normalize().normalize()
    other = replace(spec, unit=metric.unit, low=low, high=high)
    return Alternate(name.removesuffix(metric.ending) + metric.metric_ending, name, other, metric.metric_per_us, zero)


def _as_printed(name: str, spec: Spec) -> Alternate:
    number = Spec(Kind.NUMBER, spec.says, unit="mm2", low=Decimal("0.5"), high=Decimal(500))
    return Alternate(name.removesuffix("_awg") + "_mm2", name, number, None)


def _alternates(specs: Mapping[str, Spec]) -> Mapping[str, Alternate]:
    found = (_alternate(name, spec) for name, spec in specs.items())
    return MappingProxyType({each.name: each for each in found if each})


ALTERNATES: Mapping[str, Mapping[str, Alternate]] = {what: _alternates(specs) for what, specs in SPECS.items()}
"""For each record type, by its word, the second names of its fields, by that second name."""
