"""Why readings with an instrument prove nothing: told before the first of them, and asked once whether to use it.

It is no bar: the technician may have nothing else on the roof. The reading says so then, and so does the record.
"""

from collections.abc import Mapping
from datetime import date
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from seasonlog.domain.register_records import Instrument

AS_READ = "; as read: "
"""Between why nothing can be told and what the reading says by its limit."""


def doubt(instrument: "Instrument", on: date, recalled_since: str = "") -> str:
    """What is known against an instrument on a day, in words; empty where nothing is.

    Args:
        instrument: As the register has it.
        on: The day of the reading.
        recalled_since: First day that a recall of it doubts, unless a review lets it stand; empty for none.
    """
    due = instrument.calibration_due
    known = ["no calibration on record"] if due is None else [f"overdue since {due}"] if due < on else []
    if recalled_since:
        known.append(f"recalled for readings since {recalled_since}")
    return f"{'; '.join(known)}: proves nothing" if known else ""


def in_doubt(recall: Mapping[str, str], as_read: str) -> str:
    """What a reading says that rests on a recalled instrument, itself or by its limit.

    Args:
        recall: `instrument`, `day` it was recalled on and `since` when its readings are doubted; `says`, what was read
            with it that the limit was worked from, where it is not the reading's own.
        as_read: What the reading says by its limit.
    """
    by = recall["instrument"]
    words = f"judged at {recall['says']}, read with {by}," if "says" in recall else f"{by} was"
    return f"{words} recalled on {recall['day']} for readings since {recall['since']}{AS_READ}{as_read}"
