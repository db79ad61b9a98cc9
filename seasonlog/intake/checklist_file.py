"""A checklist's bytes made into a `Checklist`, or refused with all its problems at once.

Opens no file: bytes come in. Nothing in the text is run or expanded; it is read by the standard TOML reader after its
size and depth have been looked at.
"""

from collections.abc import Collection
from dataclasses import replace
from hashlib import sha256

from seasonlog.domain.checklist import Checklist
from seasonlog.domain.checklist_parse import Quantities, checklist_from
from seasonlog.domain.limits import QUANTITIES
from seasonlog.domain.text import visible
from seasonlog.errors import InputRefusedError, Problem
from seasonlog.intake.bytes_text import decoded, toml_tables
from seasonlog.intake.toml_lines import refuse_deep, repeated_keys, toml_lines, without_repeated

MOST_BYTES = 512 * 1024
"""Largest checklist file taken, bytes."""
MOST_LINE = 2000
"""Longest line taken, characters."""
MOST_DEPTH = 4
"""Brackets open at once: a list of inline tables needs two."""


def read_checklist(
    data: bytes, name: str, *, quantities: Quantities = QUANTITIES, taken_ids: Collection[str] = ()
) -> Checklist:
    """The checklist a file holds.

    Args:
        data: The file's bytes.
        name: The file's name, for the problems' places.
        quantities: Every quantity a step may name.
        taken_ids: Ids this file must not have: those of the shipped checklists, for a file of one's own.

    Returns:
        The checklist; its identity is the SHA-256 of the bytes.

    Raises:
        InputRefusedError: the file is not a checklist; carries every problem, each with its line and key.
    """
    name = visible(name)
    text = decoded(data, name, most_bytes=MOST_BYTES, mark_allowed=True)
    _refuse_long_lines(text, name)
    found = toml_lines(text)
    refuse_deep(found, name, MOST_DEPTH)
    problems = repeated_keys(found, name)
    try:
        tables = toml_tables(without_repeated(text, found), name, str)
    except InputRefusedError as refused:
        raise InputRefusedError(problems or refused.problems) from None
    checklist, more = checklist_from(tables, name, found.line_of, quantities)
    problems += [*_taken(checklist.id, taken_ids, f"{name}, line {found.line_of(('id',))}, key id"), *more]
    if problems:
        raise InputRefusedError(problems)
    return replace(checklist, sha256=sha256(data).hexdigest(), text=data.decode())


def _taken(ident: str, taken_ids: Collection[str], where: str) -> list[Problem]:
    return [Problem(where, f'"{ident}" is a shipped checklist; choose another id')] if ident in taken_ids else []


def _refuse_long_lines(text: str, name: str) -> None:
    long = [number for number, line in enumerate(text.split("\n"), 1) if len(line) > MOST_LINE]
    if long:
        says = f"is longer than {MOST_LINE} characters"
        raise InputRefusedError([Problem(f"{name}, line {number}", says) for number in long])
