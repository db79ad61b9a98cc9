"""Whether the records of a register hang together: every id named exists, and what belongs together does.

Looks at links only; what the numbers say to one another is checked elsewhere.
"""

from collections.abc import Container, Iterable, Iterator, Mapping

from seasonlog.domain.fields import Kind
from seasonlog.domain.register import Basin, Circuit, Device, Record, Register, Site, word_of
from seasonlog.domain.register_items import nearest
from seasonlog.domain.register_records import POSITIONS, SPECS
from seasonlog.errors import Problem


def unlinked(register: Register, records: Iterable[Record]) -> list[Problem]:
    """Every link of these records that leads nowhere or to the wrong place.

    Args:
        register: The register with these records already in it.
        records: The records whose links are looked at.
    """
    return [problem for each in records for problem in (*_unknown(register, each), *_misplaced(register, each))]


def unknown_zones(records: Iterable[Record], known: Container[str]) -> list[Problem]:
    """Sites whose time zone is not among the known ones. The caller knows which zones this machine has."""
    return [
        Problem(_where(each, "time_zone"), f'"{each.time_zone}" is no time zone known here; see the IANA names')
        for each in records
        if isinstance(each, Site) and each.time_zone not in known
    ]


def _where(record: Record, key: str) -> str:
    return f"{word_of(record)} {record.id}, key {key}"


def _unknown(register: Register, record: Record) -> Iterator[Problem]:
    for name, spec in SPECS[word_of(record)].items():
        named = getattr(record, name)
        if spec.kind is not Kind.REFERENCE or named is None:
            continue
        if not any(named in register.table(what) for what in spec.refers):
            known = [each for what in spec.refers for each in register.table(what)]
            yield Problem(_where(record, name), _nowhere(named, " or ".join(spec.refers), known))


def _nowhere(named: str, kinds: str, known: list[str]) -> str:
    says = f'"{named}" is not the id of a {kinds} in the register'
    return f"{says}; {nearest(named, known[:500])}" if known else f"{says}; there is none yet"


def _misplaced(register: Register, record: Record) -> Iterator[Problem]:
    if isinstance(record, Circuit):
        yield from _basin_of_another_tower(register.basins, record)
    elif isinstance(record, Basin) and record.equaliser_to == record.id:
        yield Problem(_where(record, "equaliser_to"), "an equaliser joins two basins; name the other one")
    elif isinstance(record, Device) and record.of not in register.table(POSITIONS[record.position]):
        kind = POSITIONS[record.position]
        yield Problem(_where(record, "of"), f'a {record.position} is part of a {kind}; "{record.of}" is none')


def _basin_of_another_tower(basins: Mapping[str, Basin], circuit: Circuit) -> Iterator[Problem]:
    basin = basins.get(circuit.basin)
    if basin is not None and basin.tower != circuit.tower:
        says = f'basin "{basin.id}" belongs to tower {basin.tower}, not to this circuit\'s tower {circuit.tower}'
        yield Problem(_where(circuit, "basin"), says)
