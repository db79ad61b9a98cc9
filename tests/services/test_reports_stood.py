"""Reports tell of every tower that stood in the season: what is gone keeps its record, what came later has none."""

from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

from seasonlog.domain.register import TYPES
from seasonlog.export.report_html import to_html
from seasonlog.services import closing, register, registry, reports
from seasonlog.services.logbook import Logbook, Surroundings
from seasonlog.services.reports import Made
from tests.builders import FixedBytes, FixedClock, a_book, a_visit, answered
from tests.export.report_reading import parsed, words

ENABLED, GONE, NOW = date(2026, 8, 20), datetime(2027, 2, 3, 13, tzinfo=UTC), date(2027, 3, 1)


def scrapped(book: Logbook, tower: str) -> None:
    """Take a tower out of the register, its parts first."""
    mine = registry.of_tower(book.db, tower)
    for what in reversed(TYPES):
        if what not in ("site", "person", "instrument"):
            for ident in mine.table(what):
                register.retire(book, what, ident, "scrapped")


def page(document: reports.Document) -> str:
    return words(parsed(to_html(document)))


def test_a_retired_tower_keeps_its_record_of_the_season_in_which_it_stood(tmp_path: Path) -> None:
    """HOS-1 was proven and scrapped in February, HOS-2 never proven and scrapped, HOS-7 came in February."""
    clock = FixedClock(datetime(2026, 8, 20, 13, tzinfo=UTC))
    with a_book(tmp_path, surroundings=Surroundings(clock, FixedBytes("gone"))) as book:
        closing.sign_off(book, answered(book, a_visit(book, "HOS-1", on=ENABLED)), "Oren Tallis")
        clock.now = GONE
        tower = replace(registry.whole(book.db).towers["HOS-6"], id="HOS-7", name="Late tower")
        register.write(book, register.preview(registry.whole(book.db), [tower]))
        for ident in ("HOS-1", "HOS-2"):
            scrapped(book, ident)
        made = Made("", NOW)
        own = page(reports.tower_report(book, "HOS-1", made))
        later = page(reports.tower_report(book, "HOS-1", Made("", date(2028, 1, 10))))
        asked = page(reports.tower_report(book, "HOS-1", Made("", date(2028, 1, 10)), 2027))
        site, firm = page(reports.site_report(book, "HOS", made)), page(reports.firm_report(book, made))
        after = page(reports.firm_report(book, Made("", date(2028, 1, 10))))
        before = page(reports.firm_report(book, made, 2025))
    assert "Stands no more retired on 2027-02-03" in own
    assert "PROVEN for this season. Fall enable on 2026-08-20 by Mirel Oduvane" in own
    assert "scrapped" in own
    assert "PROVEN for this season. Fall enable on 2026-08-20 by Mirel Oduvane" in later, "its last season"
    assert "NOT ASKED The tower was retired on 2027-02-03, before this season." in asked
    assert "NOT PROVEN" not in asked
    for told in (site, firm):
        assert "HOS-1, North tower ✓ PROVEN Fall enable on 2026-08-20 by Mirel Oduvane; retired on 2027-02-03" in told
        assert "HOS-2: no fall enable in this season" in told
        assert "HOS-7, Late tower ✗ NOT PROVEN" in told
    assert "Tower HOS-1, North tower" in site
    assert "HOS-1: " not in after
    assert "HOS-2: " not in after
    assert "HOS-7: " in after
    assert "HOS-7: " not in before


def test_a_season_before_the_first_tower_proves_nothing_and_blames_nobody(tmp_path: Path) -> None:
    """Put on record in June, when the frost is over: neither proven nor not proven in the winter before."""
    clock = FixedClock(datetime(2026, 6, 20, 13, tzinfo=UTC))
    with a_book(tmp_path, surroundings=Surroundings(clock, FixedBytes("june"))) as book:
        made = Made("", date(2026, 9, 1))
        site, firm = reports.site_report(book, "HOS", made, 2025), reports.firm_report(book, made, 2025)
        now = page(reports.site_report(book, "HOS", made, 2026))
    for told in (page(site), page(firm)):
        assert "NO TOWER ON RECORD in this season: nothing was asked." in told
        assert "PROVEN" not in told
        assert "winter 2026" not in told
    assert "TOWERS NOT PROVEN" in now


def test_a_season_that_is_over_shows_its_own_visits_not_the_next_ones(tmp_path: Path) -> None:
    """What is made for the next season stands in neither the grid nor the drawing of this one."""
    clock = FixedClock(datetime(2026, 8, 20, 13, tzinfo=UTC))
    with a_book(tmp_path, surroundings=Surroundings(clock, FixedBytes("two"))) as book:
        for on in (ENABLED, date(2027, 8, 25)):
            clock.now = datetime(*on.timetuple()[:3], 13, tzinfo=UTC)
            closing.sign_off(book, answered(book, a_visit(book, "HOS-1", on=on)), "Oren Tallis")
        document = reports.site_report(book, "HOS", Made("", date(2027, 9, 1)), 2026)
    told = page(document)
    assert "HOS-1 ✓ 08-20" in told
    assert "✓ 08-25" not in told
    assert "A on 2026-08-20 (HOS-1-H)" in told, "heat rests on what was read in the season"
    assert "A on 2027-08-25 (HOS-1-H)" not in told
    assert "2027-07-31" in told
