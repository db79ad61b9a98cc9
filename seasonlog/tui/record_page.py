"""A record's history as list rows: each entry with who, when, which device; corrections with old, new and why."""

import json

from textual.content import Content

from seasonlog.domain.verdict import Verdict
from seasonlog.services.record_history import History, Line, when
from seasonlog.tui.rows import marks
from seasonlog.tui.widgets.row import Row, heading
from seasonlog.tui.wording import VERDICTS, Look, counted, say, say_lines

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
    """One entry; of a correction the old value and the new one stand first."""
    written = say(f"{when(line.entry)} · {line.entry.who} · device {line.entry.device[:8]} no. {line.seq}")
    doubt = [say(f"now {line.now}", "bold $foreground")] if line.now else []
    if line.corrects is None:
        look = _LOOKS.get(line.entry.kind, ENTRY)
        below = Content("\n").join([*doubt, written])
        return Row(f"entry:{line.entry.uid}", say(line.entry.says), below, _verdict(line), look)
    c = line.corrects
    words = [say(f"because {c.because}", "bold $foreground"), *doubt, written, say(line.entry.says)]
    return Row(
        f"entry:{line.entry.uid}", say(f"{c.named}: {c.old}  →  {c.new}"), Content("\n").join(words), look=CHANGED
    )


def _verdict(line: Line) -> tuple[Content, ...]:
    """What an answer is worth, at the right of its row."""
    told = Verdict.CANNOT_TELL.value if line.now else line.verdict
    found = VERDICTS.get(Verdict(told)) if told in set(Verdict) else None
    return () if found is None else marks((f"{found.symbol} {found.word}", found.tone))


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
