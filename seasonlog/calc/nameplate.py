"""Does the current on a heater's plate belong to its power, volts and phases, and if not, whose current is it?

One number decides: k = amps x volts / watts. It is 1 for one phase and 1/sqrt 3 for three, whatever the size. Amps
alone never tell the volts: 9 kW at 240 V and 18 kW at 480 V draw the same. Ohms do.
"""

from dataclasses import dataclass

from seasonlog.calc.heater import line_amps
from seasonlog.calc.units import MOST_AMPS, SQRT3, positive

PLATE_PERCENT = 4.0
"""Plates round their amps. Common practice, no source."""

_OTHER_VOLTS = {480.0: (460.0, 440.0), 600.0: (575.0,), 240.0: (208.0, 230.0), 208.0: (240.0, 200.0), 277.0: (240.0,)}
"""Volts at which amps are sometimes worked for a plate that says the first. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class PlateCheck:
    """What the plate's amps turn out to be."""

    factor: float
    """Amps x volts / watts, no unit."""
    expected_amps: float
    """Line amps that belong to the plate's power, volts and phases [A]."""
    agrees: bool
    """Within a few percent, as plates round."""
    pattern: str
    """`agrees`, `other_phases`, `one_element`, `one_heater`, `other_volts` or `unexplained`."""
    says: str
    """One sentence with the arithmetic."""


@dataclass(frozen=True, slots=True)
class _Reading:
    pattern: str
    factor: float
    says: str


def plate_check(
    power_kw: float, volts: float, phases: int, plate_amps: float, *, heaters: int = 1, percent: float = PLATE_PERCENT
) -> PlateCheck:
    """Hold the amps on a plate against its power, volts and phases.

    Args:
        power_kw: Rated power of all heaters together [kW].
        volts: Rated volts, line to line for three phases [V].
        phases: 1 or 3.
        plate_amps: Line amps on the plate [A].
        heaters: Heaters that share the power; a plate may give the amps of one.
        percent: How far off still agrees [%].

    Raises:
        RatingError: a value is impossible.

    Source:
        Circuit theory; the +/-4 % is common practice, no source.
    """
    expected = line_amps(power_kw, volts, phases)
    positive(plate_amps, "plate amps", "A", MOST_AMPS)
    factor = plate_amps * volts / (1000.0 * power_kw)
    own = expected * volts / (1000.0 * power_kw)
    if abs(factor / own - 1.0) <= percent / 100.0:
        return PlateCheck(factor, expected, True, "agrees", f"{plate_amps:g} A agrees with {expected:.2f} A")
    read = _nearest(factor, _readings(power_kw, volts, phases, heaters), percent)
    said = f"{plate_amps:g} A {read.says}; {_phases(phases)} is {expected:.2f} A (k = {factor:.3f}, {own:.3f} wanted)"
    return PlateCheck(factor, expected, False, read.pattern, f"{said}{_trap(volts, read)}")


def _nearest(factor: float, readings: list[_Reading], percent: float) -> _Reading:
    best = min(readings, key=lambda r: abs(factor / r.factor - 1.0))
    if abs(factor / best.factor - 1.0) <= percent / 100.0:
        return best
    return _Reading("unexplained", factor, "fits no usual arithmetic of this plate")


def _readings(power_kw: float, volts: float, phases: int, heaters: int) -> list[_Reading]:
    """Ways to arrive at a wrong current, likeliest first (the first of equals is taken)."""
    plate = f"{power_kw:g} kW / {volts:g} V"
    own = 1.0 / SQRT3 if phases == 3 else 1.0
    found = [
        _Reading("other_phases", 1.0 if phases == 3 else 1.0 / SQRT3, f"is {plate} {_phases(4 - phases)} arithmetic")
    ]
    if phases == 3:
        found.append(_Reading("one_element", 1.0 / 3.0, f"is {plate} in one element of a delta, not in the line"))
    if heaters > 1:
        found.append(_Reading("one_heater", own / heaters, f"is one of {heaters} equal heaters, not all of them"))
    for other in _OTHER_VOLTS.get(volts, ()):
        found.append(_Reading("other_volts", own * volts / other, f"is {power_kw:g} kW worked at {other:g} V"))
    return found


def _trap(volts: float, read: _Reading) -> str:
    """Single-phase amps of a 480 V plate are also those of the same power at 277 V in three phases."""
    if read.pattern != "other_phases" or read.factor != 1.0 or volts != 480.0:
        return ""
    return "; 277 V three-phase would fit too: check the volts"


def _phases(phases: int) -> str:
    return "three-phase" if phases == 3 else "single-phase"
