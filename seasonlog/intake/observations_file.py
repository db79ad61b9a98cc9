"""What was seen of a heater circuit that does not come on, in one TOML file.

    at_the_panel = "qualified"      # or "not_qualified": then only looking from outside is asked for
    cannot = ["ammeter"]            # tests that cannot be made here

    [observations]                  # test = what was seen
    ready = "cold"                  # the first one: basin full, switch on, pump off, water or sensor cold
    breaker_handle = "on"
    volts_t = 118.5                 # a number, in V or ohm; a unit is converted: "1.2 kohm"
    ohms_float = "OL"               # over range: open

`seasonlog fault --tower T --template` prints such a file with every test of that circuit and its answers. An empty
value is a test not made. Numbers keep the digits they were typed with. A wrong file is refused whole.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

from seasonlog.domain.text import visible
from seasonlog.errors import InputRefusedError, Problem
from seasonlog.intake.bytes_text import decoded, toml_tables
from seasonlog.intake.toml_lines import TomlLines, refuse_deep, repeated_keys, toml_lines

LARGEST_BYTES = 200_000
MOST_ANSWER = 60
"""Characters of an answer; no choice and no reading is longer."""
DEEPEST = 4
_KEYS = ("at_the_panel", "cannot", "observations")
_SHOWN = 40
QUALIFIED, NOT_QUALIFIED = "qualified", "not_qualified"
"""Who is at the panel."""


@dataclass(frozen=True, slots=True)
class FileObservation:
    """One answer of the file, or one test that cannot be made."""

    test: str
    answer: str
    """As typed; empty of a test that cannot be made."""
    where: str
    """`file, line 4, volts_t`."""


@dataclass(frozen=True, slots=True)
class ObservationsFile:
    """The file, read."""

    at_the_panel: str
    """As typed; empty when the file does not say."""
    observations: tuple[FileObservation, ...]
    """In the file's order; empty answers are left out."""
    cannot: tuple[FileObservation, ...]


@dataclass(slots=True)
class _Reader:
    name: str
    lines: TomlLines
    problems: list[Problem] = field(default_factory=list)

    def where(self, *path: str) -> str:
        return f"{self.name}, line {self.lines.line_of(path)}, {visible(path[-1][:_SHOWN])}"

    def wrong(self, says: str, *path: str) -> None:
        self.problems.append(Problem(self.where(*path), says))

    def word(self, value: object, *path: str) -> str:
        """An answer as text; a problem and empty text when it is none."""
        if isinstance(value, bool) or not isinstance(value, str | int):
            self.wrong("must be a word in quotes or a number", *path)
        elif len(str(value)) > MOST_ANSWER:
            self.wrong(f"has {len(str(value))} characters; {MOST_ANSWER} is the most", *path)
        else:
            return str(value).strip()
        return ""


def read_observations(data: bytes, name: str) -> ObservationsFile:
    """The file of observations as values.

    Args:
        data: The file's bytes, UTF-8.
        name: What to call the file in sentences.

    Raises:
        InputRefusedError: with every problem found, each with its line.
    """
    text = decoded(data, name, most_bytes=LARGEST_BYTES, mark_allowed=True)
    found = toml_lines(text)
    refuse_deep(found, name, DEEPEST)
    if repeated := repeated_keys(found, name):
        raise InputRefusedError(repeated)
    reader = _Reader(name, found)
    read = _read(reader, toml_tables(text, name, str))
    if reader.problems:
        raise InputRefusedError(reader.problems)
    return read


def _read(reader: _Reader, data: Mapping[str, object]) -> ObservationsFile:
    for key in data.keys() - set(_KEYS):
        reader.wrong(f"is not known here; the file takes {', '.join(_KEYS)}", key)
    return ObservationsFile(
        at_the_panel=_panel(reader, data.get("at_the_panel", "")),
        observations=_observations(reader, data.get("observations", {})),
        cannot=_cannot(reader, data.get("cannot", [])),
    )


def _panel(reader: _Reader, given: object) -> str:
    word = reader.word(given, "at_the_panel")
    if word not in ("", QUALIFIED, NOT_QUALIFIED):
        says = f'"{visible(word[:_SHOWN])}" is not known; write {QUALIFIED} or {NOT_QUALIFIED}'
        reader.wrong(says, "at_the_panel")
    return word


def _observations(reader: _Reader, table: object) -> tuple[FileObservation, ...]:
    if not isinstance(table, Mapping):
        reader.wrong("must be a table, written as [observations]", "observations")
        return ()
    found = []
    for test, value in table.items():
        path = ("observations", test)
        if answer := reader.word(value, *path):
            found.append(FileObservation(test, answer, reader.where(*path)))
    return tuple(found)


def _cannot(reader: _Reader, given: object) -> tuple[FileObservation, ...]:
    if not isinstance(given, list):
        reader.wrong('must be a list of tests, written as ["ammeter"]', "cannot")
        return ()
    words = [reader.word(each, "cannot") for each in given]
    return tuple(FileObservation(word, "", reader.where("cannot")) for word in words if word)
