"""Fuses of a control transformer: the most each may be, and the standard size at or below.

US practice, NEC numbering of the 2023 edition; the adopted edition and the authority having jurisdiction decide.
"""

from dataclasses import dataclass

from seasonlog.calc.ampacity import EDITION, SMALL_FUSE_AMPS, STANDARD_OCPD_AMPS, most_ocpd_amps
from seasonlog.calc.units import MOST_AMPS, MOST_VOLTS, positive
from seasonlog.errors import RatingError

MOST_VA = 1_000_000.0
STANDARD_FUSE_AMPS = tuple(sorted((*SMALL_FUSE_AMPS, *STANDARD_OCPD_AMPS, 601)))
"""Source: NEC 240.6(A), two transcriptions agree to 250 A; above that from memory."""

PRIMARY_WITH_SECONDARY_PERCENT = 250.0
_DOUBTFUL_PERCENT = 500.0
_CONTROL_WIRE_AMPS = {"18": 7, "16": 10}
"""Source: NEC 725.43 to the 2020 edition (second hand); Class 1 moved to Article 724 in 2023."""


@dataclass(frozen=True, slots=True)
class Fuse:
    """One fuse of a control transformer."""

    rated_amps: float
    """Rated current of the winding [A]."""
    percent: float
    """Of it that the fuse may be at most [%]."""
    max_amps: float
    """Most the fuse may be [A]."""
    standard_amps: int | None
    """Standard fuse at or below; None: below 1 A, where the standard list ends [A]."""

    @property
    def words(self) -> str:
        """The arithmetic and what to choose, in one line."""
        sum_ = f"{self.percent:g} % of {self.rated_amps:.3g} A = {self.max_amps:.3g} A at most"
        if self.standard_amps is None:
            return f"{sum_}; the standard list ends at 1 A: take a fuse made for {self.max_amps:.3g} A or less"
        return f"{sum_}; standard fuse at or below: {self.standard_amps} A"


@dataclass(frozen=True, slots=True)
class TransformerFuses:
    """The two ways to protect a control transformer: primary alone, or both sides."""

    primary_only: Fuse
    """Primary fuse where the secondary has none."""
    primary: Fuse
    """Primary fuse where the secondary is fused."""
    secondary: Fuse
    """Secondary fuse."""
    edition: str = EDITION
    """Whose table it is."""


def transformer_fuses(va: float, primary_volts: float, secondary_volts: float) -> TransformerFuses:
    """Most that the fuses of a control transformer may be.

    Args:
        va: Rating of the transformer [VA].
        primary_volts: Rated [V].
        secondary_volts: Rated [V].

    Raises:
        RatingError: a rating is impossible.

    Source:
        NEC Table 450.3(B) for 1000 V and less, three transcriptions agree. The values are maxima, so the next standard
        fuse at or below is named; a footnote of the table lets the 125 % go up to the next size, which is not used.
    """
    rating = positive(va, "transformer", "VA", MOST_VA)
    primary = rating / positive(primary_volts, "primary volts", "V", MOST_VOLTS)
    secondary = rating / positive(secondary_volts, "secondary volts", "V", MOST_VOLTS)
    return TransformerFuses(
        _fuse(primary, primary_only_percent(primary)),
        _fuse(primary, PRIMARY_WITH_SECONDARY_PERCENT),
        _fuse(secondary, secondary_percent(secondary)),
    )


def primary_only_percent(rated_amps: float) -> float:
    """Percent of rated primary amps where only the primary is protected [%]. Source: NEC Table 450.3(B)."""
    positive(rated_amps, "primary amps", "A", MOST_AMPS)
    return 125.0 if rated_amps >= 9.0 else 167.0 if rated_amps >= 2.0 else 300.0


def secondary_percent(rated_amps: float) -> float:
    """Percent of rated secondary amps where both sides are protected [%]. Source: NEC Table 450.3(B)."""
    return 125.0 if positive(rated_amps, "secondary amps", "A", MOST_AMPS) >= 9.0 else 167.0


def standard_fuse_amps(max_amps: float) -> int | None:
    """The standard fuse at or below [A]; None below 1 A, where the standard list ends. Source: NEC 240.6(A)."""
    positive(max_amps, "fuse", "A", MOST_AMPS)
    return max((size for size in STANDARD_FUSE_AMPS if size <= max_amps), default=None)


def doubtful_500_percent(va: float, primary_volts: float) -> str:
    """What the rule of 500 % would give, and why it is not used; empty where the primary draws 2 A or more.

    Arguments and errors as `transformer_fuses`.

    Source:
        NEC 430.72(C)(4) (from memory).
    """
    amps = positive(va, "transformer", "VA", MOST_VA) / positive(primary_volts, "primary volts", "V", MOST_VOLTS)
    if amps >= 2.0:
        return ""
    return (
        f"doubtful: 430.72(C)(4) (from memory) lets a primary below 2 A go to {_DOUBTFUL_PERCENT:g} %, "
        f"{_DOUBTFUL_PERCENT / 100.0 * amps:.3g} A, but it is "
        "written for motor circuits and reaches heaters only by analogy; ask the authority having jurisdiction"
    )


def most_primary_ocpd_amps(secondary_ampacity: float, primary_volts: float, secondary_volts: float) -> float:
    """Largest primary device that also protects a two-wire secondary, no secondary fuse needed for its wire [A].

    Args:
        secondary_ampacity: What the secondary's wire carries [A].
        primary_volts: Rated [V].
        secondary_volts: Rated, single-phase, two wires [V].

    Raises:
        RatingError: a value is impossible.

    Source:
        NEC 240.4(F), 240.21(C)(1), second hand: ampacity x secondary volts / primary volts.
    """
    ampacity = positive(secondary_ampacity, "ampacity of the secondary", "A", MOST_AMPS)
    ratio = positive(secondary_volts, "secondary volts", "V", MOST_VOLTS)
    return ampacity * ratio / positive(primary_volts, "primary volts", "V", MOST_VOLTS)


def most_control_ocpd_amps(awg: str) -> int:
    """Largest overcurrent device of a control conductor [A].

    Args:
        awg: Copper, AWG: 18, 16, or 14 and larger, those by the 60 degC column.

    Raises:
        RatingError: the size is not in the tables.

    Source:
        NEC 725.43 to the 2020 edition (second hand): 18 AWG 7 A, 16 AWG 10 A; 240.4(B) and (D) from 14 AWG on.
    """
    most = _CONTROL_WIRE_AMPS.get(awg) or most_ocpd_amps(awg, 60)
    if most is None:
        raise RatingError(f"control conductor {awg} is not in the tables; they have 18, 16 and 14 to 4/0 AWG")
    return most


def _fuse(rated_amps: float, percent: float) -> Fuse:
    most = rated_amps * percent / 100.0
    return Fuse(rated_amps, percent, most, standard_fuse_amps(most))
