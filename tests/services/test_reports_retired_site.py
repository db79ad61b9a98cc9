"""A site that was retired stays in the reports of the seasons its towers stood in, and in those of no later one."""

from datetime import UTC, date, datetime
from pathlib import Path

from seasonlog.export.report_json import of_document
from seasonlog.journal import queries
from seasonlog.services import register, reports
from seasonlog.services.logbook import Logbook, Surroundings
from seasonlog.services.reports import Made
from tests.builders import FixedBytes, FixedClock, a_book
from tests.services.test_coverage import scrapped

ASKED = Made("Ada", date(2026, 7, 1))
AFTER = Made("Ada", date(2026, 9, 1))


def gone(folder: Path) -> Logbook:
    """The ice rink on record since July 2024, retired with its three towers in June 2026."""
    clock = FixedClock(datetime(2024, 7, 1, 12, tzinfo=UTC))
    book = a_book(folder, surroundings=Surroundings(clock, FixedBytes()))
    clock.now = datetime(2026, 6, 20, 12, tzinfo=UTC)
    for tower, _ in queries.towers_of(book.db, "ICE"):
        scrapped(book, tower)
    register.retire(book, "site", "ICE", "pulled down")
    return book


def test_a_retired_site_is_reported_of_the_seasons_its_towers_stood_in_and_of_no_later_one(tmp_path: Path) -> None:
    with gone(tmp_path) as book:
        for season in (2024, 2025):
            told = str(of_document(reports.site_report(book, "ICE", ASKED, season)))
            assert all(f"{tower}, Co" in told for tower in ("ICE-1", "ICE-2"))
            assert "no fall enable in this season; retired on 2026-06-20" in told
            firm = reports.firm_report(book, ASKED, season)
            assert (firm.subtitle, "Skarnholt Ice Rink (ICE)" in str(of_document(firm))) == ("5 sites, 22 towers", True)
        assert "NO TOWER ON RECORD" in str(of_document(reports.site_report(book, "ICE", AFTER)))
        later = reports.firm_report(book, AFTER)
        assert (later.subtitle, "Skarnholt Ice Rink (ICE)" in str(of_document(later))) == ("4 sites, 19 towers", False)


def test_one_tower_of_it_is_reported_of_its_last_season(tmp_path: Path) -> None:
    with gone(tmp_path) as book:
        assert reports.tower_report(book, "ICE-1", AFTER).subtitle == "Skarnholt Ice Rink, winter 2025/26"
