"""`verify` names the very entry that was touched, at both depths, also in a damaged file, and never cries wolf."""

import sqlite3
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from seasonlog.journal import chain
from seasonlog.journal.encoding import entry_hash
from seasonlog.journal.store import Journal
from seasonlog.journal.verify import verify
from tests.journal.logs import NOON, FixedClock, closed_log, new_log, note, notes, spoil, surroundings
from tests.journal.traced import a_log

Touch = Callable[[sqlite3.Connection, int], object]


def edited(db: sqlite3.Connection, pos: int, old: bytes, new: bytes) -> bytes:
    (line,) = db.execute("SELECT line FROM entry WHERE pos = ?", (pos,)).fetchone()
    assert old in line
    return bytes(line.replace(old, new))


def value_with_hash(db: sqlite3.Connection, pos: int) -> None:
    line = edited(db, pos, b"note ", b"nota ")
    db.execute("UPDATE entry SET line = ?, hash = ? WHERE pos = ?", (line, entry_hash(line), pos))


def whole_rest_rehashed(db: sqlite3.Connection, pos: int) -> None:
    """Everything from here on is linked anew, as by somebody with all but the key."""
    value_with_hash(db, pos)
    for at, prev in db.execute("SELECT pos + 1, lower(hex(hash)) FROM entry WHERE pos >= ?", (pos,)).fetchall():
        row = db.execute("SELECT line FROM entry WHERE pos = ?", (at,)).fetchone()
        if row is None:
            return
        (prev,) = db.execute("SELECT lower(hex(hash)) FROM entry WHERE pos = ?", (at - 1,)).fetchone()
        start = row[0].index(b'"prev":"') + 8
        line = row[0][:start] + prev.encode() + row[0][start + 64 :]
        db.execute("UPDATE entry SET line = ?, hash = ? WHERE pos = ?", (line, entry_hash(line), at))


SAME_ENTRY: list[Touch] = [
    value_with_hash,
    whole_rest_rehashed,
    lambda db, pos: db.execute("UPDATE entry SET line = ? WHERE pos = ?", (edited(db, pos, b"note", b"nota"), pos)),
    lambda db, pos: db.execute("UPDATE entry SET hash = zeroblob(32) WHERE pos = ?", (pos,)),
    lambda db, pos: db.execute("UPDATE entry SET uid = 'else-' || pos WHERE pos = ?", (pos,)),
    lambda db, pos: db.execute("UPDATE entry SET kind = CAST(kind AS TEXT) || 'x' WHERE pos = ?", (pos,)),
    lambda db, pos: db.execute("UPDATE entry SET hlc = substr(hlc, 1, 16) || '99999' WHERE pos = ?", (pos,)),
    lambda db, pos: db.execute("UPDATE entry SET seq = 900 + pos WHERE pos = ?", (pos,)),
]
NAMES = ["value", "rest-rehashed", "value-not-hash", "hash", "uid", "kind", "hlc", "seq"]


@pytest.mark.parametrize("depth", ["quick", "full"])
@pytest.mark.parametrize("touch", SAME_ENTRY, ids=NAMES)
def test_the_touched_entry_itself_is_named(tmp_path: Path, touch: Touch, depth: chain.Depth) -> None:
    path = closed_log(tmp_path, 12)
    for pos in (7, 13):  # one in the middle, then the last of what is left standing
        spoil(path, lambda db, pos=pos: touch(db, pos))
        found = verify(path, depth=depth)
        assert found.first_bad is not None
        assert (found.ok, found.depth, found.first_bad.pos, found.entries) == (False, depth, 7, 6)
        assert str(found.first_bad).startswith("entry 7")


@pytest.mark.parametrize("depth", ["quick", "full"])
@pytest.mark.parametrize("touch", SAME_ENTRY, ids=NAMES)
def test_the_last_entry_is_named(tmp_path: Path, touch: Touch, depth: chain.Depth) -> None:
    path = closed_log(tmp_path, 12)
    spoil(path, lambda db: touch(db, 13))
    found = verify(path, depth=depth)
    assert found.first_bad is not None
    assert found.first_bad.pos == 13


