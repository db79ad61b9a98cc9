"""`seasonlog visit --voice-dir`: a visit by sound files, each a phrase; what is asked back is answered by the next."""

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from seasonlog.cli import frame

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from seasonlog.services.answered_file import Outcome
    from seasonlog.services.logbook import Logbook
    from seasonlog.voice.engines.protocols import Recogniser
    from seasonlog.voice.from_files import Came, Phrase


@dataclass(frozen=True, slots=True)
class Spoken:
    """The phrases of a folder, and what hears them; made before anything is written."""

    folder: Path
    phrases: "Sequence[Phrase]"
    recogniser: "Recogniser"


def spoken(book: "Logbook", folder: str) -> Spoken:
    """The folder's phrases and the recogniser, both ready.

    Raises:
        InputRefusedError: a file is no phrase.
        VoiceMissingError: the extra or the model is missing.
    """
    from seasonlog.services.settings import kept
    from seasonlog.voice.engines import ready
    from seasonlog.voice.from_files import phrases_in

    return Spoken(Path(folder), phrases_in(Path(folder)), ready.recogniser(kept(book.places)))


def carry_on(book: "Logbook", outcome: "Outcome", heard: Spoken, told: "Callable[[Came], None]") -> bool:
    """Hear the phrases where the visit stands; the same folder again does nothing.

    Args:
        book: The log, open for writing.
        outcome: The visit as begun.
        heard: The phrases.
        told: Called with what came of each.

    Returns:
        Whether they were carried out now.
    """
    from seasonlog.domain.desk import opened
    from seasonlog.voice.from_files import carried_out
    from seasonlog.voice.session import Session

    visit = outcome.at.visit
    if visit.state != "open" or not _noted(book, visit.id, visit.tower, heard):
        return False
    for came in carried_out(Session(book, opened(outcome.at)), heard.recogniser, heard.phrases):
        told(came)
    return True


def _noted(book: "Logbook", visit: str, tower: str, heard: Spoken) -> bool:
    """Say in the record where the phrases are from, once; False when that stands there already."""
    from seasonlog.domain.records import Kind, Record
    from seasonlog.voice.from_files import digest

    sha256 = digest(heard.phrases)
    uid = f"voice:{tower}:{sha256}"
    before = book.journal.find(uid)
    if before is not None:
        frame.say(f"{heard.folder} was carried out in visit {before.entry.body['visit']}; nothing is written twice.")
        return False
    text = f"spoken from {len(heard.phrases)} sound files, SHA-256 {sha256[:16]}"
    book.write(Record(Kind.NOTE_ADDED, {"visit": visit, "tower": tower, "step": "", "text": text}, uid))
    return True


def words(came: "Came") -> None:
    """One file, what was heard of it and what was said to that."""
    shown = came.outcome.shown
    frame.out(f'{came.name} {came.step} "{came.hearing.best}" {shown.came if shown else ""}'.rstrip())
    for sentence in came.outcome.said:
        frame.say(f"    {sentence}")
