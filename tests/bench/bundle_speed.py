"""A bundle of 5,000 entries written, proved by us and by the one-file verifier, and taken in."""

from collections.abc import Iterator
from pathlib import Path

from seasonlog.domain.records import Kind, Record
from seasonlog.journal import standalone_verifier
from seasonlog.journal.bundle import taken_apart
from seasonlog.journal.bundle_check import proved
from seasonlog.services import bundles
from seasonlog.services.places import Places
from tests.bench import floors
from tests.builders import a_book, around

ENTRIES = 5000


def measure(folder: Path) -> Iterator[tuple[str, float, float, str]]:
    with a_book(folder / "one", sites=False) as book:
        for number in range(ENTRIES // 100):
            texts = (f"note {number} {at} " + "x" * 250 for at in range(100))
            book.write(*(Record(Kind.NOTE_ADDED, {"visit": "", "tower": "T", "step": "", "text": t}) for t in texts))
            if number % 5 == 0:
                bundles.export(book)  # a checkpoint every 500 entries
        took = floors.seconds(lambda: bundles.export(book))
        data = bundles.export(book).data
    yield f"bundle export of {ENTRIES} entries", took, 2, "s"
    yield "... proved, every signature", floors.seconds(lambda: proved(taken_apart(data, "x"), "x")), 3, "s"
    yield "... one-file verifier, quick", floors.seconds(lambda: standalone_verifier.check(data, quick=True)), 1, "s"
    yield "... one-file verifier, every signature", floors.seconds(lambda: standalone_verifier.check(data)), 27, "s"
    at = Places(folder / "two" / "seasonlog.db")
    looked = bundles.look(at, around(), data, "x")
    yield "... taken in as a new log", floors.seconds(lambda: bundles.take(at, around(), "Bench", looked)), 3, "s"
