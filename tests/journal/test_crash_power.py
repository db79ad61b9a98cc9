"""Power cuts under the real writer: an entry shown as saved is there afterwards, whole, in every cut.

The control shows that the simulation can tell: the same cuts with synchronous=NORMAL lose entries that were shown as
saved (SQLite's documentation of `synchronous`: in WAL mode NORMAL may roll back the last commits on power loss).
"""

import random
import shutil
from pathlib import Path
from typing import Any, cast

import pytest

from seasonlog.journal.database import _WRITER_PRAGMAS
from seasonlog.journal.pen import Tools
from seasonlog.journal.verify import verify
from seasonlog.journal.views import LogViews
from seasonlog.journal.writer import Writer
from tests.journal.logs import FixedClock, Seeded, new_log, note
from tests.journal.power import Connection, CrashVFS, Disk, PowerCutError
from tests.scale import scaled

CUTS = scaled(50)


def cut(folder: Path, seed: int, synchronous: str) -> tuple[set[str], Path]:
    """Write until the power goes; returns the uids shown as saved and the folder as it is found."""
    chance = random.Random(seed)
    path = folder / "seasonlog.db"
    with new_log(folder, views=LogViews()) as journal:
        log_id = journal.log_id
    disk = Disk()
    vfs = CrashVFS(disk, f"cut-{folder.name}")
    connection = Connection(path, f"cut-{folder.name}")
    shown: set[str] = set()
    for pragma in ("PRAGMA journal_mode = WAL", *_WRITER_PRAGMAS, f"PRAGMA synchronous = {synchronous}"):
        connection.execute(pragma)
    writer = Writer(
        cast(Any, connection), path, log_id, Tools(folder / "keys", FixedClock(), Seeded(str(seed)), LogViews())
    )
    disk.cut_at = disk.operations + chance.randrange(40, 900)
    try:
        for number in range(10_000):
            uid = f"entry-{number}"
            writer.append([note_for(number, uid)])
            shown.add(uid)
            if chance.random() < 0.1:
                connection.execute("PRAGMA wal_checkpoint(PASSIVE)")
    except BaseException as error:
        if not is_cut(error):
            raise
    found = found_after(folder, disk, chance)
    disk.cut_at = None
    connection.close()
    vfs.unregister()
    return shown, found


def note_for(number: int, uid: str) -> Any:
    draft = note(f"note {number} " + "x" * (number % 7 * 40), uid)
    return type(draft)(
        draft.kind, {"visit": "", "tower": "HOS-1", "step": "", "text": draft.body["text"]}, draft.who, uid
    )


def is_cut(error: BaseException | None) -> bool:
    while error is not None:
        if isinstance(error, PowerCutError):
            return True
        error = error.__context__ or error.__cause__
    return False


def found_after(folder: Path, disk: Disk, chance: random.Random) -> Path:
    after = folder.with_name(folder.name + "-after")
    shutil.copytree(folder / "keys", after / "keys")
    for name, data in disk.found(chance).items():
        if not name.endswith("-shm"):
            (after / Path(name).name).write_bytes(data)
    return after


def lost(shown: set[str], after: Path) -> int:
    """How many entries shown as saved are not there, once the log was opened again."""
    import sqlite3

    with sqlite3.connect(after / "seasonlog.db") as db:
        kept = {uid for (uid,) in db.execute("SELECT uid FROM entry")}
    db.close()
    return len(shown - kept)


@pytest.mark.parametrize("seed", range(CUTS))
def test_nothing_shown_as_saved_is_lost(tmp_path: Path, seed: int) -> None:
    shown, after = cut(tmp_path / f"full{seed}", seed, "FULL")
    assert shown
    assert lost(shown, after) == 0
    found = verify(after / "seasonlog.db")
    assert found.ok, found


def test_the_same_cuts_lose_entries_with_less_than_full(tmp_path: Path) -> None:
    losses = [lost(*cut(tmp_path / f"normal{seed}", seed, "NORMAL")) for seed in range(10)]
    assert sum(count > 0 for count in losses) >= 8, losses
