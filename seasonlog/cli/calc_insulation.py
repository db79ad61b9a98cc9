"""`seasonlog calc insulation`: what an insulation reading of a heater is worth."""

import click

from seasonlog.calc import insulation as rules
from seasonlog.calc.units import SQRT3, degf_from_degc
from seasonlog.cli.calc_frame import Answer, json_option, number, show

_WORDS = {"pass": "passes", "watch": "passes, but watch it", "conditional": "not good enough yet", "fail": "FAILS"}


@click.command()
@number("--mohm", "MOHM", "Reading of the whole heater to its sheath, 500 V dc, 60 s, cold.", required=True)
@number("--degc", "C", "Temperature of the heater at the test; stands beside the reading, never changes the verdict.")
@number("--last-year-mohm", "MOHM", "The same heater's reading last year.")
@number("--volts", "V", "Working volts of the heater, line to line.", default=480.0)
@json_option
def insulation(mohm: float, degc: float | None, last_year_mohm: float | None, volts: float, as_json: bool) -> int:
    """What an insulation reading of a heater is worth, and what to do about it.

    seasonlog calc insulation --mohm 3.2 --degc 8 --last-year-mohm 40
    """
    found = rules.judge(mohm, volts, last_year_mohm)
    at_20 = None if degc is None else rules.at_20_degc(mohm, degc)
    floor, leak = rules.general_floor_mohm(volts), rules.leakage_ma(volts / SQRT3, mohm)
    plain = [
        f"{mohm:g} Mohm {_WORDS[found.verdict]}: {found.action}",
        *([f"finding: {found.finding}"] if found.finding else []),
        *([] if degc is None else [rules.temperature_note(mohm, degc)]),
    ]
    good, watch, least = rules.LADDER_MOHM
    working = [
        f"{good:g} Mohm or more pass, {watch:g} to {good:g} watch, {max(floor, least):g} to {watch:g} conditional, "
        "below fail",
        f"general floor: 1 Mohm per kV, never under 1: {floor:g} Mohm at {volts:g} V",
        *([] if degc is None else _at_20(mohm, degc)),
        f"leak at {volts / SQRT3:.0f} V to ground: {leak:.3g} mA; 30 mA trips from "
        f"{rules.trip_kohm(volts / SQRT3, 30):.2g} kohm down, 6 mA from {rules.trip_kohm(volts / SQRT3, 6):.2g} kohm",
        *_apparatus(volts),
    ]
    document = {
        "verdict": found.verdict, "mohm": mohm, "at_20_degc_mohm": at_20, "action": found.action,
        "finding": found.finding or None, "degc": degc, "floor_mohm": floor, "leakage_ma": leak,
        "last_year_mohm": last_year_mohm,
    }  # fmt: skip
    return show(Answer(plain, document, working, _BASIS, (_CAUTION,)), as_json)


def _at_20(mohm: float, degc: float) -> list[str]:
    """The same reading by each correction: none of them is judged."""
    winding = rules.winding_at_40_degc(mohm, degc)
    lines = [
        f"{degc:g} C ({degf_from_degc(degc):.0f} F): x 2^(({degc:g} - 20)/10) = {rules.at_20_degc(mohm, degc):.3g}"
    ]
    if 0.0 <= degc <= 50.0:
        both = (f"{name} {mohm * rules.temperature_factor(degc, name):.3g}" for name in rules.TEMPERATURE_FACTORS)
        lines.append(f"at 20 C by the columns of apparatus: {', '.join(both)} Mohm; a winding at 40 C {winding:.3g}")
    return lines


def _apparatus(volts: float) -> list[str]:
    if volts > 1000.0:
        return []
    test = rules.apparatus_test(volts)
    return [
        f"for comparison, {test.edition}: other apparatus of the {test.class_volts:g} V class takes "
        f"{test.test_volts:g} V dc and {test.least_mohm:g} Mohm; not made for wet heaters"
    ]


_BASIS = (
    "steps of 20, 5 and 1 Mohm proposed from heater makers' published application notes, common practice; the reading "
    "itself is judged, since moisture and not temperature rules in magnesium oxide; floor second hand",
    "to 20 C: doubled each 10 C; columns ANSI/NETA MTS-2019 Table 100.14 (solid from memory); winding IEEE 43 (second "
    "hand)",
)
_CAUTION = (
    "CAUTION: lock out at the branch disconnect and prove dead first. Take off thermostats, relays, lamps, transformer "
    "and electronics; 500 V dc (1000 V only if the maker allows it), no high-potential test in the field; discharge "
    "the heater to ground after the test."
)
