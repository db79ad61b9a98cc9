"""The clock of the demonstration: it shows what it is told."""

from dataclasses import dataclass
from datetime import date

_DAY_MS = 86_400_000
_MINUTE_MS = 60_000
_EPOCH = date(1970, 1, 1)


@dataclass(slots=True)
class ToldClock:
    """A clock that shows the time it was told, twenty seconds later at every look."""

    now_ms: int
    minutes: int

    def wall_ms(self) -> int:
        """The time told, moving on."""
        self.now_ms += _MINUTE_MS // 3
        return self.now_ms

    def offset_minutes(self) -> int:
        """Local time minus UTC, as where the demo is built."""
        return self.minutes

    def at(self, day: date) -> int:
        """Seven in the morning of a local day [ms UTC]."""
        return (day - _EPOCH).days * _DAY_MS + (7 * 60 - self.minutes) * _MINUTE_MS

    def to(self, day: date) -> None:
        """Set it to the morning of a day; it never goes back."""
        self.now_ms = max(self.now_ms, self.at(day))
