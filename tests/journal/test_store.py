"""The store: one durable commit a save, nothing twice, nothing changed, never a fork, plain words when it cannot."""

import shutil
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

from seasonlog.errors import LogError
from seasonlog.journal import database
from seasonlog.journal.store import Journal
from seasonlog.journal.verify import verify
from tests.journal.logs import closed_log, new_log, note, notes, surroundings
from tests.journal.traced import a_log, uids
from tests.scale import scaled


def test_a_uid_is_written_once(tmp_path: Path) -> None:
    with new_log(tmp_path) as journal:
        (first,) = journal.append([note("a", "same")])
        (again,) = journal.append([note("b", "same")])
        assert (again.entry.seq, again.line) == (first.entry.seq, first.line)
        assert journal.count() == 2


def test_all_drafts_of_a_save_or_none(tmp_path: Path) -> None:
    from seasonlog.journal.encoding import EncodingError
    from seasonlog.journal.stored import Draft

    with new_log(tmp_path) as journal:
        with pytest.raises(EncodingError):
            journal.append([note("good"), Draft("note_added", {"text": 1.5}, "Ada")])
        assert journal.count() == 1


@pytest.mark.parametrize(
    "sql",
    [
        "UPDATE entry SET kind = 'x'",
        "DELETE FROM entry WHERE pos = 2",
        "INSERT OR REPLACE INTO entry SELECT * FROM entry WHERE pos = 2",
        "INSERT OR REPLACE INTO entry SELECT 900, dev, seq, hash, 'new', hlc, kind, line, sig FROM entry WHERE pos = 2",
    ],
    ids=["update", "delete", "replace", "replace-by-number"],
)
def test_a_bare_connection_meets_the_guard_rail(tmp_path: Path, sql: str) -> None:
    db = sqlite3.connect(closed_log(tmp_path, 3))
    with pytest.raises(sqlite3.IntegrityError, match="append-only"):
        db.execute(sql)
    db.close()


def test_strict_tables_refuse_a_wrong_type(tmp_path: Path) -> None:
    db = sqlite3.connect(closed_log(tmp_path, 1))
    with pytest.raises(sqlite3.IntegrityError):
        db.execute("INSERT INTO entry VALUES (99, 'abcdefabcdefabcd', 'many', x'00', 'u', 'h', 'k', x'00', x'00')")
    db.close()


def test_two_processes_write_and_nobody_is_refused(tmp_path: Path) -> None:
    log, count = a_log(tmp_path), min(1000, scaled(300))
    command = [sys.executable, "-m", "tests.journal.appender", str(log), str(count)]
    both = [subprocess.Popen([*command, name], stdout=subprocess.PIPE, text=True) for name in ("left", "right")]
    said = [process.communicate(timeout=60)[0] for process in both]
    assert [text.count("\nsaved ") for text in said] == [count, count]
    assert {f"{name}-{i}" for name in ("left", "right") for i in range(count)} <= uids(log)
    assert verify(log, keys_dir=log.parent / "keys").ok


def test_a_reader_sees_what_was_saved_while_the_writer_goes_on(tmp_path: Path) -> None:
    with new_log(tmp_path) as journal, Journal.open_read_only(journal.path) as reader:
        for number in range(5):
            journal.append([note(str(number))])
            assert reader.count() == number + 2


def test_an_older_copy_begins_a_new_device_and_never_a_fork(tmp_path: Path) -> None:
    log = closed_log(tmp_path, 3)
    shutil.copy(log, tmp_path / "copy.db")
    with Journal.open(log, **surroundings(tmp_path)) as journal:
        journal.append(notes(2))
        device = journal.device_id
    (tmp_path / "copy.db").replace(log)
    with Journal.open(log, **surroundings(tmp_path, "later")) as journal:
        (stored,) = journal.append([note("after the restore")])
    assert stored.entry.dev != device
    assert verify(log).ok
    numbers = {(e[0], e[1]) for e in rows(log)}
    assert len(numbers) == len(rows(log))


