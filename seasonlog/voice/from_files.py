"""A visit by sound files: each is one phrase, in the order of the numbers in their names.

The dialogue is that of the screen: what it asks back is answered by the next file. This module knows no log; the
session is handed in.
"""

import hashlib
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from seasonlog.errors import InputRefusedError, Problem
from seasonlog.voice.engines.protocols import Recogniser
from seasonlog.voice.engines.sound import Clip
from seasonlog.voice.engines.wav import read_wav
from seasonlog.voice.hearing import Hearing
from seasonlog.voice.prompts import example_prompts
from seasonlog.voice.session import Outcome, Session

MOST_FILES = 2000
"""More than the longest checklist asks for, said three times over."""
_NUMBER = re.compile(r"\d+")


@dataclass(frozen=True, slots=True)
class Phrase:
    """One file: its name and its sound."""

    name: str
    clip: Clip


@dataclass(frozen=True, slots=True)
class Came:
    """What came of one file."""

    name: str
    step: str
    """Key of the step that was at hand."""
    hearing: Hearing
    outcome: Outcome


def phrases_in(folder: Path) -> tuple[Phrase, ...]:
    """The WAV files of a folder, read, in the order of the numbers in their names: `2-amps.wav` before `10.wav`.

    Raises:
        InputRefusedError: there is none, one has no number, two have the same, or one cannot be read; every problem
            at once.
    """
    problems: list[Problem] = []
    files = _numbered(folder, problems)
    phrases = []
    for file in files:
        try:
            phrases.append(Phrase(file.name, read_wav(file.read_bytes(), str(file))))
        except InputRefusedError as error:
            problems.extend(error.problems)
        except OSError as error:
            problems.append(Problem(str(file), f"cannot be read ({error.strerror or error})"))
    if problems:
        raise InputRefusedError(problems)
    return tuple(phrases)


def _numbered(folder: Path, problems: list[Problem]) -> list[Path]:
    try:
        found = sorted(f for f in folder.iterdir() if f.suffix.lower() == ".wav")
    except OSError as error:
        raise InputRefusedError([Problem(str(folder), f"cannot be read ({error.strerror or error})")]) from None
    if not found or len(found) > MOST_FILES:
        says = f"holds {len(found) or 'no'} WAV files; one for each phrase is wanted: 1.wav, 2.wav ..."
        raise InputRefusedError([Problem(str(folder), says)])
    by_number: dict[int, Path] = {}
    for file in found:
        number = _NUMBER.search(file.stem)
        if number is None:
            problems.append(Problem(str(file), "has no number in its name; the numbers tell the order"))
        elif int(number[0]) in by_number:
            problems.append(Problem(str(file), f"has the same number as {by_number[int(number[0])].name}"))
        else:
            by_number[int(number[0])] = file
    return [by_number[number] for number in sorted(by_number)]


def digest(phrases: Sequence[Phrase]) -> str:
    """The same for the same sounds in the same order: hexadecimal SHA-256."""
    whole = hashlib.sha256()
    for phrase in phrases:
        whole.update(hashlib.sha256(phrase.clip.pcm).digest())
    return whole.hexdigest()


def carried_out(session: Session, recogniser: Recogniser, phrases: Sequence[Phrase]) -> Iterator[Came]:
    """Hear each phrase where the visit then stands, and do what the dialogue does with it.

    Args:
        session: The visit.
        recogniser: Sound to words.
        phrases: In order.

    Yields:
        What came of each, after it is saved.
    """
    for phrase in phrases:
        ground = session.state.ground
        hearing = recogniser.hear(phrase.clip, example_prompts(ground))
        yield Came(phrase.name, ground.current, hearing, session.hear(hearing))
