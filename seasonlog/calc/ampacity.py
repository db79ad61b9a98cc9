"""What copper conductors carry: ampacity by column, terminals, warmth, many in one conduit; standard devices.

US practice, NEC numbering of the 2023 edition; the adopted edition and the authority having jurisdiction decide.
"""

from dataclasses import dataclass

from seasonlog.calc.units import MOST_AMPS, positive, within
from seasonlog.errors import RatingError

EDITION = "NEC 2023, by public transcriptions compared with each other"
"""Edition of every table here; written beside every result."""

COLUMNS_DEGC = (60, 75, 90)

STANDARD_OCPD_AMPS = (
    15, 20, 25, 30, 35, 40, 45, 50, 60, 70, 80, 90, 100, 110, 125, 150, 175, 200, 225, 250, 300, 350, 400, 450, 500,
    600, 700, 800, 1000, 1200, 1600, 2000, 2500, 3000, 4000, 5000, 6000,
)  # fmt: skip
"""Source: NEC 240.6(A), two transcriptions agree to 250 A; above that from memory."""
SMALL_FUSE_AMPS = (1, 3, 6, 10)
"""Standard sizes of fuses only. Source: NEC 240.6(A), second hand; it also has a fuse of 601 A."""

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

_UNMARKED_AMPS = 100
_LARGE = frozenset({"1/0", "2/0", "3/0", "4/0"})

_AMBIENT_TOPS_DEGC = (10, 15, 20, 25, 30, 35, 40, 45, 50, 55, 60, 65, 70, 75, 80, 85)
AMBIENT_FACTORS: dict[int, tuple[float, ...]] = {
    60: (1.29, 1.22, 1.15, 1.08, 1.00, 0.91, 0.82, 0.71, 0.58, 0.41),
    75: (1.20, 1.15, 1.11, 1.05, 1.00, 0.94, 0.88, 0.82, 0.75, 0.67, 0.58, 0.47, 0.33),
    90: (1.15, 1.12, 1.08, 1.04, 1.00, 0.96, 0.91, 0.87, 0.82, 0.76, 0.71, 0.65, 0.58, 0.50, 0.41, 0.29),
}
"""By insulation degC, for ambient up to 10, 15, 20 ... degC; a column ends where its insulation has nothing left.

Source: NEC Table 310.15(B)(1), second hand to 60 degC; above that from memory. All within 0.006 of the root formula.
"""
_BUNDLING = ((3, 1.0), (6, 0.80), (9, 0.70), (20, 0.50), (30, 0.45), (40, 0.40), (200, 0.35))
"""Up to so many current-carrying conductors. Source: NEC 310.15(C)(1), second hand to 20; above that from memory."""
SUNLIT_ROOF_DEGC = 33.0
"""Added to the ambient of a conduit less than 7/8 in above a sunlit roof.

Source: NEC 310.15(B)(2) from the 2017 edition on (from memory); older tables stepped it by height."""


@dataclass(frozen=True, slots=True)
class Run:
    """What the conductors of a branch are and where they lie."""

    insulation_degc: int | None = None
    """Temperature rating of the insulation; None: not known, taken as that of the terminals, the cautious way."""
    ambient_degc: float = 30.0
    """Warmest air around the conduit [degC]."""
    conductors: int = 3
    """Current-carrying conductors in the conduit."""
    sunlit_roof: bool = False
    """The conduit lies less than 7/8 in above a sunlit roof."""


PLAIN_RUN = Run()
"""30 degC, three conductors, not over a sunlit roof: the conditions of the table itself."""


@dataclass(frozen=True, slots=True)
class Wire:
    """What one conductor carries between its terminals, on its run."""

    awg: str
    """Copper, AWG."""
    terminal_degc: int
    """Column its terminals allow [degC]."""
    column_amps: int
    """By the table, before any correction [A]."""
    corrected_amps: float
    """By its insulation, after ambient and bundling [A]."""
    most_ocpd_amps: int
    """Largest overcurrent device that protects it [A]."""

    @property
    def amps(self) -> float:
        """What it carries: the lesser of both [A]."""
        return min(float(self.column_amps), self.corrected_amps)


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
    column = _column(terminal_degc, "terminals")
    return AMPACITY[awg][column] if awg in AMPACITY else None


