"""A visit killed two hundred times: nothing said to be saved is lost, and the visit goes on where it stopped.

Kills alone prove little (they lose nothing even without syncs); the power cuts and system calls are tested beside the
journal.
"""

import os
import random
import signal
import sqlite3
import sys
import time
from pathlib import Path

import pytest

from seasonlog.journal.verify import verify
from seasonlog.services import rounds
from seasonlog.services.answered_file import Work, carry_out
from seasonlog.services.demo import healthy
from tests.builders import QUALIFIED, TODAY, FixedBytes, FixedClock, a_book, a_visit
from tests.scale import scaled

KILLS = max(200, scaled(50))


def answers_file(folder: Path) -> bytes:
    """Healthy answers to every step of a fall enable on HOS-1."""
    with a_book(folder) as book:
        at = a_visit(book)
        lines = ["[answers]"]
        for instance in at.instances:
            raw = "skip" if at.waits_for(instance.key) else healthy(at, instance, TODAY)
            if raw == "skip" or instance.step.id == "trace_amps":
                lines.append(f'"{instance.key}" = {{skip = "not in this test"}}')
                at = rounds.skip(book, at, instance.key, "not in this test") if raw != "skip" else at
                continue
            at = rounds.answer(book, at, instance.key, raw)
            shown = f'"{raw}"' if isinstance(raw, str) else "[" + ", ".join(f'"{r}"' for r in raw) + "]"
            lines.append(f'"{instance.key}" = {shown}')
    return "\n".join([*lines, "[sign_off]"]).encode()


def child(folder: Path, data: bytes, pipe: int) -> None:
    """Carry the file out, saying each saved step; never returns."""
    code = 1
    try:
        from seasonlog.services.logbook import Logbook, Surroundings
        from seasonlog.services.places import Places

        around = Surroundings(FixedClock(), FixedBytes(str(os.getpid())))
        with Logbook.open(Places(folder / "seasonlog.db"), around, QUALIFIED, writing=True) as book:
            work = Work("HOS-1", "fall-enable", data, "answers")
            carry_out(book, work, TODAY, lambda saved: void(os.write(pipe, f"{saved.seq} {saved.step}\n".encode())))
        code = 0
    finally:
        os._exit(code)


def void(_: object) -> None:
    pass


@pytest.mark.skipif(sys.platform == "win32", reason="there is no fork and no SIGKILL")
@pytest.mark.filterwarnings("ignore:.*fork.*:DeprecationWarning")
def test_two_hundred_kills_lose_nothing(tmp_path: Path) -> None:
    data = answers_file(tmp_path / "other")
    folder = tmp_path / "log"
    with a_book(folder):
        pass
    chance = random.Random(1)
    said: set[tuple[int, str]] = set()
    kills = files = 0
    while kills < KILLS:
        finished, spoken = one_run(folder, data + f"\n# file {files}".encode(), chance.random() * 0.06)
        said |= spoken
        kills += not finished
        files += finished
        assert said <= kept(folder), "an answer said to be saved is not in the log"
    assert kills == KILLS
    assert files > 0, "no visit was ever finished"
    found = verify(folder / "seasonlog.db", keys_dir=folder / "keys")
    assert found.ok, found
    assert answered_once(folder)


def one_run(folder: Path, data: bytes, seconds: float) -> tuple[bool, set[tuple[int, str]]]:
    """Start, kill after a while unless it ends before; returns whether it ended, and what it said."""
    reading, writing = os.pipe()
    pid = os.fork()
    if pid == 0:
        os.close(reading)
        child(folder, data, writing)
    os.close(writing)
    with os.fdopen(reading, "rb") as pipe:
        first = pipe.readline()
        time.sleep(seconds)
        os.kill(pid, signal.SIGKILL)
        lines = [first, *pipe.readlines()]
    _, status = os.waitpid(pid, 0)
    whole = [line.decode().split() for line in lines if line.endswith(b"\n")]
    return os.WIFEXITED(status), {(int(seq), step) for seq, step in whole}


def kept(folder: Path) -> set[tuple[int, str]]:
    db = sqlite3.connect(folder / "seasonlog.db")
    step = "json_extract(CAST(line AS TEXT), '$.body.step')"
    sql = f"SELECT seq, {step} FROM entry WHERE kind IN ('step_answered','step_skipped')"
    try:
        return {(seq, step) for seq, step in db.execute(sql)}
    finally:
        db.close()


def answered_once(folder: Path) -> bool:
    db = sqlite3.connect(folder / "seasonlog.db")
    body = "CAST(line AS TEXT), '$.body"
    group = f"json_extract({body}.visit'), json_extract({body}.step')"
    sql = f"SELECT max(n) FROM (SELECT count(*) n FROM entry WHERE kind='step_answered' GROUP BY {group})"
    try:
        return bool(db.execute(sql).fetchone()[0] == 1)
    finally:
        db.close()
