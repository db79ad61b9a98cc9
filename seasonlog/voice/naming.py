"""Which step a phrase names: by its words, by words that stand for them, by words that sound like them."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache

from seasonlog.voice.intents import AskedStep, Ground
from seasonlog.voice.numbers import WORDS
from seasonlog.voice.words import FILLERS, LEAST_ALIKE, Vocabulary, likeness, shipped, word_list

_NUMBERS = {"one": "1", "two": "2", "three": "3", "four": "4", "five": "5", "six": "6", "seven": "7", "eight": "8",
            "nine": "9"}  # fmt: skip
_UNIT_WORDS = {
    "a": "amps", "v": "volts", "ohm": "ohms", "mohm": "megohms", "degf": "degrees temperature", "deg": "degrees",
    "s": "seconds", "min": "minutes", "in": "inches",
}  # fmt: skip
_COMMON = frozenset(
    {
        "about", "around", "roughly", "almost", "nearly", "maybe", "perhaps", "between", "either", "there", "ever",
        "every", "where", "when", "then", "with", "from", "before", "after", "into", "under", "over", "some", "this",
        "these", "those", "what", "which", "here", "have", "will", "would", "could", "should", "still", "just", "like",
        "than", "them", "they", "your", "were", "been", "only", "more", "most", "such", "also", "each", "both",
    }
)  # fmt: skip
"""Common words, and those that make a number vague: they never stand for a word that sounds like them."""
_EMPTY = FILLERS | {"to", "and", "a", "all", "three"}
LEAST_OF_TITLE = 0.5
"""Share of a title's words that must be said, two at least, where another step than the one at hand is meant."""


@dataclass(frozen=True, slots=True)
class Names:
    """The words of one step."""

    title: frozenset[str]
    target: frozenset[str]
    """Of the circuit, basin or trace it is about; of numbers only the last in its id."""
    other: frozenset[str]
    """Of its id, quantity, unit and heading."""

    def holds(self, word: str) -> bool:
        """The word is one of them."""
        return word in self.title or word in self.target or word in self.other


def names_of(step: AskedStep, table: Vocabulary) -> Names:
    """The words of a step."""
    told = f"{step.step_id} {step.says} {step.section} {step.per} {_UNIT_WORDS.get(step.unit.casefold(), '')}"
    return _names(step.title, step.target, step.target_words, told, table)


@lru_cache(maxsize=4096)
def _names(title: str, target: str, target_words: str, told: str, table: Vocabulary) -> Names:
    ident = word_list(target)
    numbers = [word for word in ident if word.isdigit()][-1:]
    of_target = {word for word in ident if not word.isdigit()} | {*numbers} | _content(target_words, table)
    return Names(frozenset(_content(title, table)), frozenset(of_target), frozenset(_content(told, table)))


def _content(text: str, table: Vocabulary) -> set[str]:
    return {as_digit(word) for word in table.plain(word_list(text))} - _EMPTY


def as_digit(word: str) -> str:
    """`two` is `2`: a name may hold either."""
    return _NUMBERS.get(word, word)


def content(said: Iterable[str]) -> tuple[str, ...]:
    """The words that carry a name."""
    return tuple(as_digit(word) for word in said if word not in _EMPTY)


def table_of(ground: Ground) -> Vocabulary:
    """What people call things here."""
    return ground.vocabulary or shipped()


def named(
    said: Sequence[str],
    ground: Ground,
    fits: Callable[[AskedStep], bool],
    *,
    saved: bool = False,
    loosely: bool = False,
    exact: Sequence[str] = (),
) -> list[AskedStep]:
    """The steps these words may mean: the one at hand if it is among them, else those still open.

    Args:
        said: Words of a name, synonyms replaced; none means the step at hand.
        ground: What may be said now.
        fits: Whether a step takes what was said of it.
        saved: Look among answered steps: a correction.
        loosely: Some of the words are enough: nothing is answered by this.
        exact: Words that must be a step's own: what only sounds like one is not taken there.
    """
    words = content(said)
    if not words:
        return [ground.step] if fits(ground.step) else []
    table = table_of(ground)
    if all(word.isdigit() for word in words):
        return []
    names = ground.names or all_names(ground.steps, table)
    strange = _strange(words, names, table).difference(exact)
    if len(strange) > 1:
        return []
    here = ground.step
    if fits(here) and (not saved or here.saved) and _all_held(words, names_of(here, table), strange):
        return [here]
    if strange.issuperset(words):
        return []
    held = [step for step, each in zip(ground.steps, names, strict=True) if _all_held(words, each, strange)]
    found = [s for s in held if (bool(s.saved) if saved else s.is_open) and s is not here and fits(s)]
    if not loosely:
        found = [step for step in found if _is_title_said(words, names_of(step, table), table)]
    return _nearest(words, found, ground, table)


def _is_title_said(words: Sequence[str], names: Names, table: Vocabulary) -> bool:
    """Enough of a title: one word such as `water` or `tower` names no step."""
    title = {word for word in names.title if len(word) > 1}
    said = title.intersection(words)
    if len(said) < 2 and len(title) > 1 and not said & table.read_back:
        return False
    return len(said) >= LEAST_OF_TITLE * len(title) and any(len(word) > 3 for word in said)


def all_names(steps: Iterable[AskedStep], table: Vocabulary) -> tuple[Names, ...]:
    """The words of every step."""
    return tuple(names_of(step, table) for step in steps)


def _strange(words: Sequence[str], names: Iterable[Names], table: Vocabulary) -> frozenset[str]:
    """Words that no step has: each may stand for one that sounds like it, unless the table knows it."""
    unsettled = {word for word in words if len(word) >= 4} - table.settled - WORDS - _COMMON
    for each in names if unsettled else ():
        unsettled = {word for word in unsettled if not each.holds(word)}
    return frozenset(unsettled)


def _all_held(words: Sequence[str], names: Names, strange: frozenset[str]) -> bool:
    others = [word for word in words if not names.holds(word)]
    if others and not strange:
        return False
    held = [word for word in words if word not in others]
    if not all(word in strange and _sounds_held(word, names) for word in others):
        return False
    return bool(others) or any(word in names.title or word in names.other for word in held)


def _sounds_held(word: str, names: Names) -> bool:
    return any(likeness(word, other) >= LEAST_ALIKE for other in names.title | names.other)


def _nearest(words: Sequence[str], found: list[AskedStep], ground: Ground, table: Vocabulary) -> list[AskedStep]:
    """Of several: whose title has most of the words and least besides; then those of the same target."""
    if len(found) < 2:
        return found
    titles = {step.key: names_of(step, table).title for step in found}
    inside = max(sum(word in titles[s.key] for word in words) for s in found)
    found = [s for s in found if sum(word in titles[s.key] for word in words) == inside]
    exact = [s for s in found if titles[s.key] <= {*words} | names_of(s, table).target]
    found = exact or [s for s in found if _runs(words, s, table)] or found
    here = [s for s in found if s.target and s.target == ground.step.target]
    return here or found


def _runs(words: Sequence[str], step: AskedStep, table: Vocabulary) -> bool:
    """The words stand in the title side by side, as they were said."""
    title = content(table.plain(word_list(step.title)))
    return any(title[at : at + len(words)] == tuple(words) for at in range(len(title)))
