"""Weather files of every form: what they hold comes out in degF, how they were understood is told."""

import re
from datetime import date, datetime
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seasonlog.calc.climate import Climate, Daily
from seasonlog.errors import UsageError
from seasonlog.intake.weather import read_weather
from seasonlog.intake.weather_days import inferred_unit
from seasonlog.intake.weather_text import Asked, Unit
from tests.intake import weather_files as files

DAILY = {
    "access": files.ACCESS, "order": files.ORDER, "by station": files.BY_STATION, "by parts": files.BY_PARTS,
    "own": files.OWN_DAYS, "own metric": files.OWN_DAYS_METRIC, "fixed width": files.dly(),
}  # fmt: skip


def read(text: str, asked: Asked | None = None) -> Climate:
    climate, problems = read_weather(text.encode(), "x", asked or Asked())
    assert [str(each) for each in problems] == []
    assert climate is not None
    return climate


@pytest.fixture(scope="module")
def climates(shared: Path) -> dict[str, Climate]:
    names = (files.OHARE, files.ALBANY, files.NEW_YORK)
    found = {name: read_weather((shared / "climate" / name).read_bytes(), name) for name in names}
    assert [problems for _, problems in found.values()] == [[], [], []]
    return {name: climate for name, (climate, _) in found.items() if climate is not None}


class TestOpenFiles:
    """Public-domain files of NOAA and NREL that lie beside the checkout."""

    def test_a_typical_year(self, climates: dict[str, Climate]) -> None:
        """The file's own first row: -12.2 degC, 73 %, 2.6 m/s, 9 tenths; LOCATION 41.98 N, 87.92 W, 201 m."""
        ohare = climates[files.OHARE]
        first = ohare.hours[0]
        assert (len(ohare.hours), ohare.is_typical, ohare.days) == (8760, True, ())
        assert first.air_degf == pytest.approx(-12.2 * 1.8 + 32)
        assert first.wind_mph == pytest.approx(2.6 * 3600 / 1609.344)
        assert (first.humidity_percent, first.cloud_tenths, first.at.hour) == (73, 9, 0)
        assert (ohare.station.id, ohare.station.latitude, ohare.station.longitude) == ("725300", 41.98, -87.92)
        assert ohare.station.elevation_ft == pytest.approx(659.4, abs=0.1)
        assert "Chicago" in ohare.station.name

    def test_seventy_years_of_fixed_width(self, climates: dict[str, Climate]) -> None:
        """First line of the file: TMAX 5.6, TMIN 0.6 degC on 1 January 1950; it ends on 3 January 2020."""
        days = climates[files.NEW_YORK].days
        assert (days[0].day, days[-1].day, len(days)) == (date(1950, 1, 1), date(2020, 1, 3), 25_570)
        assert (days[0].tmin_degf, days[0].tmax_degf) == pytest.approx((33.08, 42.08))
        assert climates[files.NEW_YORK].missing_days == 0

    def test_eighty_years_by_parts_of_the_day(self, climates: dict[str, Climate]) -> None:
        """8.3 and 26.7 on 1 June 1938: degC, inferred from the decimals; -9999.0 on 2 October 1938 is missing."""
        albany = climates[files.ALBANY]
        assert (albany.days[0].tmin_degf, albany.days[0].tmax_degf) == pytest.approx((46.94, 80.06))
        assert next(each for each in albany.days if each.day == date(1938, 10, 2)).tmin_degf is None
        assert date(1938, 10, 2) in set(albany.gaps())
        assert albany.missing_days == len(list(albany.gaps())) == 2
        assert any("degC, inferred" in note for note in albany.notes)


@pytest.mark.parametrize("text", DAILY.values(), ids=DAILY)
def test_every_daily_form_brings_the_same_first_day(text: str) -> None:
    """-7.8 and 2.2 degC, 18 and 36 degF: within 0.05 degF, the archive's tenth of a degC."""
    first = read(text).days[0]
    assert (first.tmin_degf, first.tmax_degf) == pytest.approx((18, 36), abs=0.05)


@pytest.mark.parametrize("name", ["access", "by station", "fixed width"])
def test_what_failed_a_quality_check_is_left_out_and_counted(name: str) -> None:
    climate = read(DAILY[name])
    assert [each.day.day for each in climate.days if each.tmin_degf is None] == [3 if name == "fixed width" else 2]
    assert any(note.startswith("1 temperatures that failed") for note in climate.notes)
    assert climate.missing_days == 1


@pytest.mark.parametrize("name", ["order", "by parts", "own"])
def test_what_is_missing_stays_missing(name: str) -> None:
    last = read(DAILY[name]).days[-1]
    assert last.tmax_degf is None
    assert last.tmin_degf is not None
    assert not last.is_whole


