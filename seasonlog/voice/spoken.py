"""What is said aloud: sentences from values, numbers in the one form that cannot be mistaken. Pure; a speaker speaks.

Nothing here says that something is safe: it says what was taken and what the limit is.
"""

from seasonlog.calc.units import degc_from_degf
from seasonlog.domain.answers import OVER_RANGE
from seasonlog.domain.checklist import MEASURED, StepKind
from seasonlog.domain.limits import Verdict
from seasonlog.domain.units_shown import BETWEEN_LINES
from seasonlog.voice.intents import Answer, AskedStep, Command, Expecting, Ground, Intent, Note, Raw, Skip, Word
from seasonlog.voice.numbers import say_number

_UNITS = {
    "a": "amps", "v": "volts", "ohm": "ohms", "mohm": "megohms", "degf": "degrees", "deg": "degrees", "s": "seconds",
    "min": "minutes", "in": "inches", "%": "percent", "c": "degrees Celsius", "f": "degrees Fahrenheit",
    "gohm": "gigohms", "kohm": "kilohms", "ma": "milliamps", "mm": "millimetres",
}  # fmt: skip
_LINES = ("leg one", "leg two", "leg three")
_PAIRS = ("A to B", "B to C", "C to A")
STOPPED = (
    "Stopped; nothing more is taken. Get clear first. Yes closes the visit as not possible, never counted against "
    "anyone; no goes on."
)
USE_KEYS = "Not understood twice. Use the keys for this one."
SAY_AGAIN = "Say again"


def unit_aloud(step: AskedStep) -> str:
    """The unit of a step as it is spoken."""
    if step.unit.casefold() == "degf":
        return "degrees Celsius" if step.metric else "degrees"
    return _UNITS.get(step.unit.casefold(), step.unit)


def line_aloud(step: AskedStep, line: int) -> str:
    """`leg one`, or `A to B` where a reading is taken between lines."""
    return (_PAIRS if step.quantity in BETWEEN_LINES else _LINES)[line]


def value_aloud(text: str, step: AskedStep) -> str:
    """A value with its unit: `twenty one point six amps`."""
    number, _, unit = text.partition(" ")
    if number == OVER_RANGE:
        return say_number(OVER_RANGE)
    return f"{say_number(number)} {_UNITS.get(unit.casefold(), unit) if unit else unit_aloud(step)}".strip()


def answer_aloud(raw: Raw, step: AskedStep, line: int | None = None) -> str:
    """An answer in words: every line with its name."""
    if isinstance(raw, tuple):
        return ", ".join(f"{line_aloud(step, i)}, {value_aloud(text, step)}" for i, text in enumerate(raw))
    if step.kind in MEASURED:
        value = value_aloud(raw, step)
        return f"{line_aloud(step, line)}, {value}" if line is not None else value
    if step.kind is StepKind.CHOICE:
        return next((choice.says for choice in step.choices if choice.value == raw), raw)
    return raw


def saved_aloud(step: AskedStep) -> str:
    """The answer on record in words, in the unit people of the site read."""
    if not step.metric or not isinstance(step.saved, str):
        return answer_aloud(step.saved, step)
    return answer_aloud(step.saved if step.saved == OVER_RANGE else _tenths(degc_from_degf(float(step.saved))), step)


def _tenths(value: float) -> str:
    return f"{round(value, 1) + 0.0:.4g}"  # never minus nought


def titled(step: AskedStep) -> str:
    """The step's title, and what it is about where there are several."""
    title = step.title.rstrip("?")
    return f"{title}, {step.target_words or step.target}" if step.target else title


def asked(ground: Ground) -> str:
    """What the step at hand wants: its caution first, where there is one to be read."""
    step = ground.step
    if ground.expecting is Expecting.CLOSED:
        return "This visit is over."
    if ground.expecting is Expecting.CAUTION:
        return f"{titled(step)}. Caution. {step.caution} Say understood."
    if ground.expecting is Expecting.WAITS:
        return f"{titled(step)}. It waits for {waits(ground)}. Say go to, and the name."
    if step.kind is StepKind.CAUTION:
        return f"Caution. {titled(step)}. {step.caution} Say understood."
    if ground.expecting is Expecting.TOLD and step.saved:
        return f"{titled(step)}: {ended(saved_aloud(step))} Next goes on."
    return f"{titled(step)}. {_wanted(step)}"


def waits(ground: Ground) -> str:
    """What comes before the step at hand."""
    return ", and ".join(title.rstrip("?") for title in ground.waits) or "other steps"


def _wanted(step: AskedStep) -> str:
    if step.lines == 3:
        return f"Three readings in {unit_aloud(step)}, {line_aloud(step, 0)} first."
    if step.kind in MEASURED:
        return f"In {unit_aloud(step)}."
    if step.kind is StepKind.YES_NO:
        return "Pass or fail."
    if step.kind is StepKind.CHOICE:
        return " ".join(f"{number}: {choice.says}." for number, choice in enumerate(step.choices, 1))
    return "Say write, and the words."


