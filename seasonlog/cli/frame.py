"""What the commands share: the log, the person, the day, and how things are printed."""

import json
import os
import re
import sys
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any, TextIO, TypeVar

import click

from seasonlog.domain.text import visible
from seasonlog.errors import LogError, UsageError

if TYPE_CHECKING:
    from seasonlog.services.logbook import Logbook, Surroundings
    from seasonlog.services.places import Places

_F = TypeVar("_F", bound=Callable[..., Any])
MOST_FILE_BYTES = 50_000_000
"""Larger than any register, answers or weather file. Common sense, no source."""
FIRST_YEAR, LAST_YEAR = 1970, 2200
"""Years of days that may be asked for, as of the seasons of a report. Common sense, no source."""


@dataclass(slots=True)
class Frame:
    """What was said before the command's name."""

    log: str | None
    """The log file named with --log."""


def _said_before(ctx: click.Context, param: click.Parameter, value: str | None) -> str | None:
    """An option of a command, or the same one before the command's name."""
    before = ctx.find_root().params.get(param.name or "")
    return value if value is not None else before


def log_option(function: _F) -> _F:
    """`--log FILE`, taken by every command."""
    return click.option("--log", metavar="FILE", help="Use this log file; its folder holds the keys too.")(function)


def by_option(function: _F) -> _F:
    """`--by NAME`, for commands that write."""
    who = "Who does this; else SEASONLOG_NAME."
    return click.option("--by", metavar="NAME", callback=_said_before, help=who)(function)


def shows(function: _F) -> _F:
    """`--json` and `--today`, for commands that show something."""
    with_json = click.option("--json", "as_json", is_flag=True, help="Print one JSON document instead of words.")
    day = "As if it were this day (YYYY-MM-DD); moves only what is due."
    with_day = click.option("--today", metavar="DATE", callback=_said_before, help=day)
    return with_json(with_day(function))


def surroundings() -> "Surroundings":
    """The real clock and the real randomness."""
    import secrets

    from seasonlog.journal.clock import SystemClock
    from seasonlog.services.logbook import Surroundings

    return Surroundings(SystemClock(), secrets.token_bytes)


def places_of(frame: Frame, log: str | None) -> "Places":
    """The paths to use: the option after the command's name wins over the one before it."""
    from seasonlog.services.places import places

    named = log if log is not None else frame.log
    return places(os.environ, None if named is None else Path(named))


def reading(frame: Frame, log: str | None) -> "Logbook":
    """The log, for reading."""
    from seasonlog.services.logbook import Logbook

    book = Logbook.open(places_of(frame, log), surroundings(), "", writing=False)
    _say_demonstration(book)
    return book


def writing(frame: Frame, log: str | None, by: str | None, *, new: bool = False) -> "Logbook":
    """The log, for writing, under a name.

    Args:
        frame: What was said before the command's name.
        log: The option after it.
        by: Who writes.
        new: Make the log when there is none; only where a log begins, never because a name was typed wrong.
    """
    from seasonlog.services.logbook import Logbook

    at = places_of(frame, log)
    who = who_is(at, by)
    if not new and not at.log.exists():
        raise LogError(f"there is no log at {at.log}; `seasonlog register import` begins one")
    book = Logbook.open(at, surroundings(), who, writing=True)
    _say_demonstration(book)
    return book


def _say_demonstration(book: "Logbook") -> None:
    if book.journal.is_demonstration:
        say("This log is a demonstration: its history is invented.")


def who_is(at: "Places", by: str | None) -> str:
    """The person: --by, SEASONLOG_NAME, or on a terminal the name kept in the settings, or asked for once.

    Raises:
        UsageError: nobody said, and there is no terminal to ask on.
    """
    name = _as_text(by or os.environ.get("SEASONLOG_NAME", ""))
    if name.strip():
        return name
    if not is_terminal():
        raise UsageError("Nobody is named: give --by NAME or set SEASONLOG_NAME, so that the entry says who made it.")
    from seasonlog.services.settings import keep_name, kept_name

    return kept_name(at) or keep_name(at, str(click.prompt("Your name, as it should stand in the record")))


