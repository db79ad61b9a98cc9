"""A push that breaks anywhere loses nothing, leaves no half batch, and is harmless when it is sent again."""

import random
import time

import psycopg
import pytest

from seasonlog.hub import rows
from seasonlog.hub.link import HubError
from seasonlog.hub.rows import push
from tests.hub.conftest import Hub
from tests.hub.proxy import CuttingLink
from tests.hub.worlds import LOG, chain, device

TESS = device("tess")
BATCH = 3
WORDS: list[str] = []
"""What was said of the links that broke."""
PUSH = 12 * BATCH
CUTS = 200


def acknowledged(hub: Hub, sent: list[rows.Row], port: int) -> int:
    """Push through a port; how many rows the client was told are in when the link held or broke."""
    told = 0

    def count(number: int) -> None:
        nonlocal told
        told += number

    try:
        with hub.as_("tess", port=port) as connection:
            push(connection, LOG, sent, count)
    except HubError as broken:
        WORDS.append(str(broken))
    return told


def held(connection: "psycopg.Connection[tuple[int, int]]") -> int:
    """Rows on the hub, none twice and none missing between them."""
    row = connection.execute("SELECT count(*), coalesce(max(seq), 0) FROM record.entry").fetchone()
    assert row is not None
    assert row[0] == row[1]
    return row[0]


def lengths(hub: Hub, entries: list[rows.Row]) -> dict[bool, tuple[int, int]]:
    """Bytes the client (True) and the server (False) send until both may talk, and in a whole push."""
    found = {}
    for up in (True, False):
        with CuttingLink(hub.server.port, 10**9, up=up) as whole:
            acknowledged(hub, [], whole.port)
            greeting = whole.carried
            acknowledged(hub, entries, whole.port)
            found[up] = (greeting, whole.carried)
    return found


def test_a_link_cut_at_a_random_byte(hub: Hub, monkeypatch: pytest.MonkeyPatch) -> None:
    """Two hundred cuts, at a random byte of what the client sends or of what the server answers, one in five of them
    while the two still greet each other. At least ten must be in doubt: rows are in and the client was not told.
    """
    rng = random.Random(20261129)
    entries = chain(TESS, 12_000, real=False)
    doubtful = cuts = at = 0
    with hub.administrator() as admin, monkeypatch.context() as patched:
        patched.setattr(rows, "BATCH", BATCH)
        long = lengths(hub, chain(device("tess"), PUSH, real=False))
        at = held(admin)
        while cuts < CUTS:
            up = rng.random() < 0.2
            greeting, whole = long[up]
            limit = rng.randrange(1, greeting) if rng.random() < 0.2 else rng.randrange(greeting, whole)
            with CuttingLink(hub.server.port, limit, up=up) as broken:
                told = acknowledged(hub, entries[at : at + PUSH], broken.port)
            now = settled(admin)
            assert at + told <= now <= at + PUSH
            assert (now - at) % BATCH == 0, "half a batch is on the hub"
            cuts, doubtful, at = cuts + broken.cuts, doubtful + (now > at + told), now
        patched.undo()
        assert acknowledged(hub, entries, hub.server.port) == len(entries)  # the whole again: harmless
        assert held(admin) == len(entries)
    print(f"{cuts} cuts, {doubtful} in doubt, {at} rows in")
    assert doubtful >= 10
    assert all("everything is kept here" in words for words in WORDS)


def settled(admin: "psycopg.Connection[tuple[int, int]]") -> int:
    """Rows on the hub once no transaction of a member is open any more."""
    for _ in range(200):
        open_ones = admin.execute(
            "SELECT count(*) FROM pg_stat_activity WHERE usename = 'tess' AND datname = current_database()"
        ).fetchone()
        if open_ones == (0,):
            break
        time.sleep(0.01)
    return held(admin)
