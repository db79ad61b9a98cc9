"""What is left of the control volts at a contactor's coil at the end of its run, and how long the run may be.

A coil is a resistance and an inductance in a row: its impedance from volts and VA while it pulls in, its share of
resistance from the power factor. Wire counts out and back, hot; its own reactance is nothing here.
"""

import math

from seasonlog.calc.units import MOST_OHMS, MOST_VOLTS, positive, within
from seasonlog.errors import RatingError

PICK_UP_SHARE = 0.85
"""Least share of rated volts at which a coil must close. Source: IEC 60947-4-1, NEMA ICS 2 (from memory)."""
SOURCE_SHARE = 0.95
"""Source volts as a share of rated, for a cautious run. Common practice, no source."""
INRUSH_POWER_FACTOR = 0.5
"""Cautious for small coils; larger ones come near 0.4. Source: training text, second hand."""
OHMS_PER_KFT = {"18": 7.95, "16": 4.99, "14": 3.14, "12": 1.98, "10": 1.24}
"""Stranded uncoated copper at 75 degC, by AWG. Source: NEC Chapter 9 Table 8 (stranded column from memory; it is the
solid one, 7.77 to 1.21 in several transcriptions, times 1.02)."""


def wire_ohms(awg: str, run_ft: float) -> float:
    """Ohms of a two-wire run, out and back, at 75 degC [ohm].

    Args:
        awg: Size as text; one of the table.
        run_ft: One-way length [ft].

    Raises:
        RatingError: the size is not in the table, or the length is impossible.
    """
    return 2.0 * within(run_ft, "control run", "ft", 0.0, 100_000.0) * _per_kft(awg) / 1000.0


def volts_at_coil(source_volts: float, coil_volts: float, inrush_va: float, loop_ohms: float, factor: float) -> float:
    """Volts a coil sees while it pulls in [V].

    Args:
        source_volts: At the control transformer, under load [V].
        coil_volts: Rated volts of the coil [V].
        inrush_va: Of the coil [VA].
        loop_ohms: Wire out and back, contacts, fuse [ohm].
        factor: Power factor of the coil while pulling in, 0 to 1.

    Raises:
        RatingError: a value is impossible.

    Source:
        Circuit theory: voltage divider of a resistance and an impedance.
    """
    resistance, reactance = _coil(coil_volts, inrush_va, factor)
    positive(source_volts, "control source volts", "V", MOST_VOLTS)
    loop = within(loop_ohms, "control loop", "ohm", 0.0, MOST_OHMS)
    return source_volts * math.hypot(resistance, reactance) / math.hypot(resistance + loop, reactance)


def loop_budget_ohms(source_volts: float, coil_volts: float, inrush_va: float, factor: float) -> float:
    """Most ohms in the loop at which the coil still gets 85 % of its volts [ohm]; 0 when the source is too low.

    Arguments, errors and source as `volts_at_coil`, solved for the loop.
    """
    resistance, reactance = _coil(coil_volts, inrush_va, factor)
    positive(source_volts, "control source volts", "V", MOST_VOLTS)
    whole = source_volts / (PICK_UP_SHARE * coil_volts) * math.hypot(resistance, reactance)
    return max(0.0, math.sqrt(max(0.0, whole * whole - reactance * reactance)) - resistance)


def max_run_ft(budget_ohms: float, awg: str) -> float:
    """Longest one-way run for a loop budget, all of it spent on wire [ft]."""
    return within(budget_ohms, "loop budget", "ohm", 0.0, MOST_OHMS) * 1000.0 / (2.0 * _per_kft(awg))


def _per_kft(awg: str) -> float:
    if awg not in OHMS_PER_KFT:
        raise RatingError(f"control wire {awg} is not in the table; it has {', '.join(OHMS_PER_KFT)} AWG")
    return OHMS_PER_KFT[awg]


def _coil(coil_volts: float, inrush_va: float, factor: float) -> tuple[float, float]:
    ohms = positive(coil_volts, "coil volts", "V", MOST_VOLTS) ** 2 / positive(inrush_va, "coil inrush", "VA", 1e6)
    share = within(factor, "power factor", "", 0.0, 1.0)
    return ohms * share, ohms * math.sqrt(1.0 - share * share)
