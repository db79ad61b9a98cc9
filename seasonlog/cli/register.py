"""`seasonlog register`: what is installed."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from seasonlog.cli import frame
from seasonlog.cli.frame import Frame, by_option, log_option, shows
from seasonlog.domain.plain_words import counted
from seasonlog.errors import UsageError

if TYPE_CHECKING:
    from seasonlog.domain.register import Change
    from seasonlog.services.register import HandedIn


@click.group()
@log_option
@click.pass_obj
def register(obj: Frame, log: str | None) -> None:
    """What is installed: sites, towers, basins, heater circuits, instruments, people."""
    obj.log = log if log is not None else obj.log


@register.command("import")
@click.argument("files", nargs=-1, required=True, metavar="FILE_OR_FOLDER...")
@click.option("--preview", is_flag=True, help="Show what would change and write nothing.")
@click.option("--because", default="", metavar="TEXT", help="Why, for the record.")
@click.option("--contacts-until", metavar="DATE", help="Last day to keep contact details; else while they are named.")
@by_option
@log_option
@shows
@click.pass_obj
def import_(
    obj: Frame, files: tuple[str, ...], preview: bool, because: str, contacts_until: str | None, by: str | None,
    log: str | None, as_json: bool, today: str | None,
) -> int:  # fmt: skip
    """Take in site files (.toml) or spreadsheets (.csv): all of them or nothing."""
    from seasonlog.services import register as service
    from seasonlog.services import registry
    from seasonlog.services.logbook import Logbook

    until = frame.day_from(contacts_until, "--contacts-until").isoformat() if contacts_until else ""
    records = service.read(_handed_in(files), frame.part_done if frame.shows_progress() else None)
    from seasonlog.domain.register import Register

    book: Logbook | None = None
    if not frame.places_of(obj, log).log.exists():
        service.preview(Register.of(()), records)  # what is refused begins no log
        book = None if preview else frame.writing(obj, log, by, new=True)
    else:
        book = frame.reading(obj, log) if preview else frame.writing(obj, log, by)
    changes = service.preview(registry.whole(book.db) if book else Register.of(()), records)
    written = 0 if preview or book is None else service.write(book, changes, because, until)
    _told(changes, written, as_json)
    if book is not None:
        book.close()
    return 0


def _told(changes: "tuple[Change, ...]", written: int, as_json: bool) -> None:
    if as_json:
        rows = [{"record": c.what, "id": c.id, "new": c.before is None, "fields": list(c.fields)} for c in changes]
        frame.out_json({"changes": rows, "written": written})
        return
    for change in changes:
        words = "new" if change.before is None else f"changes {', '.join(change.fields)}"
        frame.out(f"{change.what} {change.id}: {words}")
    frame.say(f"{counted(len(changes), 'change')}, {written} written." if changes else "Nothing changes.")


def _handed_in(files: tuple[str, ...]) -> "list[HandedIn]":
    from seasonlog.services.register import HandedIn

    return [HandedIn(str(path), frame.file_bytes(str(path))) for name in files for path in _paths(Path(name))]


def _paths(path: Path) -> list[Path]:
    if not path.is_dir():
        return [path]
    found = sorted(p for p in path.iterdir() if p.suffix.lower() in (".toml", ".csv"))
    if not found:
        raise UsageError(f"{path} holds no site file (.toml) and no spreadsheet (.csv).")
    return found


@register.command()
@click.option("--csv", "csv_file", metavar="FILE", help="Write the whole register as one spreadsheet.")
@click.option("--toml", "folder", metavar="FOLDER", help="Write one file per site, and one for the team.")
@log_option
@click.pass_obj
def export(obj: Frame, csv_file: str | None, folder: str | None, log: str | None) -> int:
    """Write the register as a spreadsheet or as site files; importing them again changes nothing."""
    from seasonlog.export import register_files
    from seasonlog.services import registry

    if not csv_file and not folder:
        raise UsageError("Say where to: --csv FILE or --toml FOLDER.")
    with frame.reading(obj, log) as book:
        whole = registry.whole(book.db)
    if csv_file:
        frame.write_file(Path(csv_file), register_files.to_register_csv(whole))
    if folder:
        frame.make_folder(Path(folder))
        for site, name in _file_names(list(whole.sites)).items():
            frame.write_file(Path(folder) / name, register_files.to_site_toml(whole, site).encode())
        frame.write_file(Path(folder) / "team.toml", register_files.to_team_toml(whole).encode())
    return 0


def _file_names(sites: list[str]) -> dict[str, str]:
    """A file name for each site, none taken twice where capitals do not count, none that of the team's file."""
    taken, names = {"team.toml"}, {}
    for number, site in enumerate(sites, 1):
        name = f"{site}.toml"
        names[site] = name if name.casefold() not in taken else f"{site}-site{number}.toml"
        taken.add(names[site].casefold())
    return names


