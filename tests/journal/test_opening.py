"""What is opened, what is refused and in which words; a file that is no log is never touched."""

import errno
import sqlite3
import subprocess
import sys
import tempfile
import threading
from pathlib import Path

import pytest

from seasonlog.errors import LogError
from seasonlog.journal.database import DamagedLogError, file_system_of, plain_errors
from seasonlog.journal.lock import exclusive
from seasonlog.journal.store import Journal
from seasonlog.journal.verify import verify
from tests.journal.logs import closed_log, new_log, note, notes, surroundings


def foreign_database(path: Path) -> None:
    with sqlite3.connect(path) as db:
        db.execute("CREATE TABLE entry (x)")
    db.close()


def empty_file(path: Path) -> None:
    path.write_bytes(b"")


def text_file(path: Path) -> None:
    path.write_text("tower,kw\nHOS-1,18\n" * 100)


def cut_header(path: Path) -> None:
    path.write_bytes(b"SQLite format 3\x00" + bytes(30))


@pytest.mark.parametrize("make", [foreign_database, empty_file, text_file, cut_header])
def test_a_file_that_is_no_log_is_refused_and_left_as_it_was(tmp_path: Path, make) -> None:  # type: ignore[no-untyped-def]
    path = tmp_path / "other.db"
    make(path)
    before = path.read_bytes()
    with pytest.raises(DamagedLogError, match=r"is not a log|is damaged"):
        Journal.open(path, **surroundings(tmp_path))
    with pytest.raises(DamagedLogError):
        Journal.open_read_only(path)
    found = verify(path)
    assert (found.ok, found.entries, bool(found.problem)) == (False, 0, True)
    assert path.read_bytes() == before


def test_opening_makes_no_log(tmp_path: Path) -> None:
    for opened in (Journal.open_read_only, verify):
        with pytest.raises(LogError, match=r"there is no log|cannot be opened"):
            opened(tmp_path / "none.db")
    with pytest.raises(LogError, match="there is no log"):
        Journal.open(tmp_path / "none.db", **surroundings(tmp_path))
    assert list(tmp_path.iterdir()) == []


def test_a_name_with_signs_of_an_address_is_only_a_name(tmp_path: Path) -> None:
    folder = tmp_path / "a b?mode=memory#%20&x"
    path = closed_log(folder, 2)
    assert verify(path, keys_dir=folder / "keys").ok
    assert {p.name for p in folder.iterdir()} >= {"seasonlog.db", "keys"}


def test_what_a_killed_creation_left_is_cleared(tmp_path: Path) -> None:
    for suffix in (".new", ".new-wal", ".new-shm", ".new-journal"):
        (tmp_path / f"seasonlog.db{suffix}").write_bytes(b"half")
    path = closed_log(tmp_path, 1)
    assert verify(path).entries == 2
    assert not [p for p in tmp_path.iterdir() if ".new" in p.name]


def test_a_closed_log_is_one_file(tmp_path: Path) -> None:
    path = closed_log(tmp_path, 5)
    assert sorted(p.name for p in tmp_path.iterdir()) == ["keys", "seasonlog.db", "seasonlog.db.lock"]
    assert path.stat().st_size > 0


def test_readers_cannot_write(tmp_path: Path) -> None:
    with new_log(tmp_path) as journal:
        for sql in ("CREATE TABLE x (y)", "INSERT INTO meta VALUES ('a', 'b')", "DROP TABLE entry", "VACUUM"):
            with pytest.raises(LogError, match="read-only"):
                journal.query(sql)
    with Journal.open_read_only(journal.path) as reader, pytest.raises(LogError, match="reading only"):
        reader.append([note("x")])


def test_the_store_writes_first_words_itself(tmp_path: Path) -> None:
    with new_log(tmp_path) as journal:
        for kind in ("log_started", "device_joined"):
            with pytest.raises(ValueError, match="store itself"):
                journal.append([type(note("x"))(kind, {}, "Ada")])


def test_entries_are_read_by_kind_device_and_order(tmp_path: Path) -> None:
    with new_log(tmp_path) as journal:
        stored = journal.append([note("a", "u-a"), note("b")])
        assert [s.pos for s in journal.entries(kind="note_added")] == [2, 3]
        assert [s.pos for s in journal.entries(after=2)] == [3]
        assert [s.pos for s in journal.entries(dev=journal.device_id, order="causal")] == [1, 2, 3]
        assert list(journal.entries(dev="f" * 16)) == []
        assert journal.find("u-a") == stored[0]
        assert journal.find("none") is None


