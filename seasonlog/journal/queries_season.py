"""Questions about many visits at once: their verdicts without their words."""

import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Glance:
    """A visit's steps, without their words."""

    verdicts: Mapping[str, str]
    """Step key to its newest verdict; `skipped` for one left out, `cannot_tell` for one that two devices dispute."""
    unqualified: bool
    """Somebody who was not on record as qualified may have answered one."""


def glance(db: sqlite3.Connection, visit: str) -> Glance:
    """Every step of a visit with its newest verdict.

    Args:
        db: The log's tables.
        visit: Its id.
    """
    rows = db.execute("SELECT step, verdict, instr(doc, 'unqualified') FROM visit_step WHERE visit=?", (visit,))
    found = rows.fetchall()
    undecided = db.execute("SELECT step FROM answer_conflict WHERE visit=? AND decided=''", (visit,))
    disputed = dict.fromkeys((step for (step,) in undecided), "cannot_tell")
    return Glance({step: verdict for step, verdict, _ in found} | disputed, any(hit for _, _, hit in found))
