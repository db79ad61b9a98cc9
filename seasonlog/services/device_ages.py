"""How old the newest entry received of every device is, so that silence is not taken for an answer."""

import json
from dataclasses import dataclass

from seasonlog.journal import trust_queries
from seasonlog.services.logbook import Logbook

MINUTE_MS, HOUR_MS, DAY_MS = 60_000, 3_600_000, 86_400_000
MUCH_AHEAD_MS = 10 * MINUTE_MS
"""A device whose newest entry is later than now by more than this has a clock that is wrong, or ours is."""
SILENCE = "What they wrote since is not known here: it counts neither as done nor as not done."


@dataclass(frozen=True, slots=True)
class DeviceAge:
    """The newest entry of a device that is here."""

    dev: str
    name: str
    """As enrolled; else what its id begins with."""
    newest_ms: int
    """By the device's own clock; 0 when nothing of it is here yet."""
    is_own: bool
    words: str
    """Its age: `3 days ago`."""


def device_ages(book: Logbook) -> tuple[DeviceAge, ...]:
    """Every device that may still add, the longest silent first; empty while the log has one device only."""
    known = [d for d in trust_queries.devices(book.db) if d.state != "revoked"]
    if len(known) < 2:
        return ()
    now, own = book.around.clock.wall_ms(), book.journal.device_id
    found = []
    for device in known:
        newest = _newest_ms(book, device.dev)
        name = device.name or f"device {device.dev[:4]}"
        found.append(DeviceAge(device.dev, name, newest, device.dev == own, age_words(newest, now)))
    return tuple(sorted(found, key=lambda d: (d.newest_ms, d.dev)))


def _newest_ms(book: Logbook, dev: str) -> int:
    rows = book.journal.query("SELECT line FROM entry WHERE dev = ? ORDER BY seq DESC LIMIT 1", [dev])
    return int(json.loads(rows[0][0])["wall"]) if rows else 0


def age_words(then_ms: int, now_ms: int) -> str:
    """How long ago, in the largest whole unit."""
    if not then_ms:
        return "nothing received yet"
    ago = now_ms - then_ms
    if ago < -MUCH_AHEAD_MS:
        return f"{_span(-ago)} ahead: a clock is wrong"
    return "just now" if ago < MINUTE_MS else f"{_span(ago)} ago"


def _span(ms: int) -> str:
    for unit_ms, name in ((DAY_MS, "day"), (HOUR_MS, "hour"), (MINUTE_MS, "minute")):
        count = ms // unit_ms
        if count >= 1:
            return f"{count} {name}" if count == 1 else f"{count} {name}s"
    return "seconds"


def ages_line(ages: tuple[DeviceAge, ...]) -> str:
    """All other devices in one line: `roof tablet: 3 days ago`; empty when there is none."""
    return " · ".join(f"{each.name}: {each.words}" for each in ages if not each.is_own)
