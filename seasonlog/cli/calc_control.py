"""`seasonlog calc control`: volts left at a contactor's coil, the longest run, the fuses of its transformer."""

from typing import Any

import click

from seasonlog.calc import control as rules
from seasonlog.calc.fuses import (
    Fuse,
    TransformerFuses,
    doubtful_500_percent,
    most_control_ocpd_amps,
    most_primary_ocpd_amps,
    transformer_fuses,
)
from seasonlog.calc.units import degf_from_degc
from seasonlog.cli.calc_frame import LIVE_CAUTION, LOCAL_CODE, Answer, json_option, number, show
from seasonlog.errors import UsageError

_HELD = {
    "holds": "once in, it holds",
    "may_drop_out": "once in, it may chatter or drop out",
    "drops_out": "it cannot hold",
}
_LONG_RUN_FT = 1000.0


@click.command()
@number("--control-volts", "V", "Rated volts of the coil and its circuit.", required=True)
@number("--coil-va", "VA", "Inrush of the coil, as on its plate.", required=True)
@click.option("--awg", metavar="SIZE", required=True, help=f"Control wire, copper: {', '.join(rules.OHMS_PER_KFT)}.")
@number("--run-ft", "FT", "One-way length of the run.", required=True)
@number("--power-factor", "PF", "Of the coil while it pulls in.", default=rules.INRUSH_POWER_FACTOR)
@number("--wire-degc", "C", "Temperature of the wire; hot is the cautious end.", default=rules.TABLE_DEGC)
@number("--source-volts", "V", "Measured at the transformer under load; 95 % of control volts when not given.")
@number("--sealed-va", "VA", "Of the closed coil; the worst, a third of inrush, when not given.")
@number("--transformer-va", "VA", "Rating of the control transformer, for its fuses; with --supply-volts.")
@number("--supply-volts", "V", "Primary volts of the control transformer.")
@json_option
def control(
    control_volts: float, coil_va: float, awg: str, run_ft: float, power_factor: float, wire_degc: float,
    source_volts: float | None, sealed_va: float | None, transformer_va: float | None, supply_volts: float | None,
    as_json: bool,
) -> int:  # fmt: skip
    """Volts left at the contactor's coil, and the longest control run.

    seasonlog calc control --control-volts 24 --coil-va 70 --awg 14 --run-ft 300
    """
    size = awg.strip().removeprefix("#").upper().removesuffix("AWG").strip()
    loop = rules.wire_ohms(size, run_ft, wire_degc)
    source = rules.SOURCE_SHARE * control_volts if source_volts is None else source_volts
    volts = rules.volts_at_coil(source, control_volts, coil_va, loop, power_factor)
    held = (
        rules.least_sealed_volts(source, control_volts, coil_va, loop)
        if sealed_va is None
        else rules.volts_at_coil(source, control_volts, sealed_va, loop, 1.0)
    )
    budget = rules.loop_budget_ohms(source, control_volts, coil_va, power_factor)
    runs = rules.max_run_ft_by_awg(budget, wire_degc)
    fuses = _fuses(transformer_va, supply_volts, control_volts)
    state = rules.hold_state(held, control_volts)
    low, high = rules.coil_range_volts(control_volts)
    plain = [
        f"{volts:.2f} V at the coil while it pulls in, {100 * volts / control_volts:.0f} % of {control_volts:g} V: "
        f"{_pull_words(volts, low, high)}; {_HELD[state]} ({held:.2f} V or more)",
        f"longest run of {size} AWG: {_feet(runs[size])}; others: "
        + ", ".join(f"{other} AWG {_feet(feet)}" for other, feet in runs.items() if other != size),
        *_notes(run_ft, source, low, high),
        *_fuse_lines(fuses),
    ]
    working = [
        f"{run_ft:g} ft of {size} AWG out and back at {wire_degc:g} C ({degf_from_degc(wire_degc):.0f} F): "
        f"{loop:.3g} ohm",
        f"source {source:.4g} V, coil {control_volts:g}^2/{coil_va:g} = {control_volts**2 / coil_va:.3g} ohm at power "
        f"factor {power_factor:g}; it must close at 85 % = {low:.4g} V and stand 110 % = {high:.4g} V",
        f"loop budget {budget:.3g} ohm, wire, contacts and fuse together; ft = budget x 1000 / (2 x ohm per 1000 ft)",
        *_fuse_working(size, transformer_va, supply_volts, control_volts),
    ]
    document = {
        "coil_volts": volts, "picks_up": rules.picks_up(volts, control_volts), "max_run_ft": runs[size],
        "max_run_ft_by_awg": runs, "loop_ohms": loop, "budget_ohms": budget, "source_volts": source,
        "held_volts": held, "held": state, "fuses": _fuse_document(fuses),
    }  # fmt: skip
    return show(Answer(plain, document, working, _BASIS, (LIVE_CAUTION, LOCAL_CODE)), as_json)


