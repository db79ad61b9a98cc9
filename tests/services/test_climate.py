"""A site's own climate in the log: what is written, whose dates count, what follows, and what is refused whole."""

import json
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from icalendar import Calendar

from seasonlog.calc.freeze_chances import Side
from seasonlog.calc.season_days import NORTH, MonthDay
from seasonlog.domain.climate_record import FORMULA, THRESHOLDS_DEGF, Basis, SiteClimate, source_words
from seasonlog.domain.season import FALL_ENABLE, MID_WINTER, SPRING_DISABLE
from seasonlog.domain.season_due import DueItem
from seasonlog.errors import InputRefusedError, RatingError
from seasonlog.journal import climate_queries
from seasonlog.services import audit, board, climate, registry, season
from seasonlog.services.climate_study import HowToRead
from seasonlog.services.logbook import Logbook
from tests.builders import TODAY, a_book, around
from tests.intake import normals_files
from tests.intake import weather_files as files
from tests.services.climate_samples import asked, imported, winters

NORTHERN = winters()


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Logbook]:
    with a_book(tmp_path) as opened:
        yield opened


def entries(book: Logbook) -> list[Any]:
    return [s.entry for s in book.journal.entries() if s.entry.kind == "climate_imported"]


def due(book: Logbook, checklist: str, tower: str = "HOS-1", on: date = TODAY) -> DueItem:
    return next(i for i in season.items(book, on, tower=tower) if i.checklist == checklist and i.season == on.year)


def floats_in(value: object) -> bool:
    if isinstance(value, dict | list):
        return any(floats_in(each) for each in (value.values() if isinstance(value, dict) else value))
    return isinstance(value, float)


