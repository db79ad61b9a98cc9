"""What kinds of value the register knows, and the one-line declarations its records are made of.

A record's field says here, once, what it holds: kind, unit, what is allowed, whether it must be given, and one sentence
of meaning. Site files, spreadsheets, log entries, the format's description and every sentence about a bad value are
derived from it. The sentence takes the place of the bare string other dataclasses carry under a field.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from decimal import Decimal
from enum import StrEnum
from types import MappingProxyType
from typing import Any

LONGEST_LINE = 120
"""Characters allowed in a name or another one-line text."""
LONGEST_NOTE = 4000
"""Characters allowed in a note."""


class Kind(StrEnum):
    """How a field's value is read, checked and written."""

    IDENT = "id"
    REFERENCE = "reference"
    LINE = "line"
    NOTE = "note"
    NUMBER = "number"
    WHOLE = "whole"
    YES_NO = "yes_no"
    CHOICE = "choice"
    SEVERAL = "several"
    DAY = "day"
    MONTH_DAY = "month_day"
    ZONE = "zone"
    CONDUCTOR = "conductor"
    NUMBERS = "numbers"


@dataclass(frozen=True, slots=True)
class Spec:
    """Everything that is known about one field of a record."""

    kind: Kind
    """How the value is read and written."""
    says: str
    """What the field means, in one sentence for the person who fills it in."""
    required: bool = False
    """Must be given. A field that is not required and not given keeps `default`."""
    default: str | None = None
    """Value when nothing is given: None, or `unknown` where that is an answer."""
    unit: str = ""
    """Unit of a number, spelled as in the field's name where it stands there."""
    low: Decimal | None = None
    """Smallest number allowed, included."""
    high: Decimal | None = None
    """Largest number allowed, included."""
    choices: tuple[str, ...] = ()
    """The values allowed, where they are few."""
    refers: tuple[str, ...] = ()
    """Record types one of which must have this id."""
    difference: bool = False
    """A temperature difference: converted without the offset of 32."""

    @property
    def longest(self) -> int:
        """Characters allowed in a text."""
        return LONGEST_NOTE if self.kind is Kind.NOTE else LONGEST_LINE


def _declared(spec: Spec) -> Any:
    metadata = {"spec": spec}
    return field(metadata=metadata) if spec.required else field(default=spec.default, metadata=metadata)


def ident(says: str) -> Any:
    """The record's own id: required, unique in its type over the whole register."""
    return _declared(Spec(Kind.IDENT, says, required=True))


def reference(says: str, *records: str, required: bool = True) -> Any:
    """The id of another record, of one of the types named."""
    return _declared(Spec(Kind.REFERENCE, says, required, refers=records))


def line(says: str, *, required: bool = False) -> Any:
    """A text of one line without control characters."""
    return _declared(Spec(Kind.LINE, says, required))


def note(says: str) -> Any:
    """A text kept as typed, over several lines if need be."""
    return _declared(Spec(Kind.NOTE, says))


def number(says: str, unit: str, low: str, high: str, *, required: bool = False, difference: bool = False) -> Any:
    """A decimal number between two bounds, both included, in the unit named."""
    bounds = Decimal(low), Decimal(high)
    return _declared(Spec(Kind.NUMBER, says, required, None, unit, *bounds, difference=difference))


def whole(says: str, low: int, high: int, *choices: int, required: bool = False) -> Any:
    """A whole number between two bounds, or one of a few."""
    few = tuple(str(value) for value in choices)
    return _declared(Spec(Kind.WHOLE, says, required, low=Decimal(low), high=Decimal(high), choices=few))


def yes_no(says: str, *, required: bool = False) -> Any:
    """Yes or no; None, where it is not required, means nobody has said."""
    return _declared(Spec(Kind.YES_NO, says, required))


def choice(says: str, *choices: str, required: bool = True, default: str | None = None) -> Any:
    """One of a few words. With a default the field need not be given."""
    return _declared(Spec(Kind.CHOICE, says, required and default is None, default, choices=choices))


def several(says: str, *choices: str) -> Any:
    """One or more of a few words, in the order typed."""
    return _declared(Spec(Kind.SEVERAL, says, required=True, choices=choices))


def day(says: str) -> Any:
    """A calendar day."""
    return _declared(Spec(Kind.DAY, says))


def month_day(says: str) -> Any:
    """A day of any year, as MM-DD."""
    return _declared(Spec(Kind.MONTH_DAY, says, required=True))


def zone(says: str) -> Any:
    """The name of a time zone in the IANA data."""
    return _declared(Spec(Kind.ZONE, says, required=True))


def conductor(says: str) -> Any:
    """A conductor size as printed on its jacket: AWG, kcmil or mm2. Kept as text, never converted."""
    return _declared(Spec(Kind.CONDUCTOR, says))


def numbers(says: str) -> Any:
    """Several named numbers."""
    return field(default_factory=dict, hash=False, metadata={"spec": Spec(Kind.NUMBERS, says)})


def specs_of(record_type: type) -> Mapping[str, Spec]:
    """The fields of a record type in their order, each with what is known about it."""
    return MappingProxyType({each.name: each.metadata["spec"] for each in fields(record_type)})
