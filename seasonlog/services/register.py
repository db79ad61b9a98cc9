"""Changing the register: files read, changes previewed, written all or none; contradictions listed; files written."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from typing import TYPE_CHECKING

from seasonlog.domain.records import Kind, Record
from seasonlog.domain.register import Change, Register
from seasonlog.domain.register_items import to_item
from seasonlog.domain.register_links import unknown_zones, unlinked
from seasonlog.domain.register_records import SPECS
from seasonlog.domain.register_records import Record as RegisterRecord
from seasonlog.errors import InputRefusedError, Problem
from seasonlog.services import privacy, registry
from seasonlog.services.limits import practice_table
from seasonlog.services.logbook import Logbook
from seasonlog.services.reasons import note_in, reason_in

if TYPE_CHECKING:
    from seasonlog.domain.contradictions import Contradiction


@dataclass(frozen=True, slots=True)
class HandedIn:
    """A file somebody hands in."""

    name: str
    data: bytes


Progress = Callable[[int, float], None]
"""Told how many rows of a spreadsheet are read, and which part of it that is, 0 to 1."""


def read(files: Iterable[HandedIn], progress: Progress | None = None) -> list[RegisterRecord]:
    """The records of site files (TOML) and spreadsheets (CSV).

    Args:
        files: What was handed in.
        progress: Told now and then how far a long spreadsheet is read.

    Raises:
        InputRefusedError: with every problem of every file.
    """
    records: list[RegisterRecord] = []
    problems: list[Problem] = []
    for file in files:
        found, wrong = _read_one(file, progress)
        records += found
        problems += wrong
    if problems:
        raise InputRefusedError(problems)
    return records


def _read_one(file: HandedIn, progress: Progress | None) -> tuple[list[RegisterRecord], list[Problem]]:
    if file.name.lower().endswith(".csv"):
        from seasonlog.intake.register_csv import read_register_csv

        return read_register_csv(file.data, file.name, progress)
    if file.name.lower().endswith(".toml"):
        from seasonlog.intake.site_toml import read_site_toml

        return read_site_toml(file.data, file.name)
    return [], [Problem(file.name, "is neither a site file (.toml) nor a spreadsheet (.csv)")]


def preview(current: Register, records: Sequence[RegisterRecord]) -> tuple[Change, ...]:
    """What these records would change, after checking that they hang together with what is there.

    Raises:
        InputRefusedError: a record names another that does not exist, an unknown time zone, a looser limit.
    """
    merged, changes = current.merged(records)
    problems = [*unlinked(merged, records), *unknown_zones(records, _zones()), *_loose(merged, records)]
    if problems:
        raise InputRefusedError(problems)
    return changes


@lru_cache(maxsize=1)
def _zones() -> frozenset[str]:
    from zoneinfo import available_timezones

    return frozenset(available_timezones())


def _loose(register: Register, records: Sequence[RegisterRecord]) -> list[Problem]:
    ids = {r.id for r in records}
    sites = [s for s in register.sites.values() if s.id in ids and s.tighten]
    return [p for s in sites for p in practice_table().tighten_problems(s.tighten, f"site {s.id}")]


def write(book: Logbook, changes: Sequence[Change], because: str = "", contacts_until: str = "") -> int:
    """Write the changes as one commit; returns how many entries were made.

    Args:
        book: The log.
        changes: What is new or differs.
        because: Why, or empty.
        contacts_until: Last day the contact details in them are to be kept; empty: while the register names them.
    """
    if changes:
        parted = [privacy.apart(book, c.what, c.id, to_item(c.after), contacts_until) for c in changes]
        privacy.store(book.places).take_all([kept for _, kept in parted if kept])
        book.write(*(_recorded(c, item, because) for c, (item, _) in zip(changes, parted, strict=True)))
    return len(changes)


def _recorded(change: Change, item: Mapping[str, object], because: str) -> Record:
    body = {"what": change.what, "id": change.id, "item": item}
    return Record(Kind.REGISTER_RECORDED, body | ({"because": note_in("because", because)} if because else {}))


def retire(book: Logbook, what: str, ident: str, because: str) -> None:
    """Take a record out of the register; its history stays.

    Raises:
        InputRefusedError: no such record, no reason, or other records still belong to it.
    """
    current = registry.whole(book.db)
    where = f"{what} {ident}"
    if ident not in current.table(what):
        raise InputRefusedError([Problem(where, "is not in the register")])
    said = reason_in(where, because)
    left = current.without(what, ident)
    dangling = unlinked(left, left.records())
    if dangling:
        raise InputRefusedError(
            [Problem(where, f"is still named by others; retire or change them first: {dangling[0].where}")]
        )
    book.write(Record(Kind.REGISTER_RETIRED, {"what": what, "id": ident, "because": said}))


def set_winter_mode(book: Logbook, tower: str, mode: str, since: date, because: str) -> None:
    """From a day on a tower winters another way. Wet again inside the season means not proven again.

    Raises:
        InputRefusedError: no such tower, no such mode, or no reason.
    """
    known = registry.of_known_tower(book.db, tower)
    modes = SPECS["tower"]["winter"].choices
    if mode not in modes:
        raise InputRefusedError([Problem("winter mode", f'"{mode}" is not one of {", ".join(modes)}')])
    said = reason_in(f"tower {tower}", because)
    body = {"tower": known.towers[tower].id, "mode": mode, "since": since.isoformat(), "because": said}
    book.write(Record(Kind.WINTER_MODE_SET, body))


def check(register: Register, on: date) -> "Sequence[Contradiction]":
    """Every contradiction in the register, with its arithmetic, worst first."""
    from seasonlog.domain.contradictions import contradictions

    return contradictions(register, practice_table(), on)