def _as_text(given: str) -> str:
    """A word of the command line as UTF-8, also where the system reads it as something else."""
    try:
        return given.encode("utf-8", "surrogateescape").decode("utf-8")
    except UnicodeError:
        raise UsageError("The name is not UTF-8 text; type it again, or set it in SEASONLOG_NAME.") from None


def is_terminal() -> bool:
    """May something be asked, may the app be opened."""
    return _is_drawn_on(sys.stdin) and _is_drawn_on(sys.stdout)


def _is_drawn_on(stream: TextIO | None) -> bool:
    """A terminal; a stream that was closed before the start is none."""
    return stream is not None and stream.isatty()


def shows_progress() -> bool:
    """May a line be drawn over and over."""
    return _is_drawn_on(sys.stderr)


_drawn: set[str] = set()
"""Holds something while a line of progress stands that nothing ended yet: what comes next begins on its own line."""


def end_progress() -> None:
    """What comes next begins on a line of its own."""
    if _drawn:
        _drawn.clear()
        print(file=sys.stderr, flush=True)


def part_done(count: int, part: float) -> None:
    """One line that tells how far long work is, drawn over the last one."""
    width = 30
    filled = round(width * min(part, 1.0))
    print(f"\r[{'#' * filled}{'.' * (width - filled)}] {count}", end="", file=sys.stderr, flush=True)
    _drawn.add("progress")
    if part >= 1:
        end_progress()


def counted(words: str) -> None:
    """One line that tells how far work of unknown length is, drawn over the last one."""
    print(f"\r{words}", end="", file=sys.stderr, flush=True)
    _drawn.add("progress")


def bar() -> "Callable[[int, int], None] | None":
    """Draws how many of how many entries are done; None where nobody would see it."""
    return _entries_done if shows_progress() else None


def _entries_done(done: int, total: int) -> None:
    part_done(done, done / max(total, 1))


def day_or(today: str | None, book: "Logbook | None" = None) -> date:
    """The day of --today, else the day of the machine's clock."""
    if today is None:
        return book.today() if book is not None else date.today()  # noqa: DTZ011  (the person's own day)
    return day_from(today, "--today")


def day_from(text: str, where: str) -> date:
    """A day typed in an option.

    Raises:
        UsageError: it is not a day written YYYY-MM-DD, or of no year that a record could be of.
    """
    try:
        if len(text) != len("2026-01-31"):
            raise ValueError
        day = date.fromisoformat(text)
    except ValueError:
        raise UsageError(f'{where} "{text}" is not a day; write it as 2026-10-03.') from None
    if not FIRST_YEAR <= day.year <= LAST_YEAR:
        raise UsageError(f'{where} "{text}": the year is not between {FIRST_YEAR} and {LAST_YEAR}.')
    return day


def say(line: str) -> None:
    """Words about the data, to stderr."""
    _print(visible(line), sys.stderr)


def out(line: str) -> None:
    """Data, to stdout; control characters shown as what they are."""
    _print(visible(line), sys.stdout)


def _print(line: str, stream: TextIO | None) -> None:
    """One line; a reader that went away (`| head`) is no error, and the command goes on to its end."""
    if stream is None:  # closed before the start: nobody listens
        return
    try:
        end_progress()
        print(line, file=stream, flush=True)
    except OSError as error:
        os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())
        if not isinstance(error, BrokenPipeError):
            raise UsageError(
                f"The output cannot be written: {error.strerror or error}. What was saved stays."
            ) from None


def out_json(document: object) -> None:
    """One JSON document, to stdout, in ASCII."""
    _print(json.dumps(document, indent=2), sys.stdout)


def ages_of(book: "Logbook") -> str:
    """How old the newest entry of every other device is, in one line; empty while the log has one device."""
    from seasonlog.services.device_ages import ages_line, device_ages

    return ages_line(device_ages(book))


