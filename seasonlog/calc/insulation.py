"""Insulation resistance of a heater: what temperature does to it and what test it takes.

Moisture, not temperature, rules in magnesium oxide: the raw reading is what is judged; the value at 20 degC stands
beside it and never turns a fail into a pass.
"""

from seasonlog.calc.units import MOST_MOHM, MOST_VOLTS, degf_from_degc, positive, within


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
    read_at = f"{reading_mohm:g} Mohm read at {degc:g} C ({degf_from_degc(degc):g} F)"
    return f"{read_at}, about {at_20:.3g} Mohm at 20 C; the reading itself is judged"


def general_floor_mohm(working_volts: float) -> float:
    """Below this nothing is energised: 1 Mohm per kV of working volts, never under 1 Mohm.

    Source:
        General rule of thumb, second hand.
    """
    return max(1.0, positive(working_volts, "working volts", "V", MOST_VOLTS) / 1000.0)
