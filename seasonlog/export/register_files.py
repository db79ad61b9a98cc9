"""The register written as files a person can read and edit: a site as TOML, everything as one spreadsheet.

Reading an export back changes nothing: every value is written as it is held, under its own (US) name.
"""

import json
import unicodedata
from collections.abc import Iterable, Iterator, Mapping

from seasonlog.domain.fields import Kind, Spec
from seasonlog.domain.register import TYPES, Device, Record, Register, word_of
from seasonlog.domain.register_cells import neutralised
from seasonlog.domain.register_items import to_item
from seasonlog.domain.register_records import POSITIONS, SPECS
from seasonlog.domain.register_values import Item

COLUMNS = tuple(dict.fromkeys(["record", *(name for what in TYPES for name in SPECS[what])]))
"""Columns of the spreadsheet, the same for every register."""
_TEXT = {Kind.LINE, Kind.NOTE}
_BARE = {Kind.NUMBER, Kind.WHOLE}
_MARK = "\ufeff"  # tells spreadsheet programs that the file is UTF-8


def to_site_toml(register: Register, site_id: str) -> str:
    """One site with its towers and all that hangs on them, as a site file.

    Raises:
        KeyError: no such site.
    """
    tables = [_table("[site]", register.sites[site_id])]
    for tower in register.towers_of(site_id):
        tables.append(_table("[[tower]]", tower, left_out="site"))
        tables += [_nested(each) for each in _parts_of(register, tower.id)]
    return "\n".join(tables)


def to_team_toml(register: Register) -> str:
    """The people, the instruments, and the devices that are part of no tower, as a file beside the site files."""
    loose = [each for each in register.devices.values() if each.position == "instrument"]
    everything: Iterable[Record] = (*register.people.values(), *register.instruments.values(), *loose)
    return "\n".join(_table(f"[[{word_of(each)}]]", each) for each in everything)


def to_register_csv(register: Register) -> bytes:
    """The whole register as CSV, UTF-8 with a byte order mark, one record a row, parents before children."""
    rows = [",".join(COLUMNS), *(_row(each) for each in register.records())]
    return (_MARK + "".join(f"{row}\r\n" for row in rows)).encode()


def _parts_of(register: Register, tower_id: str) -> Iterator[Record]:
    parts: list[Record] = [
        *register.basins_of(tower_id), *register.circuits_of(tower_id), *register.traces_of(tower_id),
        *register.sources_of(tower_id),
    ]  # fmt: skip
    yield from parts
    owned = {(word_of(each), each.id) for each in parts}
    yield from (each for each in register.devices.values() if (POSITIONS[each.position], each.of) in owned)


def _nested(record: Record) -> str:
    left_out = "" if isinstance(record, Device) else "tower"
    return _table(f"[[tower.{word_of(record)}]]", record, left_out=left_out)


def _table(heading: str, record: Record, left_out: str = "") -> str:
    specs = SPECS[word_of(record)]
    lines = (f"{name} = {_toml(specs[name], each)}" for name, each in to_item(record).items() if name != left_out)
    return "\n".join([heading, *lines, ""])


def _toml(spec: Spec, item: Item) -> str:
    if isinstance(item, bool):
        return "true" if item else "false"
    if isinstance(item, list):
        return f"[{', '.join(map(_quoted, item))}]"
    if isinstance(item, Mapping):
        return f"{{ {', '.join(f'{name} = {each}' for name, each in item.items())} }}"
    return item if spec.kind in _BARE or spec.kind is Kind.DAY else _quoted(item)


def _quoted(text: str) -> str:
    """A TOML basic string in which every character that cannot be seen is written as its number."""
    return "".join(_escaped(each) for each in json.dumps(text, ensure_ascii=False))


def _escaped(char: str) -> str:
    unseen = unicodedata.category(char) in {"Cc", "Cf", "Zl", "Zp", "Co", "Cn"}
    return (f"\\u{ord(char):04x}" if ord(char) < 0x10000 else f"\\U{ord(char):08x}") if unseen else char


def _row(record: Record) -> str:
    item, specs = to_item(record), SPECS[word_of(record)]
    cells = {"record": word_of(record)} | {name: _cell(specs[name], each) for name, each in item.items()}
    return ",".join(cells.get(column, "") for column in COLUMNS)


def _cell(spec: Spec, item: Item) -> str:
    if isinstance(item, bool):
        return "yes" if item else "no"
    if isinstance(item, list):
        return ";".join(item)
    if isinstance(item, Mapping):
        return ";".join(f"{name}={each}" for name, each in item.items())
    return '"' + neutralised(item).replace('"', '""') + '"' if spec.kind in _TEXT else item
