"""What the calculations share: options whose names carry their unit, and how an answer is shown."""

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any, TypeVar

import click

from seasonlog.cli import frame
from seasonlog.errors import UsageError

_F = TypeVar("_F", bound=Callable[..., Any])

MARKS = {"cut-in": "cut_in", "cut-out": "cut_out", "middle": "middle"}
"""What a dial's mark may mean: as typed, and as `calc` names it."""
LOCAL_CODE = "The code adopted where the tower stands and the authority having jurisdiction decide."
LIVE_CAUTION = (
    "CAUTION: live readings are energised work for a qualified person with the PPE on the label; ohms only on a "
    "circuit locked out at its branch disconnect and proved dead."
)


class Number(click.ParamType[float]):
    """A plain number in ASCII digits: no underscores, no other scripts; `nan` and `inf` go on, to be refused."""

    name = "number"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """The number, or a sentence."""
        if isinstance(value, float):
            return value
        if not _PLAIN.fullmatch(str(value)):
            self.fail(f'"{value}" is not a plain number such as 21.6', param, ctx)
        return float(value)


NUMBER = Number()
_PLAIN = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?|[+-]?(nan|inf|infinity)", re.ASCII | re.IGNORECASE)


def number(
    name: str, metavar: str, says: str, *, required: bool = False, default: float | None = None
) -> Callable[[_F], _F]:
    """An option that takes a plain number; its unit stands in its name, `metavar` repeats it."""
    shown = f"{says} [{default:g} when not given]" if default is not None else says
    given: dict[str, Any] = {} if default is None else {"default": default}
    return click.option(name, type=NUMBER, metavar=metavar, help=shown, required=required, **given)


def heater_options(function: _F) -> _F:
    """`--kw --volts --phases`, the plate of a heater."""
    kw = number("--kw", "KW", "Rated power of all heaters on the contactor together.", required=True)
    volts = number("--volts", "V", "Rated volts on the plate, line to line for three phases.", required=True)
    phases = click.option("--phases", type=click.Choice(["1", "3"]), default="3", help="Phases; 3 when not given.")
    return kw(volts(phases(function)))


def connection_option(function: _F) -> _F:
    """`--connection wye|delta|unknown`."""
    kinds = click.Choice(["wye", "delta", "unknown"])
    says = "How the elements are joined; unknown when not given."
    return click.option("--connection", type=kinds, default="unknown", help=says)(function)


def json_option(function: _F) -> _F:
    """`--json`: one document instead of words."""
    says = "Print one JSON document instead of words."
    return click.option("--json", "as_json", is_flag=True, help=says)(function)


@dataclass(frozen=True, slots=True)
class Answer:
    """What a calculation says."""

    plain: Sequence[str]
    """The answer, in plain lines."""
    document: dict[str, Any]
    """The same as one JSON document; numbers are rounded when shown."""
    working: Sequence[str] = ()
    """The arithmetic, with its numbers."""
    basis: Sequence[str] = ()
    """Where the rules come from."""
    caution: Sequence[str] = field(default=())
    """What could hurt someone who acts on it."""


def show(answer: Answer, as_json: bool) -> int:
    """Print an answer: plain lines, working, basis, caution; or one JSON document. Returns the exit code 0."""
    if as_json:
        notes = {"working": answer.working, "basis": answer.basis, "caution": answer.caution}
        frame.out_json(rounded(answer.document) | {name: list(lines) for name, lines in notes.items()})
        return 0
    for line in answer.plain:
        frame.out(line)
    for title, lines in (("working", answer.working), ("basis", answer.basis), ("", answer.caution)):
        for line in lines:
            frame.out(f"  {title}: {line}" if title else line)
    return 0


def rounded(value: Any) -> Any:
    """A document with every number to six significant digits."""
    if isinstance(value, float):
        return 0.0 if abs(value) < 1e-9 else float(f"{value:.6g}")
    if isinstance(value, dict):
        return {key: rounded(each) for key, each in value.items()}
    return [rounded(each) for each in value] if isinstance(value, list | tuple) else value


def three(text: str, option: str) -> tuple[float, ...]:
    """Numbers parted by commas, as `--amps 21.6,21.5,21.7` gives them.

    Raises:
        UsageError: something between the commas is not a number.
    """
    parts = [each.strip() for each in text.split(",")]
    if not all(_PLAIN.fullmatch(each) for each in parts):
        raise UsageError(f'{option} "{text}" is not plain numbers with commas between them, such as 21.6,21.5,21.7.')
    return tuple(float(each) for each in parts)
