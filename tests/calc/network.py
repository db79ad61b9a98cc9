"""A second way to the currents of a heater: the network solved node by node with complex numbers.

Knows nothing of the formulas under test: only Ohm's and Kirchhoff's laws, three sources 120 degrees apart, a return
for the star of the supply, and resistances between nodes.
"""

import cmath
import math
from collections.abc import Mapping

LINES = ("A", "B", "C")
Branch = tuple[str, str]


def source_volts(line_to_line: float) -> dict[str, complex]:
    """Volts of the three lines to the star of the supply [V]."""
    to_star = line_to_line / math.sqrt(3.0)
    return {line: cmath.rect(to_star, -2.0 * math.pi * n / 3.0) for n, line in enumerate(LINES)}


def line_currents(line_to_line: float, branches: Mapping[Branch, float]) -> list[float]:
    """Amps in the three lines [A] of a network of resistances between A, B, C and free nodes, by nodal analysis."""
    volts = source_volts(line_to_line)
    volts |= _free_volts(volts, branches)
    return [abs(sum(_outward(line, volts, branches))) for line in LINES]


def power_watts(line_to_line: float, branches: Mapping[Branch, float]) -> float:
    """Watts in all resistances together [W]."""
    volts = source_volts(line_to_line)
    volts |= _free_volts(volts, branches)
    return sum(abs(volts[one] - volts[other]) ** 2 / ohms for (one, other), ohms in branches.items())


def ohms_between(one: str, other: str, branches: Mapping[Branch, float]) -> float:
    """Ohms a meter shows between two terminals [ohm]: one amp driven through, the volts read."""
    nodes = sorted({node for pair in branches for node in pair} - {other})
    matrix = [[_conductance(row, column, branches) for column in nodes] for row in nodes]
    injected = [1.0 + 0j if node == one else 0j for node in nodes]
    return abs(_solved(matrix, injected)[nodes.index(one)])


def wye(ohms: float) -> dict[Branch, float]:
    """Three equal elements to a star that is not brought out."""
    return {(line, "N"): ohms for line in LINES}


def delta(ohms: float) -> dict[Branch, float]:
    """Three equal elements between the lines."""
    return {("A", "B"): ohms, ("B", "C"): ohms, ("C", "A"): ohms}


def _outward(node: str, volts: Mapping[str, complex], branches: Mapping[Branch, float]) -> list[complex]:
    ends = [(pair, ohms) for pair, ohms in branches.items() if node in pair]
    return [(volts[node] - volts[pair[0] if pair[1] == node else pair[1]]) / ohms for pair, ohms in ends]


def _free_volts(volts: Mapping[str, complex], branches: Mapping[Branch, float]) -> dict[str, complex]:
    free = sorted({node for pair in branches for node in pair} - set(volts))
    if not free:
        return {}
    matrix = [[_conductance(row, column, branches) for column in free] for row in free]
    fed = [sum((-_conductance(node, line, branches) * volts[line] for line in volts), 0j) for node in free]
    return dict(zip(free, _solved(matrix, fed), strict=True))


def _conductance(row: str, column: str, branches: Mapping[Branch, float]) -> complex:
    if row == column:
        return complex(sum(1.0 / ohms for pair, ohms in branches.items() if row in pair))
    return complex(-sum(1.0 / ohms for pair, ohms in branches.items() if {row, column} == set(pair)))


def _solved(matrix: list[list[complex]], right: list[complex]) -> list[complex]:
    """Gauss and Jordan, largest pivot first."""
    rows = [[*row, value] for row, value in zip(matrix, right, strict=True)]
    for at in range(len(rows)):
        pivot = max(range(at, len(rows)), key=lambda n: abs(rows[n][at]))
        rows[at], rows[pivot] = rows[pivot], rows[at]
        rows[at] = [value / rows[at][at] for value in rows[at]]
        for n, row in enumerate(rows):
            if n != at:
                rows[n] = [value - row[at] * own for value, own in zip(row, rows[at], strict=True)]
    return [row[-1] for row in rows]
