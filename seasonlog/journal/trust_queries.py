"""Devices, forks and answers given in parallel, as the tables hold them."""

import json
import sqlite3
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


def conflicts(db: sqlite3.Connection, *, decided: bool = False) -> list[AnswerConflict]:
    """Answers given in parallel that nobody decided yet; with `decided` also those that were."""
    sql = "SELECT visit, step, tower, answers, decided FROM answer_conflict WHERE ? OR decided='' ORDER BY pos"
    rows = db.execute(sql, (decided,)).fetchall()
    return [AnswerConflict(v, s, t, tuple(json.loads(a)), d) for v, s, t, a, d in rows]
