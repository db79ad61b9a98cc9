"""Cold snaps from a forecast: one check on every wet tower before the first night, and never two for a night."""

from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from icalendar import Calendar

from seasonlog.domain.season_due import DueItem
from seasonlog.errors import InputRefusedError
from seasonlog.journal import climate_queries
from seasonlog.services import audit, closing, cold_snap, season
from seasonlog.services import register as equipment
from seasonlog.services.climate_study import HowToRead
from seasonlog.services.logbook import Logbook
from tests.builders import TODAY, a_book, a_visit, answered, around
from tests.intake import weather_files as files
from tests.services.climate_samples import snaps

NIGHT = TODAY + timedelta(days=4)
THRESHOLD = 20


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Logbook]:
    with a_book(tmp_path) as opened:
        yield opened


def told(first: date, *lows: float) -> cold_snap.Forecast:
    return cold_snap.Forecast({first + timedelta(days=n): low for n, low in enumerate(lows)}, "typed")


def raised(book: Logbook, forecast: cold_snap.Forecast, today: date = TODAY, site: str = "HOS") -> cold_snap.Snap:
    found = cold_snap.look(book, site, forecast, today)
    cold_snap.keep(book, found)
    return found


def only(book: Logbook, on: date = TODAY, tower: str = "HOS-1") -> DueItem:
    (found,) = snaps(book, on, tower)
    return found


def test_a_cold_night_asks_one_check_of_every_wet_tower(book: Logbook) -> None:
    """20 degF or colder, common practice; ULV-5 stands drained, all others there are wet."""
    before = book.journal.count()
    found = raised(book, told(TODAY, 40, 33, 25, 21, 20, 8, 30), site="ULV")
    assert found.towers == ("ULV-1", "ULV-2", "ULV-3", "ULV-4")
    assert book.journal.count() == before + 1
    item = only(book, tower="ULV-1")
    assert (item.due, item.opens, item.ordinal, item.season) == (NIGHT - timedelta(days=1), TODAY, 1, 2026)
    assert item.why == (
        f"20 degF (-7 C) forecast for the night of {NIGHT}, 8 degF (-13 C) for {NIGHT + timedelta(days=1)}; "
        "20 degF (-7 C) or colder asks for a look the day before"
    )
    assert snaps(book, TODAY, "ULV-5") == []
    assert snaps(book, TODAY, "ICE-1") == []


def test_the_entry_tells_the_nights_as_decimal_text(book: Logbook) -> None:
    raised(book, told(NIGHT, 12.5, -3.0, 25))
    body = book.journal.last().entry.body
    assert body["lows"] == {NIGHT.isoformat(): "12.5", (NIGHT + timedelta(days=1)).isoformat(): "-3"}
    assert (body["night"], body["threshold_degf"], body["source"]) == (NIGHT.isoformat(), "20", "typed")


def test_the_same_night_is_never_asked_twice(book: Logbook) -> None:
    """The same forecast, one of the next day that begins inside the spell, and one that tells it longer."""
    raised(book, told(NIGHT, 10, 8, 12))
    before = book.journal.last().hash
    for forecast, today in (
        (told(NIGHT, 10, 8, 12), TODAY),
        (told(NIGHT + timedelta(days=1), 5, 9), NIGHT),
        (told(NIGHT, 10, 8, 12, 15, 15), TODAY),
    ):
        again = raised(book, forecast, today)
        assert (again.record, again.known is not None) == (None, True)
    assert book.journal.last().hash == before
    assert only(book).ordinal == 1


def test_a_night_brought_forward_moves_the_check_and_asks_no_second_one(book: Logbook) -> None:
    raised(book, told(NIGHT, 10, 8))
    moved = raised(book, told(NIGHT - timedelta(days=2), 15, 12, 9))
    assert moved.record is not None
    assert only(book).due == NIGHT - timedelta(days=3)
    (kept,) = climate_queries.cold_snaps(book.db)["HOS"]
    assert (kept.night, kept.last_night) == (NIGHT - timedelta(days=2), NIGHT + timedelta(days=1))
    assert raised(book, told(NIGHT + timedelta(days=1), 3)).record is None


def test_a_night_brought_forward_counts_in_the_calendar(book: Logbook) -> None:
    def sequence() -> int:
        events = Calendar.from_ical(season.calendar(book, TODAY)).walk("VEVENT")
        (event,) = [e for e in events if "cold-snap - HOS-1 " in str(e["SUMMARY"])]
        return int(event["SEQUENCE"])

    raised(book, told(NIGHT, 10))
    before = sequence()
    raised(book, told(NIGHT - timedelta(days=1), 15, 12))
    assert sequence() == before + 1


def test_a_spell_that_goes_on_past_what_was_forecast_is_a_new_one(book: Logbook) -> None:
    raised(book, told(NIGHT, 10, 8))
    later = NIGHT + timedelta(days=2)
    raised(book, told(NIGHT + timedelta(days=1), 9, 6, 5), NIGHT)
    assert only(book, NIGHT).ordinal == 1
    raised(book, told(later, 6, 5), NIGHT + timedelta(days=1))
    assert [each.ordinal for each in snaps(book, NIGHT + timedelta(days=1), "HOS-1")] == [1, 2]


def test_two_spells_told_together_are_raised_one_after_the_other(book: Logbook) -> None:
    forecast = told(NIGHT, 10, 30, 5)
    assert raised(book, forecast).nights == (NIGHT,)
    assert only(book).ordinal == 1
    after = NIGHT + timedelta(days=1)
    assert raised(book, forecast, after).nights == (NIGHT + timedelta(days=2),)
    assert [each.ordinal for each in snaps(book, after, "HOS-1")] == [2]


