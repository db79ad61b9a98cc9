"""What is wrong when a rule of the audit is broken, in the words of screen and command line."""

from collections.abc import Iterable

AMISS = {
    "in_its_window": "made late",
    "signed_off": "not signed off",
    "signature_of_this_record": "a signature of another record",
    "steps_proven": "a required step did not pass",
    "people_qualified": "somebody not qualified",
    "instruments_calibrated": "an instrument out of calibration",
    "instruments_named": "an instrument not named",
    "instruments_stand": "an instrument recalled",
    "instruments_checked": "an instrument not checked before use",
    "order_kept": "steps out of their order",
    "failures_acted_on": "a failure without an action",
    "findings_closed": "a finding left open",
    "changes_restored": "a temporary change left in place",
    "corrections_told": "a correction without its reason",
    "lockout_certified": "a certificate with gaps",
    "people_named": "an entry without a name",
    "undisputed": "written by a device in dispute",
    "entered_at_the_time": "entered late from paper",
    "reviewed_by_another": "reviewed by nobody else",
}
"""What is wrong when a rule of the audit is broken, in few words."""


def amiss(broken: Iterable[str]) -> str:
    """What is wrong with a cell, in one line; empty when no rule is broken.

    Args:
        broken: Names of `audit_rules.RULES`.
    """
    return "; ".join(AMISS[rule] for rule in broken)
