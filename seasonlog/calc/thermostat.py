"""At what water temperature a thermostat closes and opens, and how far that stays above freezing.

What the dial's mark stands for decides everything: 40 degF with 8 to 10 degF differential is safe only where the mark
means cut-in.
"""

import math
from dataclasses import dataclass

from seasonlog.calc.units import temperature, within
from seasonlog.errors import RatingError

FREEZING_DEGF = 32.0
ICE_POINT_DEGF = 32.0
"""Shaved ice in air-saturated water. Source: ASTM E563 (abstract read)."""
_CUT_IN_BELOW_DIAL = {"cut_in": 0.0, "middle": 0.5, "cut_out": 1.0}
MEANINGS = tuple(_CUT_IN_BELOW_DIAL)
"""What a dial's mark may mean, from the highest cut-in to the lowest."""
MARK_WORDS = {"cut_in": "cut-in (closes)", "middle": "the middle of the differential", "cut_out": "cut-out (opens)"}
WASTEFUL_DEGF = 45.0
"""Cut-in above which heat is wasted. Published trade practice holds 38 to 40 degF; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Switching:
    """Where a thermostat switches."""

    cut_in_degf: float
    """Closes on falling water at this temperature."""
    cut_out_degf: float
    """Opens on rising water at this temperature."""

    @property
    def margin_degf(self) -> float:
        """Cut-in above freezing; negative means the water freezes first."""
        return self.cut_in_degf - FREEZING_DEGF


def switching(dial_degf: float, differential_degf: float, mark: str) -> Switching:
    """Cut-in and cut-out of a thermostat from its dial.

    Args:
        dial_degf: Setting of the dial [degF].
        differential_degf: Cut-out minus cut-in [degF].
        mark: What the mark stands for: `cut_in`, `cut_out` or `middle`.

    Raises:
        RatingError: a value is impossible or the mark's meaning is not one of the three.

    Source:
        Definition of the differential; no error of the dial included.

    Example:
        >>> switching(45, 10, "cut_out").cut_in_degf
        35.0
    """
    temperature(dial_degf, "dial")
    within(differential_degf, "differential", "degF", 0.1, 100.0)
    if mark not in _CUT_IN_BELOW_DIAL:
        raise RatingError(f"the dial's mark is {mark!r}: find out whether it means cut_in, cut_out or middle")
    cut_in = dial_degf - _CUT_IN_BELOW_DIAL[mark] * differential_degf
    return Switching(cut_in, cut_in + differential_degf)


@dataclass(frozen=True, slots=True)
class DialCheck:
    """Whether a dial setting alone would keep water from freezing."""

    worst_cut_in_degf: float
    """Cut-in with dial and thermometer both off to the bad side."""
    is_safe: bool
    """The worst cut-in is at or above freezing and the margin."""


def dial_check(cut_in_degf: float, *, dial_error_degf: float, thermometer_degf: float, margin_degf: float) -> DialCheck:
    """Judge a cut-in that was only read off the dial, not measured.

    Args:
        cut_in_degf: Cut-in by the dial [degF].
        dial_error_degf: How far dials are off [degF].
        thermometer_degf: How far the thermometer that set it is off [degF].
        margin_degf: Cut-in wanted above freezing, since the bulb is not at the coldest corner [degF].

    Source:
        Common practice, no source: dial 3, thermometer 1, margin 2 degF.
    """
    worst = temperature(cut_in_degf, "cut-in")
    for error, what in ((dial_error_degf, "dial error"), (thermometer_degf, "thermometer error")):
        worst -= within(error, what, "degF", 0.0, 20.0)
    wanted = FREEZING_DEGF + within(margin_degf, "margin", "degF", 0.0, 20.0)
    return DialCheck(worst, worst >= wanted)


@dataclass(frozen=True, slots=True)
class Allowances:
    """How far things may be off, and how far above freezing the heater must come on."""

    dial_degf: float = 3.0
    """Dial, or differential that was not measured [degF]."""
    thermometer_degf: float = 1.0
    """Thermometer that measures, or that set the dial [degF]."""
    margin_degf: float = 2.0
    """Cut-in wanted above freezing [degF]."""

    @property
    def wanted_degf(self) -> float:
        """Least true cut-in [degF]."""
        return FREEZING_DEGF + within(self.margin_degf, "margin", "degF", 0.0, 20.0)


CUSTOMARY = Allowances()
"""Common practice, no source: dial 3, thermometer 1, margin 2 degF."""


@dataclass(frozen=True, slots=True)
class Judgement:
    """What a thermostat is worth against freezing, and what to do about it."""

    verdict: str
    """`pass`, `near_pass`, `near_fail`, `fail` or `cannot_tell`."""
    cut_in_degf: float | None
    """Closes here; None where the mark's meaning is not known and nothing was measured."""
    cut_out_degf: float | None
    """Opens here; None as `cut_in_degf`, or where it was not measured."""
    worst_cut_in_degf: float | None
    """Cut-in with everything off to the bad side; None as `cut_in_degf`."""
    says: tuple[str, ...]
    """The arithmetic, a sentence for each meaning that was judged."""
    advice: str
    """What to do, in words."""

    @property
    def margin_degf(self) -> float | None:
        """Cut-in above freezing, nothing taken off it."""
        return None if self.cut_in_degf is None else self.cut_in_degf - FREEZING_DEGF


