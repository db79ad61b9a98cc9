"""How far temperature sensors may be off, and what they read at the ice point.

Resistance sensors of platinum by their standard; 10 kohm thermistors by the two points a meter can be held against.
"""

import math

from seasonlog.calc.units import degc_from_degf, degf_difference, positive, within
from seasonlog.errors import RatingError

_CLASSES = {"AA": (0.10, 0.0017), "A": (0.15, 0.002), "B": (0.30, 0.005), "C": (0.60, 0.01)}
"""Tolerance at 0 degC and per degC away from it. Source: IEC 60751 (from memory)."""
CLASSES = tuple(_CLASSES)

_R0, _A, _B, _C = 100.0, 3.9083e-3, -5.775e-7, -4.183e-12
"""Callendar-Van Dusen. Source: IEC 60751 (from memory)."""
_LEAST_DEGC, _MOST_DEGC = -100.0, 200.0

_THERMISTOR_KOHM_AT_0 = {"II": 32.65, "III": 29.49}
"""Source: makers' tables (from memory)."""
THERMISTOR_TYPES = tuple(_THERMISTOR_KOHM_AT_0)
_KOHM_AT_25 = 10.0
_KELVIN = 273.15
THERMISTOR_TOLERANCE_DEGC = 0.2
"""Customary class of a 10 kohm thermistor. Common practice, no source."""


def pt_tolerance_degc(degc: float, sensor_class: str) -> float:
    """How far a platinum sensor may be off, either way [degC].

    Args:
        degc: Temperature measured [degC].
        sensor_class: `AA`, `A`, `B` or `C`.

    Raises:
        RatingError: there is no such class, or the temperature is impossible.

    Source:
        IEC 60751 (from memory): 0.10 + 0.0017 t, 0.15 + 0.002 t, 0.30 + 0.005 t, 0.60 + 0.01 t.
    """
    if sensor_class not in _CLASSES:
        raise RatingError(f"sensor class {sensor_class!r} is not one of {', '.join(CLASSES)}")
    at_ice, each = _CLASSES[sensor_class]
    return at_ice + each * abs(_believable(degc))


def pt_tolerance_degf(degf: float, sensor_class: str) -> float:
    """How far a platinum sensor may be off, either way [degF]; `degf` in degF, the rest as `pt_tolerance_degc`."""
    return degf_difference(pt_tolerance_degc(degc_from_degf(degf), sensor_class))


def pt100_ohms(degc: float) -> float:
    """Ohms of a Pt100 [ohm].

    Args:
        degc: Its temperature, -100 to 200 [degC].

    Raises:
        RatingError: the temperature is outside.

    Source:
        Callendar-Van Dusen with the coefficients of IEC 60751 (from memory).
    """
    t = _believable(degc)
    below = _C * (t - 100.0) * t**3 if t < 0.0 else 0.0
    return _R0 * (1.0 + _A * t + _B * t * t + below)


def degc_from_pt100_ohms(ohms: float) -> float:
    """Temperature of a Pt100 from its ohms, lead resistance taken off [degC].

    Raises:
        RatingError: the ohms are those of no temperature from -100 to 200 degC.

    Source:
        As `pt100_ohms`, solved: the quadratic, mended by Newton's steps below zero.
    """
    within(ohms, "ohms of a Pt100", "ohm", pt100_ohms(_LEAST_DEGC), pt100_ohms(_MOST_DEGC))
    t = (-_A + math.sqrt(_A * _A - 4.0 * _B * (1.0 - ohms / _R0))) / (2.0 * _B)
    for _ in range(4 if ohms < _R0 else 0):
        slope = _R0 * (_A + 2.0 * _B * t + _C * (4.0 * t - 300.0) * t * t)
        t -= (_R0 * (1.0 + _A * t + _B * t * t + _C * (t - 100.0) * t**3) - ohms) / slope
    return t


def thermistor_kohm(degc: float, kind: str) -> float:
    """About what a 10 kohm thermistor reads near the ice point [kohm].

    Args:
        degc: Its temperature, -10 to 40 [degC].
        kind: `II` or `III`.

    Raises:
        RatingError: there is no such type, or the temperature is outside.

    Source:
        Exponential law through 25 degC (10 kohm) and 0 degC (32.65 kohm type II, 29.49 type III, from memory).
    """
    within(degc, "thermistor temperature", "degC", -10.0, 40.0)
    return _KOHM_AT_25 * math.exp(_beta(kind) * (1.0 / (degc + _KELVIN) - 1.0 / (25.0 + _KELVIN)))


def degc_from_thermistor_kohm(kohm: float, kind: str) -> float:
    """About the temperature of a 10 kohm thermistor near the ice point [degC]. Errors, source as `thermistor_kohm`."""
    beta = _beta(kind)
    ratio = positive(kohm, "thermistor", "kohm", 1000.0) / _KOHM_AT_25
    inverse = 1.0 / (25.0 + _KELVIN) + math.log(ratio) / beta
    if not 1.0 / (40.0 + _KELVIN) <= inverse <= 1.0 / (-10.0 + _KELVIN):
        raise RatingError(f"{kohm:g} kohm is no thermistor of type {kind} between -10 and 40 C; check the type")
    return 1.0 / inverse - _KELVIN


def thermistor_band_kohm(degc: float, kind: str) -> tuple[float, float]:
    """Kohm between which a good 10 kohm thermistor reads at a temperature: its class of +/-0.2 degC [kohm].

    Arguments, errors and source as `thermistor_kohm`; the class is common practice, no source.
    """
    warm = thermistor_kohm(degc + THERMISTOR_TOLERANCE_DEGC, kind)
    return warm, thermistor_kohm(degc - THERMISTOR_TOLERANCE_DEGC, kind)


def _beta(kind: str) -> float:
    if kind not in _THERMISTOR_KOHM_AT_0:
        raise RatingError(f"thermistor type {kind!r} is not one of {', '.join(THERMISTOR_TYPES)}")
    rise = 1.0 / _KELVIN - 1.0 / (25.0 + _KELVIN)
    return math.log(_THERMISTOR_KOHM_AT_0[kind] / _KOHM_AT_25) / rise


def _believable(degc: float) -> float:
    return within(degc, "sensor temperature", "degC", _LEAST_DEGC, _MOST_DEGC)
