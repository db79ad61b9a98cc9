"""`seasonlog record`: one record's whole history."""

import click

from seasonlog.cli import frame
from seasonlog.cli.frame import Frame, log_option, shows


@click.command()
@click.argument("uid", metavar="UID")
@log_option
@shows
@click.pass_obj
def record(obj: Frame, uid: str, log: str | None, as_json: bool, today: str | None) -> int:
    """A visit, a finding or an entry with its whole history: every entry, every correction, every signature."""
    from collections import Counter

    from seasonlog.domain.plain_words import counted
    from seasonlog.domain.units_shown import IN_PLAIN_LETTERS
    from seasonlog.services import record_history, record_units

    with frame.reading(obj, log) as book:
        found = record_history.history(book, uid)
        found = found if as_json else record_units.as_read(book, found, IN_PLAIN_LETTERS)
    if as_json:
        frame.out_json(record_history.document(found))
        return 0
    frame.out(f"{found.what} {found.uid}{': ' if found.says else ''}{found.says}")
    for line in found.lines:
        verdict = f"  [{line.verdict.replace('_', ' ')}]" if line.verdict else ""
        frame.out(f"{record_history.when(line.entry)}  {line.entry.who}  {line.entry.says}{verdict}")
        if line.now:
            frame.out(f"    NOW {line.now}")
        frame.out(f"    entry {line.entry.uid}, device {line.entry.device} number {line.seq}, hash {line.hash[:16]}")
        if line.corrects is not None:
            c = line.corrects
            frame.out(f"    CORRECTION {c.old} -> {c.new}, by {c.who}, {c.when}, because {c.because} ({c.corrects})")
    brackets = Counter(line.bracket for line in found.lines)
    for words, count in brackets.items():
        which = f" ({counted(count, 'entry', 'entries')})" if len(brackets) > 1 else ""
        frame.out(f"written{which}: {words}")
    if found.keep_until:
        frame.out(f"to be kept {found.keep_until}")
    return 0
