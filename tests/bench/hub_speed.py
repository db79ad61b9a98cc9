"""The hub: a push against a bare idempotent COPY over the same kind of connection; many entries merged into a log.

SEASONLOG_BENCH_MERGED entries of eight devices are merged: 20,000, or 200,000 when the environment says so.
"""

import os
import secrets
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

from seasonlog.hub.rows import Row, push
from seasonlog.journal.absorb import take_in
from seasonlog.journal.continued import continued
from seasonlog.journal.encoding import Entry, entry_hash, next_hlc, signed_bytes
from seasonlog.journal.keys import DeviceKey
from seasonlog.services import devices
from seasonlog.services.logbook import Logbook
from tests.bench import floors
from tests.builders import a_book, around
from tests.hub.conftest import a_hub, a_server
from tests.hub.worlds import LOG, chain, device

MERGED = int(os.environ.get("SEASONLOG_BENCH_MERGED", "20000"))
DEVICES = 8
PUSHED = 20_000
START = datetime(2026, 9, 15, 13, tzinfo=UTC)


def pushed(_folder: Path, count: int = PUSHED) -> Iterator[tuple[str, float, float, str]]:
    """Rows a second of a push with all the hub's rules, and of the floor, three runs each in turn."""
    rows = chain(device("tess"), 3 * count, real=False)
    ours, floor = [], []
    with a_server() as server, a_hub(server) as hub, hub.as_("tess") as member, hub.administrator() as plain:
        for run in range(3):
            part = rows[run * count : (run + 1) * count]
            floor.append(floors.seconds(lambda part=part: floors.idempotent_copy(plain, part)))
            ours.append(floors.seconds(lambda part=part: push(member, LOG, part)))
    print(f"     push {count / min(ours):,.0f} rows/s, bare copy {count / min(floor):,.0f} rows/s")
    yield f"push of {count} entries / bare idempotent COPY", min(ours) / min(floor), 2.0, "ratio"


def a_year(log: str, keys: list[DeviceKey], count: int) -> list[Row]:
    """So many notes of all devices, in turn, minutes apart."""
    ends: dict[str, tuple[int, bytes]] = {}
    found = []
    for number in range(count):
        key, wall = keys[number % len(keys)], int(START.timestamp() * 1000) + number * 60_000
        seq, prev = ends.get(key.dev, (0, b""))
        kind, body = "note_added", {"visit": "", "tower": "HOS-1", "step": "", "text": f"note {number} " + "x" * 200}
        if seq == 0:
            kind, body = "device_joined", {"key": key.public.hex()}
        entry = Entry(log, key.dev, seq + 1, prev.hex(), f"{key.dev}-{seq}", wall, 0, next_hlc("", wall), "", "Example",
                      kind, body)  # fmt: skip
        line = entry.line()
        digest = entry_hash(line)
        found.append(Row(key.dev, seq + 1, prev, digest, line, key.sign(signed_bytes(digest))))
        ends[key.dev] = (seq + 1, digest)
    return found


def merged(folder: Path) -> Iterator[tuple[str, float, float, str]]:
    """All that other devices wrote in a year, and then one day's, into a log."""
    keys = [DeviceKey(secrets.token_bytes(32)) for _ in range(DEVICES)]
    with a_book(folder / "log", sites=False, surroundings=around(START)) as book:
        for key in keys:
            devices.enrol(book, key.dev, f"tablet {key.dev[:4]}")
        rows = a_year(book.journal.log_id, keys, MERGED + 500)
        most, late = rows[:MERGED], rows[MERGED:]
        whole = floors.seconds(lambda: take(book, most))
        bare = floors.seconds(lambda: floors.bare_insert(folder / "bare.db", most))
        yield f"{MERGED} entries of {DEVICES} devices merged / bare insert", whole / bare, 60.0, "ratio"
        yield "... proved, signed for, folded and on the disk", 1000 * whole / MERGED, 1.0, "ms each"
        split = [r for r in late if r.dev != keys[0].dev], [r for r in late if r.dev == keys[0].dev]
        take(book, split[0])
        took = floors.seconds(lambda: take(book, split[1]))
        yield f"one device's late entries into {MERGED} held", took, 2.0 + MERGED / 50_000, "s"


def take(book: Logbook, rows: list[Row]) -> None:
    """As a sync takes them, without the network."""
    handed = ((r.dev, r.seq, r.line, r.sig) for r in sorted(rows, key=lambda r: (r.dev, r.seq)))
    found = continued(book.journal, handed, ())
    assert not found.complaints
    assert len(found.proved.entries) == len(rows)
    take_in(book.journal, found.proved, "the bench", book.who)
