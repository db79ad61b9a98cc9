"""What the branch of a heater must carry: minimum amps, overcurrent device, conductor, subdivision; and what is wrong.

US practice, NEC numbering of the 2023 edition; the adopted edition and the authority having jurisdiction decide.
"""

import math
from dataclasses import dataclass

from seasonlog.calc.ampacity import (
    AMPACITY,
    EDITION,
    PLAIN_RUN,
    STANDARD_OCPD_AMPS,
    Run,
    Wire,
    ampacity_amps,
    most_ocpd_amps,
    next_ocpd_amps,
    wire,
)
from seasonlog.calc.units import MOST_AMPS, MOST_VOLTS, SQRT3, phase_count, positive
from seasonlog.errors import RatingError

__all__ = [
    "AMPACITY", "EDITION", "STANDARD_OCPD_AMPS", "Branch", "Fault", "Run", "ampacity_amps", "audit", "branch",
    "circuits_needed", "minimum_amps", "most_circuit_kw", "most_ocpd_amps", "next_ocpd_amps",
]  # fmt: skip

CONTINUOUS = 1.25
"""Source: NEC 425.4(B) (number from memory), 424.4(B), 427.4: heater load counts as continuous, cycling or not."""
MOST_CIRCUIT_AMPS = 48.0
"""Source: NEC 422.11(F) of 2008, Article 425 (second hand): resistance elements over 48 A are split."""
MOST_CIRCUIT_OCPD_AMPS = 60.0


@dataclass(frozen=True, slots=True)
class Branch:
    """What the branch of one heater circuit should be."""

    amps: float
    """Line amps of the heater [A]."""
    minimum_amps: float
    """125 % of them [A]."""
    ocpd_amps: int
    """Next standard overcurrent device at or above [A]."""
    wire: Wire
    """Smallest copper conductor for it, and what it carries."""
    subdivide: bool
    """Over 48 A: to be split into more circuits."""
    edition: str = EDITION
    """Whose tables these are."""

    @property
    def conductor_awg(self) -> str:
        """Smallest copper conductor, AWG."""
        return self.wire.awg


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong with a branch as installed."""

    name: str
    """`ocpd_too_small`, `ocpd_too_large`, `conductor_too_small` or `not_subdivided`."""
    says: str
    """One sentence with the arithmetic."""
    edition: str = EDITION
    """Whose tables it is held against."""


def branch(line_amps: float, terminal_degc: int | None = 75, run: Run = PLAIN_RUN) -> Branch:
    """Minimum amps, overcurrent device and copper conductor of a heater's branch.

    The conductor carries 125 % by its column before correction, the amps themselves after it, and is protected by the
    overcurrent device.

    Args:
        line_amps: Line amps of the heater at rated volts [A].
        terminal_degc: As the terminals are marked, the lower of both ends: 60, 75, 90; None: not marked [degC].
        run: What the conductors are and where they lie.

    Raises:
        RatingError: a value is impossible or beyond the tables.

    Source:
        NEC 425.4(B) 125 %, 240.6(A), 240.4(B) and (D), Table 310.16, 310.15, 110.14(C)(1).
    """
    minimum = minimum_amps(line_amps)
    ocpd = next_ocpd_amps(minimum)
    smallest = next((each for each in _wires(terminal_degc, ocpd, run) if _serves(each, line_amps, ocpd)), None)
    if smallest is None:
        raise RatingError(
            f"{minimum:.1f} A is beyond the table of conductors (4/0 AWG): split the heater into circuits of "
            f"{MOST_CIRCUIT_AMPS:g} A at most, or ask for a larger one by hand"
        )
    return Branch(line_amps, minimum, ocpd, smallest, line_amps > MOST_CIRCUIT_AMPS)


def _wires(terminal_degc: int | None, ocpd_amps: int, run: Run) -> list[Wire]:
    found = (wire(awg, terminal_degc, ocpd_amps, run) for awg in AMPACITY)
    return [each for each in found if each is not None]


def _serves(conductor: Wire, line_amps: float, ocpd_amps: float) -> bool:
    return _carries(conductor, line_amps) and conductor.most_ocpd_amps >= ocpd_amps


def _carries(conductor: Wire, line_amps: float) -> bool:
    return conductor.column_amps >= minimum_amps(line_amps) and conductor.corrected_amps >= line_amps


def minimum_amps(line_amps: float) -> float:
    """125 % of the heater's amps: least rating of conductors and overcurrent device [A]."""
    return CONTINUOUS * positive(line_amps, "line amps", "A", MOST_AMPS)