def test_the_station_and_its_place_are_kept_where_the_file_tells_them() -> None:
    station = read(files.ACCESS).station
    assert (station.id, station.name) == ("USW00099999", "NOWHERE AP, NY US")
    assert (station.latitude, station.longitude) == (42.5, -73.8)
    assert station.elevation_ft == pytest.approx(275.6, abs=0.1)
    assert read(files.ORDER).station.name == "NOWHERE AP, NY US"
    assert read(files.dly()).station.id == read(files.BY_STATION).station.id == "USW00099999"


def test_an_epw_year() -> None:
    climate = read(files.epw())
    hour = climate.hours[-1]
    assert (len(climate.hours), climate.is_typical) == (8760, True)
    assert (hour.air_degf, hour.wind_mph) == pytest.approx((23, 6.71), abs=0.01)
    assert (hour.humidity_percent, hour.cloud_tenths) == (70, 4)
    assert (hour.at.month, hour.at.day, hour.at.hour) == (12, 31, 23)
    assert climate.station.name == "Nowhere Ap, NY, USA"


def test_epw_numbers_that_mean_missing() -> None:
    """99.9 degC, 999 %, 999 m/s, 99 tenths; the hour without a temperature is left out and counted."""
    gone = files.epw().replace(",-5.0,-9.5,70,", ",99.9,-9.5,70,", 1).replace("270,3.0,6,4", "270,999,6,99", 2)
    climate = read(gone.replace(",-9.5,70,", ",-9.5,999,", 2))
    assert len(climate.hours) == 8759
    assert (climate.hours[0].wind_mph, climate.hours[0].humidity_percent, climate.hours[0].cloud_tenths) == (None,) * 3
    assert any(note.startswith("1 hours without an air temperature") for note in climate.notes)


ODD_CELLS = [
    "5", "+5", "-5", "05", "5.", ".5", " 5 ", "5.000000001", "99", "99.9", "100", "105", "110.5", "999", "1e1", "1_0",
    "nan", "inf", "", " ", "\u0665", "0", "-0", "12.5", "24", "31", "-60", "-90.1", "60.1",
]  # fmt: skip


@pytest.mark.parametrize("column", [1, 2, 3, 6, 8, 21, 23])
def test_a_row_read_at_once_and_cell_by_cell_says_the_same(column: int) -> None:
    """Each odd cell in each column that counts; a quotation mark elsewhere in the row has it read cell by cell."""
    rows = files.epw().split("\n")
    for odd in ODD_CELLS:
        cells = rows[1000].split(",")
        cells[column] = odd
        at_once = "\n".join([*rows[:1000], ",".join(cells), *rows[1001:]])
        cells[5] = f'"{cells[5]}"'
        by_cell = "\n".join([*rows[:1000], ",".join(cells), *rows[1001:]])
        assert read_weather(at_once.encode(), "x") == read_weather(by_cell.encode(), "x"), odd


def test_the_years_of_an_epw_mean_nothing() -> None:
    mixed = files.epw(lambda m, d, h: files.epw_row(m, d, h, year=1970 + m))
    assert read(mixed).hours == read(files.epw()).hours


def test_a_tmy3_year() -> None:
    """Columns as in a public copy of one TMY3 file: 10.0 degC, 77 %, 6.2 m/s, 7 tenths, hours 01:00 to 24:00."""
    climate = read(files.tmy3())
    hour = climate.hours[23]
    assert (len(climate.hours), climate.is_typical, hour.at.hour) == (8760, True, 23)
    assert (hour.air_degf, hour.wind_mph) == pytest.approx((50, 13.87), abs=0.01)
    assert (hour.humidity_percent, hour.cloud_tenths) == (77, 7)
    assert (climate.station.name, climate.station.latitude) == ("NOWHERE TRIAD INT, NC", 36.1)


def test_own_hours() -> None:
    climate = read(files.OWN_HOURS)
    assert [hour.at for hour in climate.hours] == [datetime(2026, 1, 1, n) for n in (0, 1, 4)]  # noqa: DTZ001
    assert (climate.hours[1].wind_mph, climate.hours[1].humidity_percent) == (None, None)
    assert (climate.hours[2].wind_mph, climate.hours[2].cloud_tenths) == (3.5, 0)
    assert not climate.is_typical
    assert any("2 hours of these are missing" in note for note in climate.notes)


def test_own_hours_in_degc() -> None:
    assert read("time,degc\n2026-01-01 05:00,-10\n").hours[0].air_degf == pytest.approx(14)


INFERRED: dict[str, tuple[list[float], Unit | None]] = {
    "tenths of a degC, warm": ([222, -78, 311], Unit.TENTHS),
    "tenths of a degC, cold": ([-178, -20], Unit.TENTHS),
    "decimals": ([-7.8, 31.1], Unit.DEGC),
    "whole numbers with a summer": ([18, 88], Unit.DEGF),
    "whole numbers of one winter": ([18, 36], None),
    "decimals too warm for degC": ([18.5, 88.2], None),
    "nothing": ([], None),
}


