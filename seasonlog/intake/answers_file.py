"""A whole visit in one TOML file: instruments, answers, and how it ends.

    [instruments]
    clamp = "CL-01"

    [answers]
    probe_plumb_deg = "2"
    line_amps = ["21.6", "21.5", "21.7"]
    off_pump = {skip = "pump locked out by the customer"}
    bond_ohms = {value = "0.2", note = "lug cleaned"}
    cut_in_degf = {value = "40", because = "misread the dial"}   # corrects an answer saved before
    supply_volts = {value = ["479", "480", "481"], at = "14:35"}  # entered from paper: when it was read

    [sign_off]                      # leave out to keep the visit open
    received_by = "not available"   # or a name, or "declined"
    words = ""

    [close]                         # instead of [sign_off]
    as = "not_possible"             # or "incomplete"
    because = "no access: gate locked"

An empty value is a step not answered yet. Numbers keep the digits they were typed with.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field

from seasonlog.domain.answers import MOST_TEXT
from seasonlog.domain.text import as_stored
from seasonlog.errors import InputRefusedError, Problem
from seasonlog.intake.bytes_text import decoded, toml_tables

LARGEST_BYTES = 1_000_000
_TIME = re.compile(r"([01]\d|2[0-3]):[0-5]\d", re.ASCII)
_ENDS = ("incomplete", "not_possible")


@dataclass(frozen=True, slots=True)
class FileAnswer:
    """One answer of the file."""

    raw: str | tuple[str, ...] = ""
    """As typed; empty when `skip` is given."""
    skip: str = ""
    """Reason for leaving the step out."""
    note: str = ""
    because: str = ""
    """Why an answer saved before is corrected."""
    retest: bool = False
    at: str = ""
    """Time of day it was read, from paper: `14:35`; empty: when the sheet says."""


@dataclass(frozen=True, slots=True)
class AnswersFile:
    """The file, read."""

    instruments: Mapping[str, str]
    answers: Mapping[str, FileAnswer]
    """By step key, in the file's order; steps not answered yet are left out."""
    received_by: str | None = None
    """Given when the visit is to be signed off."""
    words: str = ""
    close_as: str = ""
    close_because: str = ""


@dataclass(slots=True)
class _Reader:
    name: str
    text: str
    problems: list[Problem] = field(default_factory=list)

    def line_of(self, key: str) -> str:
        """`file, line 4, key`: where a key stands, as well as can be told."""
        found = re.search(rf'^\s*"?{re.escape(key)}"?\s*=', self.text, re.MULTILINE)
        line = f", line {self.text.count(chr(10), 0, found.start()) + 1}" if found else ""
        return f"{self.name}{line}, {key}"

    def wrong(self, key: str, says: str) -> None:
        self.problems.append(Problem(self.line_of(key), says))

    def table(self, data: Mapping[str, object], key: str) -> Mapping[str, object]:
        value = data.get(key, {})
        if isinstance(value, Mapping):
            return value
        self.wrong(key, f"must be a table, written as [{key}]")
        return {}

    def text_in(self, table: Mapping[str, object], key: str, default: str = "") -> str:
        value = table.get(key, default)
        if not isinstance(value, str):
            self.wrong(key, "must be text in quotes")
            return default
        if len(as_stored(value)) > MOST_TEXT:
            self.wrong(key, f"has {len(value)} characters; {MOST_TEXT} is the most")
        return value.strip()


def read_answers(data: bytes, name: str) -> AnswersFile:
    """The answers file as values.

    Args:
        data: The file's bytes, UTF-8.
        name: What to call it in sentences.

    Raises:
        InputRefusedError: with every problem found.
    """
    text = decoded(data, name, most_bytes=LARGEST_BYTES, mark_allowed=True)
    reader = _Reader(name, text)
    found = _read(reader, toml_tables(text, name, str))
    if reader.problems:
        raise InputRefusedError(reader.problems)
    return found


