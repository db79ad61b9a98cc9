"""Readings from phrases: which step, which line, which value; or why not. Nothing ambiguous is mended."""

from collections.abc import Sequence
from dataclasses import dataclass

from seasonlog.domain.answers import OVER_RANGE, Unfit, decimal_text, number_of
from seasonlog.domain.checklist import MEASURED
from seasonlog.domain.units_shown import BETWEEN_LINES
from seasonlog.voice.grammar_groups import OVER, Group, Parts, cut
from seasonlog.voice.intents import Answer, AskedStep, Expecting, Ground, Raw, Refused
from seasonlog.voice.naming import as_digit, content, named, names_of, table_of
from seasonlog.voice.numbers import is_numeral, is_three_in_one, read_number, three_in_one_breath
from seasonlog.voice.words import word_list

MOST_RUN_ON = 24
"""Words of numbers in one breath; three readings have no more."""
_DEGREES = frozenset({"degf", "deg", "degc"})


@dataclass(frozen=True, slots=True)
class _Value:
    """A value for one step, or why it is none."""

    raw: str = ""
    wrong: str = ""


def parse_reading(words: tuple[str, ...], ground: Ground, *, corrects: bool = False) -> Answer | Refused | None:
    """The reading a phrase gives; None when there is no number in it.

    Args:
        words: Tokens, synonyms replaced.
        ground: What may be said now.
        corrects: Said as a correction: only answered steps are meant.
    """
    has_lines = ground.step.lines == 3 or any(step.lines == 3 for step in ground.steps)
    parts = cut(words, lines=has_lines, corrects=corrects)
    if not parts.groups or not any(group.words for group in parts.groups):
        return None
    if parts.doubt:
        return Refused("say the name and the number, nothing between them", ambiguous=True)
    steps = _steps(parts, ground, corrects=corrects)
    if len(steps) == 1:
        return _fitted(parts, steps[0], ground, corrects=corrects)
    if not steps:
        return _no_step(parts, ground, corrects=corrects)
    return Refused(f"that could be {' or '.join(_told(step) for step in steps[:3])}; say which", ambiguous=True)


def _told(step: AskedStep) -> str:
    return f"{step.title} of {step.target}" if step.target else step.title


def _no_step(parts: Parts, ground: Ground, *, corrects: bool) -> Refused:
    if corrects:
        return Refused("there is no such answer to correct")
    if content(parts.name):
        return Refused(f"no open step is called {' '.join(parts.name)}")
    return Refused(f"{ground.step.title} takes no number")


def _steps(parts: Parts, ground: Ground, *, corrects: bool) -> list[AskedStep]:
    """The steps that may be meant. A line named where none is asked means the step of lines answered last."""
    wants_lines = any(group.line is not None for group in parts.groups) or parts.is_all

    def fits(step: AskedStep) -> bool:
        return step.kind in MEASURED and (step.lines == 3 or not wants_lines)

    if not content(parts.name) and (corrects or wants_lines) and not (fits(ground.step) and _stands(ground, corrects)):
        last = next((step for step in ground.steps if step.key == ground.last and step.saved), None)
        return [last] if last is not None and fits(last) else []
    found = named(parts.name, ground, fits, saved=corrects, exact=parts.behind)
    return [s for s in found if not isinstance(_raw(parts, s, ground), Refused)] or found if len(found) > 1 else found


def _stands(ground: Ground, corrects: bool) -> bool:
    return bool(ground.step.saved) or not corrects


def _fitted(parts: Parts, step: AskedStep, ground: Ground, *, corrects: bool) -> Answer | Refused:
    if _is_name_or_number(parts, step, ground):
        return Refused("a number of the name and of the reading run together; pause between them", ambiguous=True)
    found = _raw(parts, step, ground)
    if isinstance(found, Refused):
        return found
    raw, line = found
    if ground.typed and isinstance(raw, str) and _several_numerals(parts):
        return Refused("that is more than one number; put a comma between them", ambiguous=True)
    told = step.key != ground.current or ground.expecting is Expecting.TOLD
    is_correction = corrects or (line is not None and told and bool(step.saved))
    if is_correction and line is not None and all(group.line is None for group in parts.groups):
        return Refused("name the line that changes, or say all three", ambiguous=True)
    if is_correction and line is not None:
        return _line_corrected(step, raw, line)
    return Answer(step.key, raw, line, corrects=is_correction)


def _several_numerals(parts: Parts) -> bool:
    """`4 82` is heard for "four eighty two", but nobody types it so."""
    return any(sum(is_numeral(word) for word in group.words) > 1 for group in parts.groups)


def _line_corrected(step: AskedStep, raw: Raw, line: int) -> Answer | Refused:
    """All lines, the one that was said in its place."""
    if isinstance(step.saved, str) or isinstance(raw, tuple):
        return Refused(f"{step.title} has no answer of three lines to correct")
    return Answer(step.key, tuple(raw if i == line else old for i, old in enumerate(step.saved)), corrects=True)


def _is_name_or_number(parts: Parts, step: AskedStep, ground: Ground) -> bool:
    """`heater two eighty five`: heater 2 reads 85, or the heater reads 285."""
    words = parts.groups[0].words
    if len(words) < 2 or not content(parts.name) or parts.groups[0].line is not None:
        return False
    meant = as_digit(words[0])
    is_target = any(meant in names_of(s, table_of(ground)).target for s in ground.steps if s.step_id == step.step_id)
    in_title = meant in word_list(step.title)
    return (is_target or in_title) and read_number(tuple(words[1:])) is not None


