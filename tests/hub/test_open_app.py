"""The app of the office with the real server: a visit begun on the roof stands on its first board, unasked."""

import time
from pathlib import Path

from seasonlog.hub import link
from seasonlog.services import devices, live_sync, rounds, sync
from seasonlog.services.logbook import Logbook
from seasonlog.services.places import Places
from seasonlog.tui.app import SeasonlogApp
from seasonlog.tui.widgets.row_list import RowList
from tests.builders import INSTRUMENTS, TODAY
from tests.hub.conftest import Hub
from tests.hub.test_sync import TECHNICIAN, invited, office, surroundings
from tests.tui.conftest import row_keys, settled

__all__ = ["office"]


async def test_a_visit_begun_elsewhere_comes_to_the_board_by_itself(
    hub: Hub,
    office: Logbook,
    tmp_path: Path,
) -> None:
    log = office.journal.log_id
    theirs = invited(hub, "office", "supervisor", log)
    link.keep(theirs, office.places.hub)
    sync.sync(office, theirs)
    mine = invited(hub, "roof", "technician", log)
    at, around = Places(tmp_path / "roof" / "seasonlog.db"), surroundings("roof")
    devices.enrol(office, sync.join(at, around, TECHNICIAN, mine), "the roof tablet")
    sync.sync(office, theirs)
    app = SeasonlogApp(office, TODAY, hub=live_sync.hub_of(office))
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("down")
        rows = app.screen.query_one(RowList)
        assert rows.picked is not None
        before = rows.picked.key
        assert not any(key.startswith("visit:") for key in row_keys(app, "RowList"))
        with Logbook.open(at, around, TECHNICIAN, writing=True) as roof:
            sync.sync(roof, mine)
            rounds.start(roof, rounds.Start("HOS-1", "fall-enable", INSTRUMENTS), TODAY)
            sync.sync(roof, mine)
        end = time.monotonic() + 30
        while not any(key.startswith("visit:") for key in row_keys(app, "RowList")):
            assert time.monotonic() < end, "it did not come"
            await settled(pilot)
        assert rows.picked.key == before
