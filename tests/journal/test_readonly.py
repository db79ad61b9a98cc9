"""An auditor's log: nothing of it changes, whatever version it is of and wherever it lies."""

import hashlib
import os
import sqlite3
from pathlib import Path

import pytest

from seasonlog.errors import LogError
from seasonlog.journal import database, readonly
from seasonlog.journal.views import LogViews
from seasonlog.services import audit, record_history, rounds
from seasonlog.services.coverage import grid
from seasonlog.services.logbook import Logbook
from seasonlog.services.places import Places
from tests.builders import TODAY, a_book, around

LOGS = sorted((Path(__file__).parent.parent / "data" / "logs").glob("v*/seasonlog.sql"))


def digest(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


def old_log(folder: Path, dump: Path) -> Path:
    path = folder / "seasonlog.db"
    db = sqlite3.connect(path)
    db.executescript(dump.read_text("utf-8"))
    db.close()
    return path


@pytest.mark.parametrize("dump", LOGS, ids=lambda path: path.parent.name)
def test_an_older_log_is_read_whole_and_left_as_it_was(tmp_path: Path, dump: Path) -> None:
    path = old_log(tmp_path, dump)
    before = digest(path)
    with Logbook.open_untouched(Places(path), around()) as book:
        assert book.db.execute("SELECT file FROM pragma_database_list WHERE name='main'").fetchone() == ("",)
        assert rounds.progress(book, "V-1").answers["line_amps"].instrument == "CL-01"
        assert len(record_history.history(book, "V-1").lines) > 10
        assert grid(book, TODAY).rows
        with pytest.raises(LogError, match="reading only"):
            rounds.add_note(book, "T-1", "x")
        with pytest.raises(sqlite3.OperationalError):
            book.db.execute("DELETE FROM entry")
        assert audit.verify_log(book.places, quick=False).ok
    assert digest(path) == before


def test_the_present_version_is_read_where_it_lies(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        rounds.add_note(book, "HOS-1", "hello")
    path = tmp_path / "seasonlog.db"
    before = digest(path)
    with Logbook.open_untouched(Places(path), around()) as book:
        assert book.db.execute("SELECT file FROM pragma_database_list WHERE name='main'").fetchone() == (str(path),)
        assert grid(book, TODAY).rows
    assert digest(path) == before


def test_on_a_read_only_medium_it_opens_as_unchanging(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where SQLite can make no shared memory beside the file, it is told that nobody can change it.

    The medium is played: SQLite's own refusal (SQLITE_CANTOPEN) for every way of opening but the unchanging one.
    """
    with a_book(tmp_path):
        pass
    path = tmp_path / "seasonlog.db"
    asked: list[str] = []
    real = database._connect

    def connect(at: Path, mode: str) -> sqlite3.Connection:
        asked.append(mode)
        if "immutable" not in mode:
            at = at.parent / "not there" / at.name
        return real(at, mode) if "immutable" in mode else _refused(real, at, mode)

    monkeypatch.setattr(database, "_connect", connect)
    monkeypatch.setattr(database.os, "access", lambda *_: False)
    with Logbook.open_untouched(Places(path), around()) as book:
        assert grid(book, TODAY).rows
    assert asked == ["ro", "ro&immutable=1"]


class _Closed:
    """A connection whose first statement is refused, as SQLite does where it cannot make its shared memory."""

    def __init__(self, error: sqlite3.OperationalError) -> None:
        self.error = error

    def execute(self, *_: object) -> None:
        raise self.error

    def close(self) -> None:
        """Nothing is open."""


def _refused(real, at: Path, mode: str):  # type: ignore[no-untyped-def]
    try:
        return real(at, mode)
    except sqlite3.OperationalError as error:
        return _Closed(error)


def test_what_is_no_log_is_refused_in_words(tmp_path: Path) -> None:
    with pytest.raises(LogError, match="no log"):
        readonly.open_untouched(tmp_path / "none.db", LogViews())
    other = tmp_path / "other.db"
    other.write_text("not a database, but long enough to be looked at as one " * 20)
    with pytest.raises(LogError):
        readonly.open_untouched(other, LogViews())


@pytest.mark.parametrize("dump", LOGS, ids=lambda path: path.parent.name)
def test_every_command_that_only_reads_takes_an_older_log_where_nothing_may_be_written(
    tmp_path: Path, dump: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = old_log(tmp_path, dump)
    before = digest(path)
    monkeypatch.setattr(os, "access", lambda *_: False)  # as on a read-only disk, also for root
    with Logbook.open(Places(path), around(), "", writing=False) as book:
        assert rounds.progress(book, "V-1").answers["line_amps"].instrument == "CL-01"
    assert digest(path) == before
    monkeypatch.undo()
    Logbook.open(Places(path), around(), "", writing=False).close()
    assert digest(path) != before
