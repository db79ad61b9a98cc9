"""Insulation resistance of a heater: what temperature does to it and what test it takes.

Moisture, not temperature, rules in magnesium oxide: the raw reading is what is judged; the value at 20 degC stands
beside it and never turns a fail into a pass.
"""

import math
from dataclasses import dataclass
from itertools import pairwise

from seasonlog.calc.units import MOST_AMPS, MOST_MOHM, MOST_VOLTS, degf_from_degc, positive, within
from seasonlog.errors import RatingError

EDITION = "ANSI/NETA MTS-2019, Table 100.1"

TEMPERATURE_FACTORS: dict[str, dict[int, float]] = {
    "oil": {0: 0.25, 5: 0.36, 10: 0.50, 15: 0.74, 20: 1.00, 25: 1.40, 30: 1.98, 35: 2.80, 40: 3.95, 50: 7.85},
    "solid": {0: 0.40, 5: 0.45, 10: 0.50, 15: 0.75, 20: 1.00, 25: 1.30, 30: 1.60, 35: 2.05, 40: 2.50, 50: 4.00},
}
"""Reading to 20 degC, by degC. Source: ANSI/NETA MTS-2019 Table 100.14; oil from a transformer maker's copy, solid from
memory."""

LADDER_MOHM = (20.0, 5.0, 1.0)
"""Pass, watch, conditional from these on; below the last one fail. Source: proposed from heater makers' published
application notes; common practice."""
FALL_SHARE = 0.5
"""Of last year's reading; less is a finding. Common practice, no source."""

_DRY_OUT = (
    "dry it out, locked out as before (terminal hardware off, 230 to 350 F, 110 to 177 C, for 4 h or more), "
    "and read again"
)
_ACTIONS = {
    "pass": "write it down beside last year's",
    "watch": "compare with last year's, and look for a wet terminal box or seal",
    "conditional": _DRY_OUT,
    "fail": f"do not energise; {_DRY_OUT}; if it stays low, replace the heater",
}


@dataclass(frozen=True, slots=True)
class ApparatusTest:
    """What apparatus of a voltage class is tested with; representative, and not made for wet heaters."""

    class_volts: float
    """Highest rating of the class [V]."""
    test_volts: float
    """Direct volts of the test [V]."""
    least_mohm: float
    """Least insulation at 20 degC [Mohm]."""
    edition: str = EDITION
    """Whose table it is."""


_CLASSES = (ApparatusTest(250, 500, 25), ApparatusTest(600, 1000, 100), ApparatusTest(1000, 1000, 100))


@dataclass(frozen=True, slots=True)
class Rung:
    """What one insulation reading of a whole heater is worth."""

    verdict: str
    """`pass`, `watch`, `conditional` or `fail`, by the reading itself."""
    action: str
    """What to do, in words."""
    finding: str
    """What is wrong although the reading stands where it does; empty when nothing is."""


def judge(reading_mohm: float, working_volts: float = 480.0, last_year_mohm: float | None = None) -> Rung:
    """Judge an insulation reading of a whole heater, 500 V dc, 60 s, terminals to sheath.

    No temperature goes in: the raw reading is judged, so no correction can turn a fail into a pass.

    Args:
        reading_mohm: As read [Mohm].
        working_volts: Of the heater; raises the lowest step above 1000 V [V].
        last_year_mohm: The same heater's reading a year ago, or None [Mohm].

    Raises:
        RatingError: a value is impossible.

    Source:
        Steps proposed from heater makers' published application notes; common practice. Floor: `general_floor_mohm`.
    """
    good, watch, least = LADDER_MOHM
    reading = positive(reading_mohm, "insulation", "Mohm", MOST_MOHM)
    floor = max(least, general_floor_mohm(working_volts))
    steps = (("fail", reading < floor), ("conditional", reading < watch), ("watch", reading < good))
    verdict = next((name for name, below in steps if below), "pass")
    finding = "" if last_year_mohm is None else _fall(reading, last_year_mohm)
    return Rung(verdict, _ACTIONS[verdict], finding)


def _fall(reading_mohm: float, last_year_mohm: float) -> str:
    share = reading_mohm / positive(last_year_mohm, "last year's insulation", "Mohm", MOST_MOHM)
    if share >= FALL_SHARE:
        return ""
    return (
        f"fell from {last_year_mohm:g} to {reading_mohm:g} Mohm, {100 * share:.0f} % of last year's: under half is a "
        "finding; look for moisture before it falls further"
    )


