"""A cell of the coverage as list rows: what is wrong, each visit held against every rule, the windows."""

from collections.abc import Iterator, Sequence

from textual.content import Content

from seasonlog.domain.audit_rules import CAVEAT
from seasonlog.domain.audit_words import amiss
from seasonlog.domain.coverage_cells import OpenedCell, OpenedVisit, Outcome, RuleResult
from seasonlog.tui import rows
from seasonlog.tui.coverage_page import CELLS
from seasonlog.tui.widgets.row import NOTHING, Row, heading
from seasonlog.tui.wording import Look, counted, plain, say

OUTCOMES = {
    Outcome.BROKEN: Look("✗", "BROKEN", "fail"),
    Outcome.CANNOT_TELL: Look("?", "CANNOT TELL", "unsure"),
    Outcome.KEPT: Look("✓", "KEPT", "pass"),
}
EVIDENCE = Look("»", "EVIDENCE", "cold")
WINDOW = Look("○", "WINDOW", "calm")
_ORDER = (Outcome.BROKEN, Outcome.CANNOT_TELL, Outcome.KEPT)


def cell(found: OpenedCell) -> list[Row]:
    """What is wrong first, then the visits, those that break a rule before the others, then the windows."""
    each, look = found.cell, CELLS[found.cell.state]
    kept = f"every {'other ' if each.late else ''}rule is kept, or nothing on record speaks against it"
    words = amiss(each.broken) or (kept if each.made else "")
    shown = [Row("", say(f"{look.word}: {each.words}"), say(words), look=look)]
    for visit in sorted(found.visits, key=_worst):
        shown += _visit(visit)
    if not found.visits:
        shown.append(Row("", Content("No visit"), Content("The record holds none for this window."), look=look))
    shown += _windows(found.windows)
    return [*shown, Row("", NOTHING, say(CAVEAT))]


def _worst(visit: OpenedVisit) -> bool:
    return not any(result.outcome is Outcome.BROKEN for result in visit.results)


def _windows(windows: Sequence[str]) -> Iterator[Row]:
    yield heading(f"WINDOWS · {len(windows)}" if windows else "NO WINDOW ASKS FOR IT")
    for each in windows:
        days, _, why = each.partition(": ")
        yield Row("", say(days), say(why), look=WINDOW)


def _visit(visit: OpenedVisit) -> Iterator[Row]:
    yield heading(f"{visit.title} · {visit.day} · {plain(visit.state)}")
    words = f"{visit.visit} by {visit.who} · to be kept {visit.keep_until}"
    yield Row(f"record:{visit.visit}", say(f"Whole history: {counted(len(visit.evidence), 'entry', 'entries')}"),
              say(words), look=EVIDENCE)  # fmt: skip
    kept = [result for result in visit.results if result.outcome is Outcome.KEPT]
    yield from (rule_row(result) for result in visit.results if result.outcome is not Outcome.KEPT)
    if kept:
        look = OUTCOMES[Outcome.KEPT]
        title = f"{counted(len(kept), 'rule')} kept"
        titles = say(" · ".join(result.title for result in kept))
        yield Row(f"rules:{visit.visit}", say(title), titles, rows.marks((look.word, look.tone)), look)


def rule_row(result: RuleResult) -> Row:
    """One rule that is broken or not to be told: what is wrong, why, which rule and which requirement it serves."""
    look = OUTCOMES[result.outcome]
    title, rule = result.title, ""
    if result.outcome is Outcome.BROKEN:
        title, rule = sentence(amiss((result.rule,))), f"{result.title}: "
    lines = [say(result.says, "$foreground")] if result.says else []
    lines.append(say(f"{rule}{result.requirement}"))
    key = f"record:{result.evidence[0]}" if result.evidence else ""
    return Row(key, say(title), Content("\n").join(lines), rows.marks((look.word, look.tone)), look)


def sentence(words: str) -> str:
    """Begins with a capital."""
    return words[:1].upper() + words[1:]


def rules(visit: OpenedVisit) -> Content:
    """Every rule of a visit with the requirement it serves, for a sheet."""
    told = []
    for result in sorted(visit.results, key=lambda each: _ORDER.index(each.outcome)):
        look = OUTCOMES[result.outcome]
        head = Content.assemble((f"{look.symbol} {look.word}  ", f"bold {look.ink}"), say(result.title, "bold"))
        says = [say(result.says)] if result.says else []
        told.append(Content("\n  ").join([head, *says, say(result.requirement, "$soft")]))
    return Content("\n\n").join([*told, say(CAVEAT, "$soft")])
