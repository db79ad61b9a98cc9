"""`seasonlog demo`: everything to try it on, in a folder of its own."""

import tempfile
from pathlib import Path

import click

from seasonlog.cli import frame
from seasonlog.cli.frame import Frame, log_option, shows


@click.command()
@click.option("--dir", "folder", metavar="DIR", help="Build it here; a fresh folder when not given.")
@click.option("--brief", is_flag=True, help="One fall only, made at once.")
@click.option("--no-open", is_flag=True, help="Do not open the app; say what was built and what to try.")
@log_option
@shows
@click.pass_obj
def demo(
    obj: Frame, folder: str | None, brief: bool, no_open: bool, log: str | None, as_json: bool, today: str | None
) -> int:
    """Build the sample sites with some winters of history, and open the app on them."""
    from seasonlog.services.demo import build
    from seasonlog.services.places import LOG_NAME, Places

    where = Path(folder) if folder else Path(tempfile.mkdtemp(prefix="seasonlog-demo-"))
    at = frame.places_of(obj, log) if log or obj.log else Places(where / LOG_NAME)
    if not at.log.exists():
        what = "one fall" if brief else "four winters"
        frame.say(f"Making the demonstration: invented sites with {what} of history ...")
    progress = frame.part_done if frame.shows_progress() else None
    with build(at, frame.surroundings(), frame.say, history=not brief, progress=progress) as book:
        if as_json:
            frame.out_json({"log": str(at.log), "entries": book.journal.count(), "demonstration": True})
        elif no_open or not frame.is_terminal():
            _what_to_try(str(at.log))
        else:
            from seasonlog.tui.app import run_app

            frame.say("Made. The app opens; ? tells about each screen, ctrl+q leaves.")
            run_app(book, None)
            frame.say(f"The demonstration stays in {at.home}")
    return 0


def _what_to_try(log: str) -> None:
    for line in (
        f"Built {log}",
        "Try:",
        f"  seasonlog --log {log}                    the app, on a terminal",
        f"  seasonlog due --log {log}",
        f"  seasonlog limits HOS-1 --volts 474 --log {log}",
        f"  seasonlog findings --log {log}",
        f"  seasonlog coverage --log {log}",
        f"  seasonlog coverage --seasons 4 --log {log}       what was done in its window, and what was not",
        f"  seasonlog trend HOS-6 insulation_mohm --log {log}",
        f"  seasonlog audit --log {log}              the auditor's screen, on a terminal",
        f"  seasonlog register check --log {log}",
        f"  seasonlog checklist show fall-enable --answers --tower HOS-4 --log {log}",
        f"  seasonlog calendar -o season.ics --log {log}",
        f"  seasonlog verify --log {log}",
    ):
        frame.out(line)
