"""The log in the hands of one person: opened for reading or writing, with the clock, ids and places it needs.

Services take a `Logbook` and return values. It is the only place where records of the domain become entries.
"""

import os
import sqlite3
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from datetime import date
from os import urandom
from typing import Self

from seasonlog.domain.records import Kind, Record
from seasonlog.domain.text import as_stored
from seasonlog.errors import InputRefusedError, LogError, OlderLogError, Problem
from seasonlog.journal.clock import Clock
from seasonlog.journal.store import Journal
from seasonlog.journal.stored import Draft, Stored
from seasonlog.journal.views import LogViews
from seasonlog.services.days import day_of
from seasonlog.services.places import Places

SIGNED_OFF = (Kind.VISIT_SIGNED, Kind.VISIT_CLOSED)
"""What a checkpoint follows."""
LONGEST_NAME = 80
"""Longest name of a person, in characters."""


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What comes from outside: clock and randomness. Tests and the demo hand in their own."""

    clock: Clock
    random_bytes: Callable[[int], bytes]
    """So many random bytes, fit for keys."""
    salts: Callable[[int], bytes] = urandom
    """The same for what is kept outside the signed lines; never repeatable, unless a test wants it."""

    def new_id(self, prefix: str) -> str:
        """A fresh id such as `V-3f9a0c1b7e22`."""
        return f"{prefix}-{self.random_bytes(6).hex()}"


@dataclass(slots=True)
class Logbook:
    """One log, opened, and who writes in it."""

    journal: Journal
    places: Places
    around: Surroundings
    who: str
    """The person as declared; empty when only reading."""
    busy: str = ""
    """Why nothing can be saved just now, as a sentence for the person; empty while it can."""

    @classmethod
    def open(cls, places: Places, around: Surroundings, who: str, *, writing: bool) -> Self:
        """Open the log of these places.

        Args:
            places: Paths.
            around: Clock and randomness.
            who: Name to write under; may be empty when only reading.
            writing: Open for writing, making the log and its key when there is none yet.

        Raises:
            LogError: it cannot be used, or does not exist and is only to be read.
        """
        if not writing:
            return cls(_readable(places, around), places, around, who)
        name = _name(who)
        return cls(_writable(places, around, name), places, around, name)

    @classmethod
    def open_untouched(cls, places: Places, around: Surroundings) -> Self:
        """Open the log for an auditor: nothing of it changes, not even when it is of an older version.

        Raises:
            LogError: there is none, or it cannot be read.
        """
        return cls(_untouched(places), places, around, "")

    @property
    def db(self) -> sqlite3.Connection:
        """The connection that queries read from."""
        return self.journal.connection

    def today(self) -> date:
        """The local day."""
        return day_of(self.around.clock.wall_ms(), self.around.clock.offset_minutes())

    def write(self, *records: Record) -> tuple[Stored, ...]:
        """Write records as one durable commit; one that is already there (same uid) is returned, not written again.

        After a sign-off follows a checkpoint, so that later entries name it. What was signed is saved by then: a
        checkpoint that fails must not say otherwise.

        Raises:
            LogError: it cannot be saved, or not just now.
        """
        if self.busy:
            raise LogError(self.busy)  # at once: who waits for the lock would stand before a screen that is stiff
        stored = self.journal.append([Draft(r.kind, r.body, self.who, r.uid) for r in records])
        if any(r.kind in SIGNED_OFF for r in records):
            from seasonlog.journal.absorb import state_checkpoint  # not on the way to the first screen

            with suppress(LogError):
                state_checkpoint(self.journal, self.who)
        return stored

    def close(self) -> None:
        """Let go of the file."""
        self.journal.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()


def _readable(places: Places, around: Surroundings) -> Journal:
    """The log for reading; an older one is brought up to date first, in memory where nothing may be written."""
    try:
        return Journal.open_read_only(places.log, keys_dir=places.keys, views=LogViews())
    except OlderLogError:
        if not all(os.access(path, os.W_OK) for path in (places.log, places.log.parent)):
            return _untouched(places)
        _opened(places, around).close()
        return Journal.open_read_only(places.log, keys_dir=places.keys, views=LogViews())


def _untouched(places: Places) -> Journal:
    from seasonlog.journal.readonly import open_untouched

    return open_untouched(places.log, LogViews(), keys_dir=places.keys)


def _opened(places: Places, around: Surroundings) -> Journal:
    return Journal.open(
        places.log, keys_dir=places.keys, clock=around.clock, random_bytes=around.random_bytes, views=LogViews()
    )


def _writable(places: Places, around: Surroundings, who: str) -> Journal:
    if places.log.exists():
        return _opened(places, around)
    return make_log(places, around, who, demonstration=False)


def make_log(places: Places, around: Surroundings, who: str, *, demonstration: bool) -> Journal:
    """A new log with a new device key; the folder is made when missing."""
    return Journal.create(
        places.log,
        keys_dir=places.keys,
        clock=around.clock,
        random_bytes=around.random_bytes,
        who=who,
        demonstration=demonstration,
        views=LogViews(),
    )


def _name(who: str) -> str:
    name = as_stored(who).strip()
    if not 0 < len(name) <= LONGEST_NAME:
        raise InputRefusedError([Problem("name", f"a name of 1 to {LONGEST_NAME} characters is needed")])
    return name
