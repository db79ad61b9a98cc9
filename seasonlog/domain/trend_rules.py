"""When a change over the years matters, and how it is told. Pure: readings in, runs out."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from seasonlog.calc.monotone_trend import mann_kendall, theil_sen
from seasonlog.domain.plain_words import counted
from seasonlog.domain.practice import PracticeTable
from seasonlog.domain.register import Device
from seasonlog.domain.trend import DeviceMark, Drift, Run, TrendPoint
from seasonlog.domain.units_shown import difference_as

DAYS_A_YEAR = 365.25
LOWEST = frozenset({"insulation_mohm", "trace_insulation_mohm", "float_lead_mohm"})
"""Quantities whose lowest line is followed; of all others the mean of the lines."""
POSITIONS = {
    "heater": ("line_amps", "amps_unbalance_percent", "ohms_line_to_line", "insulation_mohm", "bond_ohms"),
    "thermostat": ("cut_in_degf", "cut_out_degf"),
    "level_device": ("probe_plumb_deg", "relay_drop_seconds", "electrode_volts", "float_lead_volts", "float_lead_mohm"),
    "contactor": ("off_terminal_volts", "off_amps", "control_volts"),
    "trace": ("trace_amps", "trace_volts", "trace_insulation_mohm"),
}
"""Position to the quantities that tell about the device in it."""
_OF = {quantity: position for position, quantities in POSITIONS.items() for quantity in quantities}


def position_of(quantity: str) -> str:
    """The position whose device a quantity tells about; empty for the water itself and the supply."""
    return _OF.get(quantity, "")


def followed(quantity: str, values: Sequence[float]) -> float:
    """The one number of a reading that is followed over the years."""
    if quantity in LOWEST or not all(map(math.isfinite, values)):
        return min(values)
    return sum(values) / len(values)


def marks_of(devices: Sequence[Device]) -> tuple[DeviceMark, ...]:
    """The devices put in at a position, oldest first, each with what became of the one before it."""
    fitted = sorted((d for d in devices if d.installed is not None), key=lambda d: (d.installed, d.id))
    found = []
    for number, device in enumerate(fitted):
        before = fitted[number - 1] if number else None
        failed = "" if before is None else inside_warranty(before)
        if device.installed is not None:
            found.append(DeviceMark(device.installed, device.id, device.position, _plate(device), failed))
    return tuple(found)


def inside_warranty(device: Device) -> str:
    """That a device came out before its warranty ended, in words; empty when it did not, or nobody knows."""
    if device.removed is None or device.warranty_end is None or device.removed > device.warranty_end:
        return ""
    why = f": {device.reason}" if device.reason else ""
    return f"{device.id} came out on {device.removed}, inside its warranty until {device.warranty_end}{why}"


def _plate(device: Device) -> str:
    parts = [part for part in (device.maker, device.model, device.serial) if part]
    words = " ".join(parts) or "no plate on record"
    return f"{device.position.replace('_', ' ')} put in: {words}"


@dataclass(frozen=True, slots=True)
class Followed:
    """What is asked of one series."""

    says: str
    """The quantity in words, with the place where it is read."""
    unit: str
    practice: PracticeTable
    units: str = "us"
    """Of the site: in which the words are."""

    def difference(self, value: float, form: str = ".3g") -> str:
        """A change of the quantity as people of the site read it: `-0.5 degC`."""
        unit, convert = difference_as(self.unit, self.units)
        return f"{convert(value):{form}} {unit}".rstrip()


def runs(points: Sequence[TrendPoint], marks: Sequence[DeviceMark], asked: Followed) -> tuple[Run, ...]:
    """The readings of each installed device, told apart; a new one starts anew. A doubted one says nothing."""
    points = [point for point in points if not point.doubted_since]
    starts = [(date.min, ""), *((mark.on, mark.device) for mark in marks)]
    ends = [*(start for start, _ in starts[1:]), date.max]
    cut = [
        (device, [p for p in points if start <= p.on < end]) for (start, device), end in zip(starts, ends, strict=True)
    ]
    return tuple(_run(device, ours, asked) for device, ours in cut if ours)


def _run(device: str, points: Sequence[TrendPoint], asked: Followed) -> Run:
    years = [(p.on - points[0].on).days / DAYS_A_YEAR for p in points]
    values = [p.value for p in points]
    slope, chance = theil_sen(years, values), mann_kendall(years, values)
    drift = _drift(slope, chance, asked.practice)
    why = _why(points, years, slope, asked) if drift in (Drift.RISING, Drift.FALLING) else ""
    says = _says(drift, points, slope, chance, asked) + (f"; {why}" if why else "")
    return Run(device, points[0].on, points[-1].on, len(points), drift, slope, chance, bool(why), says)


def _drift(slope: float | None, chance: float | None, practice: PracticeTable) -> Drift:
    if slope is None or chance is None:
        return Drift.TOO_FEW
    if chance > practice.value("trend_chance_percent") / 100 or slope == 0:
        return Drift.STEADY
    return Drift.RISING if slope > 0 else Drift.FALLING


def _why(points: Sequence[TrendPoint], years: Sequence[float], slope: float | None, asked: Followed) -> str:
    """Why a change matters; empty when it does not."""
    if slope is None:
        return ""
    change = abs(slope) * years[-1]
    left = _years_left(points[-1], slope)
    if left is not None and left <= asked.practice.value("trend_reach_years"):
        return f"at this rate it reaches its limit in {left:.1f} years" if left > 0 else "it has passed its limit"
    return _moved(points, change, asked)


def _moved(points: Sequence[TrendPoint], change: float, asked: Followed) -> str:
    """A tenth of where it began; of a temperature, whose zero is nowhere, so many degrees."""
    if asked.unit.casefold() == "degf":
        most = asked.practice.value("trend_change_degf")
        told = f"it has moved {asked.difference(change)}, {asked.difference(most)} are looked into"
        return told if change >= most else ""
    began = abs(next((p.value for p in points if math.isfinite(p.value)), 0.0))
    share = asked.practice.value("trend_change_percent")
    if began and 100 * change / began >= share:
        return f"it has moved {100 * change / began:.0f} % of where it began, {share:g} % are looked into"
    return ""


def _years_left(last: TrendPoint, slope: float) -> float | None:
    """Years until the limit it moves towards is reached; None without one on that side."""
    edge = last.high if slope > 0 else last.low
    if edge is None or not math.isfinite(last.value):
        return None
    return max((edge - last.value) / slope, 0.0)


def _says(
    drift: Drift, points: Sequence[TrendPoint], slope: float | None, chance: float | None, asked: Followed
) -> str:
    read = f"{counted(len(points), 'reading')} since {points[0].on}"
    if drift is Drift.TOO_FEW:
        return f"{asked.says}: {read}, too few to tell a trend"
    told = f"{asked.difference(slope, '+.3g')} a year" if slope is not None else ""
    likely = "under 0.001" if chance is not None and chance < 0.001 else f"{chance:.3f}"
    rests = f"{read}, {told}, chance {likely}"
    words = {Drift.RISING: "rises", Drift.FALLING: "falls", Drift.STEADY: "shows no trend"}[drift]
    return f"{asked.says} {words}: {rests}"