@given(st.lists(st.lists(st.integers(0, 40), min_size=8, max_size=8), min_size=1, max_size=8))
@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_whatever_the_forecasts_no_night_has_two_checks(book: Logbook, days: list[list[int]]) -> None:
    """A forecast of eight nights a day, in any order of warm and cold, each season beginning where the last ended."""
    start = TODAY + timedelta(days=365 * book.journal.count())
    for n, lows in enumerate(days):
        raised(book, told(start + timedelta(days=n), *lows), start + timedelta(days=n))
    nights = [
        each.night + timedelta(days=n)
        for each in climate_queries.cold_snaps(book.db).get("HOS", [])
        for n in range((each.last_night - each.night).days + 1)
    ]
    assert len(nights) == len(set(nights))


def test_a_visit_made_for_it_settles_it(book: Logbook) -> None:
    raised(book, told(NIGHT, 8))
    at = a_visit(book, checklist="cold-snap")
    assert (at.visit.season, at.visit.ordinal) == (2026, 1)
    closing.sign_off(book, answered(book, at), closing.NOT_AVAILABLE)
    assert only(book).state.value == "done"


def test_its_number_is_not_that_of_a_visit_made_unasked(book: Logbook) -> None:
    a_visit(book, checklist="cold-snap")
    raised(book, told(NIGHT, 8))
    assert only(book).ordinal == 2


def test_warm_nights_and_dry_towers_raise_nothing(book: Logbook) -> None:
    before = book.journal.count()
    assert raised(book, told(TODAY, 40, 21)).nights == ()
    for tower in ("ICE-1", "ICE-2", "ICE-3"):
        equipment.set_winter_mode(book, tower, "drained", TODAY, "shut down")
    between = book.journal.count()
    found = raised(book, told(NIGHT, 3), site="ICE")
    assert (found.nights, found.towers, found.record) == ((NIGHT,), (), None)
    assert (before + 3, between) == (between, book.journal.count())


def test_tonight_is_due_today_and_nights_that_are_over_do_not_count(book: Logbook) -> None:
    assert raised(book, told(TODAY, 5)).due == TODAY
    assert only(book).due == TODAY
    with pytest.raises(InputRefusedError, match=f"tells no night from {TODAY}"):
        cold_snap.look(book, "HOS", told(TODAY - timedelta(days=3), 5, 5), TODAY)
    with pytest.raises(InputRefusedError, match="tells no night"):
        cold_snap.look(book, "HOS", told(TODAY + timedelta(days=17), 5), TODAY)


def test_a_southern_site_has_its_own_season(book: Logbook) -> None:
    night = date(2026, 7, 4)
    raised(book, told(night, 10), date(2026, 7, 1), site="ORR")
    assert [(i.season, i.ordinal) for i in snaps(book, date(2026, 7, 1), "ORR-1")] == [(2026, 1)]


def test_it_is_proved_and_rebuilt(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        raised(book, told(NIGHT, 10, 8))
        raised(book, told(NIGHT - timedelta(days=1), 15, 12))
        before, places = season.items(book, TODAY), book.places
    assert audit.verify_log(places, quick=False).ok
    audit.rebuild_tables(places, around())
    with a_book(tmp_path, sites=False) as book:
        assert season.items(book, TODAY) == before


class TestForecast:
    """What a file or a person tells."""

    def test_a_file_of_days_or_of_hours(self) -> None:
        days = cold_snap.from_file(b"date,tmin_degc\n2026-12-05,-10\n", "a/b.csv", HowToRead())
        assert days.lows_degf == {date(2026, 12, 5): pytest.approx(14)}
        assert days.source.startswith("b.csv, sha256 ")
        hours = b"time,degf\n2026-12-05T04:00,9\n2026-12-05T05:00,7\n2026-12-05T06:00,12\n"
        assert cold_snap.from_file(hours, "h.csv", HowToRead()).lows_degf == {date(2026, 12, 5): 7}

    def test_typed_nights_in_the_units_of_the_site_or_their_own(self) -> None:
        found = cold_snap.typed(["2026-12-05=8", "2026-12-06=-13C"], "us").lows_degf
        assert found == {date(2026, 12, 5): 8, date(2026, 12, 6): pytest.approx(8.6)}
        assert cold_snap.typed(["2026-12-05=-10"], "si").lows_degf == {date(2026, 12, 5): pytest.approx(14)}

    @pytest.mark.parametrize(
        ("lows", "says"),
        [
            (["8"], "is not a day"),
            (["2026-12-05"], "is not a temperature"),
            (["2026-12-05=cold"], "is not a temperature"),
            (["2026-12-05=nan"], "is not a temperature"),
            (["2026-12-05=-500"], "no winter air"),
            (["2026-02-30=8"], "is not a day"),
            (["2026-12-05=8", "2026-12-05=9"], "stands twice"),
        ],
    )
    def test_what_is_no_night_is_refused(self, lows: list[str], says: str) -> None:
        with pytest.raises(InputRefusedError, match=says):
            cold_snap.typed(lows, "us")

    @pytest.mark.parametrize("data", [b"", b"\x00\x01", b"date,tmin_degf\n2026-12-05,1e9\n", files.epw().encode()])
    def test_what_is_no_forecast_is_refused(self, data: bytes) -> None:
        with pytest.raises(InputRefusedError):
            cold_snap.from_file(data, "w.csv", HowToRead())


def test_a_site_that_is_not_there(book: Logbook) -> None:
    with pytest.raises(InputRefusedError, match="site NOPE: is not in the register"):
        cold_snap.look(book, "NOPE", told(NIGHT, 8), TODAY)