def test_a_log_without_its_key_begins_a_new_device(tmp_path: Path) -> None:
    log = closed_log(tmp_path, 2)
    shutil.rmtree(tmp_path / "keys")
    with Journal.open(log, **surroundings(tmp_path, "new")) as journal:
        journal.append([note("on another machine")])
        kinds = [e.entry.kind for e in journal.entries()]
    assert kinds == ["log_started", "note_added", "note_added", "device_joined", "note_added"]
    assert verify(log).ok


def rows(log: Path) -> list[tuple[str, int]]:
    db = sqlite3.connect(log)
    try:
        return db.execute("SELECT dev, seq FROM entry").fetchall()
    finally:
        db.close()


def test_a_newer_log_is_refused_in_words(tmp_path: Path) -> None:
    log = closed_log(tmp_path, 1)
    db = sqlite3.connect(log)
    db.execute("PRAGMA user_version = 99")
    db.close()
    with pytest.raises(LogError, match="made by a newer seasonlog"):
        Journal.open(log, **surroundings(tmp_path))
    with pytest.raises(LogError, match="made by a newer seasonlog"):
        Journal.open_read_only(log)


def test_an_older_log_is_brought_up_to_date_step_by_step(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A made-up next version, brought about by the same machinery a real one will use; readers wait for it."""
    from sqlite_utils import Database, Migrations

    from seasonlog.journal import schema

    log = closed_log(tmp_path, 3)
    steps = Migrations("seasonlog")

    @steps()
    def second_version(db: Database) -> None:
        db.execute("CREATE TABLE later (word TEXT) STRICT")
        db.execute("PRAGMA user_version = 3")

    monkeypatch.setattr(schema, "SCHEMA_VERSION", 3)
    monkeypatch.setattr(schema, "migrations", lambda: steps)
    with pytest.raises(LogError, match="older seasonlog"):
        Journal.open_read_only(log)
    with Journal.open(log, **surroundings(tmp_path)) as journal:
        journal.append([note("after")])
        assert journal.query("SELECT count(*) FROM later") == [(0,)]
    assert verify(log).ok
    with Journal.open_read_only(log) as journal:
        assert journal.count() == 5


def test_a_new_log_is_never_made_over_another_file(tmp_path: Path) -> None:
    (tmp_path / "seasonlog.db").write_text("mine")
    with pytest.raises(LogError, match="there already"):
        new_log(tmp_path)
    assert (tmp_path / "seasonlog.db").read_text() == "mine"


def test_a_network_folder_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(database, "NETWORK_FILE_SYSTEMS", frozenset(file_system(tmp_path)))
    with pytest.raises(LogError, match="network"):
        new_log(tmp_path)


def file_system(path: Path) -> list[str]:
    """Types of the file systems mounted above a path, as the kernel names them."""
    mounts = [line.split() for line in Path("/proc/mounts").read_text("utf-8").splitlines()]
    return [m[2] for m in mounts if path.is_relative_to(m[1])]


def test_a_backup_taken_while_writing_verifies(tmp_path: Path) -> None:
    log = a_log(tmp_path)
    process = subprocess.Popen(
        [sys.executable, "-m", "tests.journal.appender", str(log), "400"], stdout=subprocess.PIPE, text=True
    )
    assert process.stdout is not None
    seen = [process.stdout.readline().split()[-1] for _ in range(50)][1:]
    with Journal.open_read_only(log) as journal:
        journal.backup(tmp_path / "backup.db")
    process.communicate(timeout=60)
    assert set(seen) <= uids(tmp_path / "backup.db")
    assert verify(tmp_path / "backup.db").ok


HOLD = """
import fcntl, sys, time
file = open(sys.argv[1], "w")
fcntl.flock(file, fcntl.LOCK_EX)
print("held", flush=True)
time.sleep(20)
"""


def test_a_lock_held_elsewhere_is_said_after_a_while(tmp_path: Path) -> None:
    with new_log(tmp_path) as journal:
        command = [sys.executable, "-c", HOLD, f"{journal.path}.lock"]
        with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as other:
            assert other.stdout is not None
            other.stdout.readline()
            with pytest.raises(LogError, match="is busy: another program is writing"):
                journal.append([note("x")])
            other.kill()
        journal.append([note("y")])
        assert journal.count() == 2
