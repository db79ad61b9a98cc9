"""What a healthy resistance heater shows a meter, from its nameplate: amps, ohms, power, and how far they may stray.

Resistive load at unity power factor, full sine wave. Not for phase-cut control, where the meter sees something else.
"""

from dataclasses import dataclass

from seasonlog.calc.units import MOST_AMPS, MOST_KW, MOST_VOLTS, SQRT3, phase_count, positive, within


@dataclass(frozen=True, slots=True)
class Band:
    """From `low` to `high`, both included, in the unit of what it bounds."""

    low: float
    high: float

    def holds(self, value: float) -> bool:
        """Whether the value lies inside."""
        return self.low <= value <= self.high


@dataclass(frozen=True, slots=True)
class Tolerance:
    """How far a metal-sheath element may differ from its plate."""

    watts_below_percent: float = 10.0
    """Percent of rated watts it may fall short."""
    watts_above_percent: float = 5.0
    """Percent of rated watts it may exceed."""
    hot_over_cold: float = 1.03
    """Ohms at work in water over ohms cold."""


CUSTOMARY = Tolerance()
"""Watts +5/-10 %. Source: trade custom, stated as an industry standard in a published maker's design guide; no standard
text read. Hot over cold: nickel-chrome coefficient 0.00013 to 0.00017 per degC of an open textbook table."""


def line_amps(power_kw: float, volts: float, phases: int) -> float:
    """Amps in each line conductor of a healthy heater at its rated volts; wye and delta alike.

    Args:
        power_kw: Rated power of the whole heater [kW].
        volts: Rated volts, line to line for three phases [V].
        phases: 1 or 3.

    Returns:
        Line amps [A].

    Raises:
        RatingError: a rating is impossible.

    Source:
        Circuit theory.

    Example:
        >>> round(line_amps(18, 480, 3), 2)
        21.65
    """
    watts = 1000.0 * positive(power_kw, "heater power", "kW", MOST_KW)
    positive(volts, "heater volts", "V", MOST_VOLTS)
    return watts / (volts * (SQRT3 if phase_count(phases) == 3 else 1.0))


def ohms_line_to_line(power_kw: float, volts: float, phases: int) -> float:
    """Ohms between any two line terminals of a healthy heater at working temperature.

    Three phases: 2 V^2/P for wye (two elements in a row) and for delta (one beside two) alike. One phase: V^2/P.

    Args:
        power_kw: Rated power of the whole heater [kW].
        volts: Rated volts, line to line for three phases [V].
        phases: 1 or 3.

    Returns:
        Ohms [ohm].

    Raises:
        RatingError: a rating is impossible.

    Source:
        Circuit theory.
    """
    watts = 1000.0 * positive(power_kw, "heater power", "kW", MOST_KW)
    positive(volts, "heater volts", "V", MOST_VOLTS)
    return (2.0 if phase_count(phases) == 3 else 1.0) * volts * volts / watts


def element_ohms(power_kw: float, volts: float, connection: str) -> float:
    """Ohms of one of the three elements of a three-phase heater.

    Args:
        power_kw: Rated power of the whole heater [kW].
        volts: Rated volts, line to line [V].
        connection: `wye` or `delta`.

    Source:
        Circuit theory: wye V^2/P, delta 3 V^2/P.
    """
    pair = ohms_line_to_line(power_kw, volts, 3)
    return pair / 2.0 if connection == "wye" else 1.5 * pair


def amps_at(rated_amps: float, rated_volts: float, measured_volts: float) -> float:
    """Amps of the same heater at other volts: they follow the volts.

    Args:
        rated_amps: Amps at rated volts [A].
        rated_volts: Volts on the plate [V].
        measured_volts: Volts at the heater [V].

    Raises:
        RatingError: a value is impossible.

    Source:
        Circuit theory (Ohm's law, fixed resistance).
    """
    return positive(rated_amps, "rated amps", "A", MOST_AMPS) * volts_ratio(rated_volts, measured_volts)


def power_at(power_kw: float, rated_volts: float, measured_volts: float) -> float:
    """Power of the same heater at other volts [kW]: it follows their square. Arguments as `amps_at`."""
    return positive(power_kw, "heater power", "kW", MOST_KW) * volts_ratio(rated_volts, measured_volts) ** 2


def volts_ratio(rated_volts: float, measured_volts: float) -> float:
    """Measured volts over rated volts.

    Raises:
        RatingError: a value is impossible.
    """
    positive(rated_volts, "heater volts", "V", MOST_VOLTS)
    return positive(measured_volts, "measured volts", "V", MOST_VOLTS) / rated_volts


def amps_band(amps: float, tolerance: Tolerance = CUSTOMARY) -> Band:
    """Amps a heater within tolerance may draw, from its expected amps at the volts measured.

    At fixed volts amps go as 1/R, so percent of watts is percent of amps.

    Args:
        amps: Expected line amps at the volts measured [A].
        tolerance: Of the elements.

    Source:
        Trade custom, watts +5/-10 %.
    """
    positive(amps, "expected amps", "A", MOST_AMPS)
    low, high = _watts_ratios(tolerance)
    return Band(amps * low, amps * high)


def ohms_band(ohms: float, tolerance: Tolerance = CUSTOMARY) -> Band:
    """Cold ohms a heater within tolerance may show, from its ohms at working temperature.

    Low edge: the strongest heater allowed, and cold; high edge: the weakest, taken as hot.

    Args:
        ohms: Expected ohms at working temperature [ohm].
        tolerance: Of the elements.

    Source:
        Trade custom, watts +5/-10 %, and a rise of 0 to 3 % from cold to hot in water.
    """
    low, high = _watts_ratios(tolerance)
    return Band(ohms / high / within(tolerance.hot_over_cold, "ohms hot over cold", "", 1.0, 1.2), ohms / low)


def _watts_ratios(tolerance: Tolerance) -> tuple[float, float]:
    below = within(tolerance.watts_below_percent, "watts tolerance below", "%", 0.0, 50.0)
    above = within(tolerance.watts_above_percent, "watts tolerance above", "%", 0.0, 50.0)
    return 1.0 - below / 100.0, 1.0 + above / 100.0
