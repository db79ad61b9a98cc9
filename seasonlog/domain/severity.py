"""How bad it is when a step fails: the six severities a finding can have, and what each means in one line."""

from enum import StrEnum


class Severity(StrEnum):
    """What a failed step may lead to."""

    FREEZE_RISK = "freeze_risk"
    DRY_FIRE_RISK = "dry_fire_risk"
    SHOCK_RISK = "shock_risk"
    WATER_OR_ICE = "water_or_ice"
    RUNS_WHEN_IT_SHOULD_NOT = "runs_when_it_should_not"
    RECORD_GAP = "record_gap"

    @property
    def means(self) -> str:
        """One line for a person who has not seen the word before."""
        return _MEANS[self]


_MEANS = {
    Severity.FREEZE_RISK: "The basin, a pipe or a coil can freeze: heat may not come on when it is needed.",
    Severity.DRY_FIRE_RISK: "The heater can run without water over it: it burns out, or starts a fire.",
    Severity.SHOCK_RISK: "A part that should be dead or bonded may be live: a person can be hurt.",
    Severity.WATER_OR_ICE: "Water runs where it should not: ice and weight on the roof, slippery ground below.",
    Severity.RUNS_WHEN_IT_SHOULD_NOT: "It runs when it should be off: wasted power, and a control not to be trusted.",
    Severity.RECORD_GAP: "Something is not known or not written down: nothing is proven by it.",
}
