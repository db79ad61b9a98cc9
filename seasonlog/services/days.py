"""Days from text and from the log's clock."""

from datetime import UTC, date, datetime, timedelta


def day(text: str) -> date:
    """A date written as YYYY-MM-DD by ourselves."""
    return date.fromisoformat(text)


def day_of(wall_ms: int, offset_minutes: int = 0) -> date:
    """The day an entry was made, in the local time given."""
    return moment(wall_ms, offset_minutes).date()


def moment(wall_ms: int, offset_minutes: int = 0) -> datetime:
    """The time an entry was made; UTC shifted to the local time given."""
    return datetime.fromtimestamp(wall_ms / 1000, UTC) + timedelta(minutes=offset_minutes)
