"""Signed entries of invented devices, as rows of the hub."""

import hashlib
from collections.abc import Sequence

from seasonlog.hub.rows import Row
from seasonlog.journal.encoding import Entry, entry_hash, next_hlc, signed_bytes
from seasonlog.journal.keys import DeviceKey

LOG = hashlib.sha256(b"a log of the tests").hexdigest()[:32]
OTHER_LOG = hashlib.sha256(b"another firm's log").hexdigest()[:32]


def device(name: str) -> DeviceKey:
    """The same key for the same name."""
    return DeviceKey(hashlib.sha256(name.encode()).digest())


def chain(
    key: DeviceKey, count: int, *, log: str = LOG, after: Sequence[Row] = (), word: str = "note", real: bool = True
) -> list[Row]:
    """So many entries of one device, going on after others; without `real` the signature is 64 zeroes."""
    rows: list[Row] = []
    seq, prev = (after[-1].seq, after[-1].hash) if after else (0, b"")
    hlc = next_hlc("", 1_790_000_000_000 + seq * 1000)
    for number in range(seq + 1, seq + count + 1):
        body = {"text": f"{word} {number} of a row that is about as long as an answer is, with basis and limits " * 3}
        line = Entry(
            log, key.dev, number, prev.hex(), f"{key.dev}-{number}-{word}", 1_790_000_000_000 + number * 1000, 60, hlc,
            "", "Mirel Oduvane", "note_added", body,
        ).line()  # fmt: skip
        digest = entry_hash(line)
        rows.append(Row(key.dev, number, prev, digest, line, key.sign(signed_bytes(digest)) if real else bytes(64)))
        prev, hlc = digest, next_hlc(hlc, 1_790_000_000_000 + number * 1000)
    return rows
