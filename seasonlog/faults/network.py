"""Nodal analysis of a small network: closed contacts join nodes, what is left is solved by Gauss.

Joining first keeps the matrix at a handful of rows and needs no made-up contact resistance. Every node has a trace of
leakage to ground, so that a node nothing reaches has volts, and they are 0. Values are real for the control circuit
and complex for the three lines; the arithmetic is the same.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TypeAlias

GROUND = "g"
TRACE = 1e-9
"""Siemens from every node to ground: 1000 Mohm, a dry terminal strip. Common practice, no source."""
OPEN_OHMS = 5e7
"""From here on an ohmmeter shows open."""

Link: TypeAlias = tuple[str, str]
"""Two nodes joined without resistance."""
Branch: TypeAlias = tuple[str, str, float]
"""Node, node, conductance [S]."""
Source: TypeAlias = tuple[str, str, complex]
"""Node the current enters, node it leaves, current [A]: a source with its conductance beside it as a branch."""
Matrix: TypeAlias = list[list[complex]]


@dataclass(frozen=True, slots=True)
class Net:
    """A solved network."""

    root: Mapping[str, str]
    """Node -> the node that stands for all it is joined with."""
    volts_of: Mapping[str, complex]
    """Volts to ground of each standing node [V]."""
    index: Mapping[str, int]
    """Row of each standing node that is not driven."""
    matrix: Matrix
    """Conductances between them [S]."""
    branches: Sequence[Branch]
    sources: Sequence[Source]
    _inverse: Matrix = field(default_factory=list, compare=False, repr=False)

    def volts(self, node: str) -> complex:
        """Volts of a node to ground [V]; 0 where nothing reaches it."""
        return self.volts_of.get(self.root.get(node, node), 0.0)

    def joined(self, one: str, other: str) -> bool:
        """Whether closed contacts alone join the two."""
        return self.root.get(one, one) == self.root.get(other, other)

    def ohms(self, one: str, other: str = GROUND) -> float:
        """What the rest of the network is to a meter between two nodes [ohm]; infinite when they are apart."""
        if self.joined(one, other):
            return 0.0
        a, b = self._row(one), self._row(other)
        if (a is None and not self._is_driven(one)) or (b is None and not self._is_driven(other)):
            return math.inf
        found = self._at(a, a) + self._at(b, b) - 2.0 * self._at(a, b)
        return found if found < OPEN_OHMS else math.inf

    def between(self, one: str, other: str, meter_ohms: float) -> complex:
        """Volts a meter of this impedance shows between two nodes [V].

        Source:
            Thevenin: open volts, divided by the meter and the network's own resistance.
        """
        ohms = self.ohms(one, other)
        if ohms == math.inf and meter_ohms != math.inf:
            return 0.0
        share = 1.0 if meter_ohms == math.inf else meter_ohms / (meter_ohms + ohms)
        return (self.volts(one) - self.volts(other)) * share

    def _row(self, node: str) -> int | None:
        return self.index.get(self.root.get(node, node))

    def _is_driven(self, node: str) -> bool:
        root = self.root.get(node, node)
        return root in self.volts_of and root not in self.index

    def _at(self, row: int | None, column: int | None) -> float:
        if row is None or column is None:
            return 0.0
        if not self._inverse:
            self._inverse.extend(inverse(self.matrix))
        return self._inverse[row][column].real


def solved(
    links: Iterable[Link], branches: Sequence[Branch], driven: Mapping[str, complex], sources: Sequence[Source] = ()
) -> Net:
    """Solve a network.

    Args:
        links: Pairs of nodes that closed contacts join.
        branches: Its conductances [S].
        driven: Node -> volts to ground [V]; ground is driven to 0 in any case. Two driven nodes must not be joined.
        sources: Currents put in from outside [A].

    Source:
        Kirchhoff's current law at every node that is not driven.
    """
    driven = {GROUND: 0.0, **driven}
    root = _roots(links, branches, driven)
    index = {node: at for at, node in enumerate(n for n in dict.fromkeys(root.values()) if n not in driven)}
    matrix, right = _equations(root, index, branches, driven, sources)
    found = dict(driven)
    found.update(zip(index, _gauss([row[:] for row in matrix], right), strict=True))
    return Net(root, found, index, matrix, branches, sources)


def _roots(links: Iterable[Link], branches: Sequence[Branch], driven: Mapping[str, complex]) -> dict[str, str]:
    parent: dict[str, str] = {node: node for node in driven}
    for one, other, _ in branches:
        parent.setdefault(one, one)
        parent.setdefault(other, other)
    for pair in links:
        one, other = (_top(parent, node) for node in pair)
        if one != other:
            low, high = (other, one) if one in driven else (one, other)
            parent[low] = high
    return {node: _top(parent, node) for node in parent}


def _top(parent: dict[str, str], node: str) -> str:
    above = parent.setdefault(node, node)
    while above != node:
        node, above = above, parent[above]
    return node


def _equations(
    root: Mapping[str, str],
    index: Mapping[str, int],
    branches: Sequence[Branch],
    driven: Mapping[str, complex],
    sources: Sequence[Source],
) -> tuple[Matrix, list[complex]]:
    size = len(index)
    matrix: Matrix = [[0.0] * size for _ in range(size)]
    right: list[complex] = [0.0] * size
    for at in range(size):
        matrix[at][at] = TRACE
    for one, other, siemens in branches:
        here, there = root[one], root[other]
        if here != there:
            _add(matrix, right, index, driven, (here, there), siemens)
    for into, out, amps in sources:
        for node, sign in ((into, 1.0), (out, -1.0)):
            row = index.get(root[node])
            if row is not None:
                right[row] += sign * amps
    return matrix, right


def _add(
    matrix: Matrix,
    right: list[complex],
    index: Mapping[str, int],
    driven: Mapping[str, complex],
    ends: Link,
    siemens: float,
) -> None:
    a, b = index.get(ends[0]), index.get(ends[1])
    if a is not None:
        matrix[a][a] += siemens
        if b is None:
            right[a] += siemens * driven[ends[1]]
        else:
            matrix[a][b] -= siemens
    if b is not None:
        matrix[b][b] += siemens
        if a is None:
            right[b] += siemens * driven[ends[0]]
        else:
            matrix[b][a] -= siemens


def _gauss(matrix: Matrix, right: list[complex]) -> list[complex]:
    """Elimination; a network is diagonally dominant, so no pivot is sought. Overwrites both."""
    size = len(right)
    for at in range(size):
        top = matrix[at]
        for row in range(at + 1, size):
            share = matrix[row][at] / top[at]
            if share:
                own = matrix[row]
                for column in range(at + 1, size):
                    own[column] -= share * top[column]
                right[row] -= share * right[at]
    for at in reversed(range(size)):
        row_at = matrix[at]
        known = sum(row_at[n] * right[n] for n in range(at + 1, size))
        right[at] = (right[at] - known) / row_at[at]
    return right


def inverse(matrix: Matrix) -> Matrix:
    """The inverse of a network's matrix: ohms seen from each node and between them."""
    size = len(matrix)
    columns = [_gauss([row[:] for row in matrix], [1.0 if n == at else 0.0 for n in range(size)]) for at in range(size)]
    return [[columns[column][row] for column in range(size)] for row in range(size)]
