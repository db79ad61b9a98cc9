"""What an administrator of the server changes is named by the next look at it."""

from collections.abc import Iterator

import pytest

from seasonlog.hub import check
from seasonlog.hub.rows import Row, push
from seasonlog.journal.bundle_check import signature_fits
from seasonlog.journal.encoding import Entry, entry_from_line, entry_hash, signed_bytes
from seasonlog.journal.keys import DeviceKey
from tests.hub.conftest import Hub
from tests.hub.worlds import LOG, chain, device

TESS, TOM = device("tess"), device("tom")
OWN, TOMS = chain(TESS, 8), chain(TOM, 4)
KEYS = {key.dev: key.public for key in (TESS, TOM)}


def proves(row: Row) -> bool:
    return signature_fits(KEYS[row.dev], row.sig, signed_bytes(row.hash))


@pytest.fixture
def full(hub: Hub) -> Iterator[Hub]:
    with hub.as_("sue") as connection:
        push(connection, LOG, [*OWN, *TOMS])
    return hub


def wrong(hub: Hub, held: dict[str, tuple[int, bytes]] | None = None) -> list[str]:
    seen = {TESS.dev: (8, OWN[-1].hash), TOM.dev: (4, TOMS[-1].hash)} if held is None else held
    with hub.as_("aud") as connection:
        return check.wrong(connection, LOG, proves=proves, held=seen)


def by_force(hub: Hub, sql: str, *values: object) -> None:
    """As an administrator who goes round the triggers; constraints still hold, so the hash is made to fit."""
    with hub.administrator() as connection:
        connection.execute("SET session_replication_role = replica")
        assert connection.execute(sql, values).rowcount > 0


def forged(row: Row) -> tuple[bytes, bytes]:
    """The row's line with another text, and its hash."""
    e = entry_from_line(row.line)
    line = Entry(
        e.log, e.dev, e.seq, e.prev, e.uid, e.wall, e.offset, e.hlc, e.anchor, e.who, e.kind, {"text": "all well"}
    ).line()
    return line, entry_hash(line)


def lacks(key: DeviceKey, seq: int) -> str:
    return f"the hub lacks entry {seq} of device {key.dev}, which is held here: it was cut off, or sync again"


def test_an_honest_hub_has_nothing_wrong(full: Hub) -> None:
    assert wrong(full) == []


def test_a_changed_line(full: Hub) -> None:
    line, digest = forged(OWN[4])
    by_force(full, "UPDATE record.entry SET line = %s, hash = %s WHERE dev = %s AND seq = 5", line, digest, TESS.dev)
    assert wrong(full) == [
        f"entry 5 of device {TESS.dev} was changed or made up: its signature is not its device's",
        f"entry 6 of device {TESS.dev} does not follow the one before it: one of the two was changed",
    ]


def test_a_changed_last_line(full: Hub) -> None:
    """Nothing follows it; the signature and our own copy still show it."""
    line, digest = forged(TOMS[3])
    by_force(full, "UPDATE record.entry SET line = %s, hash = %s WHERE dev = %s AND seq = 4", line, digest, TOM.dev)
    assert wrong(full) == [
        f"entry 4 of device {TOM.dev} was changed or made up: its signature is not its device's",
        f"entry 4 of device {TOM.dev} is another one on the hub than here",
    ]


def test_a_line_against_its_hash(full: Hub) -> None:
    """With the constraint dropped as well."""
    with full.administrator() as connection:
        connection.execute("ALTER TABLE record.entry DROP CONSTRAINT entry_check1")
    by_force(full, "UPDATE record.entry SET line = line || ' ' WHERE dev = %s AND seq = 2", TESS.dev)
    assert wrong(full) == [f"entry 2 of device {TESS.dev} was changed: its line does not fit its hash"]


def test_a_signature_blanked(full: Hub) -> None:
    by_force(full, "UPDATE record.entry SET sig = %s WHERE dev = %s AND seq = 3", bytes(64), TESS.dev)
    assert wrong(full) == [f"entry 3 of device {TESS.dev} was changed or made up: its signature is not its device's"]


def test_one_taken_from_the_middle(full: Hub) -> None:
    by_force(full, "DELETE FROM record.entry WHERE dev = %s AND seq = 3", TESS.dev)
    assert wrong(full) == [f"entry 4 of device {TESS.dev} does not come after 2: entries between them are gone"]


def test_the_end_cut_off(full: Hub) -> None:
    by_force(full, "DELETE FROM record.entry WHERE dev = %s AND seq > 5", TESS.dev)
    assert wrong(full) == [
        f"the hub lacks entry 8 of device {TESS.dev}, which is held here: it was cut off, or sync again"
    ]


def test_a_whole_device_gone(full: Hub) -> None:
    by_force(full, "DELETE FROM record.entry WHERE dev = %s", TOM.dev)
    assert wrong(full) == [
        f"the hub lacks entry 4 of device {TOM.dev}, which is held here: it was cut off, or sync again"
    ]


def test_the_end_cut_off_is_not_seen_without_a_copy(full: Hub) -> None:
    """The limit of what a hub alone can show: somebody must hold what was there."""
    by_force(full, "DELETE FROM record.entry WHERE dev = %s AND seq > 5", TESS.dev)
    assert wrong(full, {}) == []


def test_rows_handed_to_another_device(full: Hub) -> None:
    by_force(full, "UPDATE record.entry SET dev = %s, seq = seq + 4 WHERE dev = %s AND seq > 4", TOM.dev, TESS.dev)
    assert f"entry 9 of device {TOM.dev} does not come after 4: entries between them are gone" in wrong(full)
