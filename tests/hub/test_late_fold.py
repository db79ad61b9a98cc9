"""Entries so late that the whole log is put in order anew: told in words, and never begun while somebody answers.

The number of entries that can be slipped in is set to three here; the law that both ways give the same tables is in
tests/journal/test_late_entries.py.
"""

from pathlib import Path

import pytest

from seasonlog.hub import link
from seasonlog.journal import undo
from seasonlog.journal.compare import first_difference
from seasonlog.journal.views import LogViews
from seasonlog.services import devices, live_sync, notes, sync
from seasonlog.services.logbook import Logbook
from seasonlog.services.places import Places
from tests.hub.conftest import Hub
from tests.hub.test_sync import TECHNICIAN, invited, office, surroundings

__all__ = ["office"]
LATE, NEW = "said on the roof, long ago", "said in the office"


def test_a_late_note_waits_while_somebody_answers_and_then_comes_in_with_its_progress_told(
    hub: Hub, office: Logbook, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(undo, "KEPT", 3)
    monkeypatch.setattr(undo, "PRUNE_EVERY", 1)
    monkeypatch.setattr("seasonlog.journal.tables.PROGRESS_EVERY", 20)
    log = office.journal.log_id
    theirs, mine = invited(hub, "office", "supervisor", log), invited(hub, "roof", "technician", log)
    link.keep(theirs, office.places.hub)
    sync.sync(office, theirs)
    at, around = Places(tmp_path / "roof" / "seasonlog.db"), surroundings("roof")
    devices.enrol(office, sync.join(at, around, TECHNICIAN, mine), "the roof tablet")
    sync.sync(office, theirs)
    with Logbook.open(at, around, TECHNICIAN, writing=True) as roof:
        notes.leave(roof, "HOS-1", LATE)
        for number in range(30):
            notes.leave(office, "HOS-1", f"{NEW} {number}")
        sync.sync(roof, mine)
    found = live_sync.hub_of(office)
    assert found is not None
    told: list[tuple[int, int]] = []
    steps: list[str] = []
    push = sync._push
    monkeypatch.setattr(sync, "_push", lambda *given: (steps.append("pushed"), push(*given))[1])  # type: ignore[func-returns-value]
    held = found.exchange(sync.Folding(lambda: False, lambda done, total: told.append((done, total))))
    assert (held.pulled, held.complaints, told) == (0, (sync.LATER,), [])
    assert held.pushed >= 30  # what was written here goes, though what is there waits
    assert not any(LATE in note for note in notes.of_tower(office, "HOS-1"))
    steps.clear()
    folding = sync.Folding(lambda: True, lambda done, total: told.append((done, total)), lambda: steps.append("ended"))
    done = found.exchange(folding)
    assert steps == ["ended", "pushed"], "saving may go on before what was written here goes over the link"
    assert (done.pulled > 0, done.complaints, done.whose) == (True, (), (TECHNICIAN,))
    assert told[0][0] == 0
    assert [each[0] for each in told[1:]] == [20 * n for n in range(1, len(told))]
    assert len(told) > 1
    assert any(LATE in note for note in notes.of_tower(office, "HOS-1"))
    assert first_difference(office.journal, LogViews()) == ""


def test_what_can_be_slipped_in_asks_nobody(hub: Hub, office: Logbook, tmp_path: Path) -> None:
    log = office.journal.log_id
    theirs, mine = invited(hub, "office", "supervisor", log), invited(hub, "roof", "technician", log)
    sync.sync(office, theirs)
    at, around = Places(tmp_path / "roof" / "seasonlog.db"), surroundings("roof")
    devices.enrol(office, sync.join(at, around, TECHNICIAN, mine), "the roof tablet")
    sync.sync(office, theirs)
    with Logbook.open(at, around, TECHNICIAN, writing=True) as roof:
        notes.leave(roof, "HOS-1", LATE)
        notes.leave(office, "HOS-1", NEW)
        sync.sync(roof, mine)

    def never() -> bool:
        raise AssertionError("nobody is to be asked")

    done = sync.sync(office, theirs, folding=sync.Folding(never, lambda done, total: None))
    assert done.pulled > 0
    assert len(notes.of_tower(office, "HOS-1")) == 2


def test_the_command_is_told_how_many_more_are_in_order_each_time() -> None:
    """As `pulled` and `pushed` are: so many more, whose sum is where the fold is."""
    told: list[tuple[str, int]] = []
    progress = sync._in_order(lambda what, count: told.append((what, count)))
    for done in (0, 1000, 2000, 3500):
        progress(done, 4000)
    assert told == [("put in order", count) for count in (0, 1000, 1000, 1500)]
