"""Who may do what on the hub, asked of a real server by real logins: the whole matrix, permits and refusals."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import psycopg
import pytest

from seasonlog.hub import admin
from seasonlog.hub.link import HubError
from seasonlog.hub.rows import Row, push
from tests.hub.conftest import PASSWORD, Hub
from tests.hub.worlds import LOG, OTHER_LOG, chain, device

TESS, TOM = device("tess"), device("tom")
OWN = chain(TESS, 5)
TOMS = chain(TOM, 3)

INSERT = "INSERT INTO entry (log, dev, seq, prev, hash, line, sig) VALUES (%s, %s, %s, %s, %s, %s, %s)"


def values(row: Row, log: str = LOG) -> tuple[Any, ...]:
    return (log, row.dev, row.seq, row.prev, row.hash, row.line, row.sig)


def put(row: Row, log: str = LOG) -> Callable[[Any], Any]:
    return lambda c: c.execute(INSERT, values(row, log))


def say(sql: str, *parameters: Any) -> Callable[[Any], Any]:
    return lambda c: c.execute(sql, parameters)


FORKED = chain(TESS, 1, after=OWN[:3], word="other")[0]
FOREIGN = chain(device("oscar"), 1, log=OTHER_LOG)[0]
_LINE = chain(TESS, 6)[5]
MISLABELLED = replace(_LINE, seq=5, prev=OWN[4].prev)
CHECKPOINT = ("INSERT INTO checkpoint (log, hash, text) VALUES (%s, %s, 'x')", LOG, b"c" * 32)

PERMITTED = {
    "tess: next own entry": ("tess", put(OWN[4])),
    "tess: reads": ("tess", say("SELECT * FROM entry")),
    "tess: pushes the same again": ("tess", lambda c: push(c, LOG, OWN[:4])),
    "tess: adds a checkpoint": ("tess", say(*CHECKPOINT)),
    "sue: an entry of a device of the firm": ("sue", put(TOMS[0])),
    "sue: reads": ("sue", say("SELECT * FROM entry")),
    "sue: adds a checkpoint": ("sue", say(*CHECKPOINT)),
    "aud: reads": ("aud", say("SELECT * FROM entry")),
    "aud: reads checkpoints": ("aud", say("SELECT * FROM checkpoint, checkpoint_signature, attachment, version")),
    "oscar: own firm's entry": ("oscar", put(FOREIGN, OTHER_LOG)),
}

NO_RIGHT = {
    "tess: says when it was received": (
        "INSERT INTO entry (log, dev, seq, prev, hash, line, sig, received) "
        "VALUES (%s, %s, %s, %s, %s, %s, %s, '2020-01-01')", *values(OWN[4])),
    "tess: says who pushed": (
        "INSERT INTO entry (log, dev, seq, prev, hash, line, sig, pushed_by) "
        "VALUES (%s, %s, %s, %s, %s, %s, %s, 'tom')", *values(OWN[4])),
    "tess: writes over by upsert": (
        INSERT + " ON CONFLICT (log, dev, seq) DO UPDATE SET line = excluded.line", *values(FORKED)),
    "tess: makes herself supervisor": (
        "INSERT INTO member (login, log, role) VALUES ('tess', %s, 'supervisor')", LOG),
    "tess: replaces the rules": (
        "CREATE OR REPLACE FUNCTION record.my_logs() RETURNS text[] LANGUAGE sql RETURN ARRAY['']",),
    "tess: updates": ("UPDATE entry SET sig = sig",),
    "tess: deletes": ("DELETE FROM entry",),
    "tess: empties": ("TRUNCATE entry",),
    "tess: lets go of an attachment": ("DELETE FROM attachment",),
    "tess: reads the members": ("SELECT * FROM member",),
    "tess: becomes the owner": ("SET ROLE seasonlog_owner",),
    "tess: becomes a supervisor": ("SET ROLE seasonlog_supervisor",),
    "tess: switches the triggers off": ("ALTER TABLE entry DISABLE TRIGGER ALL",),
    "tess: drops a policy": ("DROP POLICY sees ON entry",),
    "tess: plays a replica": ("SET session_replication_role = replica",),
    "tess: makes a table in the record": ("CREATE TABLE record.x (y int)",),
    "sue: updates": ("UPDATE entry SET sig = sig",),
    "sue: deletes": ("DELETE FROM entry",),
    "sue: deletes a checkpoint": ("DELETE FROM checkpoint",),
    "aud: adds a checkpoint": CHECKPOINT,
    "aud: deletes": ("DELETE FROM entry",),
}  # fmt: skip
"""Statements that the server refuses for want of a right (42501); the login stands before the colon."""

REFUSED = {
    **{case: (case.split(":")[0], say(*sql), "42501") for case, sql in NO_RIGHT.items()},
    "tess: a gap": ("tess", put(chain(TESS, 2, after=OWN)[1]), "SL002"),
    "tess: a fork": ("tess", put(FORKED), "23505"),
    "tess: a fork pushed in a batch": ("tess", lambda c: push(c, LOG, [FORKED]), None),
    "tess: a break in the chain": ("tess", put(chain(TESS, 1, after=[*OWN[:3], FORKED])[0]), "SL002"),
    "tess: another device": ("tess", put(TOMS[0]), "42501"),
    "tess: another firm's log": ("tess", put(FOREIGN, OTHER_LOG), "42501"),
    "tess: columns that contradict the line": ("tess", put(MISLABELLED), "SL003"),
    "tess: a hash that is not the line's": ("tess", put(replace(OWN[4], hash=b"h" * 32)), "23514"),
    "tess: a short signature": ("tess", put(replace(OWN[4], sig=b"s")), "23514"),
    "sue: another firm's log": ("sue", put(FOREIGN, OTHER_LOG), "42501"),
    "aud: adds an entry": ("aud", put(TOMS[0]), "42501"),
    "oscar: adds to a log he is no member of": ("oscar", put(TOMS[0]), "42501"),
}  # fmt: skip


@pytest.fixture(scope="module")
def full(module_hub: Hub) -> Hub:
    """Four entries of tess are on the hub."""
    with module_hub.as_("tess") as connection:
        assert push(connection, LOG, OWN[:4]) == 4
    return module_hub


@pytest.mark.parametrize("case", PERMITTED)
def test_permitted(full: Hub, case: str) -> None:
    login, act = PERMITTED[case]
    with full.as_(login) as connection, connection.transaction(force_rollback=True):
        act(connection)


@pytest.mark.parametrize("case", REFUSED)
def test_refused(full: Hub, case: str) -> None:
    login, act, state = REFUSED[case]
    with pytest.raises(HubError) as refused, full.as_(login) as connection:
        act(connection)
    assert getattr(refused.value.__cause__, "sqlstate", None) == state
    assert full.rows() == [(TESS.dev, n) for n in (1, 2, 3, 4)]


def test_the_matrix_is_at_least_as_large_as_the_one_of_the_design() -> None:
    assert len(PERMITTED) + len(REFUSED) >= 31


def test_another_firm_sees_nothing(full: Hub) -> None:
    with full.as_("oscar") as connection:
        assert connection.execute("SELECT count(*) FROM entry").fetchone() == (0,)


def test_not_even_the_owner_changes_a_row(full: Hub) -> None:
    """The owner has no policy of its own, so it sees no row; emptying the table meets the trigger."""
    with full.administrator() as connection:
        connection.execute("SET ROLE seasonlog_owner")
        assert connection.execute("UPDATE record.entry SET sig = sig").rowcount == 0
        assert connection.execute("DELETE FROM record.entry").rowcount == 0
        with pytest.raises(psycopg.Error, match="append-only"):
            connection.execute("TRUNCATE record.entry")
    assert len(full.rows()) == 4


def test_an_administrator_meets_the_trigger(full: Hub) -> None:
    for sql in ("UPDATE record.entry SET sig = sig", "DELETE FROM record.entry", "TRUNCATE record.entry"):
        with full.administrator() as connection, pytest.raises(psycopg.Error, match="append-only"):
            connection.execute(sql)


def test_the_owner_has_no_login(full: Hub) -> None:
    with full.administrator() as connection:
        assert connection.execute("SELECT rolcanlogin FROM pg_roles WHERE rolname = 'seasonlog_owner'").fetchone() == (
            False,
        )


def test_a_dismissed_member_is_out_at_once_and_what_was_pushed_stays(hub: Hub) -> None:
    with hub.as_("tom") as connection:
        push(connection, LOG, TOMS)
    with hub.administrator() as connection:
        admin.dismiss(connection, "tom")
    with pytest.raises(HubError, match="dismissed"), hub.as_("tom"):
        pass
    assert hub.rows() == [(TOM.dev, n) for n in (1, 2, 3)]
    with hub.administrator() as connection:  # the tests of this process go on with tom
        admin.admit(connection, login="tom", password=PASSWORD, log=LOG, role="technician", dev=TOM.dev)


def test_no_password_reaches_the_servers_log(full: Hub) -> None:
    assert PASSWORD not in (full.server.folder / "server.log").read_text()
    with full.administrator() as connection:
        kept = connection.execute("SELECT rolpassword FROM pg_authid WHERE rolname = 'tess'").fetchone()
    assert kept[0].startswith("SCRAM-SHA-256$")
