"""One phrase, one meaning: the grammar follows from the visit's own steps, whatever checklist they come from.

What may be said depends on what is expected (`Expecting`): decision words where an answer is wanted, yes and no only
where something was asked back, `understood` only where a caution was read out. "Stop, not safe" is heard always.
What is not in the grammar means nothing; what could mean two things is refused.
"""

import re
from dataclasses import dataclass

from seasonlog.domain.answers import MOST_TEXT
from seasonlog.domain.checklist import StepKind
from seasonlog.domain.text import as_stored
from seasonlog.voice.grammar_choice import observed_elsewhere, observed_here
from seasonlog.voice.grammar_reading import parse_reading
from seasonlog.voice.intents import Answer, AskedStep, Command, Expecting, Go, Ground, Intent, Note, Refused, Skip, Word
from seasonlog.voice.naming import named, table_of
from seasonlog.voice.spelling import opened
from seasonlog.voice.words import PAUSE, Vocabulary, tokens

MOST_WORDS = 60
"""An answer has fewer words than this."""
MOST_COMMAND = 8
"""A command has no more."""
_ALWAYS = frozenset({Word.STOP, Word.REPEAT, Word.LISTEN_OFF, Word.HELP})
_MOVES = _ALWAYS | {Word.BACK, Word.NEXT, Word.LIMIT, Word.READ_BACK, Word.HOW_MANY, Word.WHAT_NOW, Word.UNDO}
_HEARD: dict[Expecting, frozenset[Word]] = {
    Expecting.ANSWER: _MOVES,
    Expecting.CAUTION: _MOVES | {Word.UNDERSTOOD},
    Expecting.CONFIRM: _ALWAYS | {Word.YES, Word.NO},
    Expecting.TOLD: _MOVES | {Word.RETEST},
    Expecting.WAITS: _MOVES,
    Expecting.CLOSED: _ALWAYS | {Word.BACK, Word.NEXT, Word.READ_BACK, Word.WHAT_NOW, Word.HOW_MANY},
}
"""Which commands mean something where."""
_BECAUSE = r"[\s,:;.]*(?:because|since|reason)?[\s,:;]*(.*)"
_SKIP = re.compile(r"\s*skip(?:\s+(?:(?:this|the)(?:\s+step)?|step|it))?\b" + _BECAUSE, re.I | re.S)
_NOT_APPLICABLE = re.compile(r"\s*(?:not\s+applicable|n\s*/\s*a|does\s+not\s+apply)\b" + _BECAUSE, re.I | re.S)
_NOTE = re.compile(r"\s*(?:make\s+a\s+|take\s+a\s+|add\s+a\s+)?note\b[\s,:;.]*(?:that\b)?\s*(.*)", re.I | re.S)
_WRITE = re.compile(r"\s*(?:write|dictate|text)\b[\s,:;.]*(.*)", re.I | re.S)
_RIGHT = re.compile(r"\s*right\b[\s,:;.]*(\w.*)", re.I | re.S)
_CORRECT = (("change",), ("correct",), ("correction",), ("make", "that"), ("make", "it"), ("i", "meant"), ("make",))
_GO = (("go", "to"), ("show",), ("jump", "to"), ("open", "step"))


@dataclass(frozen=True, slots=True)
class _Phrase:
    """A phrase and its words."""

    text: str
    words: tuple[str, ...]
    """Synonyms replaced; pauses kept."""
    bare: tuple[str, ...]
    """As said, without pauses: commands are looked up by these."""


def parse(text: str, ground: Ground) -> Intent | Refused:
    """What a phrase means now.

    Args:
        text: As heard or typed.
        ground: What may be said now.
    """
    found = _as_written(text, ground)
    if not isinstance(found, Refused) or ground.typed:
        return found
    apart = opened(text)
    other = _as_written(apart, ground) if apart != text else found
    return other if isinstance(other, Answer) else found


def is_opened(text: str, ground: Ground) -> bool:
    """Whether a phrase can only be read once the numbers that a recogniser ran together are parted."""
    return isinstance(_as_written(text, ground), Refused)


def _as_written(text: str, ground: Ground) -> Intent | Refused:
    table = table_of(ground)
    said = tokens(text)
    phrase = _Phrase(text, table.plain(said[:MOST_WORDS]), tuple(t for t in said if t != PAUSE))
    if not phrase.bare:
        return Refused("nothing was said", is_stray=True)
    return _command(phrase, table, ground) or _rest(phrase, ground)


def _command(phrase: _Phrase, table: Vocabulary, ground: Ground) -> Intent | Refused | None:
    if len(phrase.bare) > MOST_COMMAND:
        return None
    said = " ".join(phrase.bare)
    word = Word.STOP if "stop" in phrase.bare and "not safe" in said else table.commands.get(said)
    if word is None:
        return None
    if word is Word.UNDERSTOOD and ground.step.kind is StepKind.CAUTION and ground.expecting is Expecting.ANSWER:
        return Answer(ground.current, "yes")
    if word in _HEARD[ground.expecting]:
        return Command(word)
    if word in (Word.YES, Word.NO, Word.UNDERSTOOD):
        return None
    return Refused(f"{said} means nothing here")


