"""What a log remembers of its checkpoints: the same as worked out from every hash, and never believed against it.

Roots: RFC 9162 section 2.1.1, by `merkle.root` level by level, which is held against the RFC's vectors elsewhere.
"""

import json
import random
from pathlib import Path

import pytest

from seasonlog.journal import held, merkle
from seasonlog.journal.absorb import state_checkpoint
from seasonlog.journal.checkpoint import Checkpoint, hash_of, read
from seasonlog.journal.database import transaction
from seasonlog.journal.merkle import Peaks
from seasonlog.journal.store import Journal
from seasonlog.journal.stored import Draft
from seasonlog.journal.verify import verify
from seasonlog.services.logbook import Logbook
from tests.builders import a_book
from tests.journal.laptops import enrolled
from tests.journal.worlds import sizes_of

LEAVES = [random.Random(5).randbytes(32) for _ in range(70)]


def said(journal: Journal, count: int = 1) -> None:
    words = {"visit": "", "tower": "HOS-1", "step": ""}
    journal.append([Draft("note_added", words | {"text": f"note {n}"}, "Mirel Oduvane") for n in range(count)])


def stated(book: Logbook) -> Checkpoint:
    return read(state_checkpoint(book.journal, book.who).text)


def from_scratch(book: Logbook) -> object:
    return sizes_of(held.device_hashes(book.db))


@pytest.mark.parametrize("size", range(len(LEAVES)))
def test_peaks_grow_to_the_root_of_the_whole_tree(size: int) -> None:
    kept = Peaks()
    for leaf in LEAVES[:size]:
        kept.push(leaf)
    grown = Peaks(kept.size, kept.hashes)
    for leaf in LEAVES[size:]:
        grown.push(leaf)
    assert kept.root() == merkle.root(LEAVES[:size])
    assert grown.root() == merkle.root(LEAVES)


@pytest.mark.parametrize(("size", "hashes"), [(3, 1), (3, 3), (4, 2), (0, 1), (-1, 1)])
def test_peaks_of_another_size_are_refused(size: int, hashes: int) -> None:
    with pytest.raises(ValueError, match="are not the peaks of"):
        Peaks(size, LEAVES[:hashes])


def test_each_checkpoint_states_what_all_hashes_come_to(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        for count in (1, 2, 1, 5, 1, 9, 16):
            said(book.journal, count)
            assert stated(book).sizes == from_scratch(book)


def test_the_next_checkpoint_reads_only_what_came_since(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        stated(book)
        said(book.journal, 3)
        asked: list[str] = []
        book.journal.pen().connection.set_trace_callback(asked.append)
        found = stated(book)
        book.journal.pen().connection.set_trace_callback(None)
    (own,) = found.sizes.values()
    before = own.entries - 3
    assert [sql for sql in asked if sql.startswith("SELECT hash FROM entry") and "seq >" in sql] == [
        f"SELECT hash FROM entry WHERE dev = '{found.by}' AND seq > {before} ORDER BY seq"
    ]


def other_peaks(told: dict[str, dict[str, object]]) -> dict[str, object]:
    return told | {"peaks": {dev: [LEAVES[0].hex()] * len(own) for dev, own in told["peaks"].items()}}


SPOILT = {
    "other peaks": other_peaks,
    "no such checkpoint": lambda told: told | {"checkpoint": "00" * 32},
    "no peaks": lambda told: told | {"peaks": {}},
    "a list": lambda told: [told],
    "a number": lambda told: {"checkpoint": 5},
    "numbers": lambda told: told | {"peaks": dict.fromkeys(told["peaks"], 7)},
}


@pytest.mark.parametrize("how", SPOILT)
def test_remembered_trees_that_agree_with_no_checkpoint_are_made_anew(tmp_path: Path, how: str) -> None:
    with a_book(tmp_path) as book:
        stated(book)
        said(book.journal, 3)
        connection = book.journal.pen().connection
        (value,) = connection.execute("SELECT value FROM meta WHERE name = 'checkpoint_trees'").fetchone()
        with transaction(connection):
            connection.execute(
                "UPDATE meta SET value = ? WHERE name = 'checkpoint_trees'",
                (json.dumps(SPOILT[how](json.loads(value))),),
            )
        assert stated(book).sizes == from_scratch(book)


def test_a_checkpoint_this_device_did_not_sign_is_nothing_to_grow_from(tmp_path: Path) -> None:
    """Whoever can write into the file could file a checkpoint of other entries, and trees that agree with it."""
    with a_book(tmp_path) as book:
        true = stated(book)
        wrong = Peaks()
        for leaf in LEAVES[: true.sizes[true.by].entries]:
            wrong.push(leaf)
        forged = Checkpoint(
            true.log, true.by, true.issued_ms, {true.by: type(true.sizes[true.by])(wrong.size, wrong.root())}
        )
        connection = book.journal.pen().connection
        with transaction(connection):
            connection.execute("INSERT INTO checkpoint (hash, by, issued, text) VALUES (?,?,?,?)",
                               (forged.hash, forged.by, forged.issued_ms, forged.text()))  # fmt: skip
            connection.execute("INSERT INTO checkpoint_signature VALUES (?,?,?)", (forged.hash, forged.by, bytes(64)))
            told = {"checkpoint": forged.hash.hex(), "peaks": {true.by: [peak.hex() for peak in wrong.hashes]}}
            connection.execute("INSERT OR REPLACE INTO meta VALUES ('checkpoint_trees', ?)", (json.dumps(told),))
        said(book.journal)
        assert stated(book).sizes == from_scratch(book)


def test_the_anchor_is_the_newest_of_another_device_else_of_ones_own(tmp_path: Path) -> None:
    """As one question to all checkpoints answers it, after every step and with the memory of it spoilt."""
    north, south = enrolled(tmp_path)
    for number in range(4):
        with north.book() as book:
            said(book.journal)
            stated(book)
            connection = book.journal.pen().connection
            if number == 2:
                with transaction(connection):
                    connection.execute("UPDATE meta SET value = '{\"x\": 1}' WHERE name = 'newest_checkpoints'")
            (asked,) = connection.execute(
                "SELECT hash FROM checkpoint ORDER BY by = ?, pos DESC LIMIT 1", (north.dev,)
            ).fetchone()
            with transaction(connection):
                assert held.anchor(connection, north.dev) == asked.hex()
                assert (
                    held.anchor(connection, "another device")
                    == hash_of(list(held.checkpoints(connection))[-1].text()).hex()
                )
        south.take(north.export())
        if number == 1:
            north.take(south.export())
    assert verify(north.at.log).ok