def show_ages(line: str, *, as_json: bool = False) -> None:
    """Below a board: what `ages_of` told, with what it means; to stderr where stdout is for a script."""
    from seasonlog.services.device_ages import SILENCE

    if line:
        (say if as_json else out)(f"NEWEST RECEIVED  {line}. {SILENCE}")


def table(rows: Iterable[Sequence[str]]) -> None:
    """Rows in columns, to stdout."""
    shown = [[visible(cell) for cell in row] for row in rows]
    widths = [max(len(row[i]) for row in shown) for i in range(len(shown[0]))] if shown else []
    for row in shown:
        out("  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip())


def make_folder(path: Path) -> None:
    """Make a folder named in an option, unless it is there.

    Raises:
        UsageError: it cannot be made.
    """
    try:
        path.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise UsageError(f"{path} cannot be made a folder: {error.strerror or error}.") from None


def file_bytes(name: str, *, dash: bool = False, most: int = MOST_FILE_BYTES) -> bytes:
    """The bytes of a file named in an option; of standard input for `-` where that is allowed.

    Raises:
        UsageError: it cannot be read.
    """
    if dash and name == "-":
        return sys.stdin.buffer.read() if sys.stdin is not None else b""
    try:
        path = Path(name)
        if name and path.exists() and not path.is_dir():
            _must_fit(path, name, most)
        return path.read_bytes() if name else _nameless()
    except (OSError, ValueError) as error:
        raise UsageError(f"{name} cannot be read: {getattr(error, 'strerror', None) or error}.") from None


def _must_fit(path: Path, name: str, most: int) -> None:
    """A device or a pipe has no end, and no file of ours is larger than this."""
    if not path.is_file():
        raise UsageError(f"{name} is a device or a pipe, not a file; save it to a file first.")
    if path.stat().st_size > most:
        size = path.stat().st_size / 1_000_000
        raise UsageError(f"{name} holds {size:.0f} MB; at most {most // 1_000_000} MB are taken.")


def _nameless() -> bytes:
    raise UsageError("A file is wanted, but its name is empty.")


def write_file(path: Path, data: bytes) -> None:
    """Write a file named in an option, whole or not at all; `-` is standard output.

    Raises:
        UsageError: the place cannot be written, or a log, a copy or a part of one is there already; or what is no text
            would go to a terminal.
    """
    if str(path) == "-":
        _send(data)
        return
    try:
        _refuse_log(path)
        if path.exists() and not path.is_file():  # a folder, or a device such as /dev/stdout
            path.write_bytes(data)
        else:
            _put(path, data)
    except OSError as error:
        raise UsageError(f"{path} cannot be written: {error.strerror or error}.") from None
    say(f"wrote {path}")


def _send(data: bytes) -> None:
    """The bytes of a file, to standard output; a reader that went away is no error."""
    try:
        data.decode()
    except UnicodeDecodeError:
        if _is_drawn_on(sys.stdout):
            raise UsageError("This is no text for a terminal: name a file, or send it on with > FILE.") from None
    stream = sys.stdout
    if stream is None:  # closed before the start: nobody listens
        return
    try:
        end_progress()
        stream.flush()
        stream.buffer.write(data)
        stream.buffer.flush()
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())
    except OSError as error:
        raise UsageError(f"Standard output cannot be written: {error.strerror or error}.") from None


_OURS = re.compile(r".*-(wal|shm)|.*\.db\.lock|[0-9a-f]{32}\.(key|tail|retired-\d+)|[0-9a-f]{64}")
"""Names of what lies beside a log."""


def _refuse_log(path: Path) -> None:
    if path.is_file():
        with path.open("rb") as file:
            database = file.read(16) == b"SQLite format 3\0"
        if database or _OURS.fullmatch(path.resolve().name):
            raise UsageError(f"{path} is a log, a copy or a part of one; it is never written over. Name another file.")


def _put(path: Path, data: bytes) -> None:
    """Write beside the place, then move there; nothing is left over when that fails."""
    new = path.with_name(f".{path.name}.{os.getpid()}.new")
    try:
        new.write_bytes(data)
        new.replace(path)
    finally:
        new.unlink(missing_ok=True)