def circuits_needed(line_amps: float) -> int:
    """Equal circuits a heater is split into so that none draws more than 48 A.

    Source:
        NEC 422.11(F) of 2008, Article 425 (second hand).
    """
    return math.ceil(positive(line_amps, "line amps", "A", MOST_AMPS) / MOST_CIRCUIT_AMPS)


def most_circuit_kw(volts: float, phases: int) -> float:
    """Largest heater that needs no subdivision: what 48 A is at these volts [kW]. Source: circuit theory."""
    share = SQRT3 if phase_count(phases) == 3 else 1.0
    return MOST_CIRCUIT_AMPS * positive(volts, "heater volts", "V", MOST_VOLTS) * share / 1000.0


def audit(
    line_amps: float,
    ocpd_amps: float | None,
    awg: str | None,
    terminal_degc: int | None = None,
    run: Run = PLAIN_RUN,
) -> tuple[Fault, ...]:
    """What is wrong with a branch as installed; what is not known, or not in the tables, is not guessed at.

    Args:
        line_amps: Line amps of the heater at rated volts [A].
        ocpd_amps: Overcurrent device installed, or None [A].
        awg: Copper conductor installed, or None, AWG.
        terminal_degc: As the terminals are marked, the lower of both ends; None: not marked [degC].
        run: What the conductors are and where they lie.

    Raises:
        RatingError: a value is impossible.

    Source:
        NEC as `branch`.
    """
    installed = None if awg is None else wire(awg, terminal_degc, ocpd_amps or 0.0, run)
    marked = terminal_degc is not None
    found = (
        None if ocpd_amps is None else _ocpd_too_small(line_amps, ocpd_amps),
        None if ocpd_amps is None or installed is None else _ocpd_too_large(ocpd_amps, installed, marked),
        None if installed is None else _conductor_too_small(line_amps, installed, marked),
        _not_subdivided(line_amps),
    )
    return tuple(each for each in found if each is not None)


def _ocpd_too_small(line_amps: float, ocpd_amps: float) -> Fault | None:
    least = minimum_amps(line_amps)
    if positive(ocpd_amps, "overcurrent device", "A", MOST_AMPS) >= least:
        return None
    says = (
        f"breaker {ocpd_amps:g} A is below 1.25 x {line_amps:.2f} = {least:.2f} A of a continuous load and may trip "
        f"for nothing, with the heater off in the cold; the next standard size is {next_ocpd_amps(least)} A"
    )
    return Fault("ocpd_too_small", says)


def _ocpd_too_large(ocpd_amps: float, installed: Wire, marked: bool) -> Fault | None:
    if ocpd_amps <= installed.most_ocpd_amps:
        return None
    corrected = installed.corrected_amps
    left = f", {corrected:.1f} A on this run" if corrected < installed.column_amps else ""
    says = (
        f"breaker {ocpd_amps:g} A does not protect {installed.awg} AWG copper ({installed.column_amps} A, "
        f"{_terminals(installed, marked)}{left}): {installed.most_ocpd_amps} A is the most"
    )
    return Fault("ocpd_too_large", says)


def _conductor_too_small(line_amps: float, installed: Wire, marked: bool) -> Fault | None:
    if _carries(installed, line_amps):
        return None
    least = minimum_amps(line_amps)
    if installed.column_amps < least:
        short = f"{installed.column_amps} A ({_terminals(installed, marked)}), below 1.25 x {line_amps:.2f} = "
        short += f"{least:.2f} A of a continuous load"
    else:
        short = f"{installed.corrected_amps:.1f} A on this run, below the heater's {line_amps:.2f} A"
    return Fault("conductor_too_small", f"{installed.awg} AWG copper carries {short}")


def _terminals(installed: Wire, marked: bool) -> str:
    column = installed.terminal_degc
    return f"terminals {column} C" if marked else f"terminals not known, so {column} C"


def _not_subdivided(line_amps: float) -> Fault | None:
    if line_amps <= MOST_CIRCUIT_AMPS:
        return None
    says = (
        f"the heater draws {line_amps:.2f} A, above the {MOST_CIRCUIT_AMPS:g} A of one circuit: split its elements "
        f"into {circuits_needed(line_amps)} circuits or more, each of {MOST_CIRCUIT_OCPD_AMPS:g} A protection at most"
    )
    return Fault("not_subdivided", says)
