"""A checklist's bytes made into a `Checklist`, or refused with all its problems at once.

Opens no file: bytes come in. Nothing in the text is run or expanded; it is read by the standard TOML reader after its
size and depth have been looked at.
"""

import re
import tomllib
from collections.abc import Collection, Mapping
from dataclasses import replace
from hashlib import sha256
from typing import Any

from seasonlog.domain.checklist import Checklist
from seasonlog.domain.checklist_parse import Quantities, checklist_from
from seasonlog.domain.limits import QUANTITIES
from seasonlog.errors import InputRefusedError, Problem
from seasonlog.intake.toml_lines import TomlLines, toml_lines, without_repeated

MOST_BYTES = 512 * 1024
"""Largest checklist file taken, bytes."""
MOST_LINE = 2000
"""Longest line taken, characters."""
MOST_DEPTH = 4
"""Brackets open at once: a list of inline tables needs two."""

_AT_LINE = re.compile(r" \(at (?:line (\d+), column \d+|end of document)\)$")


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
    text = _decoded(data, name)
    found = toml_lines(text)
    problems = [*_out_of_bounds(text, name, found), *_repeated_keys(name, found)]
    tables = _tables(without_repeated(text, found), name, problems)
    if tables is None:
        raise InputRefusedError(problems)
    checklist, more = checklist_from(tables, name, found.line_of, quantities)
    if checklist.id in taken_ids:
        line = found.line_of(("id",))
        more.insert(
            0, Problem(f"{name}, line {line}, key id", f'"{checklist.id}" is a shipped checklist; choose another id')
        )
    if problems or more:
        raise InputRefusedError([*problems, *more])
    return replace(checklist, sha256=sha256(data).hexdigest(), text=data.decode())


def read_checklists(shipped: Mapping[str, bytes], own: Mapping[str, bytes]) -> dict[str, Checklist]:
    """All checklists by id: the shipped ones and a person's own, whose ids must differ from the shipped ones.

    Args:
        shipped: File name to bytes.
        own: File name to bytes.

    Raises:
        InputRefusedError: a file is refused; carries the problems of all files.
    """
    found: dict[str, Checklist] = {}
    problems: list[Problem] = []
    for name, data in (*shipped.items(), *own.items()):
        try:
            checklist = read_checklist(data, name, taken_ids=found)
        except InputRefusedError as refused:
            problems.extend(refused.problems)
        else:
            found[checklist.id] = checklist
    if problems:
        raise InputRefusedError(problems)
    return found


def _decoded(data: bytes, name: str) -> str:
    if len(data) > MOST_BYTES:
        raise InputRefusedError([Problem(name, f"is {len(data)} bytes; a checklist has at most {MOST_BYTES}")])
    try:
        return data.decode().removeprefix("\ufeff").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        raise InputRefusedError(
            [Problem(f"{name}, line {line}", "is not UTF-8 text; save the file as UTF-8")]
        ) from None


def _out_of_bounds(text: str, name: str, found: TomlLines) -> list[Problem]:
    """Size and depth, before the standard reader sees the text: it would recurse as deep as the text says."""
    long = [number for number, line in enumerate(text.split("\n"), 1) if len(line) > MOST_LINE]
    problems = [Problem(f"{name}, line {number}", f"is longer than {MOST_LINE} characters") for number in long]
    if found.deepest > MOST_DEPTH:
        says = f"opens {found.deepest} brackets inside each other; a checklist needs at most {MOST_DEPTH}"
        problems.append(Problem(f"{name}, line {found.deepest_line}", says))
    if problems:
        raise InputRefusedError(problems)
    return problems


def _repeated_keys(name: str, found: TomlLines) -> list[Problem]:
    return [
        Problem(f"{name}, line {line}, key {path[-1]}", f"is given twice, first on line {found.line_of(path)}")
        for path, line in found.repeated
    ]


def _tables(text: str, name: str, problems: list[Problem]) -> dict[str, Any] | None:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        if not problems:
            problems.append(_syntax_problem(str(error), name, text))
        return None


def _syntax_problem(says: str, name: str, text: str) -> Problem:
    place = _AT_LINE.search(says)
    line = int(place[1]) if place and place[1] else text.count("\n") + 1
    return Problem(f"{name}, line {line}", f"is not TOML: {_AT_LINE.sub('', says)}")