def most_ocpd_amps(awg: str, terminal_degc: int) -> int | None:
    """Largest overcurrent device that protects the conductor uncorrected; None when the size is not in the table.

    Source:
        NEC 240.4(D) for 14 to 10 AWG; above, 240.4(B): the next standard size above the ampacity.
    """
    ampacity = ampacity_amps(awg, terminal_degc)
    return None if ampacity is None else _protecting_amps(awg, float(ampacity))


def terminal_column(terminal_degc: int | None, ocpd_amps: float, awg: str) -> int:
    """Column of the table that the terminals allow [degC].

    Args:
        terminal_degc: As marked, the lower of both ends; None: not marked [degC].
        ocpd_amps: Rating of the circuit [A].
        awg: Conductor, AWG.

    Raises:
        RatingError: the marking is none of 60, 75 and 90.

    Source:
        NEC 110.14(C)(1): not marked, 60 degC for circuits to 100 A with 14 to 1 AWG, else 75 degC.
    """
    if terminal_degc is not None:
        return _column(terminal_degc, "terminals")
    return 60 if ocpd_amps <= _UNMARKED_AMPS and awg not in _LARGE else 75


def ambient_factor(insulation_degc: int, ambient_degc: float) -> float:
    """What warm or cold surroundings make of an ampacity, no unit.

    Args:
        insulation_degc: Column of the insulation: 60, 75 or 90 [degC].
        ambient_degc: Around the conduit [degC].

    Raises:
        RatingError: the surroundings are beyond the table.

    Source:
        NEC Table 310.15(B)(1); bands of 5 degC, each worked at its top.
    """
    factors = AMBIENT_FACTORS[_column(insulation_degc, "insulation")]
    within(ambient_degc, "ambient of the conduit", "degC", -60.0, 150.0)
    for top, factor in zip(_AMBIENT_TOPS_DEGC, factors, strict=False):
        if ambient_degc <= top:
            return factor
    last = _AMBIENT_TOPS_DEGC[len(factors) - 1]
    raise RatingError(f"{ambient_degc:g} C around {insulation_degc} C insulation: the table ends at {last} C")


def bundling_factor(conductors: int) -> float:
    """What many current-carrying conductors in one conduit make of an ampacity, no unit.

    Source:
        NEC 310.15(C)(1).
    """
    within(conductors, "conductors in the conduit", "", 1, _BUNDLING[-1][0])
    return next(factor for most, factor in _BUNDLING if conductors <= most)


def run_factor(insulation_degc: int, run: Run) -> float:
    """Ambient and bundling factor of a run together, no unit."""
    roof = SUNLIT_ROOF_DEGC if run.sunlit_roof else 0.0
    return ambient_factor(insulation_degc, run.ambient_degc + roof) * bundling_factor(run.conductors)


def wire(awg: str, terminal_degc: int | None, ocpd_amps: float, run: Run = PLAIN_RUN) -> Wire | None:
    """What a copper conductor carries between its terminals, on its run; None when the size is not in the table.

    Ambient and bundling work on the insulation's ampacity; the terminals cap the uncorrected one.

    Args:
        awg: Size as text: `10`, `1/0`.
        terminal_degc: As marked, the lower of both ends; None: not marked [degC].
        ocpd_amps: Rating of the circuit, which decides about terminals not marked [A].
        run: What the conductors are and where they lie.

    Raises:
        RatingError: a value is impossible or beyond the tables.

    Source:
        NEC 310.15, Table 310.16, 110.14(C)(1), 240.4(B) and (D).
    """
    if awg not in AMPACITY:
        return None
    column = terminal_column(terminal_degc, ocpd_amps, awg)
    insulation = column if run.insulation_degc is None else _column(run.insulation_degc, "insulation")
    uncorrected = AMPACITY[awg][min(column, insulation)]
    corrected = AMPACITY[awg][insulation] * run_factor(insulation, run)
    return Wire(awg, column, uncorrected, corrected, _protecting_amps(awg, min(uncorrected, corrected)))


def _protecting_amps(awg: str, amps: float) -> int:
    """240.4(B): the next standard size above, fuses included; 240.4(D) holds small conductors down."""
    following = next((size for size in SMALL_FUSE_AMPS if size >= amps), None) or next_ocpd_amps(amps)
    return min(following, SMALL_CONDUCTOR_OCPD_AMPS.get(awg, following))


def _column(degc: int, what: str) -> int:
    if degc not in COLUMNS_DEGC:
        raise RatingError(f"{what} marked {degc} C: the table has columns for 60, 75 and 90 C")
    return degc
