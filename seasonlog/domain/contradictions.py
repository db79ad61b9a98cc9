"""What in the register contradicts itself, each with its arithmetic.

A register is accepted as long as it hangs together; what cannot be true, or must not be, is listed here for a person.
What is merely not known is listed only where safety hangs on it. To add a rule, write one function and name it in the
table of its record type.
"""

from collections.abc import Iterator, Mapping
from datetime import date

from seasonlog.domain.contradictions_basin import BASIN_RULES, TOWER_RULES, circuit_without_heat
from seasonlog.domain.contradictions_control import CONTROL_RULES
from seasonlog.domain.contradictions_facts import Contradiction, Facts, Rule
from seasonlog.domain.contradictions_heater import HEATER_RULES
from seasonlog.domain.contradictions_record import (
    DEVICE_RULES,
    INSTRUMENT_RULES,
    PERSON_RULES,
    SITE_RULES,
    links,
    names,
)
from seasonlog.domain.practice import PracticeTable
from seasonlog.domain.register import Record, Register, word_of
from seasonlog.domain.severity import Severity
from seasonlog.errors import RatingError

__all__ = ["RULES", "Contradiction", "contradictions"]

RULES: Mapping[str, tuple[Rule, ...]] = {
    "site": SITE_RULES,
    "tower": TOWER_RULES,
    "basin": BASIN_RULES,
    "circuit": (*HEATER_RULES, *CONTROL_RULES, circuit_without_heat),
    "instrument": INSTRUMENT_RULES,
    "person": PERSON_RULES,
    "device": DEVICE_RULES,
}
"""The rules by the type of record they look at."""

_ORDER = tuple(Severity)


def contradictions(register: Register, practice: PracticeTable, on: date) -> tuple[Contradiction, ...]:
    """Every contradiction in the register, worst first, then in the order of the register.

    Args:
        register: Everything installed.
        practice: The table of constants, as shipped; each site's own is applied to its towers.
        on: The day of the check, for calibrations and qualifications.
    """
    facts = Facts(register, practice, on)
    found = [each for record in register.records() for each in _of(record, facts)]
    return tuple(sorted((*found, *links(register), *names(register)), key=lambda each: _ORDER.index(each.severity)))


def _of(record: Record, facts: Facts) -> Iterator[Contradiction]:
    for rule in RULES.get(word_of(record), ()):
        yield from _by(rule, record, facts)


def _by(rule: Rule, record: Record, facts: Facts) -> list[Contradiction]:
    """What one rule finds; figures that the arithmetic refuses are a contradiction themselves."""
    try:
        return list(rule(record, facts))
    except RatingError as refused:
        return [Contradiction(Severity.RECORD_GAP, f"{word_of(record)} {record.id}", str(refused))]
