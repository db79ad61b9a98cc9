"""A record's history as list rows: each entry with who, when, which device; corrections with old, new and why."""

import json
from collections.abc import Iterator

from textual.content import Content

from seasonlog.services.record_history import History, Line, when
from seasonlog.tui.widgets.row import Row, heading
from seasonlog.tui.wording import Look, counted, say, say_lines

CHANGED = Look("✎", "CORRECTED", "near-fail")
SIGNED = Look("✒", "SIGNED", "pass")
ENTRY = Look("·", "", "calm")
ABOUT = Look("»", "", "cold")
_LOOKS = {"visit_signed": SIGNED, "visit_closed": SIGNED}


def history(found: History) -> list[Row]:
    """What it is, its corrections, then every entry, oldest first."""
    kept = f"to be kept {found.keep_until}" if found.keep_until else "kept for good"
    count = counted(len(found.lines), "entry", "entries")
    shown = [Row("", say(found.says), say(f"{found.what} {found.uid} · {count} · {kept}"), look=ABOUT)]
    if found.corrections:
        shown.append(heading(f"CORRECTIONS · {len(found.corrections)}"))
        shown += [entry(line) for line in found.lines if line.corrects is not None]
    shown.append(heading("EVERY ENTRY, OLDEST FIRST"))
    return [*shown, *(entry(line) for line in found.lines)]


def entry(line: Line) -> Row:
    """One entry."""
    words = [say(f"{when(line.entry)} · {line.entry.who} · device {line.entry.device[:8]} no. {line.seq}")]
    words += list(_correction(line))
    look = CHANGED if line.corrects else _LOOKS.get(line.entry.kind, ENTRY)
    return Row(f"entry:{line.entry.uid}", say(line.entry.says), Content("\n").join(words), look=look)


def _correction(line: Line) -> Iterator[Content]:
    if line.corrects is not None:
        c = line.corrects
        yield say(f"{c.old}  →  {c.new}", "bold $foreground")
        yield say(f"{c.who}, {c.when}, because {c.because}")


def whole(line: Line) -> Content:
    """An entry with everything in it, for a sheet."""
    facts = json.dumps(dict(line.facts), ensure_ascii=False, indent=2, sort_keys=True)
    parts = [
        ("written", f"{when(line.entry)} by {line.entry.who}"),
        ("bracket", line.bracket),
        ("device", f"{line.entry.device}, its entry number {line.seq}"),
        ("uid", line.entry.uid),
        ("hash", line.hash),
        ("kind", line.entry.kind),
    ]
    told = [Content.assemble((f"{name:<8} ", "$soft"), say(value)) for name, value in parts]
    if line.corrects is not None:
        c = line.corrects
        told.append(Content.assemble(("instead  ", "$soft"), say(f"{c.old} → {c.new}, because {c.because}")))
    return Content("\n").join([*told, Content(""), say_lines(facts)])
