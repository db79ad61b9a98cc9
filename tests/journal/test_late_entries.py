"""Entries that arrive late: the tables go back to before them and fold on, and are what a whole fold makes."""

import random
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest

from seasonlog.journal import schema, undo
from seasonlog.journal import tables as journal_tables
from seasonlog.journal.stored import Stored, from_row
from seasonlog.journal.tables import bring_up, fold, rebuild_views
from seasonlog.journal.views import TABLES, LogViews
from seasonlog.services import demo
from seasonlog.services.places import Places
from tests.builders import around

Tables = dict[str, list[tuple[object, ...]]]


@pytest.fixture(scope="module")
def entries(tmp_path_factory: pytest.TempPathFactory) -> list[Stored]:
    """The demonstration's: visits, findings, repairs, plans, instruments, corrections."""
    at = Places(tmp_path_factory.mktemp("demo") / "seasonlog.db")
    with demo.build(at, around(), lambda _: None, history=False) as book:
        return list(book.journal.entries(order="causal"))


@pytest.fixture
def db(tmp_path: Path) -> Iterator[sqlite3.Connection]:
    with closing(an_empty_log(tmp_path / "log.db")) as connection:
        yield connection


def an_empty_log(path: Path) -> sqlite3.Connection:
    connection = sqlite3.connect(path, isolation_level=None)
    connection.execute("PRAGMA recursive_triggers = ON")  # as the log's writer has it
    connection.execute("BEGIN")
    schema.build(connection)
    rebuild_views(connection, LogViews())
    return connection


def add(db: sqlite3.Connection, new: Sequence[Stored]) -> None:
    db.executemany(
        "INSERT INTO entry (dev, seq, hash, uid, hlc, kind, line, sig) VALUES (?,?,?,?,?,?,?,?)",
        ((s.entry.dev, s.entry.seq, s.hash, s.entry.uid, s.entry.hlc, s.entry.kind, s.line, s.sig) for s in new),
    )


def tables(db: sqlite3.Connection) -> Tables:
    return {name: sorted(db.execute(f"SELECT * FROM {name}"), key=repr) for name in TABLES}


def afresh(db: sqlite3.Connection) -> Tables:
    """What a fold of everything makes, without any way back."""
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as other:
        other.executescript(LogViews.schema)
        for place, row in enumerate(db.execute("SELECT pos, hash, line, sig FROM entry ORDER BY hlc, dev, seq"), 1):
            LogViews().apply(other, from_row((place, *row[1:])))
        return tables(other)


def arrive(db: sqlite3.Connection, part: Sequence[Stored]) -> None:
    add(db, part)
    bring_up(db, LogViews(), min(part, key=lambda s: (s.entry.hlc, s.entry.dev, s.entry.seq)).entry)


@pytest.mark.parametrize("seed", range(4))
def test_parts_that_arrive_in_any_order_make_the_tables_of_a_whole_fold(
    db: sqlite3.Connection, entries: list[Stored], seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In order but for a few dozen neighbours, as devices hand over; every kind of the demonstration is among them."""
    rng = random.Random(seed)
    monkeypatch.delattr(journal_tables, "rebuild_views")  # the way back alone
    mixed = sorted(range(len(entries)), key=lambda at: at + rng.uniform(0, (5, 40, 200, 1000)[seed]))
    at = 0
    while at < len(mixed):
        step = rng.randint(1, 60)
        arrive(db, [entries[i] for i in mixed[at : at + step]])
        at += step
    assert tables(db) == afresh(db)
    assert db.execute("PRAGMA integrity_check").fetchall() == [("ok",)]


def test_a_way_back_that_is_lost_shows(db: sqlite3.Connection, entries: list[Stored]) -> None:
    """The comparison can fail: without what was kept of visits, the tables are others."""
    arrive(db, [e for number, e in enumerate(entries) if number % 7])
    db.execute("DELETE FROM undo_visit")
    arrive(db, entries[::7])
    assert tables(db)["visit"] != afresh(db)["visit"]


def test_before_what_is_kept_all_is_folded_again(
    db: sqlite3.Connection, entries: list[Stored], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(undo, "KEPT", 100)
    monkeypatch.setattr(undo, "PRUNE_EVERY", 10)
    late = len(entries) // 2
    arrive(db, [*entries[:late], *entries[late + 1 :]])
    total = len(entries) - 1
    since = db.execute("SELECT since FROM undo_fold").fetchone()[0]
    assert total - 110 <= since <= total - 100
    assert db.execute("SELECT min(undo_place) > ? FROM undo_visit_entry", [since]).fetchone() == (1,)
    assert not undo.can_go_back(db, late)
    arrive(db, [entries[late]])
    assert tables(db) == afresh(db)


def test_what_is_kept_is_let_go_of_in_time(
    db: sqlite3.Connection, entries: list[Stored], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Entries that come one after another, as on a device of its own."""
    monkeypatch.setattr(undo, "KEPT", 50)
    monkeypatch.setattr(undo, "PRUNE_EVERY", 10)
    for place, stored in enumerate(entries[:300], 1):
        add(db, [stored])
        fold(db, LogViews(), replace(stored, pos=place))
    assert db.execute("SELECT since FROM undo_fold").fetchone() == (250,)
    arrive(db, [entries[310]])
    arrive(db, entries[300:310])
    assert tables(db) == afresh(db)