def _raw(parts: Parts, step: AskedStep, ground: Ground) -> tuple[Raw, int | None] | Refused:
    if any(group.line is not None for group in parts.groups):
        return _named_lines(parts.groups, step)
    if step.lines == 3:
        return _unnamed_lines(parts, step, ground)
    if len(parts.groups) != 1:
        return Refused("that is more than one number; say one reading", ambiguous=True)
    return _one(parts.groups[0], step, None)


def _one(group: Group, step: AskedStep, line: int | None) -> tuple[Raw, int | None] | Refused:
    value = _value(group, step)
    return Refused(value.wrong, ambiguous=not _number(group)) if value.wrong else (value.raw, line)


def _named_lines(groups: Sequence[Group], step: AskedStep) -> tuple[Raw, int | None] | Refused:
    pairs = {group.is_pair for group in groups if group.line is not None and group.is_pair is not None}
    if pairs and pairs != {step.quantity in BETWEEN_LINES}:
        wanted = "A to B, B to C or C to A" if step.quantity in BETWEEN_LINES else "leg one, leg two or leg three"
        return Refused(f"for {step.title} say {wanted}")
    lines = [group.line for group in groups]
    if None in lines or not all(group.words for group in groups) or len(set(lines)) != len(lines):
        return Refused("say each line once with its reading", ambiguous=True)
    if len(groups) == 1:
        return _one(groups[0], step, groups[0].line)
    if len(groups) != 3:
        return Refused("say one line, or all three")
    values = [_value(group, step) for group in sorted(groups, key=lambda group: group.line or 0)]
    return _all(values)


def _all(values: Sequence[_Value]) -> tuple[Raw, int | None] | Refused:
    wrong = next((value.wrong for value in values if value.wrong), "")
    return Refused(wrong) if wrong else (tuple(value.raw for value in values), None)


def _unnamed_lines(parts: Parts, step: AskedStep, ground: Ground) -> tuple[Raw, int | None] | Refused:
    groups = parts.groups
    if parts.is_all and len(groups) == 1:
        return _all([_value(groups[0], step)] * 3)
    if len(groups) == 3:
        return _all([_value(group, step) for group in groups])
    if len(groups) != 1:
        return Refused("say one line, or all three", ambiguous=True)
    return _one_breath(groups[0], step, ground)


def _one_breath(group: Group, step: AskedStep, ground: Ground) -> tuple[Raw, int | None] | Refused:
    """One number is the next line; three without a pause are taken when they can be read in one way only."""
    if len(group.words) > MOST_RUN_ON:
        return Refused("too many numbers in one breath; say one line at a time", ambiguous=True)
    if _number(group) is not None:
        if is_three_in_one(group.words):
            return Refused("that is one number or three; name the lines", ambiguous=True)
        return _one(group, step, _wanted(ground) if step.key == ground.current else 0)
    found = [_run_on(texts, group, step) for texts in three_in_one_breath(group.words)]
    can_be = [each for each in found if not isinstance(each, Refused)]
    if len(can_be) == 1 and can_be[0][0] and not group.bound:
        return can_be[0]
    return Refused("that can be read in more than one way; name the lines, or pause between them", ambiguous=True)


def _run_on(texts: tuple[str, ...], group: Group, step: AskedStep) -> tuple[Raw, int | None] | Refused:
    """Empty where a ten would be parted from its unit."""
    return ("", None) if texts == ("",) else _all([_value(Group([t], unit=group.unit), step) for t in texts])


def _wanted(ground: Ground) -> int:
    """The line that is still wanted first."""
    return next((i for i, text in enumerate(ground.lines_said) if not text), 0)


def _number(group: Group) -> str | None:
    return OVER_RANGE if group.words == [OVER] else read_number(tuple(group.words))


def _value(group: Group, step: AskedStep) -> _Value:
    """The value as it is recorded: plain where its unit is the step's own, else with its unit."""
    number = _number(group)
    if number is None:
        return _Value(wrong=f"{' '.join(group.words)} is not one number")
    if number == OVER_RANGE:
        return _Value(OVER_RANGE) if not group.unit or _converts(group.unit, step) else _wrong_unit(step)
    text = _with_unit(f"{group.bound}{number}", group.unit, step)
    if text is None:
        return _wrong_unit(step)
    value = decimal_text(text, step.unit)
    if isinstance(value, Unfit):
        return _Value(wrong=value.says)
    if not step.least <= number_of(value) <= step.most:
        return _Value(wrong=f"{text if ' ' in text else f'{text} {step.unit}'} cannot be")
    return _Value(text)


def _wrong_unit(step: AskedStep) -> _Value:
    return _Value(wrong=f"{step.title} is in another unit: {'degC' if step.metric else step.unit}")


def _with_unit(number: str, unit: str, step: AskedStep) -> str | None:
    own = step.unit.casefold()
    if unit == "degrees":
        if own not in _DEGREES:
            return None
        unit = ""
    if not unit:
        return f"{number} C" if step.metric else number
    if unit.casefold() == own:
        return f"{number} F" if step.metric else number
    text = f"{number} {unit.removeprefix('deg')}"
    return None if isinstance(decimal_text(text, step.unit), Unfit) else text


def _converts(unit: str, step: AskedStep) -> bool:
    return unit == "degrees" or not isinstance(decimal_text(f"1 {unit}", step.unit), Unfit)
