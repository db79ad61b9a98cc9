"""Backup, restore, checkpoints and time brackets, as a person at the command line meets them."""

import errno
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from seasonlog.cli import frame
from seasonlog.domain.records import Kind, Record
from seasonlog.errors import LogError, UsageError
from seasonlog.journal.copying import moved_aside
from seasonlog.journal.held import checkpoints
from seasonlog.services import audit, copies, demo, devices, record_history
from seasonlog.services.audit import verify_log
from seasonlog.services.places import Places
from tests.cli.runner import seasonlog
from tests.journal.laptops import Laptop
from tests.journal.logs import spoil


@pytest.fixture
def lone(tmp_path: Path) -> Laptop:
    laptop = Laptop(tmp_path, "lone")
    laptop.note("first")
    laptop.note("second")
    return laptop


def test_a_backup_is_proved_and_restored_as_a_new_device_never_a_fork(lone: Laptop, tmp_path: Path) -> None:
    old = lone.dev
    (tmp_path / "x").mkdir()
    assert copies.backup(lone.at, tmp_path / "x" / "copy.db").found.entries == 3
    assert [path.name for path in (tmp_path / "x").iterdir()] == ["copy.db"], "one file, nothing beside it"
    (tmp_path / "x" / "copy.db").rename(tmp_path / "copy.db")
    lone.note("after the backup")
    made = copies.restore(lone.at, tmp_path / "copy.db", over=True)
    assert Path(made.aside).exists()
    lone.note("after the restore")
    assert lone.dev != old
    assert verify_log(lone.at, quick=False).ok
    assert lone.count() == 3 + 2  # its new key and its note
    assert verify_log(type(lone.at)(Path(made.aside)), quick=False).log.entries == 4


def test_a_restore_goes_over_no_log_without_a_word(lone: Laptop, tmp_path: Path) -> None:
    copies.backup(lone.at, tmp_path / "copy.db")
    lone.note("later")
    with pytest.raises(LogError, match="it holds 4 entries, the copy 3"):
        copies.restore(lone.at, tmp_path / "copy.db", over=False)
    assert lone.count() == 4


def test_a_spoilt_copy_is_not_restored(lone: Laptop, tmp_path: Path) -> None:
    copies.backup(lone.at, tmp_path / "copy.db")
    spoil(tmp_path / "copy.db", lambda db: db.execute("UPDATE entry SET sig = zeroblob(64) WHERE pos = 2"))
    with pytest.raises(LogError, match="is not good: entry 2"):
        copies.restore(lone.at, tmp_path / "copy.db", over=True)
    assert lone.count() == 3


def test_a_restored_log_is_proved_at_once_and_its_tables_follow_from_its_entries(lone: Laptop, tmp_path: Path) -> None:
    """Of a copy only the entries are proved: a word of a table that rotted in it is not brought back."""
    copies.backup(lone.at, tmp_path / "copy.db")
    spoil(tmp_path / "copy.db", lambda db: db.execute("UPDATE note SET text = 'rotten'"))
    lone.note("after the backup")
    copies.restore(lone.at, tmp_path / "copy.db", over=True)
    assert verify_log(lone.at, quick=False).ok
    with lone.book() as book:
        texts = [text for (text,) in book.db.execute("SELECT text FROM note ORDER BY pos")]
        assert (texts, book.journal.device_id) == (["first", "second"], "")
    assert verify_log(lone.at, quick=False).ok


def test_a_restored_log_gets_back_from_a_peer_what_came_after_the_copy(tmp_path: Path) -> None:
    north, south = Laptop(tmp_path, "north"), Laptop(tmp_path, "south", 5)
    north.note("begin")
    south.take(north.export())
    with north.book() as book:
        devices.enrol(book, south.dev, "south")
    copies.backup(north.at, tmp_path / "copy.db")
    north.note("after the copy")
    south.take(north.export())
    copies.restore(north.at, tmp_path / "copy.db", over=True)
    north.take(south.export())
    with north.book() as book:
        texts = [s.entry.body["text"] for s in book.journal.entries(kind="note_added")]
    assert texts == ["begin", "after the copy"]
    assert verify_log(north.at, quick=False).ok


@pytest.fixture
def old_copy(tmp_path: Path) -> Path:
    """A log of schema 1, as that release left it."""
    path = tmp_path / "old.db"
    with closing(sqlite3.connect(path)) as db:
        db.executescript((Path(__file__).parents[1] / "data/logs/v1/seasonlog.sql").read_text("utf-8"))
    return path


