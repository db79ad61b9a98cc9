"""The checklists at hand: the shipped ones, and a person's own beside them.

A visit keeps to the text it was started with, which the log holds; these files serve new visits.
"""

import sqlite3
from collections.abc import Iterable, Mapping
from functools import lru_cache
from importlib.resources.abc import Traversable
from pathlib import Path

from seasonlog import resources
from seasonlog.domain.checklist import Checklist
from seasonlog.errors import InputRefusedError, LogError, Problem
from seasonlog.intake.checklist_file import read_checklist
from seasonlog.journal import queries


@lru_cache(maxsize=64)
def _read(data: bytes, name: str) -> Checklist:
    return read_checklist(data, name)


def _files(folder: Traversable) -> Iterable[Traversable]:
    return sorted((f for f in folder.iterdir() if f.name.endswith(".toml")), key=lambda f: f.name)


def shipped() -> Mapping[str, Checklist]:
    """The checklists that come with the program, by id."""
    read = (_read(f.read_bytes(), f.name) for f in _files(resources.checklists()))
    return {c.id: c for c in read}


def available(own: Path) -> Mapping[str, Checklist]:
    """Shipped checklists and a person's own.

    Args:
        own: Folder of own checklist files; it need not exist.

    Raises:
        InputRefusedError: an own file is wrong, or takes a shipped id.
    """
    known = dict(shipped())
    taken = frozenset(known)
    for file in _files(own) if own.is_dir() else ():
        checklist = read_checklist(_bytes(own / file.name), str(own / file.name), taken_ids=taken)
        if checklist.id in known:
            raise InputRefusedError(
                [Problem(str(own / file.name), f'the id "{checklist.id}" is used by another file here')]
            )
        known[checklist.id] = checklist
    return known


def _bytes(file: Path) -> bytes:
    try:
        return file.read_bytes()
    except OSError as error:
        raise InputRefusedError([Problem(str(file), f"cannot be read: {error.strerror or error}")]) from None


def named(ident: str, own: Path) -> Checklist:
    """One checklist by its id.

    Raises:
        InputRefusedError: there is none of that id.
    """
    shipped_file = resources.checklists() / f"{ident}.toml"
    if ident.replace("-", "").isalnum() and shipped_file.is_file():
        return _read(shipped_file.read_bytes(), shipped_file.name)
    known = available(own)
    if ident not in known:
        raise InputRefusedError([Problem(f"checklist {ident}", f"is not known; there are {', '.join(sorted(known))}")])
    return known[ident]


def of_visit(db: sqlite3.Connection, sha256: str) -> Checklist:
    """The checklist a visit was started with, from the log."""
    text = queries.checklist_text(db, sha256)
    if text is None:
        raise LogError(
            f"The log has a visit whose checklist ({sha256[:12]}) it does not hold; run verify, then rebuild."
        )
    return _read(text.encode(), f"checklist {sha256[:12]} in the log")
