"""Findings: what is wrong, who has it, what was done for tonight, and how it may end."""

from collections.abc import Iterable
from dataclasses import replace
from datetime import date

from seasonlog.domain.finding import RETESTED, Finding, FindingState
from seasonlog.domain.records import Kind, Record
from seasonlog.domain.text import visible
from seasonlog.domain.units_shown import ON_SCREEN, in_units
from seasonlog.errors import InputRefusedError, Problem
from seasonlog.journal import queries
from seasonlog.services import registry
from seasonlog.services.logbook import Logbook
from seasonlog.services.reasons import note_in, reason_in, refuse
from seasonlog.services.rounds import person_of

STAGES = ("ordered", "promised", "fitted")
"""What can be said of a part."""
OFFERED, DECLINED = "offered", "declined"
ANSWERS = (OFFERED, "accepted", DECLINED)
"""What can be said of a repair."""


def open_findings(book: Logbook, *, site: str = "", tower: str = "") -> list[Finding]:
    """Findings that still need a person, worst first, then oldest."""
    found = queries.findings(book.db, open_only=True, site=site, tower=tower)
    return sorted(found, key=lambda f: (not f.needs_retest, f.opened_wall_ms, f.id))


def all_findings(book: Logbook, *, site: str = "", tower: str = "") -> list[Finding]:
    """Every finding, closed ones too, oldest first."""
    return queries.findings(book.db, open_only=False, site=site, tower=tower)


def named(book: Logbook, ident: str) -> Finding:
    """One finding by its id."""
    found = queries.finding(book.db, ident.upper())
    if found is None:
        raise InputRefusedError([Problem(f"finding {ident}", "is not in this log; `seasonlog findings` lists them")])
    return found


def as_read(book: Logbook, found: Iterable[Finding], signs: tuple[str, str] = ON_SCREEN) -> list[Finding]:
    """Findings with what was read and allowed in the units of their sites, for whoever reads them."""
    found = list(found)
    units = {tower: registry.units_of(book.db, tower) for tower in {f.tower for f in found}}
    return [_in_units(f, units[f.tower], signs) for f in found]


def _in_units(found: Finding, units: str, signs: tuple[str, str]) -> Finding:
    says, doubt = (in_units(words, units, signs) for words in (found.says, found.doubt))
    retested = found.closed_words.startswith(RETESTED)  # else they are a person's own words
    closed = in_units(found.closed_words, units, signs) if retested else found.closed_words
    return replace(found, says=says, doubt=doubt, closed_words=closed)


def _open(book: Logbook, ident: str) -> Finding:
    found = named(book, ident)
    if not found.is_open:
        raise InputRefusedError([Problem(f"finding {found.id}", f"is {found.state} already: {found.closed_words}")])
    return found


def assign(book: Logbook, ident: str, to: str, due: date | None = None) -> Finding:
    """Give a finding to somebody."""
    found = _open(book, ident)
    body = {"finding": found.id, "to": reason_in("assign", to), "due": due.isoformat() if due else ""}
    book.write(Record(Kind.FINDING_ASSIGNED, body))
    return named(book, found.id)


def take_measure(book: Logbook, ident: str, measure: str, told: str, told_at: str) -> Finding:
    """Record what gets the tower through the night, who was told and when."""
    found = _open(book, ident)
    body = {
        "finding": found.id,
        "measure": reason_in("measure", measure),
        "told": reason_in("told", told),
        "told_at": reason_in("told at", told_at),
    }
    book.write(Record(Kind.FINDING_MEASURE_TAKEN, body))
    return named(book, found.id)


def note_part(book: Logbook, ident: str, part: str, stage: str, on: date) -> Finding:
    """Record that a part was ordered, is promised for a day, or was fitted."""
    found = _open(book, ident)
    if stage not in STAGES:
        raise InputRefusedError([Problem("part", f'"{stage}" is not one of {", ".join(STAGES)}')])
    body = {"finding": found.id, "part": reason_in("part", part), "stage": stage, "on": on.isoformat()}
    book.write(Record(Kind.FINDING_PART_NOTED, body))
    return named(book, found.id)


def retest_words(found: Finding) -> str:
    """What a fitted part still needs; empty while there is none, and once it was tested."""
    if not found.awaits_retest:
        return ""
    about = f" at {found.target}" if found.target and "@" not in found.step else ""
    return f"a part was fitted: test {found.step}{about} again (repair-retest); only a retest that passes closes it"


def answer_offer(book: Logbook, ident: str, answer: str, by: str, words: str, visit: str = "") -> Finding:
    """Record that a repair was offered, or what the customer said to it.

    Args:
        book: The log.
        ident: The finding whose repair it is.
        answer: One of `ANSWERS`.
        by: Who of the customer answered; may be empty only where it is only offered.
        words: Their words, or empty; declined needs them.
        visit: The visit it was offered in, or empty.
    """
    found = _open(book, ident)
    if answer not in ANSWERS:
        raise refuse("repair", f'"{visible(answer[:40])}" is not one of {", ".join(ANSWERS)}')
    if visit and queries.visit(book.db, visit) is None:
        raise refuse(f"visit {visit}", "is not in this log")
    if answer != OFFERED and not by.strip():
        raise refuse("repair", f"{answer} by whom of the customer? A name is needed")
    if answer == DECLINED and not words.strip():
        raise refuse("repair", "declined needs the customer's words")
    body = {
        "finding": found.id, "visit": visit, "answer": answer, "by": note_in("by", by).strip(),
        "words": note_in("words", words),
    }  # fmt: skip
    book.write(Record(Kind.REPAIR_ANSWERED, body))
    return named(book, found.id)


def accept(book: Logbook, ident: str, customer: str, until: date, because: str) -> Finding:
    """A supervisor and the customer's decision-maker accept it until a day, after which it is open again."""
    found = _open(book, ident)
    _supervisor(book, "accept")
    if until < book.today():
        raise InputRefusedError([Problem("until", f"{until.isoformat()} is past; name a day still to come")])
    body = {
        "finding": found.id,
        "by": book.who,
        "customer": reason_in("customer", customer),
        "until": until.isoformat(),
        "because": reason_in("accept", because),
    }
    book.write(Record(Kind.FINDING_ACCEPTED, body))
    return named(book, found.id)


def close(book: Logbook, ident: str, because: str) -> Finding:
    """Close a finding in words. One that can freeze, burn or shock closes only by a passed retest."""
    found = _open(book, ident)
    if found.needs_retest:
        words = (
            f"is a {found.severity.replace('_', ' ')}: it closes by a passed retest of {found.step_id}, or by `accept`"
        )
        raise InputRefusedError([Problem(f"finding {found.id}", words)])
    book.write(Record(Kind.FINDING_CLOSED, {"finding": found.id, "because": reason_in("close", because)}))
    return named(book, found.id)


def is_supervisor(book: Logbook) -> bool:
    """Whether the person who writes is on record as a supervisor."""
    person = person_of(registry.shared(book.db), book.who)
    return person is not None and "supervisor" in person.roles


def _supervisor(book: Logbook, what: str) -> None:
    if not is_supervisor(book):
        words = f"{book.who} is not on record as a supervisor; only a supervisor may {what} a finding"
        raise InputRefusedError([Problem(what, words)])


def tonight(found: list[Finding], today: date) -> list[Finding]:
    """The findings that leave a tower unprotected tonight."""
    return [f for f in found if f.unprotected and f.state_on(today) is FindingState.OPEN]
