"""Until when a record must be kept at least. The log itself keeps everything for good: there is no way to delete.

The shortest times are those of NFPA 25 4.3 for another kind of equipment, used as a yardstick: a test's record is kept
for a year after the next test of its kind, the record of acceptance for the life of the system. Local rules and the
customer's contract may ask for more.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from dateutil.relativedelta import relativedelta

SOURCE = "NFPA 25 4.3, as a yardstick"
PINNED = "commissioning"
"""Occasion of a checklist whose record is kept for the life of the equipment."""
YEARS_PAST_NEXT = 1


@dataclass(frozen=True, slots=True)
class KeepUntil:
    """The least that must be kept."""

    until: date | None
    """The last day; None where no day can be told yet, or ever."""
    words: str


def keep_until(occasion: str, day: date, same_kind: Iterable[date]) -> KeepUntil:
    """Until when the record of a visit must be kept at least.

    Args:
        occasion: When its checklist is carried out, `fall`, `commissioning` ...
        day: The day of the visit.
        same_kind: Days of all finished visits of the same kind on the same tower.
    """
    if occasion == PINNED:
        return KeepUntil(None, f"for the life of the tower ({SOURCE})")
    following = min((each for each in same_kind if each > day), default=None)
    if following is None:
        return KeepUntil(None, f"until a year after the next one of its kind, which is not made yet ({SOURCE})")
    until = following + relativedelta(years=YEARS_PAST_NEXT)
    return KeepUntil(until, f"at least until {until}, a year after the next one of its kind ({SOURCE}); kept for good")