def test_quick_trusts_the_chain_where_full_checks_each_signature(tmp_path: Path) -> None:
    """A signature is not part of the chain: a blanked one in the middle takes nothing from the proof by the last."""
    path = closed_log(tmp_path, 6)
    spoil(path, lambda db: db.execute("UPDATE entry SET sig = zeroblob(64) WHERE pos = 4"))
    assert verify(path, depth="quick").ok
    found = verify(path, depth="full")
    assert found.first_bad is not None
    assert (found.ok, found.first_bad.pos) == (False, 4)
    spoil(path, lambda db: db.execute("UPDATE entry SET sig = zeroblob(64) WHERE pos = 7"))
    assert not verify(path, depth="quick").ok


@pytest.mark.parametrize("missing", [1, 4])
def test_the_entry_after_a_gap_is_named(tmp_path: Path, missing: int) -> None:
    path = closed_log(tmp_path, 6)
    spoil(path, lambda db: db.execute("DELETE FROM entry WHERE pos = ?", (missing,)))
    found = verify(path)
    assert found.first_bad is not None
    assert (found.first_bad.seq, found.entries) == (missing + 1, missing - 1)
    assert "missing" in found.first_bad.why


def test_a_log_emptied_is_bad(tmp_path: Path) -> None:
    path = closed_log(tmp_path, 3)
    spoil(path, lambda db: db.execute("DELETE FROM entry"))
    found = verify(path, depth="quick")
    assert (found.ok, found.entries) == (False, 0)


def test_the_device_that_remembers_more_is_named(tmp_path: Path) -> None:
    path = closed_log(tmp_path, 6)
    spoil(path, lambda db: db.execute("DELETE FROM entry WHERE pos > 5"))
    found = verify(path, depth="quick", keys_dir=tmp_path / "keys")
    assert found.first_bad is not None
    assert (found.ok, found.entries, found.first_bad.seq) == (False, 5, 7)
    assert "shorter than this device remembers" in found.first_bad.why


def test_a_type_changed_in_place_is_named(tmp_path: Path) -> None:
    """One flipped bit turns a blob into a text of the same bytes; STRICT does not look at rows that are there."""
    path = closed_log(tmp_path, 3)
    sql = (
        "PRAGMA writable_schema = ON",
        "UPDATE sqlite_schema SET sql = replace(sql, ') STRICT', ')') WHERE name = 'entry'",
        "PRAGMA writable_schema = RESET",
        "UPDATE entry SET line = CAST(line AS TEXT) WHERE pos = 3",
    )
    spoil(path, lambda db: [db.execute(statement) for statement in sql])
    found = verify(path, depth="quick")
    assert found.first_bad is not None
    assert (found.first_bad.pos, found.first_bad.why) == (3, "a column holds a value of the wrong type")


def test_a_clock_set_back_is_told_and_is_no_fault(tmp_path: Path) -> None:
    clock = FixedClock()
    with Journal.create(tmp_path / "a.db", who="Ada", **surroundings(tmp_path, clock=clock)) as journal:
        for hours in (1, 2, -30, 3, 3):
            clock.now = NOON + hours * 3_600_000
            journal.append([note("x")])
        found = verify(journal)
        assert (found.ok, found.clock_set_back) == (True, 1)
        stamps = [s.entry.hlc for s in journal.entries()]
        assert stamps == sorted(set(stamps))


def test_damage_around_good_entries_is_told_by_the_full_check(tmp_path: Path) -> None:
    """An index page overwritten: the entries stand, the file does not."""
    path = closed_log(tmp_path, 200)
    db = sqlite3.connect(path)
    (page,) = db.execute("SELECT rootpage FROM sqlite_schema WHERE name = 'entry_order'").fetchone()
    (size,) = db.execute("PRAGMA page_size").fetchone()
    db.close()
    data = bytearray(path.read_bytes())
    data[(page - 1) * size + 200 : page * size] = bytes(size - 200)
    path.write_bytes(data)
    assert verify(path, depth="quick").ok
    found = verify(path)
    assert (found.ok, found.first_bad, found.entries) == (False, None, 201)
    assert "every entry is good" in found.problem


