"""`seasonlog hub`: the firm's shared log on PostgreSQL. Every device works without it."""

import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from seasonlog.cli import frame
from seasonlog.cli.frame import Frame, by_option, log_option
from seasonlog.domain.plain_words import entries

if TYPE_CHECKING:
    from psycopg import Connection

    from seasonlog.hub.link import Invitation
    from seasonlog.hub.trial import Trial
    from seasonlog.services.hubs import Server
    from seasonlog.services.logbook import Logbook

_F = TypeVar("_F", bound=Callable[..., Any])
DEFAULT_PORT = 54320
"""Of a trial server; not PostgreSQL's own, so that both can run."""


def _json(function: _F) -> _F:
    return click.option("--json", "as_json", is_flag=True, help="Print one JSON document instead of words.")(function)


def _server_options(function: _F) -> _F:
    """How an administrator reaches the server."""
    words = (
        'The server in libpq\'s words: "host=... dbname=... user=...". The password: PGPASSWORD, ~/.pgpass, or asked.'
    )
    server = click.option("--server", metavar="WORDS", help=words)
    authority = click.option(
        "--authority", metavar="FILE", help="PEM file of the authority of the server's certificate."
    )
    trial = click.option("--trial", "trial_dir", metavar="DIR", help="A trial server made by `hub trial DIR`.")
    return server(authority(trial(function)))


@click.group()
def hub() -> None:
    """The firm's shared log on PostgreSQL: what each device wrote, for all. Every device works without it.

    To try it: `hub trial DIR`. To set up a firm's own: `hub guide`.
    """


@hub.command()
def guide() -> int:
    """How a firm sets its own PostgreSQL up: certificate, roles, people, backup, the nightly look."""
    from importlib.resources import files

    for line in (files("seasonlog.hub") / "SETUP.md").read_text("utf-8").splitlines():
        frame.out(line)
    return 0


@contextmanager
def _administrator(
    server: str | None, authority: str | None, trial_dir: str | None
) -> "Iterator[tuple[Connection[Any], Server]]":
    from seasonlog.errors import UsageError
    from seasonlog.services import hubs

    if trial_dir:
        with _trial(Path(trial_dir)).connect() as connection:
            yield connection, hubs.server_of(connection, (Path(trial_dir) / "authority.pem").read_text("ascii"))
        return
    if not (server and authority):
        raise UsageError("Name the server: --server WORDS with --authority FILE, or --trial DIR for a trial server.")
    password = "" if os.environ.get("PGPASSWORD") or not frame.is_terminal() else _asked()
    with hubs.administrator(server, authority, password) as connection:
        yield connection, hubs.server_of(connection, frame.file_bytes(authority).decode("ascii", "replace"))


def _asked() -> str:
    return str(click.prompt("Password of the administrator (empty: ~/.pgpass)", hide_input=True, default=""))


def _trial(folder: Path) -> "Trial":
    from seasonlog.hub import trial
    from seasonlog.hub.link import HubError

    found = trial.found(folder.absolute())
    if found is None:
        raise HubError(f"there is no trial server in {folder}; `seasonlog hub trial {folder}` makes one")
    return found


@hub.command(name="trial")
@click.argument("folder", metavar="DIR")
@click.option("--port", type=int, default=DEFAULT_PORT, show_default=True, help="The port it listens on.")
@click.option("--stop", is_flag=True, help="Stop the one made there earlier.")
@by_option
@log_option
@click.pass_obj
def trial_(obj: Frame, folder: str, port: int, stop: bool, by: str | None, log: str | None) -> int:
    """A server of one's own in DIR, for this machine only, with this log in it: to try the hub, not for a firm."""
    from seasonlog.hub import trial

    at = Path(folder).absolute()
    if stop:
        _trial(at).stop()
        frame.out("The trial server is stopped; the same command without --stop starts it again.")
        return 0
    found = trial.found(at)
    made = found or trial.make(at, port)
    if found is not None:
        found.start()
    frame.out(f"A trial server runs on {trial.HOST}, port {made.port}; {folder} holds its data and its password.")
    with made.connect() as connection, frame.writing(obj, log, by) as book:
        _begin(book, connection, made.certificate)
    frame.say(f"Let another device in: seasonlog hub admit NAME --role technician -o FILE --trial {folder}")
    return 0


