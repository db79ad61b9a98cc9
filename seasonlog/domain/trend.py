"""A quantity of one piece of equipment over the years: readings, limits, changes of the device, and its drift."""

from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum

from seasonlog.domain.units_shown import IN_PLAIN_LETTERS, difference_as, is_metric, shown_as


@dataclass(frozen=True, slots=True)
class TrendPoint:
    """One reading."""

    on: date
    """The local day."""
    wall_ms: int
    values: tuple[float, ...]
    """As read: one value, or one per line; over range is infinite."""
    value: float
    """The one that is followed: the lowest of an insulation, else the mean."""
    verdict: str
    low: float | None
    """Lower limit it was judged by, None without one."""
    high: float | None
    """Upper limit, None without one."""
    uid: str
    """Of the entry that holds it."""
    who: str
    instrument: str
    """Instrument id, or empty."""
    doubted_since: str = ""
    """Day (YYYY-MM-DD) from which its instrument is recalled and no review lets the reading stand: it is shown, and
    counts in no run."""


@dataclass(frozen=True, slots=True)
class DeviceMark:
    """A device was put in: what is read after it is another thing's."""

    on: date
    device: str
    """Register id."""
    position: str
    """heater, thermostat ..."""
    says: str
    """Maker, model, serial and reason, as far as known."""
    failed_in_warranty: str = ""
    """Not empty: the device before it came out before its warranty ended, in words."""


class Drift(StrEnum):
    """Where a quantity goes."""

    RISING = "rising"
    FALLING = "falling"
    STEADY = "steady"
    """No change that chance would not make as well."""
    TOO_FEW = "too_few"


@dataclass(frozen=True, slots=True)
class Run:
    """The readings of one installed device, and what they say together."""

    device: str
    """Register id; empty while none is on record."""
    first: date
    last: date
    readings: int
    drift: Drift
    per_year: float | None
    """Slope of Theil and Sen, in the unit of the quantity a year; None of fewer than two finite readings."""
    p_value: float | None
    """Two-sided, Mann and Kendall; None of fewer than three readings."""
    matters: bool
    """The change is more than chance, and so large or so near its limit that a person must look."""
    says: str
    """In words, with what it rests on."""


@dataclass(frozen=True, slots=True)
class Trend:
    """All of it."""

    tower: str
    target: str
    """Circuit, basin or trace; empty for the tower itself."""
    quantity: str
    says: str
    """What the quantity is, for a person."""
    unit: str
    points: tuple[TrendPoint, ...]
    """Oldest first."""
    marks: tuple[DeviceMark, ...]
    """Oldest first."""
    runs: tuple[Run, ...]
    """One per device, oldest first."""
    units: str = "us"
    """Of the site, `us` or `si`: its words are in them, its numbers as recorded."""

    def as_read(self) -> "Trend":
        """The same with its numbers, too, in the units that people of the site read."""
        if not is_metric(self.unit, self.units):
            return self
        (_, convert), (_, change) = shown_as(self.unit, self.units), difference_as(self.unit, self.units)

        def edge(value: float | None) -> float | None:
            return None if value is None else round(convert(value), 2)  # finer than any thermometer

        points = (
            replace(p, values=tuple(map(convert, p.values)), value=convert(p.value), low=edge(p.low), high=edge(p.high))
            for p in self.points
        )
        runs = (replace(r, per_year=None if r.per_year is None else change(r.per_year)) for r in self.runs)
        return replace(self, unit=IN_PLAIN_LETTERS[1], points=tuple(points), runs=tuple(runs))

    @property
    def matters(self) -> bool:
        """The device now in place drifts, so that a person must look."""
        return any(run.matters for run in self.runs[-1:])

    @property
    def concerns(self) -> tuple[str, ...]:
        """What a person must look at: drifts of the device now in place, failures inside warranty."""
        drifts = [run.says for run in self.runs[-1:] if run.matters]
        return (*drifts, *(mark.failed_in_warranty for mark in self.marks if mark.failed_in_warranty))
