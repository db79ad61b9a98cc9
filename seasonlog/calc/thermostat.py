"""At what water temperature a thermostat closes and opens, and how far that stays above freezing.

What the dial's mark stands for decides everything: 40 degF with 8 to 10 degF differential is safe only where the mark
means cut-in.
"""

from dataclasses import dataclass

from seasonlog.calc.units import temperature, within
from seasonlog.errors import RatingError

FREEZING_DEGF = 32.0
ICE_POINT_DEGF = 32.0
"""Shaved ice in air-saturated water. Source: ASTM E563 (abstract read)."""
_CUT_IN_BELOW_DIAL = {"cut_in": 0.0, "middle": 0.5, "cut_out": 1.0}


@dataclass(frozen=True, slots=True)
class Switching:
    """Where a thermostat switches."""

    cut_in_degf: float
    """Closes on falling water at this temperature."""
    cut_out_degf: float
    """Opens on rising water at this temperature."""

    @property
    def margin_degf(self) -> float:
        """Cut-in above freezing; negative means the water freezes first."""
        return self.cut_in_degf - FREEZING_DEGF


def switching(dial_degf: float, differential_degf: float, mark: str) -> Switching:
    """Cut-in and cut-out of a thermostat from its dial.

    Args:
        dial_degf: Setting of the dial [degF].
        differential_degf: Cut-out minus cut-in [degF].
        mark: What the mark stands for: `cut_in`, `cut_out` or `middle`.

    Raises:
        RatingError: a value is impossible or the mark's meaning is not one of the three.

    Source:
        Definition of the differential; no error of the dial included.

    Example:
        >>> switching(45, 10, "cut_out").cut_in_degf
        35.0
    """
    temperature(dial_degf, "dial")
    within(differential_degf, "differential", "degF", 0.1, 100.0)
    if mark not in _CUT_IN_BELOW_DIAL:
        raise RatingError(f"the dial's mark is {mark!r}: find out whether it means cut_in, cut_out or middle")
    cut_in = dial_degf - _CUT_IN_BELOW_DIAL[mark] * differential_degf
    return Switching(cut_in, cut_in + differential_degf)


@dataclass(frozen=True, slots=True)
class DialCheck:
    """Whether a dial setting alone would keep water from freezing."""

    worst_cut_in_degf: float
    """Cut-in with dial and thermometer both off to the bad side."""
    is_safe: bool
    """The worst cut-in is at or above freezing and the margin."""


def dial_check(cut_in_degf: float, *, dial_error_degf: float, thermometer_degf: float, margin_degf: float) -> DialCheck:
    """Judge a cut-in that was only read off the dial, not measured.

    Args:
        cut_in_degf: Cut-in by the dial [degF].
        dial_error_degf: How far dials are off [degF].
        thermometer_degf: How far the thermometer that set it is off [degF].
        margin_degf: Cut-in wanted above freezing, since the bulb is not at the coldest corner [degF].

    Source:
        Common practice, no source: dial 3, thermometer 1, margin 2 degF.
    """
    worst = temperature(cut_in_degf, "cut-in")
    for error, what in ((dial_error_degf, "dial error"), (thermometer_degf, "thermometer error")):
        worst -= within(error, what, "degF", 0.0, 20.0)
    wanted = FREEZING_DEGF + within(margin_degf, "margin", "degF", 0.0, 20.0)
    return DialCheck(worst, worst >= wanted)


def ice_point_correction_degf(ice_reading_degf: float) -> float:
    """What is ADDED to later readings of a thermometer that showed this in ice and water [degF].

    A thermometer that reads 33 in ice reads 1 too high: the correction is -1.

    Source:
        Definition of a correction; ice point 32.0 degF, ASTM E563 (abstract). One published manual has the sign wrong.
    """
    return ICE_POINT_DEGF - temperature(ice_reading_degf, "reading in ice")


def corrected_degf(reading_degf: float, ice_reading_degf: float) -> float:
    """A thermometer's reading put right by its own reading in ice and water [degF]."""
    return temperature(reading_degf, "reading") + ice_point_correction_degf(ice_reading_degf)
