"""Everything a log holds as tables: one CSV file each, for whoever wants to look with other tools."""

import json
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from typing import Any

from seasonlog.domain.fields import Kind as FieldKind
from seasonlog.domain.records import Kind
from seasonlog.domain.register import TYPES
from seasonlog.domain.register_items import to_item
from seasonlog.domain.register_records import SPECS
from seasonlog.domain.verdict import Verdict
from seasonlog.export.tables import CsvTable, Field, Holds, Value, is_number
from seasonlog.journal import audit_queries, queries, report_queries, trust_queries
from seasonlog.services import board, coverage, registry, season
from seasonlog.services.logbook import Logbook
from seasonlog.services.reports_history import of_register, of_visit
from seasonlog.services.reports_words import clock, joined

LINES = ("a", "b", "c")
"""Of a reading of three lines; a single one stands in the first."""
MOST_SEASONS = 50
"""More than any log holds; a season before the first tower is left out."""
_NUMBERS = (FieldKind.NUMBER, FieldKind.WHOLE)


def _n(*names: str) -> tuple[Field, ...]:
    return tuple(Field(name, Holds.NUMBER) for name in names)


def _t(*names: str) -> tuple[Field, ...]:
    return tuple(Field(name) for name in names)


def tables(book: Logbook, today: date) -> Iterator[CsvTable]:
    """Every table, one at a time; rows are read as they are written.

    Args:
        book: The log.
        today: The day coverage and due visits are told for.
    """
    yield from _register(book)
    yield _visits(book)
    yield _answers(book)
    yield _signatures(book)
    yield _findings(book)
    yield _coverage(book, today)
    yield _seasons(book, today)
    yield _recalls(book)
    yield _due(book, today)
    yield _changes(book)
    yield _notes(book)
    yield _temporary(book)
    yield _entries(book)


def _register(book: Logbook) -> Iterator[CsvTable]:
    """One file per type of record: `register-tower.csv`."""
    register = registry.whole(book.db)
    for what in TYPES:
        specs = SPECS[what]
        fields = tuple(
            Field(name, Holds.NUMBER if spec.kind in _NUMBERS else Holds.TEXT) for name, spec in specs.items()
        )
        rows = [[_flat(to_item(each).get(name)) for name in specs] for each in register.table(what).values()]
        yield CsvTable(f"register-{what}", fields, rows)


def _flat(value: object) -> Value:
    if value is None or isinstance(value, bool):
        return value
    if isinstance(value, Mapping):
        return ";".join(f"{name}={each}" for name, each in value.items())
    return ";".join(map(str, value)) if isinstance(value, list) else str(value)


def _every_visit(book: Logbook) -> Iterator[Any]:
    towers = [str(t) for (t,) in book.journal.query("SELECT DISTINCT tower FROM visit ORDER BY tower")]
    for tower in towers:
        yield from queries.visits_of(book.db, tower)


def _visits(book: Logbook) -> CsvTable:
    fields = (*_t("visit", "tower", "checklist"), *_n("season", "ordinal"), *_t("state", "day", "who", "qualified",
              "started_utc", "closed_utc", "closed_because", "instruments", "out_of_calibration",
              "checklist_sha256"))  # fmt: skip
    rows = (
        (v.id, v.tower, v.checklist, v.season, v.ordinal, str(v.state), v.day, v.who, v.qualified,
         clock(v.started_wall_ms, 0), clock(v.closed_wall_ms, 0) if v.closed_wall_ms else None, v.closed_words,
         ";".join(f"{kind}={ident}" for kind, ident in sorted(v.instruments.items())),
         ";".join(sorted(v.uncalibrated)), v.sha256)
        for v in _every_visit(book)
    )  # fmt: skip
    return CsvTable("visits", fields, rows)


def _answers(book: Logbook) -> CsvTable:
    """Every answer and skip ever given, the replaced ones too; `stands` says which count, `verdict_now` as what.

    `verdict` is what was judged when it was written. One that rests on a recalled instrument is `cannot_tell` now, and
    `recall` names why; so is one that two devices gave differently, until a supervisor decides.
    """
    fields = (
        *_t("visit", "tower", "step", "target", "stands", "verdict", "verdict_now", "recall", "typed", "value"),
        *_n(*(f"number_{line}" for line in LINES)), *_t("unit", "quantity"),
        *_n("low", "high", "pass_low", "pass_high"), *_t("basis", "source", "formula", "says", "instrument", "note"),
        *_t("corrects", "because", "who", "written_utc", "observed_at", "from_paper", "uid"),
    )  # fmt: skip
    return CsvTable("answers", fields, _answer_rows(book))


