"""Days from text and from the log's clock."""

import re
from datetime import UTC, date, datetime, timedelta

from seasonlog.domain.text import visible
from seasonlog.errors import InputRefusedError, Problem

_DAY = re.compile(r"\d{4}-\d\d-\d\d", re.ASCII)
_SHOWN = 40


def day(text: str) -> date:
    """A date written as YYYY-MM-DD by ourselves."""
    return date.fromisoformat(text)


def day_of(wall_ms: int, offset_minutes: int = 0) -> date:
    """The day an entry was made, in the local time given."""
    return moment(wall_ms, offset_minutes).date()


def moment(wall_ms: int, offset_minutes: int = 0) -> datetime:
    """The time an entry was made; UTC shifted to the local time given."""
    return datetime.fromtimestamp(wall_ms / 1000, UTC) + timedelta(minutes=offset_minutes)


def local_words(wall_ms: int, offset_minutes: int) -> str:
    """Local time of an entry with its distance from UTC: `2026-09-15 08:00 (UTC-05:00)`."""
    sign, minutes = ("-" if offset_minutes < 0 else "+"), abs(offset_minutes)
    local = moment(wall_ms, offset_minutes).strftime("%Y-%m-%d %H:%M")
    return f"{local} (UTC{sign}{minutes // 60:02d}:{minutes % 60:02d})"


def epoch_ms(on: date) -> int:
    """The beginning of a day, UTC, as the log's clock counts."""
    return int(datetime(on.year, on.month, on.day, tzinfo=UTC).timestamp() * 1000)


def typed_day(text: str, where: str) -> date:
    """A day typed by a person as YYYY-MM-DD.

    Raises:
        InputRefusedError: it is none.
    """
    typed = text.strip()
    try:
        if not _DAY.fullmatch(typed):
            raise ValueError
        return date.fromisoformat(typed)
    except ValueError:
        says = f'"{visible(typed[:_SHOWN])}" is not a day; write it as 2026-10-03'
        raise InputRefusedError([Problem(where, says)]) from None
