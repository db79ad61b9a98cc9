"""Observations from phrases: yes and no, pass and fail, the choices of a step, words."""

import re
from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache

from seasonlog.domain.checklist import Choice, StepKind
from seasonlog.voice.intents import Answer, AskedStep, Ground, Refused
from seasonlog.voice.naming import as_digit, content, named, table_of
from seasonlog.voice.words import Vocabulary, word_list

_YES = frozenset({("yes",), ("yeah",), ("yep",)})
_NO = frozenset({("no",), ("nope",)})
_NUMBERED = frozenset({"choice", "option"})
_TAIL = re.compile(r"[,;:(]")
_ADVICE = re.compile(r"[;:(]")


def observed_here(words: tuple[str, ...], ground: Ground, *, corrects: bool = False) -> Answer | Refused | None:
    """The observation a phrase gives for the step at hand; None when it gives none.

    Args:
        words: Tokens, synonyms replaced, no pauses.
        ground: What may be said now.
        corrects: Said as a correction: the step must have an answer.
    """
    here = _meant(ground, corrects)
    if here is None:
        return None
    found = _value(words, here, ground, is_named=False)
    return Answer(here.key, found, corrects=corrects) if isinstance(found, str) else found


def observed_elsewhere(words: tuple[str, ...], ground: Ground, *, corrects: bool = False) -> Answer | Refused | None:
    """The observation a phrase gives for a step that it names; None when it names none."""
    found = {(step.key, value) for step, value in _named(words, ground, corrects=corrects)}
    if len(found) == 1:
        ((key, value),) = found
        return Answer(key, value, corrects=corrects)
    if found:
        return Refused("that could be an answer to several steps; say the step's whole name", ambiguous=True)
    return None


def _meant(ground: Ground, corrects: bool) -> AskedStep | None:
    if not corrects:
        return ground.step if ground.step.is_open or not ground.step.saved else None
    if ground.step.saved:
        return ground.step
    return next((step for step in ground.steps if step.key == ground.last and step.saved), None)


def _named(words: tuple[str, ...], ground: Ground, *, corrects: bool) -> Iterator[tuple[AskedStep, str]]:
    """Every way to cut the phrase into a step's name and an answer to it."""
    table = table_of(ground)
    known = ground.choices if ground.choices is not None else spoken_choices(ground.steps, table)
    for cut in range(1, len(words)):
        name, rest = words[:cut], words[cut:]
        digits = tuple(as_digit(word) for word in rest)
        decides = rest in _YES or rest in _NO or " ".join(rest) in table.decisions
        if not content(name) or (not decides and digits not in known and digits[0] not in _NUMBERED):
            continue

        def fits(step: AskedStep, rest: tuple[str, ...] = rest) -> bool:
            return isinstance(_value(rest, step, ground, is_named=True), str)

        for step in named(name, ground, fits, saved=corrects):
            value = _value(rest, step, ground, is_named=True)
            if isinstance(value, str):
                yield step, value


def _value(words: tuple[str, ...], step: AskedStep, ground: Ground, *, is_named: bool) -> str | Refused | None:
    if step.kind is StepKind.YES_NO:
        return _decided(words, step, ground, is_named=is_named)
    if step.kind is StepKind.CHOICE:
        return _chosen(words, step.choices, table_of(ground), is_named=is_named)
    if step.kind is StepKind.CAUTION and not is_named:
        return "yes" if words in (("done",), ("understood",), ("caution", "read")) else None
    return None


def _decided(words: tuple[str, ...], step: AskedStep, ground: Ground, *, is_named: bool) -> str | Refused | None:
    """`pass` and `fail`; `yes` and `no` when typed or said with the step's name."""
    decision = table_of(ground).decisions.get(" ".join(words))
    if decision is not None:
        bad = "no" if step.expect == "yes" else "yes"
        return step.expect if decision == "pass" else bad
    said = "yes" if words in _YES else "no" if words in _NO else ""
    if said and not is_named and not ground.typed:
        return Refused("say pass or fail, or the step's name and yes or no")
    return said or None


def _chosen(
    words: tuple[str, ...], choices: Sequence[Choice], table: Vocabulary, *, is_named: bool
) -> str | Refused | None:
    """A choice by its value, by its first words, by its number, or by words that only it has."""
    digits = tuple(as_digit(word) for word in words)
    if len(digits) == 2 and digits[0] in _NUMBERED and digits[1].isdigit():
        number = int(digits[1])
        return choices[number - 1].value if 1 <= number <= len(choices) else Refused(f"there is no choice {number}")
    for way in (_by_value, _by_first_words):
        found = {choice.value for choice in choices if digits in way(choice, table)}
        if len(found) == 1:
            return found.pop()
    if is_named:
        return None
    begun = {choice.value for choice in choices if len(digits) > 1 and _begins(digits, choice, table)}
    return begun.pop() if len(begun) == 1 else _by_words(digits, choices, table)


def _begins(said: tuple[str, ...], choice: Choice, table: Vocabulary) -> bool:
    return any(words[: len(said)] == said for words in _by_first_words(choice, table))


def _by_value(choice: Choice, table: Vocabulary) -> frozenset[tuple[str, ...]]:
    return _spoken(choice.value.replace("_", " "), table)


@lru_cache(maxsize=2048)
def _spoken(text: str, table: Vocabulary) -> frozenset[tuple[str, ...]]:
    return frozenset({tuple(as_digit(w) for w in table.plain(word_list(text)))})


@lru_cache(maxsize=2048)
def _by_first_words(choice: Choice, table: Vocabulary) -> frozenset[tuple[str, ...]]:
    """The whole of what is read out, and what stands before its first comma or colon."""
    texts = (choice.says, _TAIL.split(choice.says)[0])
    return frozenset(tuple(as_digit(w) for w in table.plain(word_list(text))) for text in texts)


def _by_words(words: tuple[str, ...], choices: Sequence[Choice], table: Vocabulary) -> str | Refused | None:
    said = frozenset(content(words))
    if not any(len(word) > 2 for word in said) or said & {"no", "not", "yes", "pass", "fail"}:
        return None
    found = [choice.value for choice in choices if said <= _all_words(choice, table)]
    if len(found) > 1:
        return Refused(f"that could be {' or '.join(v.replace('_', ' ') for v in found)}; say which", ambiguous=True)
    return found[0] if found else None


@lru_cache(maxsize=2048)
def _all_words(choice: Choice, table: Vocabulary) -> frozenset[str]:
    """Of its value, and of what stands before its first colon or semicolon: what follows is advice."""
    text = f"{choice.value.replace('_', ' ')} {_ADVICE.split(choice.says)[0]}"
    return frozenset(as_digit(word) for word in table.plain(word_list(text)))


def spoken_choices(steps: Iterable[AskedStep], table: Vocabulary) -> frozenset[tuple[str, ...]]:
    """What is said for any choice of these steps: its value, its words, its first words."""
    choices = {choice for step in steps for choice in step.choices}
    return frozenset(words for each in choices for way in (_by_value, _by_first_words) for words in way(each, table))
