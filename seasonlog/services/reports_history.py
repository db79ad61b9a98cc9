"""What a record said before: each answer that was replaced, each change of the register and of the plan, with its why.

Nothing is ever overwritten in the log, and a report hides no older value: it stands beside the newer one with who
changed it, when, and for which reason.
"""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from seasonlog.domain.plain_words import chosen
from seasonlog.domain.records import Kind
from seasonlog.domain.register_items import from_item
from seasonlog.domain.register_records import Instrument
from seasonlog.domain.visit import Visit
from seasonlog.journal import audit_queries, report_queries
from seasonlog.journal.encoding import Entry
from seasonlog.services.logbook import Logbook
from seasonlog.services.reports_words import joined, plain

_ANSWERS = (Kind.STEP_ANSWERED, Kind.STEP_SKIPPED)
LEFT_OUT = "left out: "
"""Before a person's own words for why."""
_PLAN_KINDS = (Kind.DUE_MOVED, Kind.DUE_DROPPED, Kind.WINTER_MODE_SET)


@dataclass(frozen=True, slots=True)
class Change:
    """One value that took the place of another."""

    tower: str
    what: str
    """Which value: `HOS-1, line amps`, or `HOS-1-H, plate amps`."""
    old: str
    new: str
    who: str
    wall_ms: int
    why: str
    unit: str = ""
    """Of an answer; empty for anything else."""


def of_visit(book: Logbook, visit: str) -> list[Change]:
    """Each answer of a visit that was replaced, with the one that came after it, step by step in the order of time."""
    chains: dict[str, list[Entry]] = {}
    for stored in audit_queries.entries_of_visit(book.db, visit):
        if stored.entry.kind in _ANSWERS:
            chains.setdefault(stored.entry.body["step"], []).append(stored.entry)
    return [_answer_change(before, after) for chain in chains.values() for before, after in pairwise(chain)]


def _answer_change(before: Entry, after: Entry) -> Change:
    body = after.body
    return Change(
        tower=str(body["tower"]),
        what=plain(str(body["step"])),
        old=_said(before.body),
        new=_said(body),
        who=after.who,
        wall_ms=after.wall,
        why=str(body.get("because") or _unsaid(before.body, body)),
        unit=str(body.get("unit", "")),
    )


def _said(body: Mapping[str, Any]) -> str:
    if "value" not in body:
        return f"{LEFT_OUT}{body['because']}"
    value = body["value"] if isinstance(body["value"], str) else joined(tuple(body["value"]))
    return f"{chosen(value, body['says'])} {body['unit']}".strip() + f" ({plain(body['verdict'])})"


def _unsaid(before: Mapping[str, Any], after: Mapping[str, Any]) -> str:
    if after.get("retest"):
        return "read again after a repair"
    return "answered after it was left out" if "value" not in before else "answered again"


def instruments_at(book: Logbook, visit: Visit) -> dict[str, Instrument]:
    """The instruments of a visit as the register had them when it began: the certificate of that day, not of today."""
    found: dict[str, Instrument] = {}
    for stored in report_queries.about(book.db, _REGISTER[:1], "id", sorted(set(visit.instruments.values()))):
        entry = stored.entry
        if entry.body["what"] == "instrument" and entry.wall <= visit.started_wall_ms:
            record, _ = from_item("instrument", entry.body["item"], str(entry.body["id"]))
            found |= {record.id: record} if isinstance(record, Instrument) else {}
    return found


def earlier_certificates(book: Logbook, known: Collection[Instrument]) -> dict[str, list[Instrument]]:
    """Each instrument as it was on record under the certificates before its present one, the newest first."""
    present = {each.id: each.certificate for each in known}
    found: dict[str, dict[str, Instrument]] = {ident: {} for ident in present}
    for stored in report_queries.about(book.db, _REGISTER[:1], "id", present):
        record, _ = from_item(str(stored.entry.body["what"]), stored.entry.body["item"], "log")
        if isinstance(record, Instrument) and record.certificate not in (None, present[record.id]):
            found[record.id][str(record.certificate)] = record
    return {ident: list(by_number.values())[::-1] for ident, by_number in found.items()}


_REGISTER = (Kind.REGISTER_RECORDED, Kind.REGISTER_RETIRED)


def of_register(book: Logbook, tower: str = "", idents: Collection[str] = ()) -> list[Change]:
    """What was changed in the register since each record was first made.

    Args:
        book: The log.
        tower: Only what is about this tower ...
        idents: ... and about these parts of it.
    """
    found = (
        report_queries.about(book.db, _REGISTER, "id", [tower, *idents])
        if tower
        else report_queries.of_kinds(book.db, *_REGISTER)
    )
    held: dict[tuple[str, str], Mapping[str, Any]] = {}
    changes: list[Change] = []
    for entry in (stored.entry for stored in found):
        key = (str(entry.body["what"]), str(entry.body["id"]))
        if entry.kind == Kind.REGISTER_RETIRED:
            because = str(entry.body["because"])
            changes.append(Change(tower, " ".join(key), "in the register", "retired", entry.who, entry.wall, because))
            continue
        if key in held:
            changes += _fields(tower, key, held[key], entry)
        held[key] = entry.body["item"]
    return changes


def _fields(tower: str, key: tuple[str, str], before: Mapping[str, Any], entry: Entry) -> Iterator[Change]:
    after = entry.body["item"]
    because = str(entry.body.get("because", ""))
    for name in dict.fromkeys([*before, *after]):
        old, new = before.get(name), after.get(name)
        if old != new:
            yield Change(tower, f"{key[1]}, {plain(name)}", _cell(old), _cell(new), entry.who, entry.wall, because)


def _cell(value: object) -> str:
    if value is None:
        return "not recorded"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return ", ".join(map(str, value)) if isinstance(value, list) else str(value)


def of_plan(book: Logbook, tower: str) -> list[Change]:
    """Due visits moved or taken out, and changes of the way it winters."""
    return [_plan_change(stored.entry) for stored in report_queries.about(book.db, _PLAN_KINDS, "tower", [tower])]


def _plan_change(entry: Entry) -> Change:
    body = entry.body
    because = str(body["because"])
    if entry.kind == Kind.WINTER_MODE_SET:
        return Change(
            body["tower"], f"winters, from {body['since']}", "", plain(body["mode"]), entry.who, entry.wall, because
        )
    what = f"{plain(body['checklist'])} {body['ordinal']} of season {body['season']}"
    new = f"planned for {body['to']}" if entry.kind == Kind.DUE_MOVED else "taken out"
    return Change(body["tower"], what, "by its window", new, entry.who, entry.wall, because)
