"""`seasonlog bundle`: what is here handed on as one text file, and such a file taken in."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from seasonlog.cli import frame
from seasonlog.cli.frame import Frame, by_option, log_option, shows
from seasonlog.domain.plain_words import counted, entries, photos

if TYPE_CHECKING:
    from seasonlog.services.bundles import Exported, Looked, Taken


@click.group()
def bundle() -> None:
    """Hand a log on as one text file that anybody can check, and take such a file in."""


@bundle.command()
@click.argument("file", metavar="FILE")
@click.option("--with-contacts", is_flag=True, help="Telephone numbers and gate codes go with it.")
@click.option("--without-files", is_flag=True, help="Leave photos and sound clips out.")
@by_option
@log_option
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document instead of words.")
@click.pass_obj
def export(
    obj: Frame, file: str, with_contacts: bool, without_files: bool, by: str | None, log: str | None, as_json: bool
) -> int:
    """Write everything that is here into FILE, with a fresh checkpoint over it."""
    from seasonlog.services import bundles

    with frame.writing(obj, log, by) as book:
        made = bundles.export(book, with_files=not without_files, with_contacts=with_contacts, progress=frame.bar())
    frame.write_file(Path(file), made.data)
    if as_json:
        frame.out_json({"entries": made.entries, "files": made.files, "details": made.details, "code": made.code,
                        "missing": list(made.missing), "not_enrolled": list(made.strangers)})  # fmt: skip
    else:
        _say_exported(made, with_contacts=with_contacts)
    return 0


def _say_exported(made: "Exported", *, with_contacts: bool) -> None:
    frame.out(f"{entries(made.entries)}, {photos(made.files)}. Code of this state: {made.code}")
    frame.say("Write the code down beside the paper copy: it shows later that nothing was taken away or changed.")
    if with_contacts:
        frame.say(f"{counted(made.details, 'contact detail')} with it: hand it only to people who may have them.")
    else:
        frame.say(
            "Contact details kept beside the log stay here. What older entries hold in their signed lines "
            "goes with them."
        )
    for name in made.missing:
        frame.say(f"not here and so not in it: attachment {name}")
    for dev in made.strangers:
        frame.say(f"device {dev} is not enrolled: others take this in only when a supervisor of theirs enrols it")


@bundle.command(name="import")
@click.argument("file", metavar="FILE")
@click.option("--enrol", metavar="DEVICE", default="", help="A supervisor enrols this device with the import.")
@click.option("--name", metavar="WORDS", default="", help="What people call the device that is enrolled.")
@click.option("--dry-run", is_flag=True, help="Only check it and show what it would bring.")
@by_option
@log_option
@shows
@click.pass_obj
def import_(
    obj: Frame, file: str, enrol: str, name: str, dry_run: bool, by: str | None, log: str | None, as_json: bool,
    today: str | None,
) -> int:  # fmt: skip
    """Check FILE, show what it brings, and take it in: all of it, or nothing. Without a log here it becomes the log."""
    from seasonlog.services import bundles, devices

    at, around = frame.places_of(obj, log), frame.surroundings()
    bar = frame.bar()
    who = frame.who_is(at, by)
    if enrol:
        devices.refuse_unless_supervisor(at, around, who)
    data = frame.file_bytes(file, most=bundles.MOST_BYTES)
    looked = bundles.look(at, around, data, file, enrol=enrol, progress=bar)
    if not as_json:
        _say_looked(looked)
    if dry_run:
        frame.out_json(looked.document()) if as_json else frame.say("Nothing was taken in.")
        return 1 if looked.news.forks else 0
    taken = bundles.take(at, around, who, looked, enrol=enrol, enrol_as=name, progress=bar)
    if as_json:
        frame.out_json(looked.document() | {"added": taken.entries, "files_added": taken.files})
    else:
        _say_taken(taken)
    return 1 if taken.forks else 0


def _say_looked(looked: "Looked") -> None:
    from seasonlog.services.bundles import photos_in

    found, news = looked.found, looked.news
    kind = "DEMONSTRATION log, " if found.demonstration else ""
    frame.out(
        f"{looked.name}: {kind}log {found.head.log[:8]}, {entries(len(found.entries))} of "
        f"{counted(len(found.keys), 'device')}, {counted(len(found.checkpoints), 'checkpoint')}, "
        f"{photos(photos_in(found))}, {counted(len(found.details), 'contact detail')}"
    )
    if looked.is_new_log:
        frame.out("There is no log here yet: it becomes the log, and this device joins it with a key of its own.")
    frame.out(f"{_are(len(news.new))} new, {news.known} here already.")
    for dev in news.joining:
        frame.out(f"device {dev} comes new with it")


def _are(count: int) -> str:
    return f"{entries(count)} {'is' if count == 1 else 'are'}"


def _say_taken(taken: "Taken") -> None:
    if not taken.entries and not taken.files and not taken.forks:
        frame.out("Nothing new.")
    else:
        frame.out(f"Taken in: {entries(taken.entries)}, {counted(taken.files, 'file')}.")
    for words in taken.passed_over:
        frame.say(words)
    for words in taken.forks:
        frame.say(f"FORK: {words}. Both are kept; the second is put aside. A supervisor must find out why,")
        frame.say("and revoke that device (`seasonlog device revoke`): whoever uses it then goes on under a new key.")
    if taken.aside:
        frame.say(f"{_are(taken.aside)} put aside; `seasonlog device list` tells of which device and why.")


@bundle.command()
@click.argument("file", metavar="FILE")
@click.option("--held", metavar="NOTE", help="A checkpoint that somebody kept: all that it covers must still be there.")
@click.option("--code", metavar="CODE", default="", help="The 16 characters printed on a report.")
@shows
@click.pass_obj
def show(obj: Frame, file: str, held: str | None, code: str, as_json: bool, today: str | None) -> int:
    """Check FILE by itself and tell what is in it; no log is needed and nothing is written."""
    from seasonlog.services import bundles

    data = frame.file_bytes(file, most=bundles.MOST_BYTES)
    kept = frame.file_bytes(held).decode("utf-8", "replace") if held else ""
    shown = bundles.shown(data, file, frame.bar(), kept=kept, code=code)
    if as_json:
        frame.out_json(shown.document())
        return 0
    for line in shown.lines():
        frame.out(line)
    return 0
