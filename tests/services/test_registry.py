"""The part of the register a screen asks for, however its ids are chosen."""

from dataclasses import replace
from pathlib import Path

from seasonlog.domain.register import Register
from seasonlog.services import register as equipment
from seasonlog.services import registry, season
from tests.builders import TODAY, a_book, sample_register


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
