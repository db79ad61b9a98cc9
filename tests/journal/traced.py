"""Runs the appender, plainly or under strace, and reads what it said."""

import shutil
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest

from seasonlog.journal.views import LogViews
from tests.journal.logs import new_log


@dataclass(frozen=True)
class Said:
    saved: tuple[str, ...]
    refused: tuple[str, ...]
    trace: str
    err: str


def a_log(folder: Path) -> Path:
    with new_log(folder, views=LogViews()):
        return folder / "seasonlog.db"


def strace() -> str:
    found = shutil.which("strace")
    if found is None:
        pytest.skip("strace is not installed (apt-get install strace)")
    return found


def run_appender(log: Path, count: int, *options: str) -> Said:
    """Append `count` notes under strace with these options."""
    trace = log.parent / "trace.txt"
    command = [strace(), "-f", "-qq", "-o", str(trace), *options] if options else []
    done = subprocess.run(
        [*command, sys.executable, "-m", "tests.journal.appender", str(log), str(count)],
        capture_output=True, text=True, timeout=60, check=False,
    )  # fmt: skip
    lines = [line.split(maxsplit=2) for line in done.stdout.splitlines()]
    return Said(
        tuple(line[1] for line in lines if line[0] == "saved"),
        tuple(line[2] for line in lines if line[0] == "refused"),
        trace.read_text("utf-8", "replace") if options else "",
        done.stderr,
    )


def uids(log: Path) -> set[str]:
    import sqlite3

    db = sqlite3.connect(log)
    try:
        return {uid for (uid,) in db.execute("SELECT uid FROM entry")}
    finally:
        db.close()