def test_a_copy_of_an_older_release_is_restored_and_copied(lone: Laptop, old_copy: Path, tmp_path: Path) -> None:
    """A backup of a log of schema 1 is still of schema 1; restored, it is of this one."""
    old = Places(old_copy)
    entries = copies.backup(old, tmp_path / "again.db").found.entries
    with closing(sqlite3.connect(tmp_path / "again.db")) as db:
        assert db.execute("PRAGMA user_version").fetchone() == (1,)
    assert copies.restore(lone.at, tmp_path / "again.db", over=True).found.entries == entries
    with lone.book() as book:
        assert book.journal.count() == entries
    assert verify_log(lone.at, quick=False).ok


def test_a_log_of_a_later_release_is_not_copied_by_halves(lone: Laptop, tmp_path: Path) -> None:
    spoil(lone.at.log, lambda db: db.execute("PRAGMA user_version = 99"))
    with pytest.raises(LogError, match=r"seasonlog\.db was made by a newer seasonlog"):
        copies.backup(lone.at, tmp_path / "copy.db")
    assert not (tmp_path / "copy.db").exists()


def left_by_a_crash(lone: Laptop) -> Path:
    """The WAL of a program that was killed, its database gone."""
    whole = lone.at.home / "whole"
    with lone.book() as book:
        book.write(Record(Kind.NOTE_ADDED, {"visit": "", "tower": "T-1", "step": "", "text": "killed after this"}))
        wal = lone.at.log.with_name("seasonlog.db-wal")
        shutil.copy(wal, whole)
    lone.at.log.unlink()
    whole.rename(wal)
    assert wal.stat().st_size > 0
    return wal


@pytest.mark.parametrize("way", ["restore", "import", "begin", "demo"])
def test_a_wal_left_by_a_crash_is_never_played_into_another_log(lone: Laptop, tmp_path: Path, way: str) -> None:
    """SQLite binds a WAL to its database by name alone ("How To Corrupt An SQLite Database File", section 1.3-1.4)."""
    copies.backup(lone.at, tmp_path / "copy.db")
    data = lone.export()
    (lone.at.keys / f"{_log_id(lone)}.key").unlink()
    left = left_by_a_crash(lone).read_bytes()
    if way == "restore":
        copies.restore(lone.at, tmp_path / "copy.db", over=False)
    elif way == "import":
        lone.take(data)
    elif way == "demo":
        demo.build(lone.at, lone.around, lambda _: None, history=False).close()
    else:
        lone.note("a new log begins")
    assert verify_log(lone.at, quick=False).ok
    lone.note("and on it goes")
    assert verify_log(lone.at, quick=False).ok
    assert lone.at.log.with_name("seasonlog.db.before-1-wal").read_bytes() == left, "nothing is deleted"


def test_what_cannot_be_restored_is_said_before_anything_is_touched(lone: Laptop, tmp_path: Path) -> None:
    for source, says in (
        (lone.at.log, "is the log itself"),
        (tmp_path, "no copy at"),
        (tmp_path / "none", "no copy at"),
    ):
        with pytest.raises(LogError, match=says):
            copies.restore(lone.at, source, over=True)
    assert lone.count() == 3


def test_a_log_that_is_open_elsewhere_is_not_moved_from_under_it(lone: Laptop, tmp_path: Path) -> None:
    """Else that program would go on saving answers into the file that was moved aside."""
    copies.backup(lone.at, tmp_path / "copy.db")
    with lone.book() as book:
        with pytest.raises(LogError, match="is open in another program"):
            copies.restore(lone.at, tmp_path / "copy.db", over=True)
        book.write(Record(Kind.NOTE_ADDED, {"visit": "", "tower": "T-1", "step": "", "text": "still saved"}))
    assert (lone.count(), verify_log(lone.at, quick=False).ok) == (4, True)
    assert not list(lone.at.home.glob("*.restored*"))