def apparatus_test(rated_volts: float) -> ApparatusTest:
    """Test volts and least insulation of the apparatus class a voltage falls in.

    Args:
        rated_volts: Of the apparatus [V].

    Raises:
        RatingError: the rating is impossible or above the classes, 1000 V.

    Source:
        ANSI/NETA MTS-2019 Table 100.1, other than rotating machines; acceptance values may differ by edition.
    """
    positive(rated_volts, "rated volts", "V", MOST_VOLTS)
    found = next((each for each in _CLASSES if rated_volts <= each.class_volts), None)
    if found is None:
        raise RatingError(f"{rated_volts:g} V is above the classes of the table, which end at 1000 V")
    return found


def temperature_factor(degc: float, column: str) -> float:
    """What a reading is multiplied by to be that of 20 degC, no unit.

    Args:
        degc: Temperature at the test, 0 to 50 [degC].
        column: `oil` or `solid`.

    Raises:
        RatingError: there is no such column, or the table does not reach the temperature.

    Source:
        ANSI/NETA MTS-2019 Table 100.14 (oil from a transformer maker's copy, solid from memory); between its rows
        interpolated on a logarithmic scale.
    """
    if column not in TEMPERATURE_FACTORS:
        raise RatingError(f"temperature column {column!r} is not one of {', '.join(TEMPERATURE_FACTORS)}")
    rows = TEMPERATURE_FACTORS[column]
    within(degc, "temperature at the test", "degC", 0.0, 50.0)
    low, high = next((a, b) for a, b in pairwise(rows) if a <= degc <= b)
    share = (degc - low) / (high - low)
    return math.exp((1.0 - share) * math.log(rows[low]) + share * math.log(rows[high]))


def winding_at_40_degc(reading_mohm: float, degc: float) -> float:
    """The reading of a winding as it would be at 40 degC; not for heaters, beside it only [Mohm].

    Args:
        reading_mohm: As read [Mohm].
        degc: Temperature of the winding [degC].

    Raises:
        RatingError: a value is impossible.

    Source:
        IEEE 43 (second hand): 0.5^((40 - T)/10).
    """
    positive(reading_mohm, "insulation", "Mohm", MOST_MOHM)
    return float(reading_mohm * 0.5 ** ((40.0 - within(degc, "winding temperature", "degC", -60.0, 150.0)) / 10.0))


def leakage_ma(volts_to_ground: float, mohm: float) -> float:
    """Current an insulation lets through to ground [mA]. Source: Ohm's law."""
    positive(mohm, "insulation", "Mohm", MOST_MOHM)
    return positive(volts_to_ground, "volts to ground", "V", MOST_VOLTS) / (1000.0 * mohm)


def trip_kohm(volts_to_ground: float, trip_ma: float) -> float:
    """Ohms to ground at which a ground-fault device just trips [kohm].

    Args:
        volts_to_ground: Of the line [V].
        trip_ma: Usually 30 mA for equipment, 4 to 6 mA for people [mA].

    Raises:
        RatingError: a value is impossible.

    Source:
        Ohm's law.
    """
    trip = positive(trip_ma, "trip current", "mA", 1000.0 * MOST_AMPS)
    return positive(volts_to_ground, "volts to ground", "V", MOST_VOLTS) / trip


def at_20_degc(reading_mohm: float, degc: float) -> float:
    """The reading as it would be at 20 degC: doubled for each 10 degC above [Mohm].

    Args:
        reading_mohm: As read [Mohm].
        degc: Temperature of the heater at the test [degC].

    Raises:
        RatingError: a value is impossible.

    Source:
        2^((T - 20)/10); agrees within 5 % with the oil column of a transformer maker's table, 0 to 50 degC.
    """
    positive(reading_mohm, "insulation", "Mohm", MOST_MOHM)
    return float(reading_mohm * 2.0 ** ((within(degc, "heater temperature", "degC", -60.0, 100.0) - 20.0) / 10.0))


def temperature_note(reading_mohm: float, degc: float) -> str:
    """The reading, its temperature and its value at 20 degC in one line; the raw reading is the one that counts."""
    at_20 = at_20_degc(reading_mohm, degc)
    read_at = f"{reading_mohm:g} Mohm read at {round(degc, 1):g} C ({round(degf_from_degc(degc), 1):g} F)"
    return f"{read_at}, about {at_20:.3g} Mohm at 20 C; the reading itself is judged"


def general_floor_mohm(working_volts: float) -> float:
    """Below this nothing is energised: 1 Mohm per kV of working volts, never under 1 Mohm.

    Source:
        General rule of thumb, second hand.
    """
    return max(1.0, positive(working_volts, "working volts", "V", MOST_VOLTS) / 1000.0)
