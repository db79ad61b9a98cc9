"""Days, times and units as the person on this site reads them. Converts at the edge; decides nothing."""

from datetime import date
from typing import Any

from seasonlog.domain.units_shown import as_recorded as as_recorded
from seasonlog.domain.units_shown import basis_in_units as basis_in_units
from seasonlog.domain.units_shown import difference_as as difference_as
from seasonlog.domain.units_shown import in_units as in_units
from seasonlog.domain.units_shown import is_metric as is_metric
from seasonlog.domain.units_shown import line_names as line_names
from seasonlog.domain.units_shown import number as number
from seasonlog.domain.units_shown import shown_as as shown_as
from seasonlog.domain.units_shown import unit_words as unit_words
from seasonlog.services.days import moment

_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def day_words(day: date) -> str:
    """`Tue 6 Oct 2026`, the same in every locale."""
    return f"{_DAYS[day.weekday()]} {day.day} {_MONTHS[day.month - 1]} {day.year}"


def time_words(wall_ms: int, offset_minutes: int) -> str:
    """`6 Oct 2026 07:42`."""
    at = moment(wall_ms, offset_minutes)
    return f"{at.day} {_MONTHS[at.month - 1]} {at.year} {at:%H:%M}"


def joined(value: Any) -> str:
    """A stored value of one or more lines: `18.7 / 18.9 / 18.8`."""
    return value if isinstance(value, str) else " / ".join(str(v) for v in value)
