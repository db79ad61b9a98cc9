"""A wiring drawing on a grid of character cells: wires, parts, test points and labels, for text and picture alike."""

from dataclasses import dataclass, field
from typing import TypeAlias

Cell: TypeAlias = tuple[int, int]
"""Column and row, both from 0."""
WIDTH = 76
"""Columns of a sheet."""

_PICTURES: dict[str, tuple[str, str]] = {
    "open": ("┤ ├", "] ["),
    "closed": ("┤/├", "]/["),
    "fuse": ("[=]", "[=]"),
    "breaker": ("o^o", "o^o"),
    "switch": ("o/ o", "o/ o"),
    "float": ("o/ o", "o/ o"),
    "jumper": ("o──o", "o--o"),
    "round": ("( )", "( )"),
    "form_c": ("o─┐  o\n  └──o", "o-+  o\n  +--o"),
    "transformer": ("╰╯" * 8 + "\n" + "═" * 16 + "\n" + "╭╮" * 8, "U" * 16 + "\n" + "=" * 16 + "\n" + "n" * 16),
    "element": ("[▒▒▒▒▒]", "[#####]"),
    "element_down": ("┌┴┐\n└┬┘", "[#]\n[#]"),
    "ground": ("═╧═", "==="),
    "from": ("<", "<"),
    "to": (">", ">"),
    "water": (" ~" * 9, " ~" * 9),
}
KINDS = tuple(_PICTURES)


@dataclass(frozen=True, slots=True)
class Part:
    """A device, or the sign for one."""

    kind: str
    """One of `KINDS`."""
    name: str
    """As the solver names what can fail in it; of a coil or lamp also its letter, after a colon."""
    at: Cell
    """Its upper left cell."""

    def picture(self, ascii_only: bool = False) -> list[str]:
        """Its characters, row by row."""
        rows = _PICTURES[self.kind][ascii_only].split("\n")
        return [f"({self.letter})"] if self.kind == "round" else rows

    @property
    def letter(self) -> str:
        """What stands in a coil's or lamp's circle."""
        return self.name.partition(":")[2]

    @property
    def size(self) -> Cell:
        """Columns and rows."""
        rows = self.picture()
        return len(rows[0]), len(rows)

    @property
    def ends(self) -> tuple[Cell, ...]:
        """Cells at which wires arrive: left and right of its first row, of a transformer also of its last."""
        (x, y), (width, rows) = self.at, self.size
        if self.kind == "element_down":
            return (x + 1, y - 1), (x + 1, y + rows)
        across = (x - 1, y), (x + width, y)
        more = {"transformer": ((x - 1, y + 2), (x + width, y + 2)), "ground": (), "water": ()}
        one = {"from": (across[1],), "to": (across[0],), "ground": ((x + 1, y - 1),), "water": ()}
        return one.get(self.kind, across) + more.get(self.kind, ())


@dataclass(frozen=True, slots=True)
class Mark:
    """A test point."""

    name: str
    at: Cell
    label_at: Cell
    """Where the middle of its name stands."""


@dataclass(frozen=True, slots=True)
class Label:
    """Words in the drawing: one line, around a middle or from a first cell on."""

    text: str
    at: Cell
    centred: bool = True

    @property
    def start(self) -> Cell:
        """The cell of its first character."""
        x, y = self.at
        return (x - len(self.text) // 2, y) if self.centred else (x, y)


@dataclass(slots=True)
class Sheet:
    """The drawing, with what is said above and below it."""

    wires: list[tuple[Cell, ...]] = field(default_factory=list)
    """Each from corner to corner, always along a column or a row."""
    parts: list[Part] = field(default_factory=list)
    marks: list[Mark] = field(default_factory=list)
    labels: list[Label] = field(default_factory=list)
    links: list[tuple[Cell, Cell]] = field(default_factory=list)
    """Poles that move together: from one to the next below it."""

    @property
    def rows(self) -> int:
        """Rows that the drawing takes."""
        below = [part.at[1] + part.size[1] for part in self.parts] + [label.at[1] + 1 for label in self.labels]
        return max(below, default=0)

    def wire(self, *path: Cell) -> None:
        """A wire along some corners; nothing where it has no length."""
        if len(set(path)) > 1:
            self.wires.append(path)

    def mark(self, name: str, at: Cell, label_at: Cell | None = None) -> None:
        """A test point; its name stands above it unless told otherwise."""
        self.marks.append(Mark(name, at, label_at or (at[0], at[1] - 1)))

    def say(self, text: str, *at: Cell) -> None:
        """Words around a middle, a line for each cell; lines are parted by a bar."""
        self.labels += (Label(line, cell) for line, cell in zip(text.split("|"), at, strict=True))

    def run(self, row: int, start: int, end: int, parts: dict[int, tuple[str, str]], marks: dict[int, str]) -> None:
        """A row of wire from column to column.

        Args:
            row: The row.
            start: First column of wire.
            end: Last column of wire.
            parts: First column -> kind and name of what lies in the wire there.
            marks: Column -> test point on the wire there.
        """
        here = start
        for column, (kind, name) in sorted(parts.items()):
            part = Part(kind, name, (column, row))
            self.parts.append(part)
            self.wire((here, row), (column - 1, row))
            here = column + part.size[0]
        self.wire((here, row), (end, row))
        for column, name in marks.items():
            self.mark(name, (column, row))
