"""A heater as a network of conductances on three lines, solved node by node.

Nodes are named: `A`, `B`, `C` are the lines at the contactor's load side, `0` is the star of the supply (and ground,
where it is grounded), anything else floats. A branch is a conductance between two nodes. What is driven has known
volts; all other nodes take the volts that Kirchhoff's law leaves them.
"""

import cmath
import math
from collections.abc import Container, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeAlias

from seasonlog.errors import RatingError

LINES = ("A", "B", "C")
PAIRS = (("A", "B"), ("B", "C"), ("C", "A"))
STAR = "0"
_LEAK = 1e-12
"""Siemens from every floating node to the star: a node that nothing drives then has volts, and they are 0."""

Branch: TypeAlias = tuple[str, str, float]
"""Node, node, conductance [S]."""


@dataclass(frozen=True, slots=True)
class Flow:
    """A solved network."""

    volts: Mapping[str, complex]
    """Volts of every node to the star of the supply [V]."""
    line_amps: tuple[complex, complex, complex]
    """Current out of each line [A]."""

    @property
    def amps(self) -> tuple[float, float, float]:
        """What a clamp shows on lines A, B, C [A]."""
        a, b, c = self.line_amps
        return abs(a), abs(b), abs(c)

    @property
    def residual_amps(self) -> float:
        """What a clamp around all three lines shows: the current that comes back another way [A]."""
        return abs(sum(self.line_amps))

    def between(self) -> tuple[float, ...]:
        """Volts A-B, B-C, C-A at the heater's side of the contactor [V]."""
        return tuple(abs(self.volts[one] - self.volts[other]) for one, other in PAIRS)


def supply(volts_between: Sequence[float]) -> dict[str, complex]:
    """Volts of three lines to their star, from the volts between them.

    Args:
        volts_between: A-B, B-C, C-A [V]; sides of a triangle, however uneven.

    Raises:
        RatingError: three lines cannot have such volts between them.

    Source:
        Geometry of the volt triangle; the star is taken at its centre, where a healthy wye floats.
    """
    ab, bc, ca = volts_between
    if not 2.0 * max(ab, bc, ca) < ab + bc + ca:
        raise RatingError(f"{ab:g}, {bc:g}, {ca:g} V cannot be between three lines; measure again")
    corner = (ab * ab + ca * ca - bc * bc) / (2.0 * ab * ca)
    b, c = complex(-ab), -ca * cmath.rect(1.0, -math.acos(max(-1.0, min(1.0, corner))))
    middle = (b + c) / 3.0
    turn = cmath.exp(1j * math.pi / 6.0)
    return {"A": -middle * turn, "B": (b - middle) * turn, "C": (c - middle) * turn, STAR: 0j}


def flow(branches: Sequence[Branch], driven: Mapping[str, complex]) -> Flow:
    """Solve a network.

    Args:
        branches: Its conductances.
        driven: Node -> volts; a line that is open is left out, and floats.

    Source:
        Kirchhoff's current law at every node that is not driven.
    """
    nodes = {node: None for one, other, _ in branches for node in (one, other)} | dict.fromkeys(LINES)
    free = {node: at for at, node in enumerate(n for n in nodes if n not in driven)}
    volts = dict(driven) | dict(zip(free, _floating(branches, driven, free), strict=True))
    return Flow(volts, _outward(branches, driven, volts))


def _floating(branches: Sequence[Branch], driven: Mapping[str, complex], free: Mapping[str, int]) -> list[complex]:
    matrix = [[0j] * len(free) for _ in free]
    right = [0j] * len(free)
    for node in free.values():
        matrix[node][node] = complex(_LEAK)
    for one, other, siemens in branches:
        for here, there in ((one, other), (other, one)):
            if here in free:
                _add(matrix, right, free[here], free.get(there), siemens, driven.get(there, 0j))
    return _solved(matrix, right)


def _add(
    matrix: list[list[complex]], right: list[complex], row: int, column: int | None, siemens: float, volts: complex
) -> None:
    matrix[row][row] += siemens
    if column is None:
        right[row] += siemens * volts
    else:
        matrix[row][column] -= siemens


def _outward(
    branches: Sequence[Branch], driven: Mapping[str, complex], volts: Mapping[str, complex]
) -> tuple[complex, complex, complex]:
    out = dict.fromkeys(LINES, 0j)
    for one, other, siemens in branches:
        amps = siemens * (volts[one] - volts[other])
        if one in out and one in driven:
            out[one] += amps
        if other in out and other in driven:
            out[other] -= amps
    return out["A"], out["B"], out["C"]


def _solved(matrix: list[list[complex]], right: list[complex]) -> list[complex]:
    """Gaussian elimination; a network with its leak is diagonally dominant, so no pivot is sought."""
    size = len(right)
    for at in range(size):
        for row in range(at + 1, size):
            share = matrix[row][at] / matrix[at][at]
            if share:
                matrix[row] = [own - share * top for own, top in zip(matrix[row], matrix[at], strict=True)]
                right[row] -= share * right[at]
    found = [0j] * size
    for at in reversed(range(size)):
        known = sum((matrix[at][n] * found[n] for n in range(at + 1, size)), 0j)
        found[at] = (right[at] - known) / matrix[at][at]
    return found


def reduced(branches: Sequence[Branch], kept: Container[str]) -> dict[str, dict[str, float]]:
    """The same network as conductances between the kept nodes alone [S], node by node.

    Args:
        branches: Its conductances.
        kept: Nodes that stay; every other one floats and is replaced by a mesh between its neighbours.

    Source:
        Star-mesh transformation: g_ij = g_i g_j / sum of g.
    """
    mesh: dict[str, dict[str, float]] = {}
    for one, other, siemens in branches:
        _join(mesh, one, other, siemens)
    for node in [each for each in mesh if each not in kept]:
        star = list(mesh.pop(node).items())
        total = sum([g for _, g in star])
        for neighbour, _ in star:
            del mesh[neighbour][node]
        for at, (one, g) in enumerate(star):
            for other, h in star[at + 1 :]:
                _join(mesh, one, other, g * h / total)
    return mesh


def _join(mesh: dict[str, dict[str, float]], one: str, other: str, siemens: float) -> None:
    for here, there in ((one, other), (other, one)):
        row = mesh.setdefault(here, {})
        row[there] = row.get(there, 0.0) + siemens


def line_currents(branches: Sequence[Branch], driven: Mapping[str, complex]) -> tuple[complex, ...]:
    """Current out of lines A, B, C [A], as `flow` gives it, without the volts of what floats; several times faster."""
    mesh = reduced(branches, driven)
    out = []
    for line in LINES:
        row = mesh.get(line) if line in driven else None
        out.append(0j if not row else sum([g * (driven[line] - driven[node]) for node, g in row.items()], 0j))
    return tuple(out)


def siemens_of_pairs(branches: Sequence[Branch], pairs: Sequence[tuple[str, str]] = PAIRS) -> list[float]:
    """What an ohmmeter sees between the pairs of lines of a network that nothing drives, as conductances [S]."""
    mesh = reduced(branches, LINES)
    found = []
    for one, other in pairs:
        third = next(line for line in LINES if line not in (one, other))
        row = mesh.get(third, {})
        left, right = row.get(one, 0.0), row.get(other, 0.0)
        around = left * right / (left + right) if left and right else 0.0
        found.append(mesh.get(one, {}).get(other, 0.0) + around)
    return found