def _rest(phrase: _Phrase, ground: Ground) -> Intent | Refused:
    if ground.expecting is Expecting.CONFIRM:
        return Refused("say yes or no")
    if ground.expecting is Expecting.CLOSED:
        return Refused("this visit is over")
    for way in (_noted, _skipped, _gone, _corrected):
        found = way(phrase, ground)
        if found is not None:
            return found
    if ground.expecting is Expecting.CAUTION and not _names_another(phrase, ground):
        return Refused("hear the caution first, then say understood")
    found = _answered(phrase, ground)
    if ground.expecting is Expecting.WAITS and isinstance(found, Answer) and found.step == ground.current:
        return Refused(f"it waits for {', and '.join(ground.waits) or 'other steps'}")
    return found


def _names_another(phrase: _Phrase, ground: Ground) -> bool:
    """Said of another step: that one's own caution is still read first."""
    found = _answered(phrase, ground)
    return isinstance(found, Answer) and found.step != ground.current


def _noted(phrase: _Phrase, ground: Ground) -> Intent | Refused | None:
    found = _NOTE.fullmatch(phrase.text)
    if found is None:
        return None
    words = _kept(found[1], "say note, and then the words")
    return words if isinstance(words, Refused) else Note(ground.current, words)


def _skipped(phrase: _Phrase, ground: Ground) -> Intent | Refused | None:
    found = _SKIP.fullmatch(phrase.text)
    if found is not None:
        words = _kept(found[1], "say skip, because, and the reason")
        return words if isinstance(words, Refused) else Skip(ground.current, words)
    found = _NOT_APPLICABLE.fullmatch(phrase.text)
    if found is None or (ground.step.kind is StepKind.CHOICE and isinstance(_answered(phrase, ground), Answer)):
        return None
    words = _kept(f"not applicable: {found[1]}".strip(": "), "")
    return words if isinstance(words, Refused) else Skip(ground.current, words)


def _kept(text: str, wanted: str) -> str | Refused:
    """Words as they are kept, or why not; nothing of them is dropped."""
    words = as_stored(text).strip()
    if len(words) > MOST_TEXT:
        return Refused(f"these are {len(words)} characters; {MOST_TEXT} are the most")
    return words or Refused(wanted)


def _gone(phrase: _Phrase, ground: Ground) -> Intent | Refused | None:
    lead = next((lead for lead in _GO if phrase.bare[: len(lead)] == lead), None)
    if lead is None or phrase.words[: len(lead)] != lead:
        return None
    name = tuple(word for word in phrase.words[len(lead) :] if word != PAUSE)
    steps = named(name, ground, _any, loosely=True) or named(name, ground, _any, saved=True, loosely=True)
    if len(steps) == 1:
        return Go(steps[0].key)
    return Refused(f"{len(steps) or 'no'} steps are called {' '.join(name)}", ambiguous=len(steps) > 1)


def _any(step: AskedStep) -> bool:
    return True


def _corrected(phrase: _Phrase, ground: Ground) -> Intent | Refused | None:
    lead = next((lead for lead in _CORRECT if phrase.words[: len(lead)] == lead), None)
    if lead is None:
        return None
    rest = phrase.words[len(lead) :]
    rest = rest[1:] if rest[:1] in (("that",), ("it",)) else rest
    reading = parse_reading(rest, ground, corrects=True)
    if reading is not None:
        return reading
    bare = tuple(word for word in rest if word not in (PAUSE, "to"))
    found = observed_here(bare, ground, corrects=True) or observed_elsewhere(bare, ground, corrects=True)
    return found or Refused("there is no such answer to correct")


def _answered(phrase: _Phrase, ground: Ground) -> Intent | Refused:
    bare = tuple(word for word in phrase.words if word != PAUSE)
    observed = observed_here(bare, ground)
    if observed is not None:
        return observed
    if ground.step.kind is StepKind.TEXT and ground.expecting is Expecting.ANSWER:
        return _written(phrase, ground)
    read = parse_reading(phrase.words, ground)
    if isinstance(read, Answer):
        return read if len(phrase.bare) < MOST_WORDS else Refused("that is too long for a reading")
    return observed_elsewhere(bare, ground) or read or Refused("that means nothing here", is_stray=True)


def _written(phrase: _Phrase, ground: Ground) -> Intent | Refused:
    """Words that answer a step. Aloud they need `write` before them, which is often heard as "right"."""
    found = _WRITE.fullmatch(phrase.text) or (None if ground.typed else _RIGHT.fullmatch(phrase.text))
    if found is None and not ground.typed:
        return Refused("say write, and then the words")
    words = _kept(found[1] if found else phrase.text, "a few words are wanted")
    return words if isinstance(words, Refused) else Answer(ground.current, words)
