"""A site file: one site with its towers and all that hangs on them, or a team's people and instruments, in TOML.

Nested as a person thinks of it, so that nobody types a tower's id twice: `[[tower.basin]]` belongs to the `[[tower]]`
above it, and every `[[tower]]` to the file's `[site]`. Strict: what is not known is refused, with its line.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from seasonlog.domain.register import Record
from seasonlog.domain.register_items import Place, nearest
from seasonlog.domain.register_values import Unquoted, shown
from seasonlog.domain.text import visible
from seasonlog.errors import InputRefusedError, Problem
from seasonlog.intake.bytes_text import decoded, toml_tables
from seasonlog.intake.register_gathering import Gathering
from seasonlog.intake.toml_lines import Path, refuse_deep, repeated_keys, toml_lines

MOST_BYTES = 8_000_000
"""Largest site file taken; a larger register goes in as a spreadsheet."""
MOST_DEPTH = 8
"""Brackets open at once; the format needs two."""
TOP = ("site", "tower", "instrument", "person", "device")
"""Tables a file may have at its top."""
NESTED = ("basin", "circuit", "trace", "source", "device")
"""Tables a tower may have inside."""
_ODD_WHOLE = re.compile(r"=\s*([+-]?(?:0[xob]\w+|\d+(?:_\d+)+))", re.ASCII)


def read_site_toml(data: bytes, name: str) -> tuple[list[Record], list[Problem]]:
    """The records of a site file, and everything that is wrong with it.

    Args:
        data: The file's bytes, UTF-8.
        name: What to call the file in sentences.

    Returns:
        The records that could be read, parents first, and the problems. With a problem nothing should be stored.
    """
    gathering = Gathering(name)
    try:
        return list(_File(name, data, gathering).records()), gathering.problems()
    except InputRefusedError as refused:
        return [], gathering.problems() or list(refused.problems)


@dataclass(frozen=True, slots=True)
class _Table:
    """One record's table in the file."""

    what: str
    item: Mapping[str, object]
    path: Path


class _File:
    """One file being read."""

    def __init__(self, name: str, data: bytes, gathering: Gathering) -> None:
        self.name, self.gathering = name, gathering
        text = decoded(data, name, most_bytes=MOST_BYTES, mark_allowed=False)
        self.lines = text.split("\n")
        self.found = toml_lines(text)
        refuse_deep(self.found, name, MOST_DEPTH)
        gathering.wrong(*repeated_keys(self.found, name))
        self.tables = toml_tables(text, name, Unquoted)

    def records(self) -> Iterator[Record]:
        for table in self._all_tables():
            place = self._place(table)
            line = self.found.line_of(table.path)
            record = self.gathering.read(table.what, self._with_odd_numbers(table), place, line)
            if record is not None:
                yield record

    def _all_tables(self) -> Iterator[_Table]:
        for key in self.tables:
            if key not in TOP:
                self._wrong((key,), f"{shown(key)} is no table of a site file; {nearest(key, TOP)}")
        site = self.tables.get("site")
        if isinstance(site, dict):
            yield _Table("site", site, ("site",))
        elif site is not None:
            self._wrong(("site",), "is written as one table, [site]; a file holds one site")
        for what in TOP[1:]:
            for table in self._listed(what, self.tables, ()):
                yield from self._tower(table) if what == "tower" else [table]

    def _listed(self, what: str, within: Mapping[str, Any], path: Path) -> Iterator[_Table]:
        heading = ".".join(str(part) for part in (*path, what) if isinstance(part, str))
        tables = within.get(what, [])
        if not isinstance(tables, list) or not all(isinstance(each, dict) for each in tables):
            self._wrong((*path, what), f"is written as a list of tables, [[{heading}]]")
            return
        for number, item in enumerate(tables):
            yield _Table(what, item, (*path, what, number))

    def _tower(self, tower: _Table) -> Iterator[_Table]:
        strange = [key for key, value in tower.item.items() if isinstance(value, list | dict) and key not in NESTED]
        for key in strange:
            self._wrong((*tower.path, key), f"{shown(key)} is no table of a tower; {nearest(key, NESTED)}")
        own = {key: value for key, value in tower.item.items() if key not in (*NESTED, *strange)}
        yield self._under("site", self.tables.get("site"), _Table("tower", own, tower.path))
        for what in NESTED:
            for table in self._listed(what, tower.item, tower.path):
                yield table if what == "device" else self._under("tower", tower.item, table)

    def _under(self, parent: str, above: object, table: _Table) -> _Table:
        """The table with its parent's id filled in from where it stands."""
        stands_under = above.get("id") if isinstance(above, dict) else None
        given = table.item.get(parent, stands_under)
        if stands_under is None:
            return table
        if given != stands_under:
            says = f"is {shown(given)}, but it stands under {parent} {shown(stands_under)}; leave the key out"
            self._wrong((*table.path, parent), says)
        return _Table(table.what, {**table.item, parent: stands_under}, table.path)

    def _with_odd_numbers(self, table: _Table) -> dict[str, object]:
        """The table with whole numbers written as `0x1F` or `1_000` as they stand, so that they are refused."""
        return {key: self._odd(table, key, value) for key, value in table.item.items()}

    def _odd(self, table: _Table, key: str, value: object) -> object:
        if type(value) is not int or (*table.path, key) not in self.found.lines:
            return value
        odd = _ODD_WHOLE.search(self.lines[self.found.line_of((*table.path, key)) - 1])
        return Unquoted(odd[1]) if odd else value

    def _place(self, table: _Table) -> Place:
        known = table.item.get("id")
        called = f"{table.what} {visible(known[:40])}" if isinstance(known, str) else f"a {table.what} without an id"
        return lambda key: f"{self._at((*table.path, key))}, {called}" + (f", key {visible(key[:64])}" if key else "")

    def _at(self, path: Path) -> str:
        path = path if path in self.found.lines else (*path, 0)  # a list of tables stands where its first one does
        return f"{self.name}, line {self.found.line_of(path)}"

    def _wrong(self, path: Path, says: str) -> None:
        key = visible(str(path[-1])[:64])
        self.gathering.wrong(Problem(f"{self._at(path)}, key {key}", says))
