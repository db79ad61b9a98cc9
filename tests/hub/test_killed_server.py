"""The server is killed while it is pushed to: nothing that was acknowledged is lost, and nothing is there twice."""

import os
import random
import signal
import threading
import time
from contextlib import suppress
from pathlib import Path

import pytest

from seasonlog.hub import rows, trial
from seasonlog.hub.link import HubError
from seasonlog.hub.rows import push
from tests.hub.conftest import Hub
from tests.hub.worlds import LOG, chain, device

BATCH = 7
TESS = device("tess")
KILLS = 25


def kill(server: trial.Trial) -> None:
    """As kill -9 on the whole server, and wait until it is gone."""
    number = int((server.data / "postmaster.pid").read_text().split("\n")[0])
    for child in (number, *children(number)):
        with suppress(ProcessLookupError):
            os.kill(child, signal.SIGKILL)
    for _ in range(500):
        if not running(number):
            (server.data / "postmaster.pid").unlink(missing_ok=True)  # where nobody buries the dead it would look alive
            return
        time.sleep(0.01)
    raise AssertionError("the server does not go")


def children(of: int) -> list[int]:
    """Processes whose parent this one is (Linux)."""
    found = []
    for stat in Path("/proc").glob("[0-9]*/stat"):
        try:
            fields = stat.read_text().rsplit(")", 1)[1].split()
        except OSError:
            continue
        if int(fields[1]) == of:
            found.append(int(stat.parent.name))
    return found


def running(number: int) -> bool:
    """Whether a process is there and no zombie."""
    try:
        return Path(f"/proc/{number}/stat").read_text().rsplit(")", 1)[1].split()[0] != "Z"
    except OSError:
        return False


def pushed_until_killed(hub: Hub, sent: list[rows.Row], after_s: float) -> int:
    """Push while the server is killed after so long; how many rows were acknowledged."""
    told = 0

    def count(number: int) -> None:
        nonlocal told
        told += number

    killer = threading.Timer(after_s, kill, [hub.server])
    try:
        with hub.as_("tess") as connection:
            killer.start()
            push(connection, LOG, sent, count)
    except HubError:
        pass
    killer.join()
    return told


def kill_and_count(hub: Hub, kills: int, monkeypatch: pytest.MonkeyPatch) -> tuple[int, int]:
    """So many kills; rows on the hub, and kills that met a push."""
    rng = random.Random(20261129)
    entries = chain(TESS, 200 * BATCH * kills, real=False)
    monkeypatch.setattr(rows, "BATCH", BATCH)
    met = at = 0
    for _ in range(kills):
        sent = entries[at:]
        told = pushed_until_killed(hub, sent, rng.uniform(0.01, 0.15))
        hub.server.start()
        with hub.administrator() as admin:
            counted = admin.execute("SELECT count(*), coalesce(max(seq), 0) FROM record.entry").fetchone()
        assert counted[0] == counted[1], "a gap, or a row twice"
        assert counted[0] % BATCH == 0, "half a batch"
        assert counted[0] >= at + told, "an acknowledged row is lost"
        met += told < len(sent)
        at = counted[0]
    return at, met


def test_killed_while_pushing(hub: Hub, monkeypatch: pytest.MonkeyPatch) -> None:
    held, met = kill_and_count(hub, KILLS, monkeypatch)
    print(f"{KILLS} kills, {met} in a push, {held} rows in")
    assert met >= KILLS * 0.8


@pytest.mark.long
def test_killed_a_hundred_times(hub: Hub, monkeypatch: pytest.MonkeyPatch) -> None:
    _, met = kill_and_count(hub, 100, monkeypatch)
    assert met >= 80