def _answer_rows(book: Logbook) -> Iterator[Sequence[Value]]:
    sql = "SELECT json_extract(doc, '$.uid'), coalesce(json_extract(doc, '$.recalled.recall'), '') FROM visit_step"
    standing = dict(book.journal.query(sql))
    parallel = {uid for each in trust_queries.conflicts(book.db) for uid in each.answers}
    for stored in report_queries.of_kinds(book.db, Kind.STEP_ANSWERED, Kind.STEP_SKIPPED):
        entry = stored.entry
        body: Mapping[str, Any] = entry.body
        step, _, target = str(body["step"]).partition("@")
        judged, *told = _answered(body) if entry.kind == Kind.STEP_ANSWERED else _skipped()
        recall = standing.get(entry.uid, "")
        is_doubted = recall or (entry.uid in standing and entry.uid in parallel)
        now = Verdict.CANNOT_TELL.value if is_doubted else judged if entry.uid in standing else None
        yield (
            body["visit"], body["tower"], step, body.get("target", target), entry.uid in standing, judged, now, recall,
            *told, body.get("instrument"), body.get("note"), body.get("corrects"), body.get("because"), entry.who,
            clock(entry.wall, 0), body.get("observed_at"), body.get("from_paper"), entry.uid,
        )  # fmt: skip


def _answered(body: Mapping[str, Any]) -> tuple[Value, ...]:
    values = [body["value"]] if isinstance(body["value"], str) else list(body["value"])
    numbers = [value if body["unit"] and is_number(value) else None for value in values]
    limit = body["limits"][0] if body["limits"] else {}
    edges = (_edge(limit.get(name)) for name in ("low", "high", "pass_low", "pass_high"))
    raw = body["raw"] if isinstance(body["raw"], str) else joined(tuple(body["raw"]))
    return (
        body["verdict"], raw, joined(tuple(values)), *[*numbers, None, None][:3], body["unit"], body["quantity"],
        *edges, limit.get("basis"), limit.get("source"), limit.get("formula"), body["says"],
    )  # fmt: skip


def _edge(text: str | None) -> str | None:
    """An edge as plain digits: a tiny one is recorded with an exponent."""
    return None if text is None else text if is_number(text) else f"{float(text):.18f}".rstrip("0").rstrip(".")


def _skipped() -> tuple[Value, ...]:
    return ("skipped", *[None] * 15)


def _signatures(book: Logbook) -> CsvTable:
    rows = (
        (v.id, v.tower, str(s.meaning), s.name, s.words, clock(s.wall_ms, 0), s.signs, s.moved)
        for v in _every_visit(book)
        for s in v.signatures
    )
    return CsvTable(
        "signatures", _t("visit", "tower", "meaning", "name", "words", "signed_utc", "signs", "moved"), rows
    )


def _findings(book: Logbook) -> CsvTable:
    fields = (*_t("finding", "tower", "site", "severity", "state", "step", "target", "title", "says", "unprotected",
              "opened_utc", "opened_by"), *_n("seen"), *_t("assigned", "assigned_due", "measures", "parts",
              "part_stages", "offers", "accepted_until", "accepted", "closed_utc", "closed", "causes", "visit",
              "entry", "reopened"))  # fmt: skip
    rows = (
        (f.id, f.tower, f.site, str(f.severity), str(f.state), f.step_id, f.target, f.title, f.says, f.unprotected,
         clock(f.opened_wall_ms, 0), f.opened_by, f.seen, f.assigned, f.assigned_due, "; ".join(f.measures),
         "; ".join(f.parts), "; ".join(f.part_stages), "; ".join(f.offers), f.accepted_until, f.accepted_words,
         clock(f.closed_wall_ms, 0) if f.closed_wall_ms else None, f.closed_words,
         "; ".join(c["says"] for c in f.causes), f.visit, f.entry, f.doubt)
        for f in queries.findings(book.db, open_only=False)
    )  # fmt: skip
    return CsvTable("findings", fields, rows)


def _coverage(book: Logbook, today: date) -> CsvTable:
    rows = (
        (tower, site, today.isoformat(), str(state.protection), "; ".join(state.reasons))
        for site, _, _ in queries.sites(book.db)
        for tower, _ in queries.towers_of(book.db, site)
        for state in (board.covered(book, registry.of_tower(book.db, tower), tower, today),)
    )
    return CsvTable("coverage", _t("tower", "site", "on", "protection", "reasons"), rows)


