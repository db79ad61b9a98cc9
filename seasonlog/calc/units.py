"""What every calculation checks its input against, and the few conversions between unit systems.

One unit system inside: kW, V, A, ohm, degF, ft, in. Other units are converted where values come in and go out.
Heat and water: Btu/h, lb, ft2, mph, inHg, psf.
"""

import math

from seasonlog.errors import RatingError

SQRT3 = math.sqrt(3.0)

LEAST = 1e-6
MOST_KW = 10_000.0
MOST_VOLTS = 35_000.0
MOST_AMPS = 20_000.0
MOST_OHMS = 10_000_000.0
MOST_MOHM = 1_000_000.0
LEAST_DEGF = -150.0
MOST_DEGF = 400.0
"""Outside these a number is a slip of the finger, whatever it was meant to be. Common sense, no source."""


def positive(value: float, what: str, unit: str, most: float) -> float:
    """The value, if it is a finite number above zero and not above `most`.

    Args:
        value: The number to check [unit].
        what: Its name, for the sentence.
        unit: Its unit, for the sentence.
        most: Largest believable value [unit].

    Raises:
        RatingError: it is zero, negative, not a number or unbelievably large.
    """
    if not LEAST <= value <= most:
        raise RatingError(f"{what} is {value:g} {unit}: a number above 0 and not above {most:g} is wanted; check it")
    return value


def within(value: float, what: str, unit: str, least: float, most: float) -> float:
    """The value, if it is a finite number from `least` to `most`, both included.

    Raises:
        RatingError: it is outside, or not a number.
    """
    if not least <= value <= most:
        raise RatingError(f"{what} is {value:g} {unit}: a number from {least:g} to {most:g} is wanted; check it")
    return value


def temperature(value: float, what: str) -> float:
    """The temperature [degF], if water, air or a dial could have it.

    Raises:
        RatingError: it is below -150 or above 400 degF, or not a number.
    """
    return within(value, what, "degF", LEAST_DEGF, MOST_DEGF)


def phase_count(phases: int) -> int:
    """The number of phases, if it is 1 or 3.

    Raises:
        RatingError: it is anything else.
    """
    if phases not in (1, 3):
        raise RatingError(f"phases is {phases}: a heater has 1 or 3; check the plate")
    return phases


def degf_from_degc(degc: float) -> float:
    """A temperature in degF from degC."""
    return degc * 1.8 + 32.0


def degc_from_degf(degf: float) -> float:
    """A temperature in degC from degF."""
    return (degf - 32.0) / 1.8


def degf_difference(degc_difference: float) -> float:
    """A temperature difference in degF from one in degC: no offset."""
    return degc_difference * 1.8


def inches_from_mm(mm: float) -> float:
    """Inches from millimetres. Source: international inch, 25.4 mm exactly."""
    return mm / 25.4


BTUH_PER_KW = 3412.141633
"""Source: international table Btu, 1055.05585262 J exactly."""
LB_PER_FT3 = 62.43
"""Fresh water near freezing. Source: 1000 kg/m3, handbooks."""
GALLONS_PER_FT3 = 1728.0 / 231.0
"""Source: US gallon, 231 cubic inches exactly."""
LB_PER_H_PER_GPM = 500.4
"""Pounds an hour of one gallon a minute. Source: 60 x 8.34 lb/gal, customary."""


def kw_from_btuh(btuh: float) -> float:
    """Kilowatts from Btu per hour."""
    return btuh / BTUH_PER_KW


def btuh_from_kw(kw: float) -> float:
    """Btu per hour from kilowatts."""
    return kw * BTUH_PER_KW


def inhg_from_psi(psi: float) -> float:
    """Inches of mercury at 32 degF from psi. Source: 3.386389 and 6.894757 kPa."""
    return psi * (6.894757293 / 3.386389)


def mm_from_inches(inches: float) -> float:
    """Millimetres from inches. Source: international inch, 25.4 mm exactly."""
    return inches * 25.4


def kpa_from_psf(psf: float) -> float:
    """Kilopascals from pounds on a square foot. Source: 47.880259 Pa."""
    return psf * 0.047880259