def test_the_first_entry_says_whether_it_is_a_demonstration(tmp_path: Path) -> None:
    with new_log(tmp_path / "a") as real, new_log(tmp_path / "b", demonstration=True) as demo:
        assert (real.is_demonstration, demo.is_demonstration) == (False, True)
        assert (verify(real).demonstration, verify(demo).demonstration) == (False, True)
        assert demo.first.entry.body["software"].startswith("seasonlog ")


def test_two_threads_write_through_one_open_log(tmp_path: Path) -> None:
    with new_log(tmp_path) as journal:
        threads = [threading.Thread(target=lambda: [journal.append([d]) for d in notes(60)]) for _ in range(2)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert journal.count() == 121
        assert verify(journal).ok


def test_the_lock_excludes_threads_and_says_so_in_time(tmp_path: Path) -> None:
    lock, log = tmp_path / "x.lock", tmp_path / "x"
    with (
        exclusive(lock, log=log),
        pytest.raises(LogError, match="busy"),
        exclusive(lock, log=log, timeout_seconds=0.05),
    ):
        pass
    with exclusive(lock, log=log, timeout_seconds=0.05):
        pass


def test_a_backup_is_never_written_over_a_file(tmp_path: Path) -> None:
    with new_log(tmp_path) as journal:
        (tmp_path / "b.db").write_text("mine")
        with pytest.raises(LogError, match="there already"):
            journal.backup(tmp_path / "b.db")
        with pytest.raises(LogError, match="cannot be opened"):
            journal.backup(tmp_path / "no" / "b.db")
        assert (tmp_path / "b.db").read_text() == "mine"


@pytest.mark.parametrize(
    ("number", "words"),
    [
        (errno.ENOSPC, "the disk that holds F is full; the entry is not saved; free space and press save again"),
        (errno.EROFS, "F is read-only; the entry is not saved; allow writing to the file and its folder"),
        (errno.EACCES, "F may not be opened; the entry is not saved; check the permissions"),
    ],
)
def test_the_systems_errors_are_one_sentence(number: int, words: str) -> None:
    with pytest.raises(LogError) as caught, plain_errors(Path("F"), saving=True):
        raise OSError(number, "jargon")
    assert str(caught.value).startswith(words)


MOUNTS = r"""/dev/vda / ext4 rw 0 0
server:/home /home nfs4 rw 0 0
/dev/sdb /home/ada/local\040disk xfs rw 0 0
//box/share /mnt/share cifs rw 0 0
box: /mnt/ssh fuse.sshfs rw 0 0
tmpfs /mnt/share/over tmpfs rw 0 0
/dev/sdc /home/late ext4 rw 0 0
box2: /home/late nfs rw 0 0
"""


@pytest.mark.parametrize(
    ("folder", "kind"),
    [
        ("/srv/log", "ext4"), ("/home/ada", "nfs4"), ("/home/ada/local disk/x", "xfs"), ("/homework", "ext4"),
        ("/mnt/share/a", "cifs"), ("/mnt/share/over", "tmpfs"), ("/mnt/ssh", "fuse.sshfs"), ("/home/late", "nfs"),
    ],
)  # fmt: skip
def test_a_folder_belongs_to_the_last_and_longest_mount_above_it(folder: str, kind: str) -> None:
    """proc(5): octal escapes for blanks; a later mount over the same place hides the earlier."""
    assert file_system_of(Path(folder), MOUNTS) == kind


AS_SOMEBODY_ELSE = """
import os, sys
from pathlib import Path
from seasonlog.journal.store import Journal
if os.geteuid() == 0:
    os.setresgid(65534, 65534, 65534)
    os.setresuid(65534, 65534, 65534)
with Journal.open_read_only(Path(sys.argv[1])) as journal:
    print(journal.count())
"""


def test_a_log_in_a_folder_of_somebody_else_can_be_read() -> None:
    """An auditor reads a copy that nobody there may write to; SQLite then has no place for its shared memory."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        path = closed_log(folder, 2)
        path.chmod(0o444)
        folder.chmod(0o555)
        try:
            words = [sys.executable, "-c", AS_SOMEBODY_ELSE, str(path)]
            done = subprocess.run(words, capture_output=True, text=True, timeout=60, check=False)
        finally:
            folder.chmod(0o755)
    assert (done.stdout.split(), done.stderr) == (["3"], "")


def test_no_room_for_shared_memory_is_a_full_disk() -> None:
    error = sqlite3.OperationalError("disk I/O error")
    error.sqlite_errorcode, error.sqlite_errorname = 4874, "SQLITE_IOERR_SHMSIZE"
    with pytest.raises(LogError, match="is full"), plain_errors(Path("F")):
        raise error
