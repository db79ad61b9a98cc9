"""Words: how a phrase is cut into them, which stand for one another, and which sound alike.

The table of what people call things is `checklists/practice/phrases.toml`; a file of the same form beside the log
adds to it.
"""

import re
import tomllib
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from seasonlog import resources
from seasonlog.errors import InputRefusedError, Problem
from seasonlog.voice.intents import Word

PAUSE = ","
"""A token of its own: a comma or semicolon, as recognisers write a pause."""
MOST_CHARACTERS = 2400
LEAST_ALIKE = 75.0
"""Likeness of two sounds, 0 to 100, from which one may stand for the other; "mason" for "basin" has 80."""
FILLERS = frozenset(
    {
        "the", "is", "was", "are", "reads", "read", "reading", "equals", "equal", "of", "an", "it", "its", "i", "have",
        "get", "got", "we", "please", "um", "uh", "er", "now", "measured", "value", "that", "says", "shows", "at",
        "for",
    }
)  # fmt: skip
"""Words that carry nothing here."""

_THOUSANDS = re.compile(r"(?<!\d)(\d{1,3})((?:,\d{3})+)(?!\d)")
_DIGIT_LETTER = re.compile(r"(?<=\d)(?=[a-z°%ω])")
_MINUS = re.compile(r"(?:^|(?<=\s))[-−](?=\.?\d)")
_TOKEN = re.compile(r"\d*\.\d+(?=[\s,;]|$|\.(?:\s|$))|\d+|[a-z]+|[,;/]|°|%|ω|[^\s]", re.UNICODE)
_DOT = re.compile(r"(?<!\d)\.(?!\d)|\.(?=\s|$)")
_BETWEEN = re.compile(r"(?<=\d)[-–−](?=\d)")
_DROPPED = str.maketrans(dict.fromkeys("'’", "") | dict.fromkeys('?!"-–:()_', " "))


@dataclass(frozen=True, slots=True, eq=False)
class Vocabulary:
    """The table as the grammar uses it."""

    commands: Mapping[str, Word]
    """Whole phrase to command."""
    decisions: Mapping[str, str]
    """Whole phrase to `pass` or `fail`."""
    same: Mapping[tuple[str, ...], tuple[str, ...]]
    """Words to the words they are read as."""
    longest: int
    """Most words on a left side of `same`."""
    read_back: frozenset[str]
    """Words that are always asked back when they were heard."""
    settled: frozenset[str]
    """Words of the table: never taken for one that only sounds like them."""

    def plain(self, words: tuple[str, ...]) -> tuple[str, ...]:
        """The words with every synonym replaced, the longest first."""
        out: list[str] = []
        at = 0
        while at < len(words):
            span = next((n for n in range(self.longest, 0, -1) if words[at : at + n] in self.same), 0)
            out.extend(self.same[words[at : at + span]] if span else words[at : at + 1])
            at += span or 1
        return tuple(out)


def tokens(text: str) -> tuple[str, ...]:
    """A phrase as lower-case words, numerals and pauses; signs it does not know stay as tokens of their own.

    Args:
        text: As heard or typed.
    """
    text = unicodedata.normalize("NFKC", text[:MOST_CHARACTERS]).casefold()
    text = _THOUSANDS.sub(lambda found: found[1] + found[2].replace(",", ""), text)
    text = _BETWEEN.sub(" ~ ", _MINUS.sub(" minus ", text))
    text = _DIGIT_LETTER.sub(" ", _DOT.sub(" ", text).translate(_DROPPED))
    return tuple(PAUSE if t in ",;/" else t for t in _TOKEN.findall(text))


def word_list(text: str) -> tuple[str, ...]:
    """The words of a name, without pauses and signs."""
    return tuple(t for t in tokens(text) if t != PAUSE and t.isalnum())


@lru_cache(maxsize=8192)
def sound(word: str) -> str:
    """A rough key of how a word sounds: vowels alike, soft and hard consonants of a kind alike."""
    for old, new in (("tion", "san"), ("ph", "f"), ("ck", "k"), ("sh", "s"), ("ch", "s"), ("wr", "r"), ("kn", "n")):
        word = word.replace(old, new)
    word = word.translate(str.maketrans("cqzx", "kkss"))
    word = re.sub(r"[aeiouyhw]+", "a", word[:1]) + re.sub(r"[aeiouyw]+", "a", word[1:].rstrip("e"))
    return re.sub(r"(.)\1+", r"\1", word)


@lru_cache(maxsize=8192)
def likeness(one: str, other: str) -> float:
    """How alike two words sound, 0 to 100; short words are alike only when they are the same."""
    if one == other:
        return 100.0
    if min(len(one), len(other)) < 4:
        return 0.0
    from rapidfuzz.fuzz import ratio

    return float(ratio(sound(one), sound(other)))


@lru_cache(maxsize=1)
def shipped() -> Vocabulary:
    """The table that comes with the program."""
    return vocabulary((resources.checklists() / "practice" / "phrases.toml").read_text("utf-8"))


def vocabulary(*texts: str) -> Vocabulary:
    """A table from one or more files; later ones add to earlier ones.

    Raises:
        InputRefusedError: a file is no TOML, or holds what this table does not know; every problem at once.
    """
    problems: list[Problem] = []
    commands: dict[str, Word] = {}
    decisions: dict[str, str] = {}
    same: dict[tuple[str, ...], tuple[str, ...]] = {}
    always: set[str] = set()
    for text in texts:
        table = _table(text, problems)
        commands |= {p: Word(k) for k, p in _phrases(table, "commands", {str(w) for w in Word}, problems)}
        decisions |= {p: k for k, p in _phrases(table, "decisions", {"pass", "fail"}, problems)}
        same |= {word_list(p): word_list(k) for k, p in _phrases(table, "same", None, problems)}
        always |= {p for _, p in _phrases(table, "read_back", {"words"}, problems)}
    if problems:
        raise InputRefusedError(problems)
    settled = frozenset(always).union(*same.values())
    return Vocabulary(commands, decisions, same, max(map(len, same), default=0), frozenset(always), settled)


def _table(text: str, problems: list[Problem]) -> Mapping[str, Any]:
    try:
        table = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        problems.append(Problem("phrases.toml", f"is not TOML: {error}"))
        return {}
    for name in sorted(table.keys() - {"title", "commands", "decisions", "same", "read_back"}):
        problems.append(Problem(f"phrases.toml, {name}", "is no part of this table; commands, decisions, same are"))
    return table


def _phrases(
    table: Mapping[str, Any], part: str, known: set[str] | None, problems: list[Problem]
) -> list[tuple[str, str]]:
    """Pairs of key and phrase of one part of the file."""
    rows = table.get(part, {})
    out: list[tuple[str, str]] = []
    for key, phrases in rows.items() if isinstance(rows, dict) else [(part, None)]:
        where = f"phrases.toml, {part}, {key}"
        if known is not None and key not in known:
            problems.append(Problem(where, f"is not known; known are {', '.join(sorted(known))}"))
        elif not isinstance(phrases, list) or not all(isinstance(p, str) and word_list(p) for p in phrases):
            problems.append(Problem(where, "is not a list of phrases in quotation marks"))
        else:
            out += [(key, " ".join(word_list(p))) for p in phrases]
    return out
