"""What somebody with the file, SQLite and time can do to one log, and that `verify` names where it happened.

The attacks are those of the literature on tamper-evident logs (RFC 9162, C2SP tlog notes); each is tried in many
random logs. What no log alone can show is tested as such: entries cut off at the end are seen only by what the device
remembers. A wrong reading signed by the holder of the key is nothing a log can show.
"""

import random
import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest

from seasonlog.journal.encoding import entry_hash
from seasonlog.journal.verify import verify
from tests.journal.logs import closed_log, notes, spoil, surroundings
from tests.scale import scaled

WORLDS = 12
Attack = Callable[[sqlite3.Connection, int, int, random.Random], None]
"""(database, position attacked, number of entries, chance)."""


def line(db: sqlite3.Connection, pos: int) -> bytes:
    return bytes(db.execute("SELECT line FROM entry WHERE pos = ?", (pos,)).fetchone()[0])


def rewrite(db: sqlite3.Connection, pos: int, new: bytes) -> None:
    """With the hash put right, so that only the chain and the signature are left to tell."""
    db.execute("UPDATE entry SET line = ?, hash = ? WHERE pos = ?", (new, entry_hash(new), pos))


def edit_value(db: sqlite3.Connection, pos: int, count: int, chance: random.Random) -> None:
    rewrite(db, pos, line(db, pos).replace(b"note ", b"note 1"))


def edit_value_and_leave_the_hash(db: sqlite3.Connection, pos: int, count: int, chance: random.Random) -> None:
    db.execute("UPDATE entry SET line = ? WHERE pos = ?", (line(db, pos).replace(b"note ", b"nota "), pos))


def edit_last(db: sqlite3.Connection, pos: int, count: int, chance: random.Random) -> None:
    edit_value(db, count, count, chance)


def edit_time(db: sqlite3.Connection, pos: int, count: int, chance: random.Random) -> None:
    rewrite(db, pos, line(db, pos).replace(b'"wall":179', b'"wall":178'))


def edit_name(db: sqlite3.Connection, pos: int, count: int, chance: random.Random) -> None:
    rewrite(db, pos, line(db, pos).replace(b"Ada Example", b"Eve Example"))


def extra_field(db: sqlite3.Connection, pos: int, count: int, chance: random.Random) -> None:
    rewrite(db, pos, line(db, pos)[:-1] + b',"zz":"x"}')


def not_canonical(db: sqlite3.Connection, pos: int, count: int, chance: random.Random) -> None:
    rewrite(db, pos, line(db, pos).replace(b'"kind":', b'"kind": '))


def delete(db: sqlite3.Connection, pos: int, count: int, chance: random.Random) -> None:
    db.execute("DELETE FROM entry WHERE pos = ?", (pos,))


def delete_first(db: sqlite3.Connection, pos: int, count: int, chance: random.Random) -> None:
    delete(db, 1, count, chance)


def delete_and_renumber(db: sqlite3.Connection, pos: int, count: int, chance: random.Random) -> None:
    delete(db, pos, count, chance)
    db.execute("UPDATE entry SET pos = pos - 1, seq = seq - 1 WHERE pos > ?", (pos,))


def swap(db: sqlite3.Connection, pos: int, count: int, chance: random.Random) -> None:
    for old, new in ((pos, 9000), (pos - 1, pos), (9000, pos - 1)):
        db.execute("UPDATE entry SET pos = ? WHERE pos = ?", (new, old))
    db.execute("UPDATE entry SET seq = seq + 1000 WHERE pos IN (?, ?)", (pos, pos - 1))
    db.execute("UPDATE entry SET seq = pos WHERE pos IN (?, ?)", (pos, pos - 1))


def duplicate(db: sqlite3.Connection, pos: int, count: int, chance: random.Random) -> None:
    sql = "INSERT INTO entry SELECT ?, dev, ?, hash, 'again', hlc, kind, line, sig FROM entry WHERE pos = ?"
    db.execute(sql, (count + 1, count + 1, pos))


def other_device(db: sqlite3.Connection, pos: int, count: int, chance: random.Random) -> None:
    db.execute("UPDATE entry SET dev = 'ffffffffffffffff' WHERE pos = ?", (pos,))


def other_device_in_the_line(db: sqlite3.Connection, pos: int, count: int, chance: random.Random) -> None:
    (dev,) = db.execute("SELECT dev FROM entry WHERE pos = ?", (pos,)).fetchone()
    rewrite(db, pos, line(db, pos).replace(dev.encode(), b"f" * 16))
    other_device(db, pos, count, chance)


def blank_signature(db: sqlite3.Connection, pos: int, count: int, chance: random.Random) -> None:
    db.execute("UPDATE entry SET sig = zeroblob(64) WHERE pos = ?", (pos,))


def swap_signatures(db: sqlite3.Connection, pos: int, count: int, chance: random.Random) -> None:
    (sig,) = db.execute("SELECT sig FROM entry WHERE pos = ?", (pos - 1,)).fetchone()
    db.execute("UPDATE entry SET sig = ? WHERE pos = ?", (sig, pos))


