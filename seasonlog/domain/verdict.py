"""What a reading or an observation is worth: the word every record and screen uses."""

from enum import StrEnum


class Verdict(StrEnum):
    """What a value is worth. Near fail and fail open a finding; cannot tell never counts as proof."""

    PASS = "pass"  # noqa: S105
    NEAR_PASS = "near_pass"  # noqa: S105
    NEAR_FAIL = "near_fail"
    FAIL = "fail"
    CANNOT_TELL = "cannot_tell"
