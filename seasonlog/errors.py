"""The project's errors: one family, each a plain sentence with what, where and what to do next.

Exceptions are for "cannot go on". Anything a person must look at is a value: a `Problem` of a file
that was refused, or a finding of the record.
"""

from collections.abc import Sequence
from dataclasses import dataclass


class SeasonlogError(Exception):
    """Base of every error that reaches a person as one sentence."""


class RatingError(SeasonlogError):
    """A rating or measured value is zero, negative or not a finite number. Raised by `calc`."""


class UsageError(SeasonlogError):
    """The command or its options make no sense together; nothing was done. Exit code 2."""


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong in something that was handed in."""

    where: str
    """File, row or key, as a person would look for it: `north.toml, tower HOS-1, key depth_ft`."""

    says: str
    """One sentence: what was found, what is allowed."""

    def __str__(self) -> str:
        return f"{self.where}: {self.says}"


class InputRefusedError(SeasonlogError):
    """Input was refused as a whole and nothing was written. Carries every problem. Exit code 3."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("; ".join(str(p) for p in self.problems))


class LogError(SeasonlogError):
    """The log cannot be used: busy, full, read-only, on a network folder, or of a newer schema. Exit code 4."""


class OlderLogError(LogError):
    """The log, or the tables folded from it, are of an older version; opening it for writing brings them up to date."""
