"""How often each fault is met, as a weight from the trade: read from a table that people edit, checked here."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from seasonlog.errors import Problem
from seasonlog.faults.catalogue import FAULTS

MOST_WEIGHT = 1000.0
_TABLE_KEYS = frozenset({"title", "faults"})
_ROW_KEYS = frozenset({"weight", "basis"})


@dataclass(frozen=True, slots=True)
class Priors:
    """Weights of the faults; only their ratios mean anything."""

    title: str
    weights: Mapping[int, float]
    """Number -> weight, above 0; 0 is no fault."""
    basis: Mapping[int, str]
    """Number -> where the weight comes from, in words."""

    def of(self, numbers: tuple[int, ...]) -> float:
        """Share of a fault among all, no fault included; of a pair the product, as if they were independent."""
        whole = sum(self.weights.values())
        share = 1.0
        for number in numbers:
            share *= self.weights[number] / whole
        return share


def parse_priors(mapping: Mapping[str, Any], where: str) -> tuple[Priors | None, list[Problem]]:
    """Check the table's content and freeze it.

    Args:
        mapping: As read from the file: `title`, and under `faults` for each number, as text of two digits, a table of
            `weight` and `basis`.
        where: The file's name, for the problems.

    Returns:
        The weights and no problems, or None and every problem.
    """
    rows = mapping.get("faults")
    rows = rows if isinstance(rows, Mapping) else {}
    names = {f"{number:02d}": number for number in FAULTS}
    wrong = [(str(key), "unknown key") for key in mapping.keys() - _TABLE_KEYS]
    if not isinstance(mapping.get("title"), str) or not mapping["title"].strip():
        wrong.append(("title", "a text is wanted"))
    wrong += [(f"faults.{key}", "no fault has this number") for key in rows.keys() - names.keys()]
    wrong += [(f"faults.{key}", "missing: every fault needs a weight") for key in names.keys() - rows.keys()]
    wrong += [(f"faults.{key}", says) for key in names.keys() & rows.keys() if (says := _row_problem(rows[key]))]
    if wrong:
        return None, sorted((Problem(f"{where}, key {key}", says) for key, says in wrong), key=str)
    weights = {number: float(rows[name]["weight"]) for name, number in names.items()}
    return Priors(mapping["title"], weights, {number: rows[name]["basis"] for name, number in names.items()}), []


def _row_problem(row: Any) -> str:
    if not isinstance(row, Mapping) or row.keys() != _ROW_KEYS:
        return "exactly the keys basis, weight are wanted"
    weight = row["weight"]
    if isinstance(weight, bool) or not isinstance(weight, int | float | Decimal) or not 0 < weight <= MOST_WEIGHT:
        return f"weight is {weight!r}; a number above 0 and not above {MOST_WEIGHT:g} is wanted"
    if not isinstance(row["basis"], str) or not row["basis"].strip():
        return "basis wants a sentence: where the weight comes from"
    return ""
