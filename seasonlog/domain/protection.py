"""What can be said of a tower in a season. A module of its own: the first screen needs the words, not the rules."""

from enum import StrEnum


class Protection(StrEnum):
    """What can be said of a tower in a season."""

    PROVEN = "proven"
    PROVISIONAL = "provisional"
    """A short enable passed in the last 14 days."""
    NOT_PROVEN = "not_proven"
