"""Where in a TOML text each key stands, which keys are given twice, and how deep it is nested.

The standard reader tells none of this once it has succeeded, and stops at the first fault. This one reads no values; it
only keeps count, is never surprised by a broken text, and leaves the verdict on it to the standard reader.
"""

import re
from dataclasses import dataclass, field
from typing import TypeAlias

from seasonlog.domain.text import visible
from seasonlog.errors import InputRefusedError, Problem

Path: TypeAlias = tuple[str | int, ...]
"""Keys and positions from the top: `("section", 0, "step", 2, "title")`."""

_TOKEN = re.compile(
    r'"""(?:[^\\]|\\.)*?"""|\'\'\'.*?\'\'\''  # strings over several lines
    r'|"(?:[^"\\\n]|\\.)*"|\'[^\'\n]*\''
    r"|#[^\n]*|\n|[\[\]{},=]"
    r"|[^\s\[\]{},=\"'#]+|[^\S\n]+|.",
    re.DOTALL,
)
_HEADER = re.compile(r"(\[\[?)([^\[\]\n#]+)\]\]?")


FAR_TOO_DEEP = 100
"""Brackets open at once, or dots on a line, at which the walk ends: its cost grows with their square."""


@dataclass(slots=True)
class TomlLines:
    """What was counted in one text."""

    lines: dict[Path, int] = field(default_factory=dict)
    """Line of each key, table and list item, from 1."""
    repeated: list[tuple[Path, int]] = field(default_factory=list)
    """Keys given again in the same table, with the line of the repetition."""
    spans: list[tuple[int, int]] = field(default_factory=list)
    """Start and end of each repeated statement that stands on lines of its own."""
    deepest: int = 0
    """Brackets open at once."""
    deepest_line: int = 1
    dots: int = 0
    """Dots outside text on the line that has most of them: a key of as many parts, as far as can be told."""
    dots_line: int = 1

    @property
    def hopeless(self) -> bool:
        """Nested so deeply that walking on would cost more than the answer is worth."""
        return self.deepest > FAR_TOO_DEEP or self.dots > FAR_TOO_DEEP

    def line_of(self, path: Path) -> int:
        """Line of the key, or of the nearest table around it that has one."""
        while path and path not in self.lines:
            path = path[:-1]
        return self.lines.get(path, 1)


@dataclass(slots=True)
class _Open:
    """A list or inline table that is still open."""

    path: Path
    is_list: bool
    items: int = 0


class _Counter:
    """Walks the tokens of one text."""

    def __init__(self, text: str) -> None:
        self.text, self.found = text, TomlLines()
        self.line, self.position = 1, 0
        self.table: Path = ()
        self.counts: dict[Path, int] = {}
        self.open: list[_Open] = []
        self.key: list[str] = []
        self.pending: Path = ()
        self.start = self.dots = 0
        self.in_value = self.cut = False

    def run(self) -> TomlLines:
        while self.position < len(self.text) and not self.found.hopeless:
            self._step()
        self._end_of_statement()
        return self.found

    def _step(self) -> None:
        at_start = not (self.open or self.in_value or self.key)
        header = _HEADER.match(self.text, self.position) if at_start else None
        if header:
            self.position = header.end()
            self._count_dots(header[2])
            if not self.found.hopeless:
                self._header(header[1], header[2])
            return
        token = _TOKEN.match(self.text, self.position)
        word = token[0] if token else self.text[self.position]
        self._count_dots(word)
        self._token(word)
        self.position += len(word)
        self.line += word.count("\n")

    def _count_dots(self, word: str) -> None:
        self.dots = 0 if word == "\n" else self.dots + (word.count(".") if word[0] not in "\"'#" else 0)
        if self.dots > self.found.dots:
            self.found.dots, self.found.dots_line = self.dots, self.line

    def _header(self, brackets: str, name: str) -> None:
        path: Path = ()
        parts = [part.strip().strip("\"'") for part in name.split(".")]
        for part in parts[:-1]:
            path = self._inside((*path, part))
        path = (*path, parts[-1])
        if brackets == "[[":
            self.counts[path] = self.counts.get(path, -1) + 1
            path = self._inside(path)
        self.table = path
        self.found.lines.setdefault(path, self.line)

    def _inside(self, path: Path) -> Path:
        return (*path, self.counts[path]) if path in self.counts else path

    def _token(self, word: str) -> None:
        if word == "\n" and not self.open:
            self._end_of_statement()
        elif word in "[{" and (self.in_value or self.open):
            self._opened(is_list=word == "[")
        elif word in "]}" and self.open:
            self._closed()
        elif word == "=":
            self._key_complete()
        elif word == "," and self.open:
            self.key, self.open[-1].items = [], self.open[-1].items + 1
        elif not word.isspace() and word[0] != "#" and not (self.in_value and not self.open):
            self._word(word)

    def _word(self, word: str) -> None:
        if not self.key and not self.open:
            self.start = self.position
        self.key.append(word.strip("\"'"))
        if self.open and self.open[-1].is_list:
            self.found.lines.setdefault((*self.open[-1].path, self.open[-1].items), self.line)

    def _key_complete(self) -> None:
        base = self.open[-1].path if self.open else self.table
        path: Path = (*base, *".".join(self.key).split("."))
        self.key = []
        if path in self.found.lines:
            self.found.repeated.append((path, self.line))
            self.cut = self.cut or not self.open
        self.found.lines.setdefault(path, self.line)
        self.in_value = self.in_value or not self.open
        self.pending = path

    def _opened(self, *, is_list: bool) -> None:
        outer = self.open[-1] if self.open else None
        path = (*outer.path, outer.items) if outer and outer.is_list else self.pending
        self.found.lines.setdefault(path, self.line)
        self.open.append(_Open(path, is_list))
        self.key = []
        if len(self.open) > self.found.deepest:
            self.found.deepest, self.found.deepest_line = len(self.open), self.line

    def _closed(self) -> None:
        self.open.pop()
        self.key = []

    def _end_of_statement(self) -> None:
        if self.cut:
            self.found.spans.append((self.start, self.position))
        self.key, self.in_value, self.cut = [], False, False


def toml_lines(text: str) -> TomlLines:
    """Count the keys of a TOML text. Never raises, whatever the text."""
    return _Counter(text).run()


def without_repeated(text: str, found: TomlLines) -> str:
    """The text with every repeated statement blanked, lines kept, so that the rest can still be read."""
    for start, end in found.spans:
        text = text[:start] + re.sub(r"[^\n]", " ", text[start:end]) + text[end:]
    return text


def refuse_deep(found: TomlLines, name: str, most: int) -> None:
    """Refuse a text nested too deeply, before the standard reader recurses as deep as it says.

    Raises:
        InputRefusedError: more than `most` brackets are open at once, or a line has more than 100 dots outside text.
    """
    if found.dots > FAR_TOO_DEEP:
        says = f"has more than {FAR_TOO_DEEP} dots outside quotes; no key has so many parts"
        raise InputRefusedError([Problem(f"{name}, line {found.dots_line}", says)])
    if found.deepest > most:
        says = f"opens {found.deepest} brackets inside each other; at most {most} are taken"
        raise InputRefusedError([Problem(f"{name}, line {found.deepest_line}", says)])


def repeated_keys(found: TomlLines, name: str) -> list[Problem]:
    """A problem for each key that is given again in the same table."""
    return [
        Problem(
            f"{name}, line {line}, key {visible(str(path[-1])[:64])}",
            f"is given twice, first on line {found.line_of(path)}",
        )
        for path, line in found.repeated
    ]
