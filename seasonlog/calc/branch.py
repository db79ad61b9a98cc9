"""What the branch of a heater must carry: minimum amps, overcurrent device, conductor, subdivision.

US practice, NEC numbering of the 2023 edition; the adopted edition and the authority having jurisdiction decide. No
ambient or bundling factors here: heaters load their conductors in winter.
"""

from dataclasses import dataclass

from seasonlog.calc.units import MOST_AMPS, positive
from seasonlog.errors import RatingError

EDITION = "NEC 2023, by public transcriptions compared with each other"

CONTINUOUS = 1.25
"""Source: NEC 425.4(B) (number from memory), 424.4(B), 427.4: heater load counts as continuous."""
MOST_CIRCUIT_AMPS = 48.0
"""Source: NEC 422.11(F) of 2008, Article 425 (second hand): resistance elements over 48 A are split."""
MOST_CIRCUIT_OCPD_AMPS = 60.0

STANDARD_OCPD_AMPS = (
    15, 20, 25, 30, 35, 40, 45, 50, 60, 70, 80, 90, 100, 110, 125, 150, 175, 200, 225, 250, 300, 350, 400, 450, 500,
    600, 700, 800, 1000, 1200, 1600, 2000, 2500, 3000, 4000, 5000, 6000,
)  # fmt: skip
"""Source: NEC 240.6(A), two transcriptions agree to 250 A; above that from memory."""

AMPACITY: dict[str, dict[int, int]] = {
    "14": {60: 15, 75: 20, 90: 25},
    "12": {60: 20, 75: 25, 90: 30},
    "10": {60: 30, 75: 35, 90: 40},
    "8": {60: 40, 75: 50, 90: 55},
    "6": {60: 55, 75: 65, 90: 75},
    "4": {60: 70, 75: 85, 90: 95},
    "3": {60: 85, 75: 100, 90: 115},
    "2": {60: 95, 75: 115, 90: 130},
    "1": {60: 110, 75: 130, 90: 145},
    "1/0": {60: 125, 75: 150, 90: 170},
    "2/0": {60: 145, 75: 175, 90: 195},
    "3/0": {60: 165, 75: 200, 90: 225},
    "4/0": {60: 195, 75: 230, 90: 260},
}
"""Copper, amps by AWG and column degC, 30 degC ambient, at most three conductors.

Source: NEC Table 310.16 (2020, 2023), four transcriptions agree for 14 to 1 AWG; 1/0 to 4/0 from memory.
"""

SMALL_CONDUCTOR_OCPD_AMPS = {"14": 15, "12": 20, "10": 30}
"""Source: NEC 240.4(D), copper."""


@dataclass(frozen=True, slots=True)
class Branch:
    """What the branch of one heater circuit should be."""

    amps: float
    """Line amps of the heater [A]."""
    minimum_amps: float
    """125 % of them [A]."""
    ocpd_amps: int
    """Next standard overcurrent device at or above [A]."""
    conductor_awg: str
    """Smallest copper conductor for it, AWG."""
    subdivide: bool
    """Over 48 A: to be split into more circuits."""


def branch(line_amps: float, terminal_degc: int = 75) -> Branch:
    """Minimum amps, overcurrent device and copper conductor of a heater's branch.

    Args:
        line_amps: Line amps of the heater at rated volts [A].
        terminal_degc: Column the terminals allow: 60, 75 or 90 [degC].

    Raises:
        RatingError: a value is impossible or beyond the tables.

    Source:
        NEC 425.4(B) 125 %, 240.6(A), 240.4(B) and (D), Table 310.16, 110.14(C).
    """
    minimum = minimum_amps(line_amps)
    ocpd = next_ocpd_amps(minimum)
    awg = conductor_awg(minimum, ocpd, terminal_degc)
    return Branch(line_amps, minimum, ocpd, awg, line_amps > MOST_CIRCUIT_AMPS)


def minimum_amps(line_amps: float) -> float:
    """125 % of the heater's amps: least rating of conductors and overcurrent device [A]."""
    return CONTINUOUS * positive(line_amps, "line amps", "A", MOST_AMPS)


def next_ocpd_amps(amps: float) -> int:
    """The standard overcurrent device at or above [A]. Source: NEC 240.6(A)."""
    positive(amps, "branch amps", "A", MOST_AMPS)
    found = next((size for size in STANDARD_OCPD_AMPS if size >= amps), None)
    if found is None:
        raise RatingError(f"{amps:g} A is above the largest standard overcurrent device, {STANDARD_OCPD_AMPS[-1]} A")
    return found


def ampacity_amps(awg: str, terminal_degc: int) -> int | None:
    """Amps a copper conductor carries by a column of the table; None when the size is not in it.

    Args:
        awg: Size as text: `10`, `1/0`.
        terminal_degc: Column: 60, 75 or 90 [degC].
    """
    column = _column(terminal_degc)
    return AMPACITY[awg][column] if awg in AMPACITY else None


def most_ocpd_amps(awg: str, terminal_degc: int) -> int | None:
    """Largest overcurrent device that protects the conductor; None when the size is not in the table.

    Source:
        NEC 240.4(D) for 14 to 10 AWG; above, 240.4(B): the next standard size above the ampacity.
    """
    ampacity = ampacity_amps(awg, terminal_degc)
    if ampacity is None or awg in SMALL_CONDUCTOR_OCPD_AMPS:
        return SMALL_CONDUCTOR_OCPD_AMPS.get(awg)
    return next_ocpd_amps(ampacity)


def conductor_awg(minimum: float, ocpd_amps: int, terminal_degc: int) -> str:
    """Smallest copper conductor that carries the minimum and is protected by the overcurrent device.

    Args:
        minimum: 125 % of the heater's amps [A].
        ocpd_amps: Overcurrent device [A].
        terminal_degc: Column: 60, 75 or 90 [degC].

    Raises:
        RatingError: nothing in the table is large enough.
    """
    column = _column(terminal_degc)
    for awg, columns in AMPACITY.items():
        if columns[column] >= minimum and (most_ocpd_amps(awg, column) or 0) >= ocpd_amps:
            return awg
    raise RatingError(f"{minimum:.1f} A is beyond the table of conductors (4/0 AWG); ask for a larger one by hand")


def _column(terminal_degc: int) -> int:
    if terminal_degc not in (60, 75, 90):
        raise RatingError(f"terminals marked {terminal_degc} C: the table has columns for 60, 75 and 90 C")
    return terminal_degc
