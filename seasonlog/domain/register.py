"""The register as a whole: everything installed, by type and id, and who belongs to whom.

A fold of what was recorded: frozen, replaced as a whole by `merged`, never edited.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, Self, TypeAlias, TypeVar

from seasonlog.domain.register_records import (
    TYPES,
    Basin,
    Circuit,
    Device,
    Instrument,
    Person,
    Record,
    Site,
    Source,
    Tower,
    Trace,
    word_of,
)

__all__ = [
    "TYPES",
    "Basin",
    "Change",
    "Circuit",
    "Device",
    "Instrument",
    "Person",
    "Record",
    "Register",
    "Site",
    "Source",
    "Tower",
    "Trace",
    "word_of",
]

_TABLES = {
    "site": "sites", "tower": "towers", "basin": "basins", "circuit": "circuits", "trace": "traces",
    "source": "sources", "instrument": "instruments", "person": "people", "device": "devices",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Change:
    """One record that is new or differs from what the register holds."""

    what: str
    """Record type: `tower`."""
    id: str
    """The record's id."""
    before: Record | None
    """As the register holds it; None when it is new."""
    after: Record
    """As it would become."""
    fields: tuple[str, ...]
    """Names of the fields that differ; for a new record those that say something."""


_Child = TypeVar("_Child", Tower, Basin, Circuit, Trace, Source)
_Grouped: TypeAlias = dict[str, tuple[_Child, ...]]


def _by_parent(children: Mapping[str, _Child], parent: str) -> _Grouped[_Child]:
    found: dict[str, list[_Child]] = {}
    for child in children.values():
        found.setdefault(getattr(child, parent), []).append(child)
    return {key: tuple(group) for key, group in found.items()}


@dataclass(frozen=True)
class Register:
    """Everything installed, by type and id. Lookups by parent keep the order in which records came."""

    sites: Mapping[str, Site] = field(default_factory=dict)
    towers: Mapping[str, Tower] = field(default_factory=dict)
    basins: Mapping[str, Basin] = field(default_factory=dict)
    circuits: Mapping[str, Circuit] = field(default_factory=dict)
    traces: Mapping[str, Trace] = field(default_factory=dict)
    sources: Mapping[str, Source] = field(default_factory=dict)
    instruments: Mapping[str, Instrument] = field(default_factory=dict)
    people: Mapping[str, Person] = field(default_factory=dict)
    devices: Mapping[str, Device] = field(default_factory=dict)

    @cached_property
    def _towers_by_site(self) -> _Grouped[Tower]:
        return _by_parent(self.towers, "site")

    @cached_property
    def _basins_by_tower(self) -> _Grouped[Basin]:
        return _by_parent(self.basins, "tower")

    @cached_property
    def _circuits_by_tower(self) -> _Grouped[Circuit]:
        return _by_parent(self.circuits, "tower")

    @cached_property
    def _traces_by_tower(self) -> _Grouped[Trace]:
        return _by_parent(self.traces, "tower")

    @cached_property
    def _sources_by_tower(self) -> _Grouped[Source]:
        return _by_parent(self.sources, "tower")

    def towers_of(self, site_id: str) -> tuple[Tower, ...]:
        """The site's towers."""
        return self._towers_by_site.get(site_id, ())

    def basins_of(self, tower_id: str) -> tuple[Basin, ...]:
        """The tower's basins."""
        return self._basins_by_tower.get(tower_id, ())

    def circuits_of(self, tower_id: str) -> tuple[Circuit, ...]:
        """The tower's heater circuits."""
        return self._circuits_by_tower.get(tower_id, ())

    def traces_of(self, tower_id: str) -> tuple[Trace, ...]:
        """The tower's heat trace circuits."""
        return self._traces_by_tower.get(tower_id, ())

    def sources_of(self, tower_id: str) -> tuple[Source, ...]:
        """The tower's energy sources."""
        return self._sources_by_tower.get(tower_id, ())

    def site_of(self, tower_id: str) -> Site:
        """The site a tower stands on. Raises KeyError for an id that is not in the register."""
        return self.sites[self.towers[tower_id].site]

    def devices_at(self, position: str, of: str) -> tuple[Device, ...]:
        """The devices that have filled a position, in the order in which they were recorded."""
        return tuple(each for each in self.devices.values() if (each.position, each.of) == (position, of))

    def table(self, what: str) -> Mapping[str, Record]:
        """All records of one type by id, the type named by its word: `tower`, `person`."""
        found: Mapping[str, Record] = getattr(self, _TABLES[what])
        return found

    def records(self) -> Iterator[Record]:
        """Every record, parents before children."""
        for what in TYPES:
            yield from self.table(what).values()

    @classmethod
    def of(cls, records: Iterable[Record]) -> Self:
        """A register of these records; of two with one type and id the later one stays."""
        return cls(**_tables(records))

    def changes(self, records: Iterable[Record]) -> tuple[Change, ...]:
        """What these records would change here, parents before children; what is already so is left out."""
        incoming = type(self).of(records)
        found = (_change(self.table(word_of(each)).get(each.id), each) for each in incoming.records())
        return tuple(each for each in found if each.before is None or each.fields)

    def merged(self, records: Iterable[Record]) -> tuple[Self, tuple[Change, ...]]:
        """The register with these records in the place of their namesakes, and what that changed."""
        changes = self.changes(records)
        return type(self).of([*self.records(), *(each.after for each in changes)]), changes

    def without(self, what: str, record_id: str) -> Self:
        """The register less one retired record."""
        return type(self).of(each for each in self.records() if (word_of(each), each.id) != (what, record_id))


def _tables(records: Iterable[Record]) -> dict[str, Any]:
    tables: dict[str, dict[str, Record]] = {name: {} for name in _TABLES.values()}
    for each in records:
        tables[_TABLES[word_of(each)]][each.id] = each
    return tables


def _change(before: Record | None, after: Record) -> Change:
    names = type(after).__dataclass_fields__
    differing = tuple(name for name in names if _said(before, name) != _said(after, name))
    return Change(word_of(after), after.id, before, after, differing)


def _said(record: Record | None, name: str) -> object:
    value = getattr(record, name, None)
    return None if value == {} else value