class TestRecord:
    """Twelve made-up winters for the hospital."""

    def test_one_entry_holds_everything_found_and_no_float(self, book: Logbook) -> None:
        before = book.journal.count()
        imported(book, asked("HOS", NORTHERN))
        (entry,) = entries(book)
        body = entry.body
        assert book.journal.count() == before + 1
        assert not floats_in(body)
        assert (body["site"], body["formula"], body["seed"], body["first_month"]) == ("HOS", FORMULA, 1, 8)
        assert body["files"][0]["name"] == "made-up.csv"
        assert len(body["files"][0]["sha256"]) == 64
        assert [each["threshold_degf"] for each in body["thresholds"]] == [str(each) for each in THRESHOLDS_DEGF]
        for each in body["thresholds"]:
            for side in ("first", "last"):
                assert list(each[side]["raw"]) == list(each[side]["simulated"]) == ["10", "50", "90"]
        assert body["period"]["seasons"] == 12
        assert "unit: degF" in "; ".join(body["notes"])
        assert body["coldest"]["begins"] < body["coldest"]["ends"]

    def test_the_windows_follow_the_cautious_dates(self, book: Logbook) -> None:
        """14 days before the 10 % date of the first, the day after that of the last; typed it was 3 September."""
        assert due(book, FALL_ENABLE).due == date(2026, 9, 3)
        used = imported(book, asked("HOS", NORTHERN)).climate.body["used"]
        fall, spring = due(book, FALL_ENABLE), due(book, SPRING_DISABLE)
        assert used["basis"] == "simulated"
        assert fall.due == date.fromisoformat(f"2026-{used['first']}") - timedelta(days=14)
        assert spring.opens == date.fromisoformat(f"2027-{used['last']}") + timedelta(days=1)
        assert "own record of made-up.csv, 12 seasons 2001 to 2012" in fall.reason
        assert any("coldest days of the record" in i.reason for i in season.items(book, TODAY, tower="HOS-1")
                   if i.checklist == MID_WINTER)  # fmt: skip

    def test_boards_and_calendar_say_the_same(self, book: Logbook) -> None:
        imported(book, asked("HOS", NORTHERN))
        fall = due(book, FALL_ENABLE)
        shown = next(i for i in board.tower_view(book, "HOS-1", TODAY).due if i.checklist == FALL_ENABLE)
        assert shown == fall
        row = next(row for row in board.site_rows(book, TODAY) if row.id == "HOS")
        assert row.next_due is not None
        assert row.next_due.due == fall.due
        told = [str(event["DESCRIPTION"]) for event in Calendar.from_ical(season.calendar(book, TODAY)).walk("VEVENT")]
        assert any(fall.reason in each for each in told)

    def test_the_calendar_counts_an_import_as_a_change_of_that_site_only(self, book: Logbook) -> None:
        def sequences() -> dict[str, int]:
            events = Calendar.from_ical(season.calendar(book, TODAY)).walk("VEVENT")
            return {str(e["UID"]): int(e["SEQUENCE"]) for e in events if "Mid-winter" not in str(e["SUMMARY"])}

        before = sequences()
        imported(book, asked("HOS", NORTHERN))
        once = sequences()
        imported(book, asked("HOS", NORTHERN, threshold_degf=36))
        twice = sequences()
        risen = {uid for uid in before if once[uid] == before[uid] + 1}
        assert 0 < len(risen) < len(before)
        assert all(twice[uid] == before[uid] + (2 if uid in risen else 0) for uid in before)

    def test_the_newest_import_counts_and_the_same_again_writes_nothing(self, book: Logbook) -> None:
        first = imported(book, asked("HOS", NORTHERN))
        assert not imported(book, asked("HOS", NORTHERN)).is_new
        assert len(entries(book)) == 1
        again = imported(book, asked("HOS", NORTHERN, threshold_degf=36))
        assert (again.is_new, again.before) == (True, first.climate)
        assert len(entries(book)) == 2
        kept = climate_queries.climate(book.db, "HOS")
        assert kept is not None
        assert kept.threshold_degf == "36"
        assert due(book, FALL_ENABLE).due < date.fromisoformat(f"2026-{first.climate.body['used']['first']}")

    def test_the_same_seed_gives_the_same_body_and_another_one_is_told(self, book: Logbook) -> None:
        one, same = (climate.look(book, asked("HOS", NORTHERN)).climate.body for _ in range(2))
        assert one == same
        wanted = asked("HOS", NORTHERN)
        other = climate.look(book, replace(wanted, how=HowToRead(seed=7))).climate.body
        assert other["seed"] == 7
        assert [each["first"]["raw"] for each in other["thresholds"]] == [
            each["first"]["raw"] for each in one["thresholds"]
        ]

    def test_a_longer_lead_of_the_site_holds(self, book: Logbook) -> None:
        looked = climate.look(book, asked("HOS", NORTHERN))
        longer = climate.basis_of(replace(looked.site, tighten={"enable_lead_days": 30}), looked.climate, TODAY)
        usual = climate.basis_of(looked.site, looked.climate, TODAY)
        assert usual.windows[0].due - longer.windows[0].due == timedelta(days=16)

    def test_nothing_is_written_by_looking(self, book: Logbook) -> None:
        before = book.journal.last().hash
        climate.look(book, asked("HOS", NORTHERN))
        assert book.journal.last().hash == before
        assert [each.climate for each in climate.bases(book, TODAY)] == [None] * 5