def test_a_log_whose_very_names_are_damaged_gives_way_to_a_copy(lone: Laptop, tmp_path: Path) -> None:
    """SQLite then complains with bytes that are no text; such a log is what a copy is kept for."""
    copies.backup(lone.at, tmp_path / "copy.db")
    damaged = (
        lone.at.log.read_bytes()
        .replace(b"tableentry", b"table\xff\xff\xff\xff\xff")
        .replace(b"CREATE TABLE", b"\xff" * 12)
    )
    lone.at.log.write_bytes(damaged)
    made = copies.restore(lone.at, tmp_path / "copy.db", over=True)
    assert Path(made.aside).read_bytes() == damaged
    assert verify_log(lone.at, quick=False).ok


def test_a_full_disk_leaves_nothing_over_and_the_log_as_it_was(
    lone: Laptop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    copies.backup(lone.at, tmp_path / "copy.db")
    before = {path.name for path in (*lone.at.home.iterdir(), *tmp_path.iterdir())}

    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr("seasonlog.journal.copying.put", full)
    for fails in (
        lambda: copies.restore(lone.at, tmp_path / "copy.db", over=True),
        lambda: copies.backup(lone.at, tmp_path / "another.db"),
    ):
        with pytest.raises(LogError, match="is full"):
            fails()
        assert {path.name for path in (*lone.at.home.iterdir(), *tmp_path.iterdir())} == before
    assert lone.count() == 3


def test_a_restore_cut_off_between_its_two_renames_is_told_and_done_again(
    lone: Laptop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    copies.backup(lone.at, tmp_path / "copy.db")
    lone.note("later")

    def killed(new: Path, path: Path) -> None:
        moved_aside(path)
        raise KeyboardInterrupt

    with monkeypatch.context() as patched:
        patched.setattr("seasonlog.journal.copying.put", killed)
        patched.setattr("seasonlog.journal.copying.copy_of", lambda reader, new: shutil.copy(tmp_path / "copy.db", new))
        with pytest.raises(KeyboardInterrupt):
            copies.restore(lone.at, tmp_path / "copy.db", over=True)
    said = seasonlog("verify", home=lone.at.home)
    assert (said.code, "seasonlog.db.before-1 was moved aside" in said.err) == (4, True)
    copies.restore(lone.at, tmp_path / "copy.db", over=False)
    assert lone.count() == 3
    assert verify_log(Places(lone.at.log.with_name("seasonlog.db.before-1")), quick=False).log.entries == 4


def test_nothing_that_is_written_out_goes_over_a_log_or_a_part_of_one(lone: Laptop, tmp_path: Path) -> None:
    copies.backup(lone.at, tmp_path / "copy.db")
    key = lone.at.keys / f"{_log_id(lone)}.key"
    for target in (lone.at.log, tmp_path / "copy.db", key, key.with_suffix(".tail"), lone.at.log.with_name("x.db-wal")):
        target.touch()
        before = target.read_bytes()
        with pytest.raises(UsageError, match="never written over"):
            frame.write_file(target, b"a report")
        assert target.read_bytes() == before
    said = seasonlog("bundle", "export", lone.at.log, home=lone.at.home, name="Ada")
    assert (said.code, "never written over" in said.err) == (2, True)
    assert verify_log(lone.at, quick=False).ok


def test_entries_cut_off_behind_a_checkpoint_are_named_by_the_log_itself(lone: Laptop) -> None:
    """Quick sees that they are missing, full also that others stand in their place."""
    note = _note(lone)
    spoil(lone.at.log, lambda db: db.execute("DELETE FROM entry WHERE pos = 3"))
    (lone.at.keys / f"{_log_id(lone)}.tail").unlink()
    for quick in (True, False):
        found = verify_log(lone.at, quick=quick)
        assert not found.ok
        assert "in a checkpoint of 2026" in found.says()
    spoil(lone.at.log, lambda db: db.execute("DELETE FROM checkpoint"))
    assert verify_log(lone.at, quick=True).ok  # nobody here knows any more
    assert not verify_log(lone.at, quick=False, kept=note).ok  # but whoever kept the note does


def _note(laptop: Laptop) -> str:
    with laptop.book() as book:
        return devices.checkpoint(book)[0]


def _log_id(laptop: Laptop) -> str:
    db = sqlite3.connect(laptop.at.log)
    try:
        return str(db.execute("SELECT json_extract(CAST(line AS TEXT), '$.log') FROM entry").fetchone()[0])
    finally:
        db.close()


def test_a_record_is_bracketed_by_what_others_hold(tmp_path: Path) -> None:
    """Not before the anchor it names, not after the first checkpoint of another device that covers it."""
    north, south = Laptop(tmp_path, "north"), Laptop(tmp_path, "south", 5)
    north.note("begin")
    south.take(north.export())
    with north.book() as book:
        devices.enrol(book, south.dev, "south")
    south.note("bracketed")
    north.take(south.export())
    with north.book() as book:
        found = next(s for s in book.journal.entries(dev=south.dev, kind="note_added"))
        when = audit.witnessed(book, found.entry.uid).when
        by = [c.by for c in checkpoints(book.db)]
    assert by[0] == when.not_before_by == north.dev
    assert when.not_after_by == north.dev
    assert when.not_before_ms is not None
    assert when.not_after_ms is not None
    assert when.not_before_ms < when.not_after_ms
    with north.book() as book:
        words = {line.entry.uid: line.bracket for line in record_history.lines(book, [found], {})}
        own = next(book.journal.entries(dev=north.dev, kind="device_enrolled"))
        (alone,) = record_history.lines(book, [own], {})
    assert words[found.entry.uid] == when.words
    assert own.entry.anchor, "it names a checkpoint, but one that its own device stated: that proves no time"
    assert "after" not in alone.bracket
    assert not when.fits  # the south clock runs five minutes ahead, and that shows


def test_the_code_on_a_report_names_a_checkpoint_of_everything(lone: Laptop) -> None:
    with lone.book() as book:
        code = devices.integrity_code(book)
        assert devices.integrity_code(book) == code
        assert code == checkpoints(book.db)[-1].code
    assert len(code.replace("-", "")) == 16
    lone.note("more")
    with lone.book() as book:
        assert devices.integrity_code(book) != code


def test_the_commands(lone: Laptop, tmp_path: Path) -> None:
    """Every command of trust once, with its exit code; a peer joins and is enrolled."""
    home, other = lone.at.home, tmp_path / "other"
    (tmp_path / "x").mkdir()
    bundle = tmp_path / "x" / "a.bundle"
    assert seasonlog("bundle", "export", bundle, home=home, name="Ada").code == 0
    assert seasonlog("bundle", "show", bundle, home=other).out.startswith("OK: 3 entries")
    assert "becomes the log" in seasonlog("bundle", "import", bundle, "--dry-run", home=other, name="Bo").out
    assert not (other / "seasonlog.db").exists()
    assert "becomes the log" in seasonlog("bundle", "import", bundle, home=other, name="Bo").out
    assert "Nothing new." in seasonlog("bundle", "import", bundle, home=other, name="Bo").out
    back = tmp_path / "x" / "b.bundle"
    assert seasonlog("bundle", "export", back, home=other, name="Bo").code == 0
    assert seasonlog("bundle", "import", back, home=home, name="Ada").code == 3
    dev = next(d for d in seasonlog("device", "list", "--json", home=other).json["devices"] if d["own"])["device"]
    assert seasonlog("device", "enrol", dev, "--name", "Bo's", home=home, name="Ada").code == 0
    assert "Taken in: 1 entry, " in seasonlog("bundle", "import", back, home=home, name="Ada").out
    note = tmp_path / "x" / "note.txt"
    assert seasonlog("checkpoint", "-o", note, home=home, name="Ada").out.startswith("Code: ")
    assert seasonlog("bundle", "show", bundle, "--held", note, home=home).code == 3  # the note knows of more
    assert seasonlog("bundle", "show", bundle, "--code", "AAAA-AAAA-AAAA-AAAA", home=home).code == 3
    assert "held against" in seasonlog("verify", "--held", note, home=home).out
    no_note = tmp_path / "no_note.txt"
    no_note.write_text("words")
    assert seasonlog("verify", "--held", no_note, home=home).code == 3  # says nothing about the log
    assert seasonlog("device", "revoke", dev, "--because", "sold", home=home, name="Ada").code == 0
    assert "REVOKED" in seasonlog("device", "list", home=home).out
    assert seasonlog("backup", tmp_path / "x" / "copy.db", home=home).code == 0
    assert seasonlog("restore", tmp_path / "x" / "copy.db", home=home).code == 4
    assert seasonlog("restore", tmp_path / "x" / "copy.db", "--over", home=home).code == 0
    assert seasonlog("verifier", "-o", tmp_path / "x" / "v.py", home=home).code == 0
    assert b"need(" in (tmp_path / "x" / "v.py").read_bytes()
