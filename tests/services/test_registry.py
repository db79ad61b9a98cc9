"""The part of the register a screen asks for, however its ids are chosen."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

from seasonlog.domain.register import Register
from seasonlog.services import board, registry, rounds, season
from seasonlog.services import register as equipment
from seasonlog.services.customer_copy import customer_copy
from seasonlog.services.logbook import Surroundings
from seasonlog.services.today import today_board
from tests.builders import TODAY, FixedBytes, FixedClock, a_book, a_visit, sample_register

DRAINED = next(t.id for t in sample_register().towers.values() if t.winter == "drained")


def test_a_site_and_its_tower_may_have_the_same_id(tmp_path: Path) -> None:
    """Ids are unique per kind of record only."""
    samples = sample_register()
    site, first, second = samples.sites["HOS"], samples.towers["HOS-1"], samples.towers["HOS-2"]
    basin = samples.basins_of("HOS-1")[0]
    records = [site, replace(first, id="HOS"), second, replace(basin, tower="HOS")]
    with a_book(tmp_path, sites=False) as book:
        equipment.write(book, equipment.preview(Register.of(()), records))
        assert set(registry.of_tower(book.db, "HOS").towers) == {"HOS"}
        assert {i.tower for i in season.items(book, TODAY, tower="HOS")} == {"HOS"}
        of_site = registry.of_site(book.db, "HOS")
        assert (set(of_site.towers), set(of_site.basins)) == ({"HOS", "HOS-2"}, set())


def test_a_log_with_older_tables_is_read_all_the_same(tmp_path: Path) -> None:
    """Its tables are folded anew on the way; no entry changes."""
    import sqlite3

    from seasonlog.services.audit import verify_log
    from seasonlog.services.logbook import Logbook
    from seasonlog.services.places import Places
    from tests.builders import around

    with a_book(tmp_path) as book:
        entries = book.journal.count()
    db = sqlite3.connect(tmp_path / "seasonlog.db")
    db.execute("UPDATE meta SET value = '1' WHERE name = 'views_version'")
    db.commit()
    db.close()
    places = Places(tmp_path / "seasonlog.db")
    assert verify_log(places, quick=False).ok
    with Logbook.open(places, around(), "", writing=False) as read:
        assert len(registry.whole(read.db).towers) == 22
        assert read.journal.count() == entries


def test_a_tower_drained_this_fall_is_asked_for_proof_of_that(tmp_path: Path) -> None:
    """A change to drained asks proof of drained; the visit made before it keeps the steps it was made of."""
    with a_book(tmp_path) as book:
        before = a_visit(book)
        equipment.set_winter_mode(book, "HOS-1", "drained", TODAY + timedelta(days=1), "pump seized")
        assert rounds.progress(book, before.visit.id) == before
    tomorrow = Surroundings(FixedClock(datetime(2026, 9, 16, 13, tzinfo=UTC)), FixedBytes("tomorrow"))
    with a_book(tmp_path, sites=False, surroundings=tomorrow) as book:
        after = a_visit(book, on=TODAY + timedelta(days=1))
        drained = a_visit(book, DRAINED, on=TODAY + timedelta(days=1))
        steps = {i.step.id for i in after.instances}
        assert "line_amps" in {i.step.id for i in before.instances} - steps
        assert {i.step.id for i in drained.instances if i.step.id.startswith("drain")} <= steps
        listed = board.tower_view(book, "HOS-1", book.today()).limits
        assert "line_amps" not in {limit.step for limit in listed}


def test_visits_of_a_retired_tower_can_still_be_read(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        at = rounds.answer(book, a_visit(book, "HOS-2"), "probe_plumb_deg", "22")
        mine = [r for r in registry.of_tower(book.db, "HOS-2").records() if getattr(r, "tower", "") == "HOS-2"]
        devices = list(registry.of_tower(book.db, "HOS-2").devices.values())
        for record in [*devices, *sorted(mine, key=lambda r: type(r).__name__ == "Basin")]:
            equipment.retire(book, type(record).__name__.lower(), record.id, "sold")
        equipment.retire(book, "tower", "HOS-2", "sold")
        again = rounds.progress(book, at.visit.id)
        assert again.answers == at.answers
        assert {i.key for i in again.instances} == {i.key for i in at.instances}
        assert "Level probe plumb" in customer_copy(book, again)
        assert [v.visit.id for v in today_board(book, TODAY).visits] == [at.visit.id]
