"""`seasonlog attach`: photos and sound clips beside the record."""

import os
import stat
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import click

from seasonlog.cli import frame
from seasonlog.cli.frame import Frame, by_option, log_option
from seasonlog.domain.plain_words import counted
from seasonlog.errors import UsageError

if TYPE_CHECKING:
    from seasonlog.domain.attachments import Attachment
    from seasonlog.services.attachments import Handed, Proposal, Wish
    from seasonlog.services.logbook import Logbook

MOST_SHIFT_MIN = 60 * 24 * 366 * 30
"""A camera that was never set counts from its own beginning of time."""


@click.group()
def attach() -> None:
    """Photos and sound clips: attach a folder by time, list, save, erase."""


@attach.command()
@click.argument("paths", nargs=-1, required=True, metavar="FOLDER|FILE...")
@click.option("--visit", default="", metavar="V", help="They belong to this visit.")
@click.option("--tower", default="", metavar="T", help="They belong to this tower, visit or not.")
@click.option("--step", default="", metavar="KEY", help="They belong to this step of the visit.")
@click.option("--sounds", is_flag=True, help="Take sound clips too, where the site allows recording.")
@click.option("--shift-min", type=click.IntRange(-MOST_SHIFT_MIN, MOST_SHIFT_MIN), default=0, metavar="MIN",
              help="The camera's clock was behind by so many minutes.")  # fmt: skip
@click.option("--keep-until", metavar="DATE", help="Last day to keep them; photos for good, clips 90 days, else.")
@click.option("--words", default="", metavar="TEXT", help="What they show.")
@click.option("--yes", is_flag=True, help="Attach what is proposed without asking.")
@click.option("--preview", is_flag=True, help="Only show what would be attached.")
@by_option
@log_option
@click.pass_obj
def add(
    obj: Frame, paths: tuple[str, ...], visit: str, tower: str, step: str, sounds: bool, shift_min: int,
    keep_until: str | None, words: str, yes: bool, preview: bool, by: str | None, log: str | None,
) -> int:  # fmt: skip
    """Propose for each file the visit and step it was taken at, and attach what is confirmed."""
    from seasonlog.services import attachments
    from seasonlog.services.attachments import Wish

    until = frame.day_from(keep_until, "--keep-until") if keep_until else None
    wish = Wish(visit, tower, step, sounds, timedelta(minutes=shift_min), until, words)
    with frame.reading(obj, log) if preview else frame.writing(obj, log, by) as book:
        found = attachments.proposals(book, _handed(paths), wish)
        _show(found)
        fit = [each for each in found if each.place is not None]
        if preview or not fit:
            would = f"{len(fit)} of {counted(len(found), 'file')} would be attached."
            frame.say(would if preview else "Nothing was attached.")
            return 0 if len(fit) == len(found) else 1
        if not (yes or _confirmed(len(fit))):
            frame.say("Nothing was attached.")
            return 1
        return _attach(book, found, fit, wish)


def _attach(book: "Logbook", found: "list[Proposal]", fit: "list[Proposal]", wish: "Wish") -> int:
    from seasonlog.services import attachments

    for each in attachments.attach(book, fit, wish):
        frame.out(f"attached {each.id} {each.tower} {each.visit or '-'} {each.step or '-'} {each.name}")
    return 0 if len(fit) == len(found) else 1


def _confirmed(count: int) -> bool:
    if not frame.is_terminal():
        raise UsageError("Nothing was attached: there is no terminal to ask on; look at it, then say --yes.")
    return click.confirm(f"Attach these {count}?", default=False)


def _show(found: "list[Proposal]") -> None:
    from seasonlog.intake.photo_time import has_reader

    if not has_reader():
        frame.say("Cameras' own times are not read (extra `photos` is missing): the times of the files count.")
    for each in found:
        frame.say(f"{each.file.name}: {_where(each)}")


def _where(each: "Proposal") -> str:
    place = each.place
    if place is None:
        return f"LEFT OUT: {each.why_not}"
    at = f"{place.tower}, visit {place.visit}, {place.step or 'no step'}" if place.visit else f"{place.tower}, no visit"
    return f"{each.kind}, taken {each.taken_at} ({each.taken_from}) -> {at}"


