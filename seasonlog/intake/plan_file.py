"""The plan file (TOML): who works from where and when, how long a checklist takes, what was agreed, how long ways are.

`sample_sites/FORMAT.md` tells every key. Read strictly: an unknown key, a number out of bounds or a day that does not
exist is refused with its line, the whole file with it. Whether people, towers and checklists exist is asked later.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any, TypeAlias

from seasonlog.domain.register_values import Unquoted, shown
from seasonlog.errors import InputRefusedError, Problem
from seasonlog.intake import plan_values as values
from seasonlog.intake.bytes_text import decoded, toml_tables
from seasonlog.intake.plan_values import Hours, WrongError
from seasonlog.intake.toml_lines import Path, TomlLines, refuse_deep, repeated_keys, toml_lines

LARGEST_BYTES = 1_000_000
MOST_DEPTH = 4
MOST_ENTRIES = 2_000
"""People, bases and appointments each; ways between places ten times as many."""
MILE_KM = 1.609344
KINDS = ("open", "closed_circuit", "drained")
"""Towers that may have minutes of their own: by what they are, or drained for the winter, which goes first."""
_TOP = ("hours", "base", "person", "minutes", "appointment", "roads", "travel")


@dataclass(frozen=True, slots=True)
class FileBase:
    """Where people set out from."""

    lat_deg: float
    lon_deg: float
    where: str


@dataclass(frozen=True, slots=True)
class FilePerson:
    """One person who can be sent."""

    id: str
    base: str
    hours: Hours
    leave: frozenset[date]
    where: str


@dataclass(frozen=True, slots=True)
class FileAppointment:
    """A visit whose start was agreed on."""

    tower: str
    checklist: str
    day: date
    from_minute: int
    to_minute: int
    where: str
    checklist_where: str


@dataclass(frozen=True, slots=True)
class PlanFile:
    """The file, read."""

    text: str
    work_days: frozenset[int]
    """Days of the week, Monday 0."""
    closed: frozenset[date]
    bases: Mapping[str, FileBase]
    people: tuple[FilePerson, ...]
    minutes: Mapping[tuple[str, str], int]
    """(kind of tower or empty, checklist) to minutes of work."""
    appointments: tuple[FileAppointment, ...]
    factor: float | None
    speed_kmh: float | None
    ways: Mapping[tuple[str, str], float]
    """Minutes from one base or site to another; only the direction that is given."""
    ways_where: Mapping[str, str]
    """Where in the file each place of the ways stands."""
    checklists: tuple[tuple[str, str], ...]
    """Every checklist that is named, with where in the file."""

    def works_on(self, day: date) -> bool:
        """Whether anybody goes out on a day."""
        return day.weekday() in self.work_days and day not in self.closed

    def minutes_for(self, checklist: str, kind: str, *, is_drained: bool) -> int | None:
        """Minutes of work on one tower; None when the file does not say."""
        kinds = ("drained", kind, "") if is_drained else (kind, "")
        found = (self.minutes.get((each, name)) for name in (checklist, "other") for each in kinds)
        return next((each for each in found if each is not None), None)


_Table: TypeAlias = Mapping[str, Any]


@dataclass(slots=True)
class _Reader:
    name: str
    lines: TomlLines
    problems: list[Problem] = field(default_factory=list)

    def where(self, path: Path) -> str:
        if not path:
            return self.name
        named = ".".join(str(part) for part in path if isinstance(part, str))
        return f"{self.name}, line {self.lines.line_of(path)}, {shown(named)[1:-1]}"

    def wrong(self, path: Path, says: str) -> None:
        self.problems.append(Problem(self.where(path), says))

    def value(self, table: Mapping[str, Any], path: Path, read: Callable[[object], Any], default: Any = None) -> Any:
        """What a key holds; a problem, and the default, when it is missing (no default given) or not allowed."""
        key = path[-1]
        if key not in table:
            if default is None:
                self.wrong(path[:-1], f"needs the key {key}")
            return default
        try:
            return read(table[str(key)])
        except WrongError as wrong:
            self.wrong(path, str(wrong))
            return default

    def table(self, data: Mapping[str, Any], path: Path, known: tuple[str, ...] = ()) -> Mapping[str, Any]:
        """A table and no more in it than is known."""
        found = data.get(str(path[-1]), {})
        if not isinstance(found, Mapping):
            self.wrong(path, f"must be a table, written as [{path[-1]}]")
            return {}
        self.no_more(found, path, known)
        return found

    def no_more(self, table: Mapping[str, Any], path: Path, known: tuple[str, ...]) -> None:
        for key in table.keys() - set(known) if known else ():
            self.wrong((*path, key), f"is not known here; it takes {', '.join(known)}")

    def listed(
        self, data: Mapping[str, Any], name: str, known: tuple[str, ...]
    ) -> list[tuple[Path, Mapping[str, Any]]]:
        """The tables of a list."""
        found = data.get(name, [])
        if not isinstance(found, list) or not all(isinstance(each, Mapping) for each in found):
            self.wrong((name,), f"is written as a list of tables, [[{name}]]")
            return []
        if len(found) > MOST_ENTRIES:
            self.wrong((name,), f"is given {len(found)} times; at most {MOST_ENTRIES} are taken")
            return []
        for number, each in enumerate(found):
            self.no_more(each, (name, number), known)
        return [((name, number), each) for number, each in enumerate(found)]


def read_plan_file(data: bytes, name: str) -> PlanFile:
    """The plan file as values.

    Args:
        data: The file's bytes, UTF-8.
        name: What to call it in sentences.

    Raises:
        InputRefusedError: with every problem found, each with its line.
    """
    text = decoded(data, name, most_bytes=LARGEST_BYTES, mark_allowed=False)
    lines = toml_lines(text)
    refuse_deep(lines, name, MOST_DEPTH)
    if repeated := repeated_keys(lines, name):
        raise InputRefusedError(repeated)
    reader = _Reader(name, lines)
    found = _read(reader, text, toml_tables(text, name, Unquoted))
    if reader.problems:
        raise InputRefusedError(reader.problems)
    return found


def _read(reader: _Reader, text: str, data: Mapping[str, Any]) -> PlanFile:
    for key in data.keys() - set(_TOP):
        reader.wrong((key,), f"is not known here; the file takes {', '.join(_TOP)}")
    hours = reader.table(data, ("hours",), ("work_days", "closed", "shift"))
    usual = reader.value(hours, ("hours", "shift"), values.hours, Hours(7 * 60, 15 * 60 + 30))
    roads = reader.table(data, ("roads",), ("factor", "speed_kmh", "speed_mph"))
    ways, ways_where = _ways(reader, data)
    appointments = _appointments(reader, data)
    return PlanFile(
        text=text,
        work_days=reader.value(hours, ("hours", "work_days"), values.work_days, frozenset(range(5))),
        closed=reader.value(hours, ("hours", "closed"), values.days, frozenset()),
        bases=_bases(reader, data),
        people=_people(reader, data, usual),
        minutes=_minutes(reader, data),
        appointments=appointments,
        factor=reader.value(roads, ("roads", "factor"), values.number_within(1, 10), 0.0) or None,
        speed_kmh=_speed(reader, roads),
        ways=ways,
        ways_where=ways_where,
        checklists=(*_with_minutes(reader, data), *((each.checklist, each.checklist_where) for each in appointments)),
    )


def _speed(reader: _Reader, roads: Mapping[str, Any]) -> float | None:
    if "speed_kmh" in roads and "speed_mph" in roads:
        reader.wrong(("roads", "speed_mph"), "stands beside speed_kmh; give one of the two")
    mph = reader.value(roads, ("roads", "speed_mph"), values.number_within(1, 120), 0.0)
    kmh = reader.value(roads, ("roads", "speed_kmh"), values.number_within(1, 200), 0.0)
    return kmh or mph * MILE_KM or None


def _bases(reader: _Reader, data: Mapping[str, Any]) -> dict[str, FileBase]:
    found: dict[str, FileBase] = {}
    for path, table in reader.listed(data, "base", ("id", "latitude_deg", "longitude_deg")):
        name = reader.value(table, (*path, "id"), values.ident)
        lat = reader.value(table, (*path, "latitude_deg"), values.number_within(-90, 90))
        lon = reader.value(table, (*path, "longitude_deg"), values.number_within(-180, 180))
        if name in found:
            reader.wrong((*path, "id"), f"{shown(name)} is given twice")
        elif None not in (name, lat, lon):
            found[name] = FileBase(lat, lon, reader.where((*path, "id")))
    if not found and "base" not in data:
        reader.wrong((), "has no [[base]]: people need a place to set out from")
    return found


def _people(reader: _Reader, data: Mapping[str, Any], usual: Hours) -> tuple[FilePerson, ...]:
    found: dict[str, FilePerson] = {}
    given = data.get("base", [])
    bases = {each.get("id") for each in given if isinstance(each, Mapping)} if isinstance(given, list) else set()
    for path, table in reader.listed(data, "person", ("id", "base", "shift", "leave")):
        name = reader.value(table, (*path, "id"), values.ident)
        base = reader.value(table, (*path, "base"), values.ident)
        hours = reader.value(table, (*path, "shift"), values.hours, usual)
        leave = reader.value(table, (*path, "leave"), values.days, frozenset())
        if base is not None and base not in bases:
            reader.wrong((*path, "base"), f"{shown(base)} is no [[base]] of this file")
        if name in found:
            reader.wrong((*path, "id"), f"{shown(name)} is given twice")
        elif name and base:
            found[name] = FilePerson(name, base, hours, leave, reader.where((*path, "id")))
    if "person" not in data:
        reader.wrong((), "has no [[person]]: nobody could be sent")
    return tuple(found.values())


def _minutes(reader: _Reader, data: Mapping[str, Any]) -> dict[tuple[str, str], int]:
    table = reader.table(data, ("minutes",))
    found = _minutes_of(reader, {k: v for k, v in table.items() if not isinstance(v, Mapping)}, ("minutes",), "")
    for kind, inner in table.items():
        if isinstance(inner, Mapping) and kind in KINDS:
            found |= _minutes_of(reader, inner, ("minutes", kind), kind)
        elif isinstance(inner, Mapping):
            reader.wrong(("minutes", kind), f"is no kind of tower; there are {', '.join(KINDS)}")
    if "minutes" not in data:
        reader.wrong((), "has no [minutes]: nobody knows how long a checklist takes")
    return found


def _with_minutes(reader: _Reader, data: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """The checklists that have minutes, for all towers or one kind; `other` is none."""
    table = data.get("minutes", {})
    for key, inner in table.items() if isinstance(table, Mapping) else ():
        path: Path = ("minutes", key)
        names = [(name, (*path, name)) for name in inner] if isinstance(inner, Mapping) else [(key, path)]
        yield from ((name, reader.where(at)) for name, at in names if name != "other")


def _minutes_of(reader: _Reader, table: Mapping[str, Any], path: Path, kind: str) -> dict[tuple[str, str], int]:
    read = values.whole_within(1, 720)
    found = {key: reader.value(table, (*path, key), read, 0) for key in table}
    return {(kind, key): minutes for key, minutes in found.items() if minutes}


def _appointments(reader: _Reader, data: Mapping[str, Any]) -> tuple[FileAppointment, ...]:
    found: dict[tuple[str, str], FileAppointment] = {}
    for path, table in reader.listed(data, "appointment", ("tower", "checklist", "day", "from", "to")):
        tower = reader.value(table, (*path, "tower"), values.ident)
        checklist = reader.value(table, (*path, "checklist"), values.ident)
        day = reader.value(table, (*path, "day"), values.day)
        start = reader.value(table, (*path, "from"), values.minute)
        end = reader.value(table, (*path, "to"), values.minute, -1 if start is None else start)
        if start is not None and end < start:
            reader.wrong((*path, "to"), "is before from; it is the latest start of the work")
        if (tower, checklist) in found:
            reader.wrong(path, "is given twice for this tower and checklist")
        if None not in (tower, checklist, day, start):
            places = reader.where(path), reader.where((*path, "checklist"))
            found[tower, checklist] = FileAppointment(tower, checklist, day, start, end, *places)
    return tuple(found.values())


def _ways(reader: _Reader, data: Mapping[str, Any]) -> tuple[dict[tuple[str, str], float], dict[str, str]]:
    found: dict[tuple[str, str], float] = {}
    where: dict[str, str] = {}
    for start in reader.table(data, ("travel",)):
        row = reader.table(data["travel"], ("travel", start))
        where[start] = reader.where(("travel", start))
        for end in row:
            where.setdefault(end, reader.where(("travel", start, end)))
            minutes = reader.value(row, ("travel", start, end), values.number_within(0, 1440), -1.0)
            if minutes >= 0:
                found[start, end] = minutes
    if len(found) > 10 * MOST_ENTRIES:
        reader.wrong(("travel",), f"holds {len(found)} ways; at most {10 * MOST_ENTRIES} are taken")
    return found, where
