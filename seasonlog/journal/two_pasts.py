"""What is to be told of devices that forked, or wrote on after they were revoked.

Which of two pasts stands in a log, and whether later entries stand in it or are put aside, follows from what came here
first. What is told of the device does not: whoever knows the same entries says the same.
"""

import json
import sqlite3
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import NamedTuple

from seasonlog.journal.bundle_check import signature_fits
from seasonlog.journal.encoding import EncodingError, entry_from_line, entry_hash, signed_bytes
from seasonlog.journal.held import device_keys
from seasonlog.journal.trust_queries import forks


@dataclass(frozen=True, slots=True)
class Branches:
    """All pasts of one device from one number on; the same on every device that knows the same entries."""

    dev: str
    seq: int
    """Number of the first entry that differs."""
    sizes: Mapping[str, int]
    """Hash of a branch's first entry, hex, to how many entries of it are here; in the order of the hashes."""
    here: str
    """Which one stands in this log, so that its tables follow it; empty when none does."""
    proved: bool
    """Whether two of the first entries are here, signed by the device: else somebody claims it."""

    def __str__(self) -> str:
        held = " and ".join(f"{count} beginning with {first[:16]}" for first, count in self.sizes.items())
        what = f"device {self.dev} wrote two entries with number {self.seq} and went on from both: {held}"
        claim = "; what is here does not prove it: ask who says so for a bundle with both"
        return f"FORK: {what}{'' if self.proved else claim}"


def branches(db: sqlite3.Connection) -> list[Branches]:
    """Every device that forked, and where."""
    firsts: dict[tuple[str, int], set[str]] = {}
    for fork in forks(db):
        firsts.setdefault((fork.dev, fork.seq), set()).update((fork.held, fork.other))
    return [_branches(db, dev, seq, known) for (dev, seq), known in firsts.items()]


def _branches(db: sqlite3.Connection, dev: str, seq: int, firsts: set[str]) -> Branches:
    both = "SELECT hash, line FROM {} WHERE dev = ? AND seq >= ? ORDER BY seq"
    own = db.execute(both.format("entry"), (dev, seq)).fetchall()
    aside = db.execute(both.format("aside"), (dev, seq)).fetchall()
    begun = {first: first for first in firsts}
    sizes = dict.fromkeys(sorted(firsts), 0)
    for digest, line in (*own, *aside):
        first = begun.get(digest.hex()) or begun.get(str(json.loads(line)["prev"]))
        if first is not None:
            begun[digest.hex()] = first
            sizes[first] += 1
    here = own[0][0].hex() if own else ""
    return Branches(dev, seq, sizes, here if here in firsts else "", len(firsts & _signed(db, dev, seq)) > 1)


def _signed(db: sqlite3.Connection, dev: str, seq: int) -> set[str]:
    """Hashes of the entries with this number that this device signed for sure, hex; a finder of a fork may lie."""
    at = "SELECT hash FROM {} WHERE dev = ? AND seq = ?"
    here = [db.execute(at.format(table), (dev, seq)).fetchall() for table in ("entry", "aside")]
    key = device_keys(db).get(dev, b"")
    told = (json.loads(line)["body"] for (line,) in db.execute("SELECT line FROM entry WHERE kind = 'fork_found'"))
    shown = {body["other"] for body in told if body["device"] == dev and _proves(body, key)}
    return {digest.hex() for rows in here for (digest,) in rows} | shown


def _proves(body: Mapping[str, str | int], key: bytes) -> bool:
    """Whether the device signed what the finder shows: a line too long to be shown is shown by its hash."""
    try:
        digest, sig, line = (
            bytes.fromhex(str(body["other"])),
            bytes.fromhex(str(body["sig"])),
            str(body["line"]).encode(),
        )
        entry = entry_from_line(line) if line else None
    except (ValueError, EncodingError):
        return False
    same = entry is None or (entry.dev, entry.seq, entry_hash(line)) == (body["device"], body["seq"], digest)
    return same and signature_fits(key, sig, signed_bytes(digest))


class Disputed(NamedTuple):
    """From which of its entries on a device is disputed."""

    dev: str
    seq: int
    """Number of the first one."""
    says: str
    proved: bool


def disputed(db: sqlite3.Connection) -> list[Disputed]:
    """Devices that forked, or of which entries after their revocation stand here, and from where on."""
    forked = [Disputed(each.dev, each.seq, str(each), each.proved) for each in branches(db)]
    return forked + [Disputed(each.dev, each.counts + 1, str(each), True) for each in past_their_end(db) if each.here]


def visits_of(db: sqlite3.Connection, found: Iterable[Disputed]) -> set[str]:
    """Visits in which something rests on a disputed entry."""
    sql = "SELECT DISTINCT visit FROM visit_entry WHERE uid IN (SELECT uid FROM entry WHERE dev = ? AND seq >= ?)"
    return {visit for each in found for (visit,) in db.execute(sql, (each.dev, each.seq))}


@dataclass(frozen=True, slots=True)
class PastItsEnd:
    """Entries of a revoked device after its last one that counts."""

    dev: str
    counts: int
    """Number of its last entry that counts."""
    here: int
    """How many later ones stand in this log, which took them in before it knew."""
    aside: int
    """How many are put aside."""

    def __str__(self) -> str:
        later = f"{self.here + self.aside} later ones are known"
        return f"REVOKED: of device {self.dev} the first {self.counts} entries count; {later}"


def past_their_end(db: sqlite3.Connection) -> list[PastItsEnd]:
    """Revoked devices of which later entries are known."""
    later = "SELECT count(*) FROM {} t WHERE t.dev = device.dev AND t.seq > device.entries"
    here, aside = later.format("entry"), later.format("aside")
    rows = db.execute(f"SELECT dev, entries, ({here}), ({aside}) FROM device WHERE state = 'revoked'")  # noqa: S608
    return [found for row in rows if (found := PastItsEnd(*row)).here + found.aside]