def line_taken(step: AskedStep, line: int, text: str, wanted: int) -> str:
    """One line of three was taken, and which comes next."""
    return f"{line_aloud(step, line)}, {value_aloud(text, step)}. Then {line_aloud(step, wanted)}."


def read_back(step: AskedStep, raw: Raw, verdict: Verdict, says: str) -> str:
    """What was saved and what it is worth: `leg one, twenty one point six amps, ..., inside 19.5 to 22.4`.

    Args:
        step: The step.
        raw: As it was taken.
        verdict: On it.
        says: The verdict's own sentence, for what has no band to tell.
    """
    told = answer_aloud(raw, step)
    if step.kind in (StepKind.CAUTION, StepKind.TEXT):
        return f"{titled(step)}: taken."
    if step.kind not in MEASURED:
        return f"{titled(step)}: {told}. {_MEANS[verdict]}."
    band = band_aloud(step)
    if verdict is Verdict.CANNOT_TELL or not band:
        return f"{told}. {_MEANS[verdict] if band else says}."
    unit = f" {unit_aloud(step)}" if step.metric else ""  # what was said may have been in the other one
    return f"{told}, {_AGAINST[verdict]} {band}{unit}."


_MEANS = {
    Verdict.PASS: "Pass",
    Verdict.NEAR_PASS: "Near pass",
    Verdict.NEAR_FAIL: "Near fail, a finding is open",
    Verdict.FAIL: "Fail, a finding is open",
    Verdict.CANNOT_TELL: "Cannot tell, it proves nothing",
}
_AGAINST = {
    Verdict.PASS: "inside",
    Verdict.NEAR_PASS: "near pass, close to the edge of",
    Verdict.NEAR_FAIL: "near fail, a finding is open, outside",
    Verdict.FAIL: "fail, a finding is open, outside",
}


def band_aloud(step: AskedStep) -> str:
    """The limit in words, three figures; empty where none is known."""
    low, high = (_as_read(edge, step) for edge in (step.limit_low, step.limit_high))
    if low is None and high is None:
        return ""
    if low is None or high is None:
        edge = low if low is not None else high
        return f"{'at least' if high is None else 'up to'} {_figures(edge or 0.0)}"
    return f"{_figures(low)} to {_figures(high)}"


def _as_read(edge: float | None, step: AskedStep) -> float | None:
    """An edge as people of the site read it: degC on a metric site."""
    return edge if edge is None or not step.metric else degc_from_degf(edge)


def _figures(value: float) -> str:
    return say_number(f"{value:.3g}" if abs(value) < 1000 else f"{value:.0f}")


def limit_aloud(ground: Ground) -> str:
    """What the limit is."""
    step = ground.step
    band = band_aloud(step)
    if step.kind is StepKind.YES_NO:
        return f"{step.expect} is wanted."
    if band:
        return f"{titled(step)}: {band} {unit_aloud(step)}."
    return step.limit_words or "Nothing is judged here."


def question(intent: Intent, ground: Ground) -> str:
    """What is asked back; only yes takes it."""
    if isinstance(intent, Answer):
        step = next(each for each in ground.steps if each.key == intent.step)
        told = answer_aloud(intent.raw, step, intent.line)
        change = "change it to " if intent.corrects else ""
        return f"{titled(step)}: {change}{ended(told)} Yes or no?"
    if isinstance(intent, Skip):
        return f"Skip {titled(ground.step)}, because: {ended(intent.because)} Yes or no?"
    if isinstance(intent, Note):
        return f"Note: {ended(intent.text)} Yes or no?"
    if intent == Command(Word.STOP):
        return STOPPED
    return "Take the last answer back? Yes or no?"


def ended(words: str) -> str:
    """Words as heard, as a sentence: a recogniser ends most of them itself."""
    return words if words.endswith((".", "!", "?")) else f"{words}."


def left(ground: Ground) -> str:
    """How many steps are open."""
    count = len(ground.left)
    return f"{say_number(str(count))} {'step is' if count == 1 else 'steps are'} left."


def taken_last(ground: Ground) -> str:
    """The answer given last."""
    step = next((each for each in ground.steps if each.key == ground.last and each.saved), None)
    if step is None:
        return "Nothing was taken yet."
    return f"{titled(step)}: {saved_aloud(step)}."


def may_say(ground: Ground) -> str:
    """What can be said here."""
    if ground.expecting is Expecting.CONFIRM:
        return "Say yes or no."
    if ground.expecting is Expecting.CAUTION:
        return "Say understood, skip because, back, next, or stop not safe."
    what = {StepKind.YES_NO: "pass or fail", StepKind.TEXT: "write, and the words"}.get(ground.step.kind, "the answer")
    return f"Say {what}, skip because, note, undo, back, next, limit, how many left, stop listening, or stop not safe."
