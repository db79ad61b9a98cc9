"""Where the time of an entry comes from. Tests, the demo and simulations pass a clock of their own."""

import time
from datetime import datetime
from typing import Protocol


class Clock(Protocol):
    """What the log asks of a clock."""

    def wall_ms(self) -> int:
        """Milliseconds since 1970-01-01 00:00 UTC."""
        ...

    def offset_minutes(self) -> int:
        """Local time minus UTC [min], so that a record can be shown in the technician's own time."""
        ...


class SystemClock:
    """The machine's own clock and time zone."""

    def wall_ms(self) -> int:
        """Milliseconds since 1970-01-01 00:00 UTC."""
        return time.time_ns() // 1_000_000

    def offset_minutes(self) -> int:
        """Local time minus UTC [min]."""
        offset = datetime.now().astimezone().utcoffset()
        return 0 if offset is None else int(offset.total_seconds()) // 60