def _seasons(book: Logbook, today: date) -> CsvTable:
    """The table of coverage: each checklist of each tower and season, also of towers that are gone."""
    fields = (*_t("tower", "site", "retired", "checklist"), *_n("season"), *_t("state"), *_n("asked", "made", "late",
              "missing"), *_t("broken", "visits", "words"))  # fmt: skip
    found = coverage.grid(book, today, coverage.Wanted(seasons=MOST_SEASONS))
    towers = {row.tower: row for row in found.rows}
    rows = (
        (c.tower, towers[c.tower].site, towers[c.tower].retired, c.checklist, c.season, str(c.state), c.asked, c.made,
         c.late, c.missing, ";".join(c.broken), ";".join(c.visits), c.words)
        for c in found.cells.values()
    )  # fmt: skip
    return CsvTable("coverage-seasons", fields, rows)


def _recalls(book: Logbook) -> CsvTable:
    """Instruments recalled, each with its reviews."""
    fields = _t("recall", "instrument", "since", "recalled_on", "recalled_by", "because", "review_of_visit", "review",
                "reviewed_on", "reviewed_by", "review_because")  # fmt: skip
    none = audit_queries.Review("", "", "", "", "", "", "")
    rows = (
        (r.id, r.instrument, r.since, r.day, r.who, r.because, v.visit or ("all" if v.uid else ""), v.outcome, v.day,
         v.who, v.because)
        for r in audit_queries.recalls(book.db) for v in audit_queries.reviews(book.db, r.id) or [none]
    )  # fmt: skip
    return CsvTable("recalls", fields, rows)


def _due(book: Logbook, today: date) -> CsvTable:
    fields = (*_t("tower", "site", "checklist"), *_n("season", "ordinal"), *_t("state", "opens", "due", "planned",
              "planned_with"))  # fmt: skip
    rows = (
        (i.tower, i.site, i.checklist, i.season, i.ordinal, str(i.state), i.opens.isoformat(), i.due.isoformat(),
         i.planned.isoformat(), i.planned_with)
        for i in season.items(book, today)
    )  # fmt: skip
    return CsvTable("due", fields, rows)


def _changes(book: Logbook) -> CsvTable:
    """Old value, new value, who, when, why: of answers and of the register."""
    fields = _t("tower", "visit", "what", "old", "new", "who", "written_utc", "why")
    return CsvTable("changes", fields, _change_rows(book))


def _change_rows(book: Logbook) -> Iterator[Sequence[Value]]:
    for visit in _every_visit(book):
        for c in of_visit(book, visit.id):
            yield (c.tower, visit.id, c.what, c.old, c.new, c.who, clock(c.wall_ms, 0), c.why)
    for c in of_register(book):
        yield (c.tower, None, c.what, c.old, c.new, c.who, clock(c.wall_ms, 0), c.why)


def _notes(book: Logbook) -> CsvTable:
    sql = "SELECT tower, visit, step, who, wall, text FROM note ORDER BY pos"
    rows = ((t, v, s, w, clock(wall, 0), text) for t, v, s, w, wall, text in book.journal.query(sql))
    return CsvTable("notes", _t("tower", "visit", "step", "who", "written_utc", "text"), rows)


def _temporary(book: Logbook) -> CsvTable:
    sql = "SELECT visit, tower, change, what, place, who, restored FROM temporary_change ORDER BY pos"
    rows = ((*row[:6], bool(row[6])) for row in book.journal.query(sql))
    return CsvTable("temporary-changes", _t("visit", "tower", "change", "what", "where", "who", "undone"), rows)


def _entries(book: Logbook) -> CsvTable:
    """The log itself: each entry with its hash and its body, so that nothing is left out."""
    fields = (*_t("device"), *_n("seq"), *_t("hash", "uid", "who", "kind", "written_utc"), *_n("offset_minutes"),
              *_t("body"))  # fmt: skip
    rows = (
        (e.dev, e.seq, s.hash.hex(), e.uid, e.who, e.kind, clock(e.wall, 0), e.offset,
         json.dumps(e.body, ensure_ascii=False, sort_keys=True))
        for s in report_queries.every_entry(book.db) for e in (s.entry,)
    )  # fmt: skip
    return CsvTable("entries", fields, rows)