@pytest.mark.parametrize(("values", "unit"), INFERRED.values(), ids=INFERRED)
def test_the_unit_is_inferred_or_not_at_all(values: list[float], unit: Unit | None) -> None:
    """Rules: any beyond 140 is tenths of a degC; decimals and none above 55, degC; whole and one above 60, degF."""
    assert inferred_unit(values)[0] is unit


def test_what_could_be_both_is_refused_until_it_is_said() -> None:
    winter = "STATION,DATE,TMIN,TMAX\nA,2026-01-01,18,36\n"
    climate, problems = read_weather(winter.encode(), "x")
    assert climate is None
    assert "could be degF or degC" in problems[0].says
    assert read(winter, Asked(Unit.DEGF)).days[0] == Daily(date(2026, 1, 1), 18, 36)
    assert read(winter, Asked(Unit.DEGC)).days[0].tmin_degf == pytest.approx(64.4)


def test_one_of_several_stations() -> None:
    two = files.BY_STATION + files.BY_STATION.replace("USW00099999", "USW00088888")
    climate, problems = read_weather(two.encode(), "x")
    assert climate is None
    assert "holds 2 stations (USW00099999, USW00088888)" in problems[0].says
    assert read(two, Asked(station="USW00088888")).station.id == "USW00088888"
    assert "holds no station NONE" in read_weather(two.encode(), "x", Asked(station="NONE"))[1][0].says


USELESS = {
    "EPW, unit": (files.epw(days=1), Asked(Unit.DEGF), "x is EPW: that form tells its unit; leave out --unit degf."),
    "EPW, station": (files.epw(days=1), Asked(station="A"), "x is EPW: that form holds one station; leave out "),
    "TMY3, unit": (files.tmy3(), Asked(Unit.DEGC), "leave out --unit degc"),
    "TMY3, station": (files.tmy3(), Asked(station="A"), "leave out --station A"),
    "fixed width, unit": (files.dly(), Asked(Unit.DEGC), "leave out --unit degc"),
    "by station, unit": (files.BY_STATION, Asked(Unit.TENTHS), "leave out --unit tenths"),
    "by parts, station": (files.BY_PARTS, Asked(station="A"), "leave out --station A"),
    "own days, unit": (files.OWN_DAYS, Asked(Unit.DEGF), "leave out --unit degf"),
    "own days, station": (files.OWN_DAYS, Asked(station="\x1b[2J"), "leave out --station \u241b[2J"),
    "own hours, unit": (files.OWN_HOURS, Asked(Unit.DEGF), "leave out --unit degf"),
    "own hours, station": (files.OWN_HOURS, Asked(station="A"), "leave out --station A"),
}


@pytest.mark.parametrize(("text", "asked", "says"), USELESS.values(), ids=USELESS)
def test_a_wish_the_form_has_no_use_for_is_refused_not_passed_over(text: str, asked: Asked, says: str) -> None:
    with pytest.raises(UsageError, match=re.escape(says)):
        read_weather(text.encode(), "x", asked)


@pytest.mark.parametrize("end", ["\r\n", "\r", "\n\n", "\n  \n"], ids=["crlf", "cr", "empty lines", "blank lines"])
@pytest.mark.parametrize("text", DAILY.values(), ids=DAILY)
def test_line_ends_do_not_matter(text: str, end: str) -> None:
    assert read(text.replace("\n", end)).days == read(text).days


def test_mixed_line_ends_and_a_byte_order_mark_do_not_matter() -> None:
    mixed = files.OWN_DAYS.replace("\n", "\r\n", 1)
    climate, problems = read_weather(b"\xef\xbb\xbf" + mixed.encode(), "x")
    assert problems == []
    assert climate is not None
    assert climate.days == read(files.OWN_DAYS).days


@given(st.dictionaries(st.dates(date(1900, 1, 1), date(2100, 1, 1)), st.integers(-60, 90), min_size=1, max_size=40))
def test_own_days_come_back_as_written_in_any_order(lowest: dict[date, int]) -> None:
    text = "date,tmin_degf,tmax_degf\n" + "".join(f"{day},{low},{low + 10}\n" for day, low in lowest.items())
    days = read(text).days
    assert [each.day for each in days] == sorted(lowest)
    assert {each.day: each.tmin_degf for each in days} == lowest
    assert read(text).missing_days == (max(lowest) - min(lowest)).days + 1 - len(lowest)


def test_the_sample_file_is_read() -> None:
    from seasonlog import resources

    data = (resources.sample_sites() / "weather" / "cold-month.csv").read_bytes()
    climate, problems = read_weather(data, "cold-month.csv")
    assert problems == []
    assert climate is not None
    assert (len(climate.days), climate.missing_days) == (31, 0)
