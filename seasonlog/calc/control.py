"""What is left of the control volts at a contactor's coil at the end of its run, and how long the run may be.

A coil is a resistance and an inductance in a row: its impedance from volts and VA while it pulls in, its share of
resistance from the power factor. Wire counts out and back, hot unless said; its own reactance, 0.05 to 0.07 ohm per
1000 ft, is nothing here.
"""

import math

from seasonlog.calc.units import MOST_OHMS, MOST_VOLTS, positive, within
from seasonlog.errors import RatingError

PICK_UP_SHARE = 0.85
"""Least share of rated volts at which a coil must close. Source: IEC 60947-4-1, NEMA ICS 2 (from memory)."""
MOST_SHARE = 1.10
"""Largest share a coil must stand. Source: as `PICK_UP_SHARE`."""
DROP_OUT_SHARES = (0.20, 0.75)
"""An AC coil lets go somewhere between. Source: IEC 60947-4-1, clause 8.2.1.2 of the 2018 edition (from memory)."""
LEAST_INRUSH_RATIO = 3.0
"""Inrush VA over sealed VA, at the least; up to 10. Source: training text, second hand."""
SOURCE_SHARE = 0.95
"""Source volts as a share of rated, for a cautious run. Common practice, no source."""
INRUSH_POWER_FACTOR = 0.5
"""Cautious for small coils; larger ones come near 0.4. Source: training text, second hand."""
OHMS_PER_KFT = {"18": 7.95, "16": 4.99, "14": 3.14, "12": 1.98, "10": 1.24}
"""Stranded uncoated copper at 75 degC, by AWG. Source: NEC Chapter 9 Table 8 (stranded column from memory; it is the
solid one, 7.77 to 1.21 in several transcriptions, times 1.02)."""
TABLE_DEGC = 75.0
COPPER_PER_DEGC = 0.00323
"""Of the ohms at 75 degC. Source: NEC Chapter 9 Table 8, note 2 (second hand)."""


def coil_range_volts(coil_volts: float) -> tuple[float, float]:
    """Volts between which a coil must close and which it must stand: 85 to 110 % of rated [V].

    Source:
        IEC 60947-4-1, NEMA ICS 2 (from memory).
    """
    rated = positive(coil_volts, "coil volts", "V", MOST_VOLTS)
    return PICK_UP_SHARE * rated, MOST_SHARE * rated


def picks_up(volts: float, coil_volts: float) -> bool:
    """Whether every standard coil closes at these volts: 85 % of rated or more."""
    return within(volts, "volts at the coil", "V", 0.0, MOST_VOLTS) >= coil_range_volts(coil_volts)[0]


def hold_state(volts: float, coil_volts: float) -> str:
    """What a closed coil does at these volts: `holds`, `may_drop_out` or `drops_out`.

    Args:
        volts: At the closed coil [V].
        coil_volts: Rated [V].

    Raises:
        RatingError: a value is impossible.

    Source:
        IEC 60947-4-1 (from memory): drop-out of an AC coil between 20 and 75 % of rated.
    """
    rated = positive(coil_volts, "coil volts", "V", MOST_VOLTS)
    share = within(volts, "volts at the coil", "V", 0.0, MOST_VOLTS) / rated
    surely, never = DROP_OUT_SHARES
    return "drops_out" if share < surely else "may_drop_out" if share <= never else "holds"


def wire_ohms(awg: str, run_ft: float, wire_degc: float = TABLE_DEGC) -> float:
    """Ohms of a two-wire run, out and back [ohm].

    Args:
        awg: Size as text; one of the table.
        run_ft: One-way length [ft].
        wire_degc: Temperature of the copper; 75 degC is the cautious end [degC].

    Raises:
        RatingError: the size is not in the table, or a value is impossible.

    Source:
        NEC Chapter 9 Table 8, R(T) = R75 (1 + 0.00323 (T - 75)).
    """
    return 2.0 * within(run_ft, "control run", "ft", 0.0, 100_000.0) * _per_kft(awg, wire_degc) / 1000.0


def volts_at_coil(source_volts: float, coil_volts: float, inrush_va: float, loop_ohms: float, factor: float) -> float:
    """Volts a coil sees while it pulls in; or while it holds, with its sealed VA and power factor [V].

    Args:
        source_volts: At the control transformer, under load [V].
        coil_volts: Rated volts of the coil [V].
        inrush_va: Of the coil; sealed VA for a closed one [VA].
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


def least_sealed_volts(source_volts: float, coil_volts: float, inrush_va: float, loop_ohms: float) -> float:
    """Least volts a closed coil can see where its sealed VA is not known [V].

    A third of the inrush and in phase with the wire: the worst of both. Arguments and errors as `volts_at_coil`.

    Source:
        Circuit theory; inrush 3 to 10 times sealed, second hand.
    """
    return volts_at_coil(source_volts, coil_volts, inrush_va / LEAST_INRUSH_RATIO, loop_ohms, 1.0)


def loop_budget_ohms(
    source_volts: float, coil_volts: float, inrush_va: float, factor: float, share: float = PICK_UP_SHARE
) -> float:
    """Most ohms in the loop at which the coil still gets a share of its volts [ohm]; 0 when the source is too low.

    Arguments, errors and source as `volts_at_coil`, solved for the loop; `share` of rated volts is 85 % to pull in.
    """
    resistance, reactance = _coil(coil_volts, inrush_va, factor)
    positive(source_volts, "control source volts", "V", MOST_VOLTS)
    wanted = within(share, "share of rated volts", "", 0.01, 1.1) * coil_volts
    whole = source_volts / wanted * math.hypot(resistance, reactance)
    return max(0.0, math.sqrt(max(0.0, whole * whole - reactance * reactance)) - resistance)


def max_run_ft(budget_ohms: float, awg: str, wire_degc: float = TABLE_DEGC) -> float:
    """Longest one-way run for a loop budget, all of it spent on wire [ft]."""
    budget = within(budget_ohms, "loop budget", "ohm", 0.0, MOST_OHMS)
    return budget * 1000.0 / (2.0 * _per_kft(awg, wire_degc))


def max_run_ft_by_awg(budget_ohms: float, wire_degc: float = TABLE_DEGC) -> dict[str, float]:
    """Longest one-way run for a loop budget, for every size of the table [ft]."""
    return {awg: max_run_ft(budget_ohms, awg, wire_degc) for awg in OHMS_PER_KFT}


def _per_kft(awg: str, wire_degc: float) -> float:
    if awg not in OHMS_PER_KFT:
        raise RatingError(f"control wire {awg} is not in the table; it has {', '.join(OHMS_PER_KFT)} AWG")
    warmth = within(wire_degc, "control wire", "degC", -60.0, 90.0) - TABLE_DEGC
    return OHMS_PER_KFT[awg] * (1.0 + COPPER_PER_DEGC * warmth)


def _coil(coil_volts: float, inrush_va: float, factor: float) -> tuple[float, float]:
    ohms = positive(coil_volts, "coil volts", "V", MOST_VOLTS) ** 2 / positive(inrush_va, "coil inrush", "VA", 1e6)
    share = within(factor, "power factor", "", 0.0, 1.0)
    return ohms * share, ohms * math.sqrt(1.0 - share * share)