def _pull_words(volts: float, low: float, high: float) -> str:
    if volts < low:
        return f"it may NOT pull in, {low:.4g} V is wanted"
    return "it pulls in" if volts <= high else f"ABOVE the {high:.4g} V a coil stands: it burns out"


def _feet(feet: float) -> str:
    return f"{int(feet):,} ft ({int(0.3048 * feet):,} m)"


def _notes(run_ft: float, source: float, low: float, high: float) -> list[str]:
    found = []
    if source < low:
        found.append(f"the source itself, {source:.4g} V, is below {low:.4g} V: no wire helps")
    if source > high:
        found.append(f"the source, {source:.4g} V, is above the {high:.4g} V a coil stands")
    if run_ft > _LONG_RUN_FT:
        found.append("on so long a run the wires' capacitance may hold a coil in when its contact opens: test the off")
    return found


def _fuses(va: float | None, primary: float | None, secondary: float) -> TransformerFuses | None:
    if (va is None) != (primary is None):
        raise UsageError("The fuses want both --transformer-va and --supply-volts.")
    return None if va is None or primary is None else transformer_fuses(va, primary, secondary)


def _fuse_lines(fuses: TransformerFuses | None) -> list[str]:
    if fuses is None:
        return []
    return [
        f"transformer fuses, primary only: {fuses.primary_only.words}",
        f"or both sides, primary: {fuses.primary.words}",
        f"secondary: {fuses.secondary.words}",
    ]


def _fuse_working(awg: str, va: float | None, primary: float | None, secondary: float) -> list[str]:
    if va is None or primary is None:
        return []
    most = most_control_ocpd_amps(awg)
    behind = most_primary_ocpd_amps(most, primary, secondary)
    doubt = doubtful_500_percent(va, primary)
    return [
        f"{awg} AWG control wire goes on {most} A at most (725.43 to the 2020 edition, second hand); a two-wire "
        f"secondary of it is protected by a primary device of {most} x {secondary:g}/{primary:g} = {behind:.3g} A or "
        "less, 240.4(F)",
        *([doubt] if doubt else []),
    ]


def _fuse_document(fuses: TransformerFuses | None) -> dict[str, Any] | None:
    if fuses is None:
        return None

    def one(fuse: Fuse) -> dict[str, Any]:
        return {"max_amps": fuse.max_amps, "standard_amps": fuse.standard_amps, "percent": fuse.percent}

    sides = {"primary_only": fuses.primary_only, "primary": fuses.primary, "secondary": fuses.secondary}
    return {name: one(fuse) for name, fuse in sides.items()} | {"edition": fuses.edition}


_BASIS = (
    "coil 85 to 110 %, drop-out 20 to 75 %: IEC 60947-4-1, NEMA ICS 2 (from memory); source 95 % common practice",
    "stranded copper, NEC Chapter 9 Table 8 (stranded column from memory); transformer fuses NEC Table 450.3(B)",
)
