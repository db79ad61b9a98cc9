"""Why readings with an instrument prove nothing: told before the first of them, and asked once whether to use it.

It is no bar: the technician may have nothing else on the roof. The reading says so then, and so does the record.
"""

from datetime import date

from seasonlog.domain.register_records import Instrument


def doubt(instrument: Instrument, on: date, recalled_since: str = "") -> str:
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
