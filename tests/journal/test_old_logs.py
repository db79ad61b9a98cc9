"""A log written by any released schema is read, proved and gone on with for ever; one file per schema in data/."""

import sqlite3
from pathlib import Path

import pytest

from seasonlog.journal.store import Journal
from seasonlog.journal.verify import verify
from tests.journal.logs import note, surroundings

DUMPS = sorted((Path(__file__).parent / "data").glob("log_v*.sql"))


@pytest.fixture(params=DUMPS, ids=lambda path: path.stem)
def old_log(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    path = tmp_path / "seasonlog.db"
    db = sqlite3.connect(path)
    db.executescript(request.param.read_text("utf-8"))
    db.execute("PRAGMA journal_mode = WAL")
    db.close()
    return path


def test_there_is_one_for_every_schema() -> None:
    from seasonlog.journal.schema import SCHEMA_VERSION

    assert [path.stem for path in DUMPS] == [f"log_v{number}" for number in range(1, SCHEMA_VERSION + 1)]


def test_an_old_log_is_proved_at_both_depths(old_log: Path) -> None:
    for found in (verify(old_log, depth="quick"), verify(old_log)):
        assert (found.ok, found.entries, found.devices, found.clock_set_back) == (True, 6, 2, 1)


def test_an_old_log_says_what_it_said(old_log: Path) -> None:
    with Journal.open(old_log, **surroundings(old_log.parent, "today")) as journal:
        kinds = [s.entry.kind for s in journal.entries()]
        assert kinds == ["log_started", "note_added", "step_answered", "note_added", "device_joined", "note_added"]
        answered = journal.find("N-2")
        assert answered is not None
        assert answered.entry.body["value"] == ["21.5", "21.4", "21.6"]
        assert answered.hash.hex() == "e9cb87833c57d264daec409fe506ba41bb005021e998231f57300a6deb389240"
        journal.append([note("and on it goes")])
    assert verify(old_log).entries == 8
