"""The clock of the demonstration: it shows what it is told, in the time of the site where the work is done."""

from dataclasses import dataclass, field
from datetime import date, datetime, time
from zoneinfo import ZoneInfo

_DAY_MS = 86_400_000
_MINUTE_MS = 60_000
_EPOCH = date(1970, 1, 1)
_MORNING = time(7)
_WORK_MS = 10 * 60 * _MINUTE_MS
"""The longest day of work; what would reach past the present is told by the machine's own morning."""


@dataclass(slots=True)
class ToldClock:
    """A clock that shows the time it was told, twenty seconds later at every look."""

    now_ms: int
    home_minutes: int
    """Local time minus UTC where the demonstration is made."""
    present_ms: int
    """What it must not reach: the real time."""
    minutes: int = field(init=False)
    """Local time minus UTC where the clock is."""

    def __post_init__(self) -> None:
        self.minutes = self.home_minutes

    def wall_ms(self) -> int:
        """The time told, moving on."""
        self.now_ms += _MINUTE_MS // 3
        return self.now_ms

    def offset_minutes(self) -> int:
        """Local time minus UTC where the clock is."""
        return self.minutes

    def at(self, day: date) -> int:
        """Seven in the morning of a local day [ms UTC]."""
        return (day - _EPOCH).days * _DAY_MS + (7 * 60 - self.minutes) * _MINUTE_MS

    def to(self, day: date, zone: str = "") -> None:
        """Set it to the morning of a day; it never goes back.

        Args:
            day: The day at the place.
            zone: Time zone of the place; where the demonstration is made when empty.
        """
        self.minutes = _minutes(day, zone) if zone else self.home_minutes
        if self.at(day) + _WORK_MS > self.present_ms:
            self.minutes = self.home_minutes
        self.now_ms = max(self.now_ms, self.at(day))


def _minutes(day: date, zone: str) -> int:
    offset = datetime.combine(day, _MORNING, ZoneInfo(zone)).utcoffset()
    return round(offset.total_seconds() / 60) if offset is not None else 0
