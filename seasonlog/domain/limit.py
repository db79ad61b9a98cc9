"""One limit, what a value is worth against it, and all that a limit may depend on.

Verdicts follow guarded acceptance: pass only inside the limit by the instrument's uncertainty, fail only beyond it by
as much; between, near. Where the trade has steps of its own, wider than the instrument, the steps stand instead.
"""

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date

from seasonlog.domain.practice import PracticeTable
from seasonlog.domain.register import Basin, Circuit, Instrument, Register, Tower, Trace
from seasonlog.domain.verdict import Verdict
from seasonlog.errors import RatingError

_ORDER = (Verdict.PASS, Verdict.NEAR_PASS, Verdict.CANNOT_TELL, Verdict.NEAR_FAIL, Verdict.FAIL)


@dataclass(frozen=True, slots=True)
class Limit:
    """A limit for one reading on one piece of equipment, with the way it was arrived at."""

    quantity: str
    """Name of the quantity."""
    unit: str
    """Unit of every edge."""
    low: float | None
    """The limit itself; None: no lower limit."""
    high: float | None
    """The limit itself; None: no upper limit."""
    pass_low: float | None
    """From here up: pass. Between `low` and here: near pass."""
    pass_high: float | None
    """Up to here: pass. Between here and `high`: near pass."""
    fail_low: float | None
    """Below: fail. Between here and `low`: near fail."""
    fail_high: float | None
    """Above: fail. Between `high` and here: near fail."""
    basis: str
    """Words and arithmetic."""
    source: str
    """Source tag."""
    formula: str
    """Name and version of the rule, so that an old verdict can be recomputed: `line_amps/1`."""
    decides: bool = True
    """False: the instrument leaves no pass zone; pass edges are then None."""
    missing: str = ""
    """Not empty: the verdict is cannot tell, and this says why."""


@dataclass(frozen=True, slots=True)
class LimitContext:
    """What a limit may depend on: equipment, day, volts, instruments, table, and earlier answers of the visit."""

    register: Register
    """Everything installed."""
    tower: Tower
    """The tower visited."""
    circuit: Circuit | None
    """The heater circuit the reading belongs to."""
    basin: Basin | None
    """The basin it belongs to."""
    trace: Trace | None
    """The heat trace circuit it belongs to."""
    on: date
    """Day of the reading, for calibration."""
    measured_volts: float | None
    """Mean supply volts measured in this visit, heater on [V]; None: not measured yet."""
    instruments: Mapping[str, Instrument]
    """Instrument kind to the instrument used in this visit."""
    practice: PracticeTable
    """The table of constants, as the site holds it."""
    answers: Mapping[str, str]
    """Step key to the value already answered in this visit."""
    before: Mapping[str, float] = field(default_factory=dict)
    """Quantity to what was last read of it on this equipment in an earlier visit, since its device was fitted."""
    assumed_volts: bool = False
    """The volts are a supposition, not a measurement: the basis says so."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """Something a checklist may ask to be read."""

    name: str
    """Its name, with the unit in it where it has one."""
    unit: str
    """Unit of readings and limits."""
    instrument: str
    """Kind of instrument it is read with; empty: none with an accuracy."""
    least: float
    """Below this a reading is a slip of the finger."""
    most: float
    """Above this a reading is a slip of the finger."""
    says: str
    """What it is, for a person."""
    limit: Callable[[LimitContext], Limit]
    """The rule that computes its limit."""


def judge(value: float, limit: Limit) -> Verdict:
    """The verdict on a value. Over range is an infinite value and is judged like any other.

    Args:
        value: The reading, in the unit of the limit.
        limit: What it is judged against.

    Raises:
        RatingError: the value is not a number.
    """
    if math.isnan(value):
        raise RatingError(f"{limit.quantity} is not a number; read it again")
    if limit.missing:
        return Verdict.CANNOT_TELL
    if _outside(value, limit.fail_low, limit.fail_high):
        return Verdict.FAIL
    if not limit.decides:
        return Verdict.CANNOT_TELL
    if _outside(value, limit.low, limit.high):
        return Verdict.NEAR_FAIL
    return Verdict.NEAR_PASS if _outside(value, limit.pass_low, limit.pass_high) else Verdict.PASS


def _outside(value: float, low: float | None, high: float | None) -> bool:
    return (low is not None and value < low) or (high is not None and value > high)


def worst(verdicts: Iterable[Verdict]) -> Verdict:
    """The verdict that counts when several belong together; of none at all nothing can be told."""
    return max(verdicts, key=_ORDER.index, default=Verdict.CANNOT_TELL)
