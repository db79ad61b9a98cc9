"""Lines that a device signed itself and that still break the rules of a log: the signature alone excuses nothing."""

import sqlite3
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from seasonlog.errors import LogError
from seasonlog.journal.chain import Chains, Depth
from seasonlog.journal.encoding import Entry, entry_hash, signed_bytes
from seasonlog.journal.keys import DeviceKey, KeyFiles
from seasonlog.journal.stored import Stored
from seasonlog.journal.verify import BadEntry, verify
from tests.journal.logs import new_log, notes, spoil

STRANGER = DeviceKey(b"\x07" * 32)
LATE = "009000000000000-00000"


def a_log_and_its_key(folder: Path) -> tuple[Path, DeviceKey, Stored]:
    with new_log(folder) as journal:
        journal.append(notes(4))
        key = KeyFiles(folder / "keys", journal.log_id).load()
        assert key is not None
        return journal.path, key, journal.last()


def put(path: Path, key: DeviceKey, entry: Entry, line: bytes | None = None) -> None:
    """Write an entry as its device would, hashed and signed, whatever it says."""
    line = entry.line() if line is None else line
    digest = entry_hash(line)
    values = (entry.dev, entry.seq, digest, entry.uid, entry.hlc, entry.kind, line, key.sign(signed_bytes(digest)))
    sql = "INSERT INTO entry (dev, seq, hash, uid, hlc, kind, line, sig) VALUES (?, ?, ?, ?, ?, ?, ?, ?)"
    spoil(path, lambda db: db.execute(sql, values))


def following(last: Stored, **changes: Any) -> Entry:
    """What a device would rightly write next, but for the changes."""
    good = {"seq": last.entry.seq + 1, "prev": last.hash.hex(), "uid": "next", "hlc": LATE}
    return replace(last.entry, **(good | changes))


def joining(last: Stored, key: DeviceKey, **changes: Any) -> Entry:
    """What a new device would rightly write first, but for the changes."""
    good = {
        "dev": key.dev,
        "seq": 1,
        "prev": "",
        "kind": "device_joined",
        "body": {"key": key.public.hex()},
        "uid": "j",
    }
    return replace(last.entry, hlc=LATE, **(good | changes))


def named(path: Path, depth: Depth = "quick") -> BadEntry:
    found = verify(path, depth=depth)
    assert found.first_bad is not None
    assert found.first_bad.pos == 6
    return found.first_bad


def test_the_forger_of_these_tests_can_write_what_is_right(tmp_path: Path) -> None:
    path, key, last = a_log_and_its_key(tmp_path)
    put(path, key, following(last))
    put(path, STRANGER, joining(last, STRANGER))
    found = verify(path)
    assert (found.ok, found.entries, found.devices) == (True, 7, 2)


@pytest.mark.parametrize("depth", ["quick", "full"])
@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"log": "0" * 32}, "belongs to another log"),
        ({"seq": 7}, "entry 6 is missing"),
        ({"prev": "ab" * 32}, "does not follow"),
        ({"prev": ""}, "does not follow"),
        ({"hlc": "000000000000000-00000"}, "order of time"),
        ({"kind": "device_joined"}, "can only join with its first entry"),
        ({"kind": "log_started"}, "can only join with its first entry"),
    ],
    ids=["other-log", "skipped", "wrong-link", "no-link", "time", "joined-again", "started-again"],
)
def test_a_signed_entry_out_of_place_is_named(
    tmp_path: Path, changes: dict[str, Any], words: str, depth: Depth
) -> None:
    path, key, last = a_log_and_its_key(tmp_path)
    put(path, key, following(last, **changes))
    assert words in named(path, depth).why


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"kind": "note_added"}, "never joined"),
        ({"kind": "log_started"}, "never joined"),
        ({"body": {}}, "does not hold its device's key"),
        ({"body": {"key": "zz" * 32}}, "does not hold its device's key"),
        ({"body": {"key": "ab" * 32}}, "not the key of its device"),
        ({"log": "0" * 32}, "belongs to another log"),
        ({"seq": 2}, "entry 1 is missing"),
        ({"prev": "ab" * 32}, "does not follow"),
    ],
    ids=["unjoined", "second-start", "no-key", "not-a-key", "other-key", "other-log", "not-first", "linked"],
)
def test_a_device_that_does_not_join_as_it_should_is_named(tmp_path: Path, changes: dict[str, Any], words: str) -> None:
    path, _, last = a_log_and_its_key(tmp_path)
    put(path, STRANGER, joining(last, STRANGER, **changes))
    assert words in named(path).why


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b'{"anchor"', b'{ "anchor"'),
        (b'{"text":', b'{"text":"x","text":'),
        (b'"note 3"', b"1.5"),
        (b'"note 3"', b"note"),
    ],
    ids=["blank", "twice", "decimal", "not-json"],
)
def test_a_signed_line_out_of_form_is_named_by_the_full_check(tmp_path: Path, old: bytes, new: bytes) -> None:
    path, key, last = a_log_and_its_key(tmp_path)
    entry = following(last)
    assert old in entry.line()
    put(path, key, entry, entry.line().replace(old, new))
    assert verify(path, depth="quick").ok  # the device did sign these bytes
    assert named(path, "full").why


def test_a_moment_in_which_the_file_cannot_be_read_is_no_bad_entry(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path, _, _ = a_log_and_its_key(tmp_path)

    def busy(*_: object) -> str:
        error = sqlite3.OperationalError("database is locked")
        error.sqlite_errorcode = sqlite3.SQLITE_BUSY
        raise error

    monkeypatch.setattr(Chains, "complaint", busy)
    with pytest.raises(LogError, match="is busy"):
        verify(path)
