"""The command line: one file per command, loaded only when it is called.

Data goes to stdout, words about it to stderr. Exit codes: 0 done and nothing wrong; 1 done, something wrong found;
2 usage; 3 input refused, nothing written; 4 the log cannot be used.
"""

import io
import sys
from collections.abc import Sequence

from seasonlog.errors import InputRefusedError, LogError, SeasonlogError, UsageError

EXIT_CODES: Sequence[tuple[type[SeasonlogError], int]] = (
    (UsageError, 2),
    (InputRefusedError, 3),
    (LogError, 4),
    (SeasonlogError, 3),
)
"""Which error ends with which code; the first that fits."""


def main(argv: Sequence[str] | None = None) -> None:
    """Run a command and leave with its exit code."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")  # a terminal without a letter shows its number instead
    sys.exit(run(list(sys.argv[1:] if argv is None else argv)))


def run(argv: list[str]) -> int:
    """Run a command; returns its exit code. No traceback reaches a user."""
    import click

    from seasonlog.cli.group import seasonlog

    try:
        code = seasonlog.main(args=argv, prog_name="seasonlog", standalone_mode=False)
        return code if isinstance(code, int) else 0
    except click.ClickException as error:
        error.show()
        return 2
    except (click.Abort, KeyboardInterrupt):
        _say("stopped; nothing more was written")
        return 130
    except SeasonlogError as error:
        _explain(error)
        return next(code for kind, code in EXIT_CODES if isinstance(error, kind))
    except UnicodeEncodeError:
        _say("A word of the command is not UTF-8 text; type it again. Nothing was written.")
        return 2
    except Exception as error:  # noqa: BLE001  (the last line of defence: a sentence instead of a traceback)
        return _unforeseen(error)


def _explain(error: SeasonlogError) -> None:
    lines = error.problems if isinstance(error, InputRefusedError) else (str(error),)
    for line in lines:
        _say(str(line))
    if isinstance(error, InputRefusedError):
        _say("Nothing was written.")


def _unforeseen(error: Exception) -> int:
    import json
    import os
    import sqlite3

    if os.environ.get("SEASONLOG_TRACEBACK"):
        raise error
    if isinstance(error, sqlite3.Error | json.JSONDecodeError):  # what is kept as JSON rotted
        _say(f"The log cannot be used ({error}); run `seasonlog verify` to see whether it is damaged.")
        return 4
    _say(f"This should not have happened ({type(error).__name__}: {error}). Nothing saved is lost.")
    _say("`seasonlog verify` tells whether the log is damaged; SEASONLOG_TRACEBACK=1 shows where this happened.")
    return 3


def _say(line: str) -> None:
    from seasonlog.cli.frame import end_progress
    from seasonlog.domain.text import visible

    end_progress()
    print(f"seasonlog: {visible(line)}", file=sys.stderr)
