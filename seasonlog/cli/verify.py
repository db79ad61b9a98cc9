"""`seasonlog verify`: prove that nothing in the log was changed."""

import click

from seasonlog.cli import frame
from seasonlog.cli.frame import Frame, log_option, shows


@click.command()
@click.option("--quick", is_flag=True, help="Every hash and link, and the last signature of each device.")
@log_option
@shows
@click.pass_obj
def verify(obj: Frame, quick: bool, log: str | None, as_json: bool, today: str | None) -> int:
    """Prove that no entry of the log was changed, and name the first that was."""
    from seasonlog.services.audit import verify_log

    at = frame.places_of(obj, log)
    found = verify_log(at, quick=quick, progress=_progress if frame.shows_progress() else None)
    if as_json:
        frame.out_json(found.document())
    else:
        frame.out(found.says())
    return 0 if found.ok else 1


def _progress(done: int, total: int) -> None:
    frame.part_done(done, done / max(total, 1))
