"""Backup, restore, checkpoints and time brackets, as a person at the command line meets them."""

import sqlite3
from pathlib import Path

import pytest

from seasonlog.errors import LogError
from seasonlog.journal.held import checkpoints
from seasonlog.services import audit, copies, devices, record_history
from seasonlog.services.audit import verify_log
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
    assert copies.backup(lone.at, tmp_path / "copy.db").found.entries == 3
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
    assert "Taken in: 1 entries" in seasonlog("bundle", "import", back, home=home, name="Ada").out
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