def _read(reader: _Reader, data: Mapping[str, object]) -> AnswersFile:
    for key in data.keys() - {"instruments", "answers", "sign_off", "close"}:
        reader.wrong(key, "is not known here; the tables are [instruments], [answers], [sign_off] and [close]")
    instruments = reader.table(data, "instruments")
    answers = {key: _answer(reader, key, value) for key, value in reader.table(data, "answers").items()}
    sign = _ending_table(reader, data, "sign_off", ("received_by", "words"))
    close = _ending_table(reader, data, "close", ("as", "because"))
    if sign is not None and close is not None:
        reader.wrong("close", "stands beside [sign_off]; a visit is signed off or closed unfinished, not both")
    return AnswersFile(
        instruments={kind: name for kind in instruments if (name := reader.text_in(instruments, kind))},
        answers={key: answer for key, answer in answers.items() if any(answer.raw) or answer.skip},
        received_by=None if sign is None else _received(reader, sign),
        words=reader.text_in(sign or {}, "words"),
        close_as="" if close is None else _ending(reader, close),
        close_because=reader.text_in(close or {}, "because"),
    )


def _ending_table(
    reader: _Reader, data: Mapping[str, object], name: str, known: tuple[str, str]
) -> Mapping[str, object] | None:
    """The table of an ending, or None when the file has none; a key typed wrong must not sign for somebody."""
    if name not in data:
        return None
    table = reader.table(data, name)
    for key in table.keys() - set(known):
        reader.wrong(key, f"is not known in [{name}]; it takes {' and '.join(known)}")
    return table


def _received(reader: _Reader, sign: Mapping[str, object]) -> str:
    name = reader.text_in(sign, "received_by", "not available")
    if not name:
        reader.wrong("received_by", 'is empty; write a name, "not available", or "declined"')
    if name == "declined" and not reader.text_in(sign, "words"):
        reader.wrong("received_by", 'declined needs the customer\'s words: words = "..."')
    return name


def _ending(reader: _Reader, close: Mapping[str, object]) -> str:
    ending = reader.text_in(close, "as")
    if ending not in _ENDS:
        reader.wrong("as", f'"{ending}" is not an ending; write one of {", ".join(_ENDS)}')
    if not reader.text_in(close, "because"):
        reader.wrong("close" if not ending else "as", 'needs a reason: because = "..."')
    return ending


def _answer(reader: _Reader, key: str, value: object) -> FileAnswer:
    if not isinstance(value, Mapping):
        return FileAnswer(raw=_raw(reader, key, value))
    for extra in value.keys() - {"value", "skip", "note", "because", "retest", "at"}:
        reader.wrong(key, f'"{extra}" is not known here; a step takes value, skip, note, because, retest and at')
    skip = reader.text_in(value, "skip")
    if bool(skip) == ("value" in value):
        reader.wrong(key, 'give a value, or skip = "reason", not both and not neither')
    return FileAnswer(
        raw="" if skip else _raw(reader, key, value.get("value", "")),
        skip=skip,
        note=reader.text_in(value, "note"),
        because=reader.text_in(value, "because"),
        retest=value.get("retest") is True,
        at=_time_of_day(reader, key, value),
    )


def _time_of_day(reader: _Reader, key: str, value: Mapping[str, object]) -> str:
    text = reader.text_in(value, "at")
    if text and not _TIME.fullmatch(text):
        reader.wrong(key, f'at = "{text[:20]}" is not a time of day; write it as "14:35"')
        return ""
    return text


def _raw(reader: _Reader, key: str, value: object) -> str | tuple[str, ...]:
    if isinstance(value, list):
        return tuple(_one(reader, key, each) for each in value)
    return _one(reader, key, value)


def _one(reader: _Reader, key: str, value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str | int):
        return str(value)
    reader.wrong(key, "must be text, a number, true or false, or a list of up to three")
    return ""
