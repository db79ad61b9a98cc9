"""What makes a visit's record evidence: every rule held against it, its time, how long it must be kept."""

from collections.abc import Iterator
from datetime import date

from seasonlog.domain.coverage_cells import CellKey, OpenedVisit, Outcome
from seasonlog.domain.visit import Progress
from seasonlog.export.report_model import Badge, Block, Column, Facts, Para, Table, Tone, Voice
from seasonlog.journal import audit_queries, held
from seasonlog.journal.bracket import Brackets
from seasonlog.services import coverage_cell
from seasonlog.services.logbook import Logbook
from seasonlog.services.reports_visit import Part
from seasonlog.services.reports_words import SiteWords

_OUTCOMES = {
    Outcome.KEPT: Badge("✓", "KEPT", Tone.PASS), Outcome.BROKEN: Badge("✗", "BROKEN", Tone.BAD),
    Outcome.CANNOT_TELL: Badge("?", "CANNOT TELL", Tone.UNSURE),
}  # fmt: skip


def parts(book: Logbook, at: Progress, words: SiteWords, on: date) -> list[Part]:
    """Rules, time and keeping of one visit.

    Args:
        book: The log.
        at: The visit.
        words: The ways of its site.
        on: The day the rules are held on.
    """
    visit = at.visit
    cell = coverage_cell.opened(book, CellKey(visit.tower, visit.checklist, visit.season), on)
    opened = next((each for each in cell.visits if each.visit == visit.id), None)
    rules = () if opened is None else tuple(_rules(opened, words))
    keep = ("To be kept", opened.keep_until if opened else "for good")
    made = [("Held against the rules", rules)] if rules else []
    return [*made, *written(book, visit.id, Brackets(held.checkpoints(book.db)), keep)]


def _rules(opened: OpenedVisit, words: SiteWords) -> Iterator[Block]:
    rows = tuple(
        (result.title, _OUTCOMES[result.outcome], words.text(result.says), result.requirement)
        for result in opened.results
    )
    if rows:
        columns = (Column("Rule", 2.4), Column("Outcome", 1.3), Column("Why", 2.8), Column("It serves", 3.2))
        yield Table("Every rule, broken ones first", columns, rows).filled()
        yield Para("The published rules are yardsticks; whether one binds this site is not said here.", Voice.SMALL)


def written(book: Logbook, visit: str, brackets: Brackets, *more: tuple[str, str]) -> list[Part]:
    """Between which times a visit was written down, and the hash that stands for its last entry.

    Args:
        book: The log.
        visit: Its id.
        brackets: The checkpoints held.
        more: Further facts.
    """
    entries = audit_queries.entries_of_visit(book.db, visit)
    if not entries:
        return []
    first, last = brackets.of(entries[0].entry).words, brackets.of(entries[-1].entry).words
    times = (("Written", first),) if first == last else (("First entry written", first), ("Last entry written", last))
    facts = Facts((*times, *more, ("Hash of the last entry", entries[-1].hash.hex()[:32])))
    return [("When it was written", (facts,))]
