"""`seasonlog verify`: prove that nothing in the log was changed."""

import click

from seasonlog.cli import frame
from seasonlog.cli.frame import Frame, log_option, shows


@click.command()
@click.option("--quick", is_flag=True, help="Every hash and link, and the last signature of each device.")
@click.option("--held", metavar="FILE", help="A checkpoint that somebody kept: all that it covers must still be there.")
@click.option("--entry", metavar="UID", help="Only tell between which times this entry was written.")
@log_option
@shows
@click.pass_obj
def verify(
    obj: Frame, quick: bool, held: str | None, entry: str | None, log: str | None, as_json: bool, today: str | None
) -> int:
    """Prove that no entry of the log was changed, and name the first that was."""
    from seasonlog.services.audit import verify_log

    if entry is not None:
        return _entry(obj, log, entry, as_json=as_json)
    kept = frame.file_bytes(held).decode("utf-8", "replace") if held else ""
    found = verify_log(frame.places_of(obj, log), quick=quick, progress=frame.bar(), kept=kept)
    if as_json:
        frame.out_json(found.document())
    else:
        frame.out(found.says())
    return 0 if found.ok else 1


def _entry(obj: Frame, log: str | None, uid: str, *, as_json: bool) -> int:
    from seasonlog.services.audit import witnessed

    with frame.reading(obj, log) as book:
        found = witnessed(book, uid)
    if as_json:
        frame.out_json(found.document())
        return 0
    for line in found.lines():
        frame.out(line)
    return 0
