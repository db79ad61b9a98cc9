"""How a due visit stands on a day."""

from enum import StrEnum


class DueState(StrEnum):
    """How a visit stands on a day."""

    UPCOMING = "upcoming"
    OPEN = "open"
    OVERDUE = "overdue"
    DONE = "done"
    DROPPED = "dropped"