@hub.command()
@_server_options
@by_option
@log_option
@click.pass_obj
def init(
    obj: Frame, server: str | None, authority: str | None, trial_dir: str | None, by: str | None, log: str | None
) -> int:
    """Make the record's tables and roles on a server, or bring them up to date; this device is its first supervisor."""
    with _administrator(server, authority, trial_dir) as (connection, there), frame.writing(obj, log, by) as book:
        _begin(book, connection, there.certificate)
    return 0


def _begin(book: "Logbook", connection: "Connection[Any]", certificate: str) -> None:
    from seasonlog.hub import admin, link
    from seasonlog.services import hubs

    taken = admin.prepare(connection)
    steps = ", ".join(map(str, taken))
    frame.out(f"The record's tables are made (step {steps})." if taken else "The record's tables are up to date.")
    if link.kept(book.places.hub, book.journal.log_id) is None:
        login = f"first_{book.journal.log_id[:8]}"
        there = hubs.server_of(connection, certificate)
        given = hubs.admit(connection, there, login=login, role="supervisor", log=book.journal.log_id,
                           random_bytes=book.around.random_bytes)  # fmt: skip
        link.keep(given, book.places.hub)
        frame.out(f"This device is let in as supervisor ({login}).")
    _sync(book)


@hub.command()
@click.argument("login", metavar="LOGIN")
@click.option("--role", type=click.Choice(["technician", "supervisor", "auditor"]), required=True)
@click.option("-o", "--output", metavar="FILE", required=True, help="The invitation; hand it over in person.")
@_server_options
@log_option
@click.pass_obj
def admit(
    obj: Frame, login: str, role: str, output: str, server: str | None, authority: str | None, trial_dir: str | None,
    log: str | None,
) -> int:  # fmt: skip
    """Let a device in as LOGIN: writes an invitation with a fresh password. A login that exists gets a new one."""
    from seasonlog.journal.keys import write_private
    from seasonlog.services import hubs

    with frame.reading(obj, log) as book, _administrator(server, authority, trial_dir) as (connection, there):
        given = hubs.admit(connection, there, login=login, role=role, log=book.journal.log_id,
                           random_bytes=frame.surroundings().random_bytes)  # fmt: skip
    write_private(Path(output), given.text().encode())
    frame.out(f"{login} may come in as {role}. {output} holds the password: hand it over in person, then delete it.")
    frame.out(f"On the other device: seasonlog hub join {Path(output).name}")
    return 0


@hub.command()
@click.argument("login", metavar="LOGIN")
@_server_options
def dismiss(login: str, server: str | None, authority: str | None, trial_dir: str | None) -> int:
    """Lock LOGIN out at once. What it pushed stays; revoke its device with `device revoke`, too."""
    from seasonlog.hub import admin

    with _administrator(server, authority, trial_dir) as (connection, _):
        admin.dismiss(connection, login)
    frame.out(f"{login} is locked out. What it pushed stays. If the device is lost: seasonlog device revoke")
    return 0


@hub.command()
@_server_options
@_json
def members(server: str | None, authority: str | None, trial_dir: str | None, as_json: bool) -> int:
    """Who is let in."""
    from seasonlog.hub import admin

    with _administrator(server, authority, trial_dir) as (connection, _):
        found = admin.members(connection)
    if as_json:
        frame.out_json([dict(zip(("login", "log", "role", "device"), member, strict=True)) for member in found])
        return 0
    for login, log, role, dev in found:
        frame.out(f"{login}  {role}  log {log[:8]}  {f'device {dev}' if dev else ''}".rstrip())
    return 0


