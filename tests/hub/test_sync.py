"""Devices that exchange by the hub: each ends with what all wrote, and takes nothing that does not prove itself."""

import queue
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from seasonlog.hub import admin, link, trial
from seasonlog.hub.link import Invitation
from seasonlog.journal.compare import first_difference
from seasonlog.journal.views import LogViews
from seasonlog.services import devices, live_sync, notes, sync
from seasonlog.services.logbook import Logbook, Surroundings
from seasonlog.services.places import Places
from tests.builders import FixedBytes, FixedClock, a_book
from tests.hub.conftest import PASSWORD, Hub

SUPERVISOR, TECHNICIAN = "Halden Pruskett", "Mirel Oduvane"


def surroundings(seed: str) -> Surroundings:
    return Surroundings(FixedClock(datetime(2026, 9, 15, 13, tzinfo=UTC)), FixedBytes(seed))


def invited(hub: Hub, login: str, role: str, log: str) -> Invitation:
    """An invitation for a login that is admitted with it."""
    with hub.administrator() as connection:
        admin.admit(connection, login=login, password=PASSWORD, log=log, role=role)
    return Invitation(log, role, trial.HOST, hub.server.port, hub.database, login, PASSWORD, hub.server.certificate)


@pytest.fixture
def office(tmp_path: Path) -> Iterator[Logbook]:
    """The supervisor's log with the sample sites."""
    with a_book(tmp_path / "office", who=SUPERVISOR, surroundings=surroundings("office")) as book:
        yield book


def hashes(book: Logbook) -> set[bytes]:
    return {digest for (digest,) in book.journal.query("SELECT hash FROM entry")}


def count_of(book: Logbook, device: str) -> int:
    return int(book.journal.query("SELECT count(*) FROM entry WHERE dev = ?", [device])[0][0])


def test_a_device_joins_waits_for_its_enrolment_and_then_both_hold_the_same(
    hub: Hub, office: Logbook, tmp_path: Path
) -> None:
    log = office.journal.log_id
    theirs = invited(hub, "office", "supervisor", log)
    assert sync.sync(office, theirs).pushed == office.journal.count()
    mine = invited(hub, "roof", "technician", log)
    at, around = Places(tmp_path / "roof" / "seasonlog.db"), surroundings("roof")
    device = sync.join(at, around, TECHNICIAN, mine)
    with Logbook.open(at, around, TECHNICIAN, writing=True) as roof:
        notes.leave(roof, "HOS-1", "ice at the south wall")
        assert sync.sync(roof, mine).pushed == count_of(roof, device)
        waits = sync.sync(office, theirs)
        assert (waits.waiting, waits.pulled) == ({device: count_of(roof, device)}, 0)
        devices.enrol(office, device, "the roof tablet")
        taken = sync.sync(office, theirs)
        assert (taken.waiting, taken.pulled) == ({}, count_of(roof, device))
        assert notes.of_tower(office, "HOS-1") != []
        for _ in range(2):
            sync.sync(roof, mine)
            sync.sync(office, theirs)
        assert hashes(roof) == hashes(office)
        again = sync.sync(roof, mine)
        assert (again.pulled, again.pushed) == (0, 0)
        for book in (roof, office):
            assert first_difference(book.journal, LogViews()) == ""


def test_an_open_log_keeps_in_step_with_what_others_push(hub: Hub, office: Logbook, tmp_path: Path) -> None:
    """The loop of the app against the real server: what is saved here goes, what others push comes, unasked."""
    log = office.journal.log_id
    link.keep(invited(hub, "office", "supervisor", log), office.places.hub)
    found = live_sync.hub_of(office)
    assert found is not None
    told: queue.Queue[live_sync.LinkState] = queue.Queue()
    loop = live_sync.LiveSync(found, told.put, office.around.clock.wall_ms)
    loop.start()
    try:
        until(lambda: told.get(timeout=20).linked is True)
        mine = invited(hub, "roof", "technician", log)
        at, around = Places(tmp_path / "roof" / "seasonlog.db"), surroundings("roof")
        devices.enrol(office, sync.join(at, around, TECHNICIAN, mine), "the roof tablet")
        notes.leave(office, "HOS-1", "said in the office")
        until(lambda: len(hub.rows()) == office.journal.count())
        with Logbook.open(at, around, TECHNICIAN, writing=True) as roof:
            notes.leave(roof, "HOS-1", "said on the roof")
            sync.sync(roof, mine)
        until(lambda: len(notes.of_tower(office, "HOS-1")) == 2)
    finally:
        loop.stop(20)
    assert first_difference(office.journal, LogViews()) == ""


def until(holds: Callable[[], bool]) -> None:
    """Wait for it, half a minute at most."""
    end = time.monotonic() + 30
    while not holds():
        assert time.monotonic() < end, "it did not come to hold"
        time.sleep(0.05)