def judge_measured(cut_in_degf: float, cut_out_degf: float | None = None, allowed: Allowances = CUSTOMARY) -> Judgement:
    """Judge a measured cut-in, guarded by what the thermometer may be off.

    Args:
        cut_in_degf: Water temperature at which the contact closed, falling [degF].
        cut_out_degf: At which it opened, rising; None: not measured [degF].
        allowed: What may be off, and the margin.

    Raises:
        RatingError: a value is impossible, or the contact opens no warmer than it closes.

    Source:
        Guarded acceptance, ILAC-G8:09/2019; thermometer 1 degF, margin 2 degF are common practice, no source.
    """
    temperature(cut_in_degf, "measured cut-in")
    if cut_out_degf is not None and temperature(cut_out_degf, "measured cut-out") <= cut_in_degf:
        raise RatingError(
            f"the contact closes at {cut_in_degf:g} and opens at {cut_out_degf:g} degF: it must open warmer than it "
            "closes; the readings are swapped, or the wire is on the wrong throw (C-NC)"
        )
    verdict = _guarded(cut_in_degf, allowed)
    off = allowed.thermometer_degf
    says = (
        f"measured cut-in {cut_in_degf:g} degF, less {off:g} for the thermometer {cut_in_degf - off:g}; "
        f"{_wanted_words(allowed)}"
    )
    advice = _measured_advice(cut_in_degf, verdict, allowed)
    return Judgement(verdict, cut_in_degf, cut_out_degf, cut_in_degf - off, (says,), advice)


def _wanted_words(allowed: Allowances) -> str:
    return f"{FREEZING_DEGF:g} + {allowed.margin_degf:g} = {allowed.wanted_degf:g} degF is wanted"


def _guarded(cut_in_degf: float, allowed: Allowances) -> str:
    wanted, off = allowed.wanted_degf, within(allowed.thermometer_degf, "thermometer error", "degF", 0.0, 20.0)
    steps = (("pass", wanted + off), ("near_pass", wanted), ("near_fail", wanted - off))
    return next((name for name, least in steps if cut_in_degf >= least), "fail")


def _measured_advice(cut_in_degf: float, verdict: str, allowed: Allowances) -> str:
    if verdict == "pass":
        return _no_waste(cut_in_degf)
    up = math.ceil(allowed.wanted_degf + allowed.thermometer_degf - cut_in_degf)
    return f"turn the dial up by at least {up} degF, then measure the cut-in again"


def judge_dial(
    dial_degf: float, differential_degf: float, mark: str | None, allowed: Allowances = CUSTOMARY
) -> Judgement:
    """Judge a setting that was only read off the dial: dial and thermometer error are taken off the cut-in.

    `pass` from freezing and the margin on, `near_fail` from freezing on, else `fail`. A mark of unknown meaning is
    `cannot_tell`, unless even its worst meaning passes or even its best one does not.

    Args:
        dial_degf: Setting of the dial [degF].
        differential_degf: Cut-out minus cut-in [degF].
        mark: `cut_in`, `cut_out` or `middle`; None: not known.
        allowed: What may be off, and the margin.

    Raises:
        RatingError: a value is impossible or the mark's meaning is not one of the three.

    Source:
        Definition of the differential; dial 3, thermometer 1, margin 2 degF are common practice, no source.

    Example:
        >>> judge_dial(45, 10, "cut_out").verdict
        'fail'
    """
    if mark is None:
        return _judge_unknown_mark(dial_degf, differential_degf, allowed)
    closes = switching(dial_degf, differential_degf, mark)
    check = _check(closes, allowed)
    worst = check.worst_cut_in_degf
    verdict = "pass" if check.is_safe else "near_fail" if worst >= FREEZING_DEGF else "fail"
    says = (
        f"if the mark means {MARK_WORDS[mark]}: closes at {closes.cut_in_degf:g}, opens at {closes.cut_out_degf:g} "
        f"degF; less {allowed.dial_degf:g} dial and {allowed.thermometer_degf:g} thermometer error {worst:g}; "
        f"{_wanted_words(allowed)}"
    )
    advice = (
        _no_waste(closes.cut_in_degf)
        if check.is_safe
        else f"{_setting_words(differential_degf, (mark,), allowed)}, or measure the cut-in in cold water"
    )
    return Judgement(verdict, closes.cut_in_degf, closes.cut_out_degf, worst, (says,), advice)