def _handed(paths: tuple[str, ...]) -> "list[Handed]":
    """The files named and those of the folders named, not of folders in them; links and what is hidden are left out."""
    from seasonlog.services.attachments import MOST_FILES

    names = [name for given in paths for name in _files(given)]
    if len(names) > MOST_FILES:
        raise UsageError(f"{len(names)} files; at most {MOST_FILES} are taken in one go. Nothing was attached.")
    return [_looked_at(name) for name in names]


def _files(given: str) -> list[Path]:
    path = Path(given)
    try:
        if not path.is_dir():
            return [path]
        return sorted(f for f in path.iterdir() if f.is_file() and not f.is_symlink() and not f.name.startswith("."))
    except (OSError, ValueError) as error:
        raise UsageError(f"{given} cannot be read: {getattr(error, 'strerror', None) or error}.") from None


def _looked_at(path: Path) -> "Handed":
    from seasonlog.domain.attachments import HEAD_BYTES
    from seasonlog.services.attachments import Handed

    try:
        if not stat.S_ISREG(path.stat().st_mode):
            raise UsageError(f"{path} is a folder, a device or a pipe, not a file.")
        with path.open("rb") as file:
            head, facts = file.read(HEAD_BYTES), os.fstat(file.fileno())
    except (OSError, ValueError) as error:
        raise UsageError(f"{path} cannot be read: {getattr(error, 'strerror', None) or error}.") from None
    changed = datetime.fromtimestamp(facts.st_mtime, UTC)
    return Handed(path.name, facts.st_size, head, changed, lambda: frame.file_bytes(str(path)))


@attach.command("list")
@click.option("--tower", default="", metavar="T", help="Only this tower.")
@click.option("--visit", default="", metavar="V", help="Only this visit.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document instead of words.")
@log_option
@click.pass_obj
def list_(obj: Frame, tower: str, visit: str, as_json: bool, log: str | None) -> int:
    """Photos and clips with their keep-until; erased ones stay listed."""
    from seasonlog.services import attachments, registry, rounds

    with frame.reading(obj, log) as book:
        registry.refuse_unknown(book.db, tower=tower)
        found = attachments.listed(book, tower=tower, visit=visit)
        here, today = attachments.store(book.places).names(), book.today().isoformat()
        missing = attachments.wanted(book, rounds.progress(book, visit)) if visit else []
    if as_json:
        frame.out_json([_document(each, here) for each in found])
        return 0
    for each in found:
        frame.out(f"{each.tower}  {each.visit or '-'}  {each.step or '-'}  {each.says}{_state(each, here, today)}")
    if not found:
        frame.say("No photos or clips.")
    for name in missing:
        frame.say(f"A photo is wanted: {name}")
    return 0


def _state(each: "Attachment", here: frozenset[str], today: str) -> str:
    if each.erased:
        return ""
    missing = "" if each.sha256 in here else "; NOT ON THIS DEVICE"
    if not missing and each.details and each.details not in here:
        missing = "; its words are not on this device"
    return missing + ("; past its day, may be erased" if each.keep_until and each.keep_until < today else "")


def _document(each: "Attachment", here: frozenset[str]) -> dict[str, object]:
    return {name: getattr(each, name) for name in each.__dataclass_fields__} | {"here": each.sha256 in here}


@attach.command()
@click.argument("ident", metavar="ATTACHMENT")
@click.option("-o", "--output", required=True, metavar="FILE", help="Where to write it.")
@log_option
@click.pass_obj
def save(obj: Frame, ident: str, output: str, log: str | None) -> int:
    """Write a photo or clip, as it was handed in, to a file."""
    from seasonlog.services import attachments

    with frame.reading(obj, log) as book:
        data = attachments.content(book, ident)
    frame.write_file(Path(output), data)
    return 0


@attach.command()
@click.argument("ident", metavar="ATTACHMENT")
@click.option("--because", required=True, metavar="TEXT", help="Why it is given up.")
@by_option
@log_option
@click.pass_obj
def erase(obj: Frame, ident: str, because: str, by: str | None, log: str | None) -> int:
    """Give up a photo or clip; the entry that named it and its hash stay."""
    from seasonlog.services import attachments

    with frame.writing(obj, log, by) as book:
        frame.say(attachments.erase(book, ident, because).says)
    return 0
