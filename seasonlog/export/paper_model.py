"""A sheet to be filled in by hand on the roof, as frozen values: what is asked, the limit, where to write."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Row:
    """One step."""

    number: int
    key: str
    """What the answers file calls it."""
    title: str
    caution: str
    """What can hurt at this step, where the part of the list has not said it already."""
    do: str
    limit: str
    """The computed limit in words, or what must come before it can be judged."""
    waits: str
    """Numbers of the steps that come first: `after 3, 4`."""
    boxes: tuple[str, ...]
    """Answers to tick; empty where something is written."""
    blanks: int
    """Places to write a number; 0 where boxes are ticked; words where there is no unit."""
    unit: str
    photo: bool
    live: bool
    required: bool


@dataclass(frozen=True, slots=True)
class Part:
    """A heading of the checklist and its steps."""

    title: str
    caution: str
    rows: tuple[Row, ...]


@dataclass(frozen=True, slots=True)
class Sheet:
    """One checklist on one tower."""

    site: str
    tower: str
    """Tower id."""
    name: str
    checklist: str
    """Checklist id."""
    title: str
    version: int
    why: str
    """When it is due, or that it was asked for."""
    printed: str
    cautions: tuple[str, ...]
    facts: tuple[tuple[str, str], ...]
    """Register data: name and words."""
    sources: tuple[str, ...]
    """Every energy source with its isolating point."""
    findings: tuple[str, ...]
    """Open ones."""
    instruments: tuple[str, ...]
    """Kinds that are needed."""
    parts: tuple[Part, ...]
    doubted: tuple[str, ...] = ()
    """Instruments of these kinds whose readings prove nothing."""
    is_demonstration: bool = False
    paper: str = "us-letter"

    @property
    def rows(self) -> tuple[Row, ...]:
        """All steps in order."""
        return tuple(row for part in self.parts for row in part.rows)