@hub.command()
@click.argument("file", metavar="FILE")
@by_option
@log_option
@click.pass_obj
def join(obj: Frame, file: str, by: str | None, log: str | None) -> int:
    """Use the invitation in FILE. Without a log here, the hub's becomes it and this device gets a key of its own."""
    from seasonlog.hub import link
    from seasonlog.services import sync

    invitation = link.read(frame.file_bytes(file).decode("utf-8", "replace"))
    at = frame.places_of(obj, log)
    if not at.log.exists():
        device = sync.join(at, frame.surroundings(), frame.who_is(at, by), invitation, _progress())
        frame.out(f"The log is here. This is device {device}.")
        frame.out(f"A supervisor now enrols it: seasonlog device enrol {device} --name WORDS")
    with frame.writing(obj, log, by) as book:
        sync.same_log(book, invitation)
        link.keep(invitation, at.hub)
        _sync(book)
    frame.say(f"The invitation is kept; delete {file}.")
    return 0


@hub.command(name="sync")
@by_option
@log_option
@_json
@click.pass_obj
def sync_(obj: Frame, by: str | None, log: str | None, as_json: bool) -> int:
    """Exchange with the hub what either side lacks. Safe to break off and to repeat."""
    with frame.writing(obj, log, by) as book:
        return _sync(book, as_json=as_json)


def _sync(book: "Logbook", *, as_json: bool = False) -> int:
    from seasonlog.services import sync

    done = sync.sync(book, _invitation(book), _progress())
    if as_json:
        frame.out_json({"pulled": done.pulled, "pushed": done.pushed, "files_pulled": done.files_pulled,
                        "files_pushed": done.files_pushed, "waiting": dict(done.waiting),
                        "complaints": list(done.complaints)})  # fmt: skip
    else:
        files = f"files: {done.files_pulled} in, {done.files_pushed} out"
        frame.out(f"Took in {entries(done.pulled)}, sent {done.pushed}; {files}.")
        for dev, count in done.waiting.items():
            waits = f"{entries(count)} of device {dev} {'waits' if count == 1 else 'wait'}"
            frame.say(f"{waits}: a supervisor enrols it with `seasonlog device enrol {dev}`")
        for words in done.complaints:
            frame.say(f"NOT TAKEN: {words}")
    return 1 if done.complaints else 0


def _invitation(book: "Logbook") -> "Invitation":
    from seasonlog.hub import link

    found = link.kept(book.places.hub, book.journal.log_id)
    if found is None:
        raise link.HubError("this log has no hub; `hub join FILE` with an invitation, or `hub trial DIR` to try one")
    return found


def _progress() -> Callable[[str, int], None] | None:
    if not frame.shows_progress():
        return None
    done: dict[str, int] = {}

    def tell(what: str, count: int) -> None:
        done[what] = done.get(what, 0) + count
        if what == "pushed" or done[what] % 500 == 0:
            frame.counted(f"{what} {done[what]:,} entries")

    return tell


@hub.command()
@log_option
@_json
@click.pass_obj
def status(obj: Frame, log: str | None, as_json: bool) -> int:
    """Whether there is a hub, whether it answers, and what waits to go either way."""
    from dataclasses import asdict

    from seasonlog.services import hubs

    with frame.reading(obj, log) as book:
        found = hubs.standing(book, _invitation(book))
    if as_json:
        frame.out_json(asdict(found))
    else:
        frame.out(f"Hub {found.host} answers. This is device {found.device or '(none yet)'}, as {found.role}.")
        frame.out(f"{entries(found.to_push)} here to go, {found.to_pull} there to come: `hub sync`.")
    return 0


@hub.command()
@log_option
@_json
@click.pass_obj
def verify(obj: Frame, log: str | None, as_json: bool) -> int:
    """Hash every entry on the hub again and check every signature and link: names what an administrator changed."""
    from seasonlog.services import hubs

    with frame.reading(obj, log) as book:
        shown = _progress()
        found = hubs.wrong(book, _invitation(book), (lambda count: shown("checked", count)) if shown else None)
    if as_json:
        frame.out_json({"ok": not found, "wrong": found})
    elif found:
        for words in found:
            frame.out(f"WRONG: {words}")
        frame.say("Ask the server's administrator. Devices are not harmed: none takes in what does not prove itself.")
    else:
        frame.out("OK: every entry on the hub fits its hash, its signature, the one before it, and what is here.")
    return 1 if found else 0
