"""One record's whole history: every entry that made it what it is, what was corrected, who signed, when at the latest.

A record is an entry, a visit or a finding. Nothing is left out: an answer that was corrected stands beside the one that
stands for it now.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from seasonlog.domain.audit_rules import Correction
from seasonlog.domain.coverage_cells import EvidenceLine
from seasonlog.domain.finding import Finding, bases
from seasonlog.domain.instrument_doubt import AS_READ
from seasonlog.domain.plain_words import chosen
from seasonlog.domain.records import Kind
from seasonlog.domain.visit import Progress
from seasonlog.errors import InputRefusedError, Problem
from seasonlog.journal import audit_queries, held, queries, trust_queries
from seasonlog.journal.bracket import Brackets
from seasonlog.journal.encoding import Entry
from seasonlog.journal.stored import Stored
from seasonlog.services import coverage_facts, rounds
from seasonlog.services.days import local_words
from seasonlog.services.logbook import Logbook

_NAMED = (
    "says", "text", "because", "words", "what", "measure", "part", "checklist", "instrument", "to", "outcome", "id",
)  # fmt: skip
"""Fields of a body that tell what an entry is about, the most telling first."""
REVIEWS = {"stands": "the readings stand", "repeat": "the readings prove nothing and are to be made again"}
"""What a review of a recall says, in words."""
PARALLEL = "cannot tell: two devices answered differently, a supervisor decides"


@dataclass(frozen=True, slots=True)
class Line:
    """One entry of the history."""

    entry: EvidenceLine
    seq: int
    """Its number among its device's entries."""
    hash: str
    """Hex digits of the link."""
    bracket: str
    """Between which moments it was written, in words."""
    facts: Mapping[str, Any]
    """The entry's body, whole."""
    corrects: Correction | None = None
    """When it stands for an earlier one: old, new, who, when and why."""
    now: str = ""
    """Why an answer counts for nothing now: a recalled instrument, another device's answer. Empty where it stands."""

    @property
    def verdict(self) -> str:
        """Of an answer: what it was judged when it was written. Empty for anything else."""
        return str(self.facts.get("verdict", ""))


@dataclass(frozen=True, slots=True)
class History:
    """A record with all that happened to it."""

    uid: str
    """What was asked for."""
    what: str
    """`visit`, `finding`, or the kind of the entry."""
    says: str
    tower: str
    """Empty where it is about none."""
    visit: str
    """Id of the visit it belongs to, or empty."""
    lines: tuple[Line, ...]
    """Oldest first."""
    keep_until: str
    """In words; empty where it is no visit's."""

    @property
    def corrections(self) -> tuple[Correction, ...]:
        """Every correction in it."""
        return tuple(line.corrects for line in self.lines if line.corrects is not None)


def history(book: Logbook, uid: str) -> History:
    """Everything about one record.

    Args:
        book: The log.
        uid: An entry's uid, a visit's or a finding's id.

    Raises:
        InputRefusedError: the log holds no such record.
    """
    if queries.visit(book.db, uid) is not None:
        return _of_visit(book, uid)
    if queries.finding(book.db, uid) is not None:
        return _of_finding(book, uid)
    found = audit_queries.entries_of_uid(book.db, uid)
    if not found:
        words = "is neither an entry, a visit nor a finding of this log; `seasonlog coverage` and `findings` name them"
        raise InputRefusedError([Problem(f"record {uid}", words)])
    return _of_entry(book, uid, found)


def _of_visit(book: Logbook, visit: str) -> History:
    at = rounds.progress(book, visit)
    entries = audit_queries.entries_of_visit(book.db, visit)
    corrected = {c.uid: c for c in coverage_facts.corrections(at, entries)}
    words = f"{at.checklist.title} on {at.visit.day}, {at.visit.state.replace('_', ' ')}, by {at.visit.who}"
    kept = coverage_facts.kept_until(book, at).words
    own = _with(entries, _recalls_of(book, visit))
    return History(visit, "visit", words, at.visit.tower, visit, lines(book, own, corrected, at), kept)