def key_swapped(db: sqlite3.Connection, pos: int, count: int, chance: random.Random) -> None:
    old = line(db, 1)
    at = old.index(b'"key":"') + 7
    rewrite(db, 1, old[:at] + b"ab" * 32 + old[at + 64 :])


def a_columns_word(db: sqlite3.Connection, pos: int, count: int, chance: random.Random) -> None:
    db.execute("UPDATE entry SET kind = 'note_taken' WHERE pos = ?", (pos,))


def a_columns_order(db: sqlite3.Connection, pos: int, count: int, chance: random.Random) -> None:
    db.execute("UPDATE entry SET hlc = '999999999999999-00000' WHERE pos = ?", (pos,))


ATTACKS: list[Attack] = [
    edit_value, edit_value_and_leave_the_hash, edit_last, edit_time, edit_name, extra_field, not_canonical, delete,
    delete_first, delete_and_renumber, swap, duplicate, other_device, other_device_in_the_line, blank_signature,
    swap_signatures, key_swapped, a_columns_word, a_columns_order,
]  # fmt: skip


@pytest.mark.parametrize("attack", ATTACKS, ids=lambda attack: attack.__name__)
def test_every_attack_is_named(tmp_path: Path, attack: Attack) -> None:
    for world in range(WORLDS):
        chance = random.Random(world)
        count = chance.randrange(6, 30)
        path = closed_log(tmp_path / str(world), count - 1, seed=f"world {world}")
        assert verify(path).ok
        pos = chance.randrange(3, count)
        spoil(path, lambda db, pos=pos, count=count, chance=chance: attack(db, pos, count, chance))
        found = verify(path)
        assert not found.ok, f"{attack.__name__} in world {world} was not seen"
        assert found.first_bad is not None or found.problem


def test_an_entry_of_another_log_is_named(tmp_path: Path) -> None:
    path = closed_log(tmp_path / "one", 5, seed="one")
    other = closed_log(tmp_path / "two", 5, seed="two")
    stranger = sqlite3.connect(other).execute("SELECT * FROM entry WHERE pos = 6").fetchone()

    def put(db: sqlite3.Connection) -> None:
        db.execute("INSERT INTO entry VALUES (?,?,?,?,?,?,?,?,?)", (7, *stranger[1:]))

    spoil(path, put)
    found = verify(path)
    assert (found.ok, found.first_bad and found.first_bad.pos) == (False, 7)


def test_what_was_cut_off_at_the_end_is_seen_by_what_the_device_remembers(tmp_path: Path) -> None:
    path = closed_log(tmp_path, 10)
    spoil(path, lambda db: db.execute("DELETE FROM entry WHERE pos > 8"))
    assert verify(path).ok  # no log alone can show this
    assert not verify(path, keys_dir=tmp_path / "keys").ok


def test_quick_sees_every_broken_link(tmp_path: Path) -> None:
    for world in range(WORLDS):
        path = closed_log(tmp_path / str(world), 12, seed=f"quick {world}")
        spoil(path, lambda db, world=world: edit_value(db, 2 + world, 13, random.Random(world)))
        found = verify(path, depth="quick")
        assert (found.ok, found.depth) == (False, "quick")
        assert found.first_bad is not None


def test_flipped_bits_are_named(tmp_path: Path) -> None:
    """Single bits of the file flipped: a changed line, hash, signature or number never verifies."""
    path = closed_log(tmp_path, 40)
    whole = path.read_bytes()
    chance = random.Random(7)
    before = content(path)
    missed = changed = 0
    for _ in range(max(300, scaled(250))):
        at, bit = chance.randrange(100, len(whole)), chance.randrange(8)
        spoilt = bytearray(whole)
        spoilt[at] ^= 1 << bit
        path.write_bytes(spoilt)
        try:
            same = content(path) == before
        except (sqlite3.DatabaseError, UnicodeDecodeError):
            same = False
        if not same:
            changed += 1
            missed += not refused(path)
    assert changed > 100
    assert missed == 0


def content(path: Path) -> list[tuple[object, ...]]:
    db = sqlite3.connect(f"file:{path}?mode=ro&immutable=1", uri=True)
    try:
        return db.execute("SELECT * FROM entry ORDER BY pos").fetchall()
    finally:
        db.close()


def refused(path: Path) -> bool:
    from seasonlog.errors import LogError

    try:
        return not verify(path).ok
    except LogError:
        return True


def test_a_healthy_log_of_two_devices_is_good(tmp_path: Path) -> None:
    path = closed_log(tmp_path, 3)
    (tmp_path / "keys").rename(tmp_path / "old-keys")
    from seasonlog.journal.store import Journal

    with Journal.open(path, **surroundings(tmp_path, "second")) as journal:
        journal.append(notes(3))
    found = verify(path)
    assert (found.ok, found.devices) == (True, 2)