def test_it_is_proved_rebuilt_and_read_again(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        imported(book, asked("HOS", NORTHERN))
        imported(book, asked("ORR", winters(south=True), threshold_degf=36))
        before = season.items(book, TODAY)
        places = book.places
    assert audit.verify_log(places, quick=False).ok
    audit.rebuild_tables(places, around())
    assert audit.verify_log(places, quick=False).ok
    with a_book(tmp_path, sites=False) as book:
        assert season.items(book, TODAY) == before


def test_a_southern_site_has_its_seasons_by_its_latitude(book: Logbook) -> None:
    """The creamery at 45 degrees south: February to January, fall enable in autumn, which is spring up north."""
    body = imported(book, asked("ORR", winters(south=True))).climate.body
    assert body["first_month"] == 2
    on = date(2026, 3, 1)
    fall = due(book, FALL_ENABLE, "ORR-1", on)
    assert fall.due == date.fromisoformat(f"2026-{body['used']['first']}") - timedelta(days=14)
    assert date(2026, 3, 1) < fall.due < date(2026, 6, 1)
    assert due(book, SPRING_DISABLE, "ORR-1", on).opens.year == 2026
    with pytest.raises(InputRefusedError, match="its winter lies in the other half of the year than that of site ORR"):
        climate.look(book, asked("ORR", NORTHERN))


class TestPublished:
    """NCEI normals as published for Albany, 3 October and 11 May at 10 %."""

    def test_published_dates_are_taken_as_they_are(self, book: Logbook) -> None:
        looked = imported(book, asked("HOS", None, normals_files.annual()))
        used = looked.climate.body["used"]
        assert (used["basis"], used["first"], used["last"]) == ("published", "10-03", "05-11")
        assert due(book, FALL_ENABLE).due == date(2026, 9, 19)
        assert "published normals of NOWHERE AP, NY US (USW00014735)" in due(book, FALL_ENABLE).reason
        side = looked.climate.side(Side.FIRST)
        assert side["published"] == {"10": "10-03", "50": "10-15", "90": "11-01"}
        assert (side["published_chance_percent"], side["judged"]) == ("100", 0)

    def test_they_count_before_the_record_and_the_record_is_kept_beside_them(self, book: Logbook) -> None:
        body = imported(book, asked("HOS", NORTHERN, normals_files.annual())).climate.body
        assert body["used"]["basis"] == "published"
        assert body["thresholds"][1]["first"]["simulated"]["10"]
        assert [each["what"] for each in body["files"]] == ["daily record", "published normals"]

    def test_a_threshold_they_do_not_tell_is_the_records_or_the_typed(self, book: Logbook) -> None:
        own = climate.look(book, asked("HOS", NORTHERN, normals_files.annual(), threshold_degf=36))
        assert own.climate.basis is Basis.SIMULATED
        alone = imported(book, asked("HOS", None, normals_files.annual(), threshold_degf=36)).climate
        assert alone.basis is Basis.TYPED
        assert alone.because == "the published normals tell no dates for 10 % at 36 degF"
        assert due(book, FALL_ENABLE).due == date(2026, 9, 3)

    def test_their_coldest_month_stands_for_the_coldest_days(self, book: Logbook) -> None:
        body = climate.look(book, asked("HOS", None, normals_files.annual(), normals_files.monthly())).climate.body
        assert body["coldest"] == {"begins": "01-01", "ends": "01-31", "mean_degf": "16.9"}

    def test_how_far_the_station_is_and_that_it_is_another_one(self, book: Logbook) -> None:
        """HOS at 46.3 degrees north, the station at 42.7431, -73.8092: more than 50 km, by the haversine formula."""
        notes = climate.look(book, asked("HOS", None, normals_files.annual())).climate.body["notes"]
        assert any("from the site; that is far" in each for each in notes)

    def test_files_of_two_stations_are_refused(self, book: Logbook) -> None:
        other = normals_files.monthly().replace("USW00014735", "USW00094728")
        with pytest.raises(InputRefusedError, match="of 2 stations"):
            climate.look(book, asked("HOS", None, normals_files.annual(), other))


def test_a_place_without_frost_keeps_its_typed_dates_and_says_why(book: Logbook) -> None:
    looked = imported(book, asked("HOS", winters(mean_degf=75, swing_degf=10)))
    assert looked.climate.basis is Basis.TYPED
    assert "below 10 % no date is told" in looked.climate.because
    assert due(book, FALL_ENABLE).due == date(2026, 9, 3)
    assert "as typed for the site" in due(book, FALL_ENABLE).reason


def test_few_seasons_are_no_record(book: Logbook) -> None:
    looked = climate.look(book, asked("HOS", winters(5)))
    assert looked.climate.basis is Basis.TYPED
    assert "only 5 seasons could be judged" in looked.climate.because


def test_albany_by_its_own_record_is_near_its_published_dates(book: Logbook, shared: Path) -> None:
    """GHCN-Daily, Albany 1991 on; NCEI's 10 % dates 3 October and 11 May: each within 6 days, and printed."""
    data = (shared / "climate" / files.ALBANY).read_bytes()
    wanted = replace(asked("ULV", data), how=HowToRead(since=1991))
    used = imported(book, wanted).climate.body["used"]
    off = {}
    for side, told in (("first", MonthDay(10, 3)), ("last", MonthDay(5, 11))):
        ours = MonthDay(*map(int, used[side].split("-")))
        off[side] = NORTH.number(ours) - NORTH.number(told)
    print(off)
    assert all(abs(each) <= 6 for each in off.values())
    assert "degC, inferred" in "; ".join(climate.bases(book, TODAY, "ULV")[0].climate.body["notes"])  # type: ignore[union-attr]


# What is refused, whole

REFUSED: dict[str, tuple[bytes | None, str]] = {
    "nothing": (None, "neither a daily record nor published freeze dates"),
    "an empty file": (b"", "is empty and is none of the weather files"),
    "a NUL byte": (b"date,tmin_degf\n2001-01-01,\x005\n", "NUL byte"),
    "another encoding": ("date,tmin_degf\n2001-01-01,5\n".encode("utf-16"), "UTF-16"),
    "no text": (b"date,tmin_degf\n2001-01-01,\xff\xfe\n", "UTF-8"),
    "two units": (b"STATION,DATE,TMIN,TMAX\nA,2026-01-01,18,36\n", "could be degF or degC"),
    "cut": (NORTHERN.encode()[:-9], "is cut off"),
    "a day twice": (NORTHERN.encode() + b"\n2001-08-01,50,60", "TMIN twice"),
    "a furnace": (NORTHERN.replace(",40,", ",400,").encode(), "no air temperature"),
    "single hours": (files.epw().encode(), "holds single hours"),
}


@pytest.mark.parametrize(("data", "says"), REFUSED.values(), ids=REFUSED)
def test_a_wrong_file_is_refused_whole_and_nothing_is_written(book: Logbook, data: bytes | None, says: str) -> None:
    before = book.journal.last().hash
    with pytest.raises(InputRefusedError, match=says):
        imported(book, asked("HOS", data))
    assert book.journal.last().hash == before
    assert climate_queries.climates(book.db) == {}


def test_normals_without_freeze_dates_are_told_by_name(book: Logbook) -> None:
    with pytest.raises(InputRefusedError, match=r"normals\S*: holds no freeze dates"):
        climate.look(book, asked("HOS", None, normals_files.monthly()))


def test_one_month_holds_no_whole_season(book: Logbook) -> None:
    with pytest.raises(RatingError, match="holds no whole season"):
        climate.look(book, asked("HOS", "\n".join(NORTHERN.splitlines()[:32])))


def test_a_site_that_is_not_there(book: Logbook) -> None:
    with pytest.raises(InputRefusedError, match="site NOPE: is not in the register"):
        climate.look(book, asked("NOPE", NORTHERN))
    with pytest.raises(InputRefusedError, match="is not in the register"):
        climate.bases(book, TODAY, "NOPE")


def test_names_from_outside_are_made_visible(book: Logbook) -> None:
    """A file name with controls and a path of the machine: the record holds the name alone, visible."""
    looked = climate.look(book, asked("HOS", NORTHERN, name="a\x1b[31m\u202eb.csv"))
    assert looked.climate.body["files"][0]["name"] == "a␛[31m[RLO]b.csv"
    json.dumps(looked.climate.body, ensure_ascii=True)


@pytest.mark.parametrize(
    ("name", "ident", "words"),
    [("NOWHERE AP", "X1", "NOWHERE AP (X1)"), ("", "X1", "X1"), ("NOWHERE AP", "", "NOWHERE AP"), ("", "", "own.csv")],
)
def test_a_station_is_named_by_what_it_has(book: Logbook, name: str, ident: str, words: str) -> None:
    body = climate.look(book, asked("HOS", NORTHERN, name="own.csv")).climate.body
    told = source_words({**body, "station": {"name": name, "id": ident}})
    assert told.startswith(f"own record of {words}, 12 seasons")


def test_typed_sites_are_told_as_typed(book: Logbook) -> None:
    imported(book, asked("HOS", NORTHERN))
    found = {each.site.id: each for each in climate.bases(book, TODAY)}
    assert {ident for ident, each in found.items() if each.climate is not None} == {"HOS"}
    assert all("as typed" in each.windows[0].reason for ident, each in found.items() if ident != "HOS")
    kept = found["HOS"].climate
    assert isinstance(kept, SiteClimate)
    assert (kept.who, kept.on) == (book.who, book.today())
    assert registry.site(book.db, "HOS") == found["HOS"].site