def _of_finding(book: Logbook, ident: str) -> History:
    finding = queries.finding(book.db, ident)
    if finding is None:
        raise InputRefusedError([Problem(f"finding {ident}", "is not in this log")])
    about = audit_queries.entries_of_finding(book.db, ident, finding.tower, finding.step_id)
    own = _with(_while_it_stood(about, finding), _recalls(book, finding.retest))
    at = rounds.progress(book, finding.visit)
    words = f"{finding.severity.replace('_', ' ')}, {finding.state}: {finding.title}; {finding.says}"
    words += f"; reopened: {finding.doubt}" if finding.doubt else ""
    return History(ident, "finding", words, finding.tower, finding.visit, lines(book, own, {}, at), "")


def _with(entries: Iterable[Stored], more: Iterable[Stored]) -> list[Stored]:
    """Entries in causal order."""
    return sorted([*entries, *more], key=lambda s: (s.entry.hlc, s.entry.dev, s.entry.seq))


def _while_it_stood(entries: Iterable[Stored], finding: Finding) -> list[Stored]:
    """Without answers about another target, before the one that opened it, or after the one that closed it."""
    about = [s for s in entries if s.entry.body.get("target", finding.target) == finding.target]
    at = {stored.entry.uid: place for place, stored in enumerate(about)}
    first = at.get(finding.entry, 0)
    last = len(about) if finding.is_open else at.get(str(finding.retest.get("entry", "")), len(about))
    answered = Kind.STEP_ANSWERED
    return [s for place, s in enumerate(about) if s.entry.kind != answered or first <= place <= last]


def _recalls_of(book: Logbook, visit: str, step: str = "") -> Iterator[Stored]:
    """Recalls that reach a visit's readings, or that of one step, and what reviews say of them."""
    for recall in audit_queries.recalls(book.db):
        relied = audit_queries.relied_on(book.db, recall.instrument, recall.since)
        if any(each.visit == visit and step in ("", each.step) for each in relied):
            reviews = [r.uid for r in audit_queries.reviews(book.db, recall.id) if r.visit in ("", visit)]
            for uid in (recall.uid, *dict.fromkeys(reviews)):
                yield from audit_queries.entries_of_uid(book.db, uid)


def _recalls(book: Logbook, retest: Mapping[str, Any]) -> Iterator[Stored]:
    """Recalls of what the closing of a finding rests on, and their reviews, as far as they reach that reading."""
    told: dict[str, None] = {}
    for base in bases(retest) if retest else ():
        for recall in audit_queries.recalls(book.db, base["instrument"]) if base["instrument"] else ():
            if recall.since <= base["day"]:
                visits = ("", retest["visit"], base["visit"])
                reviews = [r.uid for r in audit_queries.reviews(book.db, recall.id) if r.visit in visits]
                told |= dict.fromkeys((recall.uid, *reviews))
    return (stored for uid in told for stored in audit_queries.entries_of_uid(book.db, uid))


def _of_entry(book: Logbook, uid: str, found: Iterable[Stored]) -> History:
    """An entry with those it corrects and those that correct it, back to the first observation."""
    own = list(found)
    body = own[0].entry.body
    visit, step = body.get("visit", ""), body.get("step", "")
    if visit and step:
        entries = audit_queries.entries_of_visit(book.db, visit)
        own = [stored for stored in entries if stored.entry.body.get("step") == step]
        own = _with(own, _recalls_of(book, visit, step))
        at = rounds.progress(book, visit)
        corrected = {c.uid: c for c in coverage_facts.corrections(at, entries)}
        kept = coverage_facts.kept_until(book, at).words
    else:
        at, corrected, kept = None, {}, ""
    told = lines(book, own, corrected, at)
    says = next((line.entry.says for line in told if line.entry.uid == uid), "")
    kind = next(stored.entry.kind for stored in own if stored.entry.uid == uid)
    return History(uid, kind, says, str(body.get("tower", "")), visit, told, kept)


