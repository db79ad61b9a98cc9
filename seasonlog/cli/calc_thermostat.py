"""`seasonlog calc thermostat`: where a dial closes and opens, how far that stays above freezing, what to set."""

import click

from seasonlog.calc import thermostat as rules
from seasonlog.calc.sensors import CLASSES, pt_tolerance_degf
from seasonlog.calc.units import degc_from_degf
from seasonlog.cli.calc_frame import MARKS, Answer, json_option, number, show
from seasonlog.errors import RatingError, UsageError

MOST_ICE_ERROR_DEGF = 1.0
"""Field limit of a thermometer in ice and water. Common practice, no source."""
_WORDS = {
    "pass": "passes",
    "near_pass": "near pass: inside the limit, but within what the thermometer may be off",
    "near_fail": "near fail: too near freezing to be called a pass",
    "fail": "FAILS: the water may freeze before the heater comes on",
    "cannot_tell": "cannot tell: it hangs on what the mark means",
}


@click.command()
@number("--dial-degf", "F", "Setting of the dial.")
@number("--differential-degf", "F", "Cut-out minus cut-in.")
@click.option("--mark", type=click.Choice(list(MARKS)), help="What the dial's mark means; not known when not given.")
@number("--measured-cut-in-degf", "F", "Water temperature at which the contact closed.")
@number("--measured-cut-out-degf", "F", "Water temperature at which it opened.")
@number("--thermometer-degf", "F", "How far the thermometer may be off; 1 when not given.")
@click.option("--pt-class", type=click.Choice(CLASSES), help="A platinum thermometer's class instead of that figure.")
@number("--ice-degf", "F", "What the thermometer read in ice and water; its readings are put right by it.")
@json_option
def thermostat(
    dial_degf: float | None, differential_degf: float | None, mark: str | None, measured_cut_in_degf: float | None,
    measured_cut_out_degf: float | None, thermometer_degf: float | None, pt_class: str | None,
    ice_degf: float | None, as_json: bool,
) -> int:  # fmt: skip
    """Where a thermostat closes and opens, how far that stays above freezing, and what to set.

    seasonlog calc thermostat --dial-degf 45 --differential-degf 10 --mark cut-out
    """
    closed, opened = _put_right(measured_cut_in_degf, ice_degf), _put_right(measured_cut_out_degf, ice_degf)
    allowed = _allowances(closed, thermometer_degf, pt_class)
    meaning = None if mark is None else MARKS[mark]
    found, notes = _judged(dial_degf, differential_degf, meaning, closed, opened, allowed)
    plain = [*_switches(found, dial_degf, differential_degf), _WORDS[found.verdict], f"advice: {found.advice}", *notes]
    ice = [] if ice_degf is None else [f"ice point {ice_degf:g} degF: add {32 - ice_degf:+g} to each reading"]
    document = {
        "cut_in_degf": found.cut_in_degf, "cut_out_degf": found.cut_out_degf, "margin_degf": found.margin_degf,
        "verdict": found.verdict, "advice": found.advice, "worst_cut_in_degf": found.worst_cut_in_degf,
        "measured": closed is not None, "mark": mark, "thermometer_degf": allowed.thermometer_degf, "notes": notes,
    }  # fmt: skip
    return show(Answer(plain, document, [*ice, *found.says], _BASIS, (_CAUTION,)), as_json)


def _put_right(reading: float | None, ice: float | None) -> float | None:
    if ice is not None and not abs(ice - rules.ICE_POINT_DEGF) <= MOST_ICE_ERROR_DEGF:
        raise RatingError(
            f"the thermometer read {ice:g} in ice: more than {MOST_ICE_ERROR_DEGF:g} degF off 32, so its readings "
            "prove nothing; make the slush again, look whether it shows Celsius, or take another one"
        )
    return reading if reading is None or ice is None else rules.corrected_degf(reading, ice)


def _allowances(closed: float | None, thermometer: float | None, pt_class: str | None) -> rules.Allowances:
    if pt_class is None:
        return rules.CUSTOMARY if thermometer is None else rules.Allowances(thermometer_degf=thermometer)
    if thermometer is not None:
        raise UsageError("Give --thermometer-degf or --pt-class, not both.")
    at = rules.FREEZING_DEGF if closed is None else closed
    return rules.Allowances(thermometer_degf=pt_tolerance_degf(at, pt_class))


def _judged(
    dial: float | None, differential: float | None, mark: str | None, closed: float | None, opened: float | None,
    allowed: rules.Allowances,
) -> tuple[rules.Judgement, list[str]]:  # fmt: skip
    """What was measured decides; else the cut-out measured less the differential; else the dial."""
    if closed is not None:
        found = rules.judge_measured(closed, opened, allowed)
        return found, _dial_notes(dial, differential, mark, closed, opened)
    if differential is None or (dial is None and opened is None):
        raise UsageError(
            "Give the dial's setting and the differential (--dial-degf, --differential-degf), or better the measured "
            "cut-in (--measured-cut-in-degf)."
        )
    if opened is not None:
        note = "only the cut-out was measured: the differential is taken from the dial's figure; measure the cut-in too"
        return rules.judge_dial(opened, differential, "cut_out", allowed), [note]
    return rules.judge_dial(dial or 0.0, differential, mark, allowed), ["by the dial only: nothing was measured"]


def _dial_notes(
    dial: float | None, differential: float | None, mark: str | None, closed: float, opened: float | None
) -> list[str]:
    """What the measurement tells about the dial."""
    if dial is None:
        return []
    if mark is None:
        meaning = None if opened is None else rules.meaning_of_mark(dial, closed, opened)
        told = "does not tell" if meaning is None else f"tells that it means {rules.MARK_WORDS[meaning]}"
        return [f"what the mark means was not given; the measurement {told}"]
    if differential is None:
        return []
    by_dial = rules.switching(dial, differential, mark).cut_in_degf
    off = closed - by_dial
    if abs(off) <= rules.CUSTOMARY.dial_degf:
        return []
    return [f"the dial promises {by_dial:g} degF, {abs(off):.3g} degF off: mark the dial, or replace the thermostat"]


def _switches(found: rules.Judgement, dial: float | None, differential: float | None) -> list[str]:
    if found.cut_in_degf is not None and found.margin_degf is not None:
        opens = "when was not measured" if found.cut_out_degf is None else f"at {_both(found.cut_out_degf)}"
        side = "above" if found.margin_degf >= 0 else "BELOW"
        margin = f"{abs(found.margin_degf):.3g} degF {side} freezing"
        return [f"closes at {_both(found.cut_in_degf)}, {margin}; opens {opens}"]
    each = {mark: rules.switching(dial or 0.0, differential or 0.0, mark) for mark in rules.MEANINGS}
    return [
        f"if the mark means {rules.MARK_WORDS[mark]}: closes at {_both(one.cut_in_degf)}, opens at "
        f"{_both(one.cut_out_degf)}"
        for mark, one in each.items()
    ]


def _both(degf: float) -> str:
    return f"{degf:g} F ({degc_from_degf(degf):.1f} C)"


_BASIS = (
    "definition of the differential; freezing point of water",
    "dial 3, thermometer 1 and margin 2 degF (the bulb is not at the coldest corner): common practice, no source",
)
_CAUTION = (
    "CAUTION: a dial proves nothing until the cut-in was measured in cold water; turning it starts a live heater: "
    "basin full, level cut-out proved first, never dry."
)