@pytest.mark.parametrize("depth", ["quick", "full"])
def test_a_page_of_entries_overwritten_is_where_the_proof_ends(tmp_path: Path, depth: chain.Depth) -> None:
    path = closed_log(tmp_path, 100)
    data = bytearray(path.read_bytes())
    page = data.index(b"note 60") // 4096 * 4096
    data[page : page + 4096] = b"\xff" * 4096
    path.write_bytes(data)
    found = verify(path, depth=depth)
    assert found.first_bad is not None
    assert found.ok is False
    assert 40 < found.entries < 61  # a page holds about ten entries
    assert found.first_bad.pos == found.entries + 1
    assert "cannot be read from here on" in found.first_bad.why


@pytest.mark.parametrize("keep", [0.3, 0.6, 0.9])
def test_a_file_cut_short_ends_in_words(tmp_path: Path, keep: float) -> None:
    path = closed_log(tmp_path, 300)
    data = path.read_bytes()
    path.write_bytes(data[: int(len(data) * keep)])
    for depth in ("quick", "full"):
        found = verify(path, depth=depth, keys_dir=tmp_path / "keys")
        assert not found.ok
        assert found.problem or found.first_bad


def test_progress_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("seasonlog.journal.verify.PROGRESS_EVERY", 4)
    path = closed_log(tmp_path, 9)
    told: list[tuple[int, int]] = []
    verify(path, progress=lambda done, total: told.append((done, total)))
    assert told == [(4, 10), (8, 10)]


def test_a_log_that_is_being_written_to_never_looks_cut_short(tmp_path: Path) -> None:
    log = a_log(tmp_path)
    command = [sys.executable, "-m", "tests.journal.appender", str(log), "300"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as writer:
        looks = 0
        while writer.poll() is None and looks < 500:
            found = verify(log, depth="quick", keys_dir=tmp_path / "keys")
            assert found.ok, found
            looks += 1
        writer.communicate(timeout=60)
    assert looks > 3
    assert verify(log, keys_dir=tmp_path / "keys").entries == 301


def test_the_end_of_a_line_is_its_own_whatever_the_body_holds(tmp_path: Path) -> None:
    """A body may hold words that look like the fields after it; they are quoted, or nested, and deceive nobody."""
    tail = ',"dev":"' + "f" * 16 + '","hlc":"000000000000000-00000","kind":"x","log":"' + "0" * 32 + '"'
    bodies = [
        {"text": tail},
        {"dev": "f" * 16, "who": "Eve"},
        {"who": {"dev": "x", "who": "y"}},
        {"text": '\\","dev":"'},
    ]
    with new_log(tmp_path) as journal:
        journal.append([type(note("x"))("note_added", body, 'A"},"who":"\\') for body in bodies])
        assert verify(journal, depth="quick").ok
        assert verify(journal).ok


def test_two_devices_each_keep_their_own_chain(tmp_path: Path) -> None:
    path = closed_log(tmp_path, 3)
    (tmp_path / "keys").rename(tmp_path / "first")
    for round_ in range(3):
        for keys in ("first", "second"):
            tools = surroundings(tmp_path, f"{keys} {round_}") | {"keys_dir": tmp_path / keys}
            with Journal.open(path, **tools) as journal:
                journal.append(notes(2))
    found = verify(path)
    assert (found.ok, found.devices, found.entries) == (True, 2, 17)
    spoil(path, lambda db: db.execute("UPDATE entry SET sig = zeroblob(64) WHERE pos = 6"))
    quick = verify(path, depth="quick")
    assert quick.ok  # neither device's last
