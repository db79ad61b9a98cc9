"""Which line of the heater carries nothing: the two faults that may sit in any line, placed in the one that was read.

With control power alive a dead line A or B is no fuse ahead of the transformer's tap: it is the fuse, lug or breaker
pole of that line alone, or its contactor pole. The faults keep the numbers the table gives them for the last line.
"""

from dataclasses import replace

from seasonlog.faults.catalogue import Fault
from seasonlog.faults.circuit import Circuit
from seasonlog.faults.effects import Effects

LINE_FUSE, POLE = 3, 38
ANY_LINE = ((LINE_FUSE,), (POLE,))
"""Numbers of the faults that may sit in any line."""
LETTERS = "abc"
ONE_LINE = "one_line_zero"
"""A line is dead and nobody said which."""
DEAD_LINES = tuple(f"line_{letter}_zero" for letter in LETTERS)
"""Answers of the test `line_amps` that name the dead line, L1 first."""


def dead_line(answer: str | float | None) -> int:
    """Number of the line that an answer of `line_amps` calls dead; 0 when it names none."""
    return DEAD_LINES.index(answer) + 1 if isinstance(answer, str) and answer in DEAD_LINES else 0


def line_words(line: int) -> str:
    """`line A (L1)`."""
    return f"line {LETTERS[line - 1].upper()} (L{line})"


def placed(fault: Fault, line: int) -> Fault:
    """A fault that may sit in any line, in the line that is dead; every other fault as it is."""
    if not line or fault.numbers not in ANY_LINE:
        return fault
    if fault.number == LINE_FUSE:
        name = f"line fuse, lug or breaker pole open in {line_words(line)}"
        return replace(fault, name=name, effects=Effects(opened=frozenset({f"line{line}"})))
    name = f"contactor pole of {line_words(line)} not making"
    return replace(fault, name=name, effects=Effects(opened=frozenset({f"pole{line}"})))


def wired_for(circuit: Circuit, fault: Fault) -> Circuit:
    """The circuit as such a fault leaves it: with line A or B dead the control transformer is fed all the same."""
    ahead = LINE_FUSE in fault.numbers and fault.effects.opened & {"line1", "line2"}
    return replace(circuit, separate_supply=True) if ahead else circuit