def lines(
    book: Logbook, entries: Iterable[Stored], corrected: Mapping[str, Correction], at: Progress | None = None
) -> tuple[Line, ...]:
    """Entries as lines of a history.

    Args:
        book: The log.
        entries: In the order to be shown.
        corrected: Uid to what the entry corrects.
        at: The visit they belong to: it has the titles of the steps, and knows which answers are doubted now.
    """
    brackets = Brackets(held.checkpoints(book.db))
    titles = {} if at is None else {i.key: i.named for i in at.instances}
    doubts = {} if at is None else _doubts(book, at)
    return tuple(
        Line(
            evidence(s.entry, titles), s.entry.seq, s.hash.hex(), brackets.of(s.entry).words, s.entry.body,
            corrected.get(s.entry.uid), doubts.get(s.entry.uid, ""),
        )
        for s in entries
    )  # fmt: skip


def _doubts(book: Logbook, at: Progress) -> dict[str, str]:
    """Uid of each answer of a visit that counts for nothing now, to why."""
    recalled = {a.uid: a.says.partition(AS_READ)[0] for a in at.answers.values() if a.recalled}
    open_ones = (each for each in trust_queries.conflicts(book.db) if each.visit == at.visit.id)
    return recalled | {uid: PARALLEL for each in open_ones for uid in each.answers}


def evidence(entry: Entry, titles: Mapping[str, str] = MappingProxyType({})) -> EvidenceLine:
    """An entry in one line; `titles` has the steps' words, as far as they are known."""
    words = entry_words(entry.kind, entry.body, titles)
    return EvidenceLine(entry.uid, entry.kind, entry.wall, entry.offset, entry.who, entry.dev, words)


def entry_words(kind: str, body: Mapping[str, Any], titles: Mapping[str, str] = MappingProxyType({})) -> str:
    """What an entry says, in one line."""
    named = titles.get(body.get("step", ""), body.get("step", ""))
    colon = "" if named.endswith("?") else ":"
    if kind == Kind.STEP_ANSWERED:
        says = body["says"]
        value = chosen(coverage_facts.value_words(body), says)
        return f"{named}{colon} {says if value in says else f'{value}; {says}'}"
    if kind == Kind.STEP_SKIPPED:
        return f"{named}{colon} left out, {body['because']}"
    if kind == Kind.INSTRUMENT_RECALLED:
        return f"{body['instrument']} recalled for readings since {body['since']}: {body['because']}"
    if kind == Kind.RECALL_REVIEWED:
        return f"recall reviewed, {REVIEWS.get(body['outcome'], body['outcome'])}: {body['because']}"
    if kind == Kind.VISIT_SIGNED:
        return f"{body['meaning'].replace('_', ' ')} {body['name']}{': ' if body['words'] else ''}{body['words']}"
    if kind == Kind.VISIT_CLOSED:
        return f"closed as {body['outcome'].replace('_', ' ')}{': ' if body['because'] else ''}{body['because']}"
    told = next((str(body[name]) for name in _NAMED if isinstance(body.get(name), str) and body[name]), "")
    return f"{kind.replace('_', ' ')}: {told}" if told else kind.replace("_", " ")


def when(line: EvidenceLine) -> str:
    """Local time of an entry, with its distance from UTC."""
    return local_words(line.wall_ms, line.offset_minutes)


def document(found: History) -> dict[str, Any]:
    """For a script."""
    return {
        "record": found.uid,
        "what": found.what,
        "says": found.says,
        "tower": found.tower,
        "visit": found.visit,
        "keep_until": found.keep_until,
        "entries": [_line_document(line) for line in found.lines],
    }


def _line_document(line: Line) -> dict[str, Any]:
    corrects = line.corrects
    change = None if corrects is None else {
        "old": corrects.old, "new": corrects.new, "who": corrects.who, "when": corrects.when,
        "why": corrects.because, "corrects": corrects.corrects,
    }  # fmt: skip
    return {
        "uid": line.entry.uid, "kind": line.entry.kind, "when": when(line.entry), "who": line.entry.who,
        "device": line.entry.device, "seq": line.seq, "hash": line.hash, "time_bracket": line.bracket,
        "says": line.entry.says, "verdict": line.verdict, "now": line.now, "correction": change,
        "body": dict(line.facts),
    }  # fmt: skip