def _judge_unknown_mark(dial_degf: float, differential_degf: float, allowed: Allowances) -> Judgement:
    each = [judge_dial(dial_degf, differential_degf, meaning, allowed) for meaning in MEANINGS]
    best, worst = each[0], each[-1]
    says = tuple(line for one in each for line in one.says)
    if worst.verdict == "pass":
        advice = f"it passes whatever the mark means; {_FIND_OUT} all the same"
        return Judgement("pass", None, None, None, says, advice)
    settings = _setting_words(differential_degf, MEANINGS, allowed)
    if best.verdict == "pass":
        return Judgement("cannot_tell", None, None, None, says, f"{_FIND_OUT}; until then: {settings}")
    advice = f"it does not pass whatever the mark means; {settings}; {_FIND_OUT}"
    return Judgement(best.verdict, None, None, None, says, advice)


_FIND_OUT = (
    "find out what the mark means (cool the bulb slowly beside a thermometer: at which reading does the contact close, "
    "at which does it open again)"
)


def least_dial_degf(differential_degf: float, mark: str, allowed: Allowances = CUSTOMARY) -> int:
    """Lowest whole setting of a dial that passes without being measured [degF].

    Arguments, errors and source as `judge_dial`, solved for the dial.
    """
    below = -switching(0.0, differential_degf, mark).cut_in_degf
    return math.ceil(allowed.wanted_degf + allowed.dial_degf + allowed.thermometer_degf + below)


def _setting_words(differential_degf: float, marks: tuple[str, ...], allowed: Allowances) -> str:
    each = (
        f"to at least {least_dial_degf(differential_degf, mark, allowed)} degF if its mark means {MARK_WORDS[mark]}"
        for mark in marks
    )
    return f"set the dial {', '.join(each)}, with this differential of {differential_degf:g}"


def _check(closes: Switching, allowed: Allowances) -> DialCheck:
    return dial_check(
        closes.cut_in_degf,
        dial_error_degf=allowed.dial_degf,
        thermometer_degf=allowed.thermometer_degf,
        margin_degf=allowed.margin_degf,
    )


def _no_waste(cut_in_degf: float) -> str:
    if cut_in_degf <= WASTEFUL_DEGF:
        return "leave the dial as it is, and measure the cut-in each fall"
    return f"the margin is there; above {WASTEFUL_DEGF:g} degF heat is wasted, so the dial may come down a little"


def meaning_of_mark(dial_degf: float, cut_in_degf: float, cut_out_degf: float, off_degf: float = 3.0) -> str | None:
    """What a dial's mark means, from where it was measured to switch; None when no meaning, or more than one, fits.

    Args:
        dial_degf: Setting of the dial [degF].
        cut_in_degf: Measured [degF].
        cut_out_degf: Measured [degF].
        off_degf: How far a dial may be off and still fit [degF].

    Raises:
        RatingError: a value is impossible.

    Source:
        Definition of the three meanings; dial error is common practice, no source.
    """
    spread = temperature(cut_out_degf, "measured cut-out") - temperature(cut_in_degf, "measured cut-in")
    marks = {name: cut_in_degf + share * spread for name, share in _CUT_IN_BELOW_DIAL.items()}
    fits = [name for name, stands in marks.items() if abs(temperature(dial_degf, "dial") - stands) <= off_degf]
    return fits[0] if len(fits) == 1 else None


def ice_point_correction_degf(ice_reading_degf: float) -> float:
    """What is ADDED to later readings of a thermometer that showed this in ice and water [degF].

    A thermometer that reads 33 in ice reads 1 too high: the correction is -1.

    Source:
        Definition of a correction; ice point 32.0 degF, ASTM E563 (abstract). One published manual has the sign wrong.
    """
    return ICE_POINT_DEGF - temperature(ice_reading_degf, "reading in ice")


def corrected_degf(reading_degf: float, ice_reading_degf: float) -> float:
    """A thermometer's reading put right by its own reading in ice and water [degF]."""
    return temperature(reading_degf, "reading") + ice_point_correction_degf(ice_reading_degf)