@register.command()
@log_option
@shows
@click.argument("files", nargs=-1, metavar="[FILE_OR_FOLDER]...")
@click.pass_obj
def check(obj: Frame, log: str | None, as_json: bool, today: str | None, files: tuple[str, ...]) -> int:
    """List every contradiction with its arithmetic: in the log's register, or in files before they are imported."""
    from seasonlog.domain.register import Register
    from seasonlog.services import register as service
    from seasonlog.services import registry

    if files:
        records = service.read(_handed_in(files))
        service.preview(Register.of(()), records)
        whole, day = Register.of(records), frame.day_or(today)
    else:
        with frame.reading(obj, log) as book:
            whole, day = registry.whole(book.db), frame.day_or(today, book)
    found = service.check(whole, day)
    if as_json:
        frame.out_json([{"severity": str(c.severity), "where": c.where, "says": c.says} for c in found])
    else:
        for c in found:
            frame.out(f"{c.where}: {c.says} [{c.severity.replace('_', ' ')}]")
        frame.say(f"{counted(len(found), 'contradiction')}." if found else "No contradictions.")
    return 1 if found else 0


@register.command("list")
@log_option
@shows
@click.argument("what", default="tower", metavar="[RECORD]")
@click.pass_obj
def list_(obj: Frame, log: str | None, as_json: bool, today: str | None, what: str) -> int:
    """List records of one kind: site, tower (default), basin, circuit, trace, source, instrument, person, device."""
    from seasonlog.domain.register_items import to_item
    from seasonlog.domain.register_records import TYPES
    from seasonlog.services import registry

    if what not in TYPES:
        raise UsageError(f'"{what}" is no kind of record; there are {", ".join(TYPES)}.')
    with frame.reading(obj, log) as book:
        records = registry.whole(book.db).table(what).values()
    if as_json:
        frame.out_json([to_item(record) for record in records])
    else:
        frame.table([record.id, *_shown(to_item(record))] for record in records)
    return 0


def _shown(item: object) -> list[str]:
    fields = item if isinstance(item, dict) else {}
    parent = next((str(fields[k]) for k in ("site", "tower", "of") if k in fields), "")
    about = next((str(fields[k]) for k in ("name", "what", "protects", "position") if k in fields), "")
    return [parent, about]


@register.command()
@click.argument("tower", metavar="TOWER")
@click.argument("mode", metavar="MODE")
@click.option("--since", required=True, metavar="DATE", help="From this day on.")
@click.option("--because", required=True, metavar="TEXT", help="Why, for the record.")
@by_option
@log_option
@click.pass_obj
def winter(obj: Frame, tower: str, mode: str, since: str, because: str, by: str | None, log: str | None) -> int:
    """Record that a tower winters another way: heated_basin, remote_sump, run_wet or drained."""
    from seasonlog.services import register as service

    with frame.writing(obj, log, by) as book:
        service.set_winter_mode(book, tower, mode, frame.day_from(since, "--since"), because)
    frame.say(f"{tower} winters as {mode.replace('_', ' ')} from {since} on.")
    return 0


@register.command()
@click.argument("what", metavar="RECORD")
@click.argument("ident", metavar="ID")
@click.option("--because", required=True, metavar="TEXT", help="Why, for the record.")
@by_option
@log_option
@click.pass_obj
def retire(obj: Frame, what: str, ident: str, because: str, by: str | None, log: str | None) -> int:
    """Take a record out of the register; its history stays in the log."""
    from seasonlog.domain.register_records import TYPES
    from seasonlog.services import register as service

    if what not in TYPES:
        raise UsageError(f'"{what}" is no kind of record; there are {", ".join(TYPES)}.')
    with frame.writing(obj, log, by) as book:
        service.retire(book, what, ident, because)
    frame.say(f"{what} {ident} is retired.")
    return 0
