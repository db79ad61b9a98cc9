"""The customer's copy of a visit: one page of plain words, made offline minutes after sign-off.

What was proven, what was not, what must be done tonight, what is offered for repair. It says what was measured and what
the limit is; it never says that something is safe.
"""

from collections.abc import Iterable, Iterator
from datetime import date, timedelta

from seasonlog.domain.coverage import PROVISIONAL_DAYS, shortfalls
from seasonlog.domain.finding import Finding
from seasonlog.domain.late import paper_of
from seasonlog.domain.units_shown import IN_PLAIN_LETTERS, in_units
from seasonlog.domain.visit import Meaning, Progress, Saved, VisitState
from seasonlog.services import attachments, findings
from seasonlog.services.findings import OFFERED, retest_words
from seasonlog.services.logbook import Logbook
from seasonlog.services.signing import doubts

_PASSED = {
    "season": "PROVEN: every step that applies to this tower passed.",
    "provisional": "PROVISIONALLY PROVEN until {until}: every step of the short enable passed.",
    "off": "PROVEN OFF: every step that applies to this tower passed.",
    "": "Every step that applies to this tower passed. This visit alone does not prove the season.",
}
"""What a visit without a shortfall shows, by what its checklist proves."""
_MEANINGS = {Meaning.DONE_BY: "Done by", Meaning.REVIEWED_BY: "Reviewed by", Meaning.RECEIVED_BY: "Received by"}


def customer_copy(book: Logbook, at: Progress) -> str:
    """The page as text.

    Args:
        book: The log.
        at: A visit, open or closed; an open one says so.
    """
    open_ones = findings.open_findings(book, tower=at.visit.tower)
    ours = [f for f in open_ones if f.step in at.answers]
    first = (_heading(book, at), _proven(at, open_ones), _measured(at))
    parts = (*first, _tonight(at, ours), _repairs(ours), _photos(book, at), _signatures(at))
    return "\n\n".join("\n".join(part) for part in parts if part) + "\n"


def _heading(book: Logbook, at: Progress) -> list[str]:
    site, tower = at.register.site_of(at.visit.tower), at.register.towers[at.visit.tower]
    lines = [at.checklist.title, f"{site.name}: {tower.name} ({tower.id})", f"{at.visit.day}, visit {at.visit.id}"]
    paper = paper_of(at.answers.values())
    if paper is not None:
        typed = sorted({saved.who for saved in at.answers.values()})
        lines.append(f"Entered late from paper: read on {paper.day} by {paper.by}, entered by {', '.join(typed)}")
    return ["DEMONSTRATION: invented history", *lines] if book.journal.is_demonstration else lines


def _proven(at: Progress, found: Iterable[Finding]) -> list[str]:
    if at.visit.state in (VisitState.INCOMPLETE, VisitState.NOT_POSSIBLE):
        return [f"This visit is {at.visit.state.replace('_', ' ')}: {at.visit.closed_words}. It proves nothing."]
    missing = [*shortfalls(at), *(f.reason for f in found if f.needs_retest)]
    if missing:
        return ["NOT PROVEN:", *(f"  - {in_units(reason, at.units, IN_PLAIN_LETTERS)}" for reason in missing)]
    until = date.fromisoformat(at.visit.day) + timedelta(days=PROVISIONAL_DAYS)
    return [_PASSED[at.checklist.proves].format(until=until)]


def _measured(at: Progress) -> list[str]:
    saved = [(i, a) for i in at.instances if (a := at.answers.get(i.key)) is not None and a.limits]
    lines = [f"  {i.named}: {in_units(a.says, at.units, IN_PLAIN_LETTERS)} [{_verdict(a)}]" for i, a in saved]
    return ["Measured:", *lines] if lines else []


def _verdict(saved: Saved) -> str:
    return str(saved.verdict).replace("_", " ") + (", corrected since first read" if saved.corrects else "")


def _tonight(at: Progress, found: Iterable[Finding]) -> list[str]:
    lines = [f"  - still in place, to be undone: {c.what}, {c.where}" for c in at.open_changes]
    lines += [f"  - {f.title}: {f.unprotected}" for f in found if f.unprotected]
    return ["To be done tonight:", *lines] if lines else []


def _repairs(found: Iterable[Finding]) -> list[str]:
    lines = [line for finding in found for line in _repair(finding)]
    return ["Repairs offered:", *lines] if lines else []


def _repair(found: Finding) -> Iterator[str]:
    answered = found.offers[-1] if found.offers else ""
    said = "accepted [ ]  declined [ ]" if answered.partition(" ")[0] in ("", OFFERED) else answered
    yield f"  - {found.id} {found.title} ({', '.join(found.parts) or 'see the record'}):  {said}"
    retest = retest_words(found)
    if retest:
        yield f"    {retest}"


def _photos(book: Logbook, at: Progress) -> list[str]:
    lines = [f"  - {each.step or 'visit'}: {each.says}" for each in attachments.listed(book, visit=at.visit.id)]
    return ["Photos and sound clips:", *lines] if lines else []


def _signatures(at: Progress) -> list[str]:
    return list(_signed(at)) or ["Not signed off yet."]


def _signed(at: Progress) -> Iterator[str]:
    for signature in at.visit.signatures:
        words = f": {signature.words}" if signature.words else ""
        doubt = doubts(at, signature)
        yield f"{_MEANINGS[signature.meaning]}: {signature.name}{words}{f'  ({doubt})' if doubt else ''}"
