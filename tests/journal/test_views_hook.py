"""The hook by which view tables are kept: same transaction, made again when they are another version or left behind."""

import sqlite3
from pathlib import Path

import pytest

from seasonlog.errors import LogError
from seasonlog.journal.store import Journal
from seasonlog.journal.stored import Stored
from tests.journal.logs import new_log, note, notes, surroundings


class Words:
    """Counts entries by kind; a search table and a view beside it."""

    def __init__(self, version: int = 1, fails_on: str = "") -> None:
        self.version = version
        self.schema = (
            f"CREATE TABLE word_v{version} (kind TEXT PRIMARY KEY, n INTEGER NOT NULL) STRICT; -- one line;\n"
            "CREATE INDEX by_n\n  ON word_v{v} (n);\n"
            "CREATE VIRTUAL TABLE found USING fts5 (text);\n"
            "CREATE VIEW most AS SELECT max(n) AS n FROM word_v{v};\n"
        ).replace("{v}", str(version))
        self._fails_on = fails_on

    def apply(self, connection: sqlite3.Connection, stored: Stored, /) -> None:
        sql = f"INSERT INTO word_v{self.version} VALUES (?, 1) ON CONFLICT (kind) DO UPDATE SET n = n + 1"
        connection.execute(sql, (stored.entry.kind,))
        connection.execute("INSERT INTO found VALUES (?)", (str(stored.entry.body.get("text")),))
        if self._fails_on and self._fails_on in stored.entry.body.get("text", ""):
            raise RuntimeError("a fault in the fold")


def words(journal: Journal, version: int = 1) -> dict[str, int]:
    return dict(journal.query(f"SELECT kind, n FROM word_v{version}"))


def tables(journal: Journal) -> set[str]:
    return {name for (name,) in journal.query("SELECT name FROM sqlite_schema WHERE type IN ('table', 'view')")}


def test_tables_follow_every_save(tmp_path: Path) -> None:
    with new_log(tmp_path, views=Words()) as journal:
        journal.append(notes(3))
        assert words(journal) == {"log_started": 1, "note_added": 3}
        assert journal.query("SELECT count(*) FROM found WHERE found MATCH 'note'") == [(3,)]


def test_a_fault_in_the_fold_writes_nothing_at_all(tmp_path: Path) -> None:
    with new_log(tmp_path, views=Words(fails_on="bad")) as journal:
        with pytest.raises(RuntimeError):
            journal.append([note("good"), note("bad")])
        assert (journal.count(), words(journal)) == (1, {"log_started": 1})
        journal.append([note("good")])
        assert words(journal) == {"log_started": 1, "note_added": 1}


def test_tables_of_another_version_are_made_again(tmp_path: Path) -> None:
    with new_log(tmp_path, views=Words(1)) as journal:
        journal.append(notes(4))
    with pytest.raises(LogError, match="older seasonlog"):
        Journal.open_read_only(journal.path, views=Words(2))
    with Journal.open(journal.path, **surroundings(tmp_path), views=Words(2)) as journal:
        assert words(journal, 2) == {"log_started": 1, "note_added": 4}
        assert not {"word_v1"} & tables(journal)
    with Journal.open_read_only(journal.path, views=Words(2)) as journal:
        assert journal.query("SELECT n FROM most") == [(4,)]


def test_tables_left_behind_by_a_writer_without_them_are_made_again(tmp_path: Path) -> None:
    with new_log(tmp_path, views=Words()) as journal:
        pass
    with Journal.open(journal.path, **surroundings(tmp_path)) as journal:
        journal.append(notes(2))
    with pytest.raises(LogError):
        Journal.open_read_only(journal.path, views=Words())
    with Journal.open(journal.path, **surroundings(tmp_path), views=Words()) as journal:
        assert words(journal) == {"log_started": 1, "note_added": 2}


def test_making_them_again_gives_the_same_rows_and_tells_how_far_it_is(tmp_path: Path, monkeypatch) -> None:  # type: ignore[no-untyped-def]
    monkeypatch.setattr("seasonlog.journal.tables.PROGRESS_EVERY", 3)
    told: list[tuple[int, int]] = []
    with new_log(tmp_path, views=Words()) as journal:
        journal.append(notes(6))
        before = words(journal), journal.query("SELECT * FROM found")
        journal.rebuild_views(Words(), lambda done, total: told.append((done, total)))
        assert (words(journal), journal.query("SELECT * FROM found")) == before
    assert told == [(3, 7), (6, 7)]


def test_a_failed_remake_leaves_the_old_tables(tmp_path: Path) -> None:
    with new_log(tmp_path, views=Words()) as journal:
        journal.append([note("bad")])
        with pytest.raises(RuntimeError):
            journal.rebuild_views(Words(2, fails_on="bad"))
        assert words(journal) == {"log_started": 1, "note_added": 1}


def test_the_wal_is_emptied_as_it_grows_also_past_a_reader(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("seasonlog.journal.writer.CHECKPOINT_BYTES", 200_000)
    with new_log(tmp_path) as journal:
        wal = journal.path.with_name("seasonlog.db-wal")
        sizes = []
        for _ in range(60):
            journal.append(notes(20))
            sizes.append(wal.stat().st_size)
        assert max(sizes) < 600_000
        reader = Journal.open_read_only(journal.path)
        rows = reader.entries()
        next(rows)  # keeps its snapshot, so that pages written later must stay in the WAL
        for _ in range(60):
            journal.append(notes(20))
        assert wal.stat().st_size > 600_000
        list(rows)
        reader.close()
        for _ in range(60):
            journal.append(notes(20))
        assert wal.stat().st_size < 1_200_000
        assert journal.count() == 1 + 180 * 20
