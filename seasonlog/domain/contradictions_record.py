"""Contradictions of the record itself: dates, what has run out, site figures, dangling links, look-alike names."""

from collections.abc import Iterator

from seasonlog.domain.contradictions_facts import Contradiction, Facts, Rule, at
from seasonlog.domain.register import Device, Instrument, Person, Record, Register, Site, word_of
from seasonlog.domain.register_links import unlinked
from seasonlog.domain.register_names import look_alikes
from seasonlog.domain.season import is_southern, place
from seasonlog.domain.severity import Severity
from seasonlog.domain.text import visible

_ANY_SEASON = 2001
"""A season without a leap day, to lay month-days out in."""


def calibration_overdue(instrument: Instrument, facts: Facts) -> Iterator[Contradiction]:
    """An instrument whose readings prove nothing."""
    due = instrument.calibration_due
    if due is not None and due < facts.on:
        says = f"was due on {due}, {_days((facts.on - due).days)} ago: its readings are kept but prove nothing"
        yield Contradiction(Severity.RECORD_GAP, at(instrument, "calibration_due"), says)


def found_out_of_tolerance(instrument: Instrument, facts: Facts) -> Iterator[Contradiction]:
    """An instrument that the laboratory found wrong: what was read with it since the calibration before is in doubt."""
    if instrument.as_found == "out_of_tolerance":
        says = (
            "was found out of tolerance at its newest calibration: readings since the one before are in doubt; "
            "`seasonlog instrument recall` lists and recalls them"
        )
        yield Contradiction(Severity.RECORD_GAP, at(instrument, "as_found"), says)


def range_reversed(instrument: Instrument, facts: Facts) -> Iterator[Contradiction]:
    """A range whose low end is not below its high end."""
    low, high = instrument.range_low, instrument.range_high
    if low is not None and high is not None and low >= high:
        says = f"range from {low:f} to {high:f}: the low end must be below the high end"
        yield Contradiction(Severity.RECORD_GAP, at(instrument, "range_low"), says)


def qualification_over(person: Person, facts: Facts) -> Iterator[Contradiction]:
    """A person held qualified for energised work, past the last day of it."""
    until = person.qualified_until
    if person.qualified_energised and until is not None and until < facts.on:
        says = (
            f"qualified for energised work until {until}, {_days((facts.on - until).days)} ago: renew it or take it off"
        )
        yield Contradiction(Severity.RECORD_GAP, at(person, "qualified_until"), says)


def _days(count: int) -> str:
    return "1 day" if count == 1 else f"{count} days"


def removed_before_installed(device: Device, facts: Facts) -> Iterator[Contradiction]:
    """A device that came out before it went in."""
    if device.installed is not None and device.removed is not None and device.removed < device.installed:
        says = f"removed on {device.removed}, before it was installed on {device.installed}"
        yield Contradiction(Severity.RECORD_GAP, at(device, "removed"), says)


def freeze_dates_reversed(site: Site, facts: Facts) -> Iterator[Contradiction]:
    """First and last freeze do not come in this order in a winter of the site's hemisphere."""
    first, last = (place(each, _ANY_SEASON, site.latitude_deg) for each in (site.first_freeze, site.last_freeze))
    if first < last:
        return
    half = "south" if is_southern(site.latitude_deg) else "north"
    months = "February to January" if is_southern(site.latitude_deg) else "August to July"
    says = (
        f"first freeze {site.first_freeze} is not before last freeze {site.last_freeze} in a season {half} of the "
        f"equator ({months}), latitude {site.latitude_deg:f}: the dates are swapped or the latitude's sign is wrong"
    )
    yield Contradiction(Severity.FREEZE_RISK, at(site, "first_freeze"), says)


def design_below_record(site: Site, facts: Facts) -> Iterator[Contradiction]:
    """Designed for colder than it ever was."""
    design, record = site.design_degf, site.record_low_degf
    if design is not None and record is not None and design < record:
        says = f"design temperature {design:f} degF is below the record low of {record:f} degF"
        yield Contradiction(Severity.RECORD_GAP, at(site, "design_degf"), says)


def loosened(site: Site, facts: Facts) -> Iterator[Contradiction]:
    """A site constant that the table of limits refuses."""
    for problem in facts.practice.tighten_problems(site.tighten, f"site {site.id}"):
        yield Contradiction(Severity.RECORD_GAP, problem.where, problem.says)


def links(register: Register) -> Iterator[Contradiction]:
    """Links that lead nowhere or to the wrong place."""
    for problem in unlinked(register, register.records()):
        yield Contradiction(Severity.RECORD_GAP, problem.where, problem.says)


def names(register: Register) -> Iterator[Contradiction]:
    """Names that a person could take for one another."""
    for first, second in look_alikes(register.records()):
        says = f"{_called(second)} could be taken for {word_of(first)} {first.id}, {_called(first)}"
        yield Contradiction(Severity.RECORD_GAP, at(second, "name" if hasattr(second, "name") else "id"), says)


def _called(record: Record) -> str:
    name = getattr(record, "name", None)
    return f'"{visible(name)}"' if name else f'"{record.id}"'


INSTRUMENT_RULES: tuple[Rule, ...] = (calibration_overdue, found_out_of_tolerance, range_reversed)
PERSON_RULES: tuple[Rule, ...] = (qualification_over,)
DEVICE_RULES: tuple[Rule, ...] = (removed_before_installed,)
SITE_RULES: tuple[Rule, ...] = (freeze_dates_reversed, design_below_record, loosened)
