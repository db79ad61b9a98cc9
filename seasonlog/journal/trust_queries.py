"""Devices, forks and answers given in parallel, as the tables hold them."""

import json
import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Device:
    """One device of the log."""

    dev: str
    name: str
    """As enrolled, or empty."""
    state: str
    """`first`, `joined` (not enrolled), `enrolled` or `revoked`."""
    joined_ms: int
    """When its first entry was written, by its clock; 0 when it is enrolled but not seen yet."""
    who: str
    because: str
    entries: int
    """When revoked: the number of its last entry that counts."""
    written: int
    """How many of its entries are here."""


@dataclass(frozen=True, slots=True)
class AnswerConflict:
    """Answers to one step that were given without knowing of each other."""

    visit: str
    step: str
    tower: str
    answers: tuple[str, ...]
    """Uids, in causal order."""
    decided: str
    """Uid of the answer that decided, or empty."""


@dataclass(frozen=True, slots=True)
class Fork:
    """Two entries of one device with the same number."""

    dev: str
    seq: int
    held: str
    """Hash of the one in the log, hex."""
    other: str
    """Hash of the one put aside, hex."""
    who: str
    """Who took in the bundle that showed it."""


def devices(db: sqlite3.Connection) -> list[Device]:
    """Every device, first come first."""
    sql = (
        "SELECT dev, name, state, joined, who, because, entries,"
        " (SELECT count(*) FROM entry WHERE entry.dev = device.dev) FROM device ORDER BY joined = 0, joined, dev"
    )
    return [Device(*row) for row in db.execute(sql)]


def strangers(db: sqlite3.Connection) -> list[str]:
    """Devices that wrote here and were never enrolled."""
    return [dev for (dev,) in db.execute("SELECT dev FROM device WHERE state = 'joined' ORDER BY joined, dev")]


def forks(db: sqlite3.Connection) -> list[Fork]:
    """Every fork that was found."""
    return [Fork(*row) for row in db.execute("SELECT dev, seq, held, other, who FROM fork ORDER BY dev, seq, other")]


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

    def __str__(self) -> str:
        held = " and ".join(f"{count} beginning with {first[:16]}" for first, count in self.sizes.items())
        return f"FORK: device {self.dev} wrote two entries with number {self.seq} and went on from both: {held}"


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
    return Branches(dev, seq, sizes, here if here in firsts else "")


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


def conflicts(db: sqlite3.Connection, *, decided: bool = False) -> list[AnswerConflict]:
    """Answers given in parallel that nobody decided yet; with `decided` also those that were."""
    sql = "SELECT visit, step, tower, answers, decided FROM answer_conflict WHERE ? OR decided='' ORDER BY pos"
    rows = db.execute(sql, (decided,)).fetchall()
    return [AnswerConflict(v, s, t, tuple(json.loads(a)), d) for v, s, t, a, d in rows]
