"""NCEI normals: published dates come out as they stand, what is not there says why, damaged files are refused."""

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seasonlog.calc.freeze_chances import Side
from seasonlog.calc.season_days import MonthDay
from seasonlog.intake.normals import Key, Normals, read_normals
from seasonlog.intake.weather_text import MOST_BYTES
from tests.intake import normals_files as files
from tests.intake.hostile import cases

FIRST_10 = Key(Side.FIRST, 32, 10)
COLUMN = "ANN-TMIN-PRBFST-T32FP10"


def read(text: str, station: str = "") -> Normals:
    found, problems = read_normals(text.encode(), "n.csv", station)
    assert [str(each) for each in problems] == []
    assert found is not None
    return found


def refused(text: str | bytes, station: str = "") -> list[str]:
    found, problems = read_normals(text if isinstance(text, bytes) else text.encode(), "n.csv", station)
    assert found is None
    assert problems
    return [str(each) for each in problems]


class TestDates:
    def test_published_dates_are_taken_as_they_are(self) -> None:
        """Albany's of 1991-2020 as NCEI published them: 10/03, 10/15, 11/01 and 05/11, 04/27, 04/16."""
        found = read(files.annual())
        told = {(key.side, key.percent): str(day) for key, day in found.dates.items()}
        assert [told[Side.FIRST, each] for each in (10, 50, 90)] == ["10-03", "10-15", "11-01"]
        assert [told[Side.LAST, each] for each in (10, 50, 90)] == ["05-11", "04-27", "04-16"]
        assert (found.occurrence_percent, found.absent, found.monthly_tmin_degf) == ({32: 100.0}, {}, ())

    def test_the_place_is_kept(self) -> None:
        station = read(files.annual()).station
        assert (station.id, station.name) == ("USW00014735", "NOWHERE AP, NY US")
        assert (station.latitude, station.longitude) == (42.7431, -73.8092)

    def test_the_older_layout(self) -> None:
        """Chances times ten, -6666 and -4444 for what is not there."""
        found = read(files.old())
        assert found.dates == read(files.annual()).dates
        assert found.occurrence_percent == {32: 100.0, 16: 8.5}
        assert found.absent == {
            Key(Side.FIRST, 16, 10): "comes in too few seasons", Key(Side.LAST, 36, 10): "frost the year round",
        }  # fmt: skip
        assert any("1981-2010" in note for note in found.notes)

    @pytest.mark.parametrize(("flag", "value", "reason"), [
        ("M", "-9999", "missing"), ("M", "0", "missing"), ("V", "-9999.0", "frost the year round"),
        ("Y", "", "too few values"), ("Z", "10/03", "disagrees with other values"), (" ", "-9999", "missing"),
        (" ", "0", "the file holds no value"), (" ", "", "the file holds no value"),
        (" ", "-6666.0", "too few seasons"),
        (" ", "-4444", "frost the year round"), (" ", "-8888", "no such day"), ("m", "-9999", "missing"),
    ])  # fmt: skip
    def test_what_is_not_there_says_why(self, flag: str, value: str, reason: str) -> None:
        found = read(files.annual({COLUMN: value}, {COLUMN: flag}))
        assert FIRST_10 not in found.dates
        assert reason in found.absent[FIRST_10]
        assert len(found.dates) == 5

    def test_a_fall_that_begins_in_january(self) -> None:
        """A station whose first 16 degF comes on 1 January in 70 % is in order: the season runs on from December."""
        late = {"ANN-TMIN-PRBFST-T16FP50": "12/20", "ANN-TMIN-PRBFST-T16FP70": "01/01"}
        assert read(files.annual(late)).dates[Key(Side.FIRST, 16, 70)] == MonthDay(1, 1)

    def test_29_february_is_the_28th(self) -> None:
        late = {"ANN-TMIN-PRBLST-T20FP10": "02/29"}
        assert read(files.annual(late)).dates[Key(Side.LAST, 20, 10)] == MonthDay(2, 28)

    def test_by_variable_files_hold_many_stations(self) -> None:
        """Heading GHCN_ID and names in mixed case; the station wanted is picked, or asked for."""
        heading = "GHCN_ID,month,day,hour,ann-tmin-prbfst-t32Fp10,meas_flag_ann-tmin-prbfst-t32Fp10"
        text = f"{heading}\nUSW00014735,99,99,99,   10/03, \nUSW00094728,99,99,99,   11/06, \n"
        assert read(text, "USW00094728").dates == {FIRST_10: MonthDay(11, 6)}
        assert "holds 2 stations (USW00014735, USW00094728); say which one" in refused(text)[0]
        assert "holds no station NONE; it holds USW00014735" in refused(text, "NONE")[0]


class TestMonths:
    @pytest.mark.parametrize("heading", ["month", "DATE"])
    def test_twelve_mean_lowest_temperatures(self, heading: str) -> None:
        text = files.monthly().replace("month,", f"{heading},", 1)
        found = read(text)
        assert found.monthly_tmin_degf == files.MONTHLY
        assert any("degF" in note for note in found.notes)

    def test_months_in_any_order(self) -> None:
        lines = files.monthly().splitlines()
        shuffled = random.Random(3).sample(lines[1:], 12)
        assert read("\n".join([lines[0], *shuffled])).monthly_tmin_degf == files.MONTHLY

    def test_months_written_with_a_year(self) -> None:
        text = files.monthly().replace("month,", "DATE,", 1)
        for month in range(1, 13):
            text = text.replace(f'US",{month:02d},', f'US",2010-{month:02d},')
        assert read(text).monthly_tmin_degf == files.MONTHLY

    def test_tenths_of_the_older_files(self) -> None:
        text = files.monthly(tuple(10 * each for each in files.MONTHLY), "{:.0f}")
        old = text.replace("meas_flag_MLY-TMIN-NORMAL", "MLY-TMIN-NORMAL_ATTRIBUTES")
        assert read(old).monthly_tmin_degf == pytest.approx(files.MONTHLY)
        assert any("tenths of a degF" in note for note in read(old).notes)

    def test_a_missing_month_leaves_them_out_and_says_so(self) -> None:
        found = read(files.monthly().replace("    18.6", "   -9999", 1))
        assert found.monthly_tmin_degf == ()
        assert any("month 2 is missing" in note for note in found.notes)


REFUSED: dict[str, tuple[str | bytes, str]] = {
    "empty": ("", "is empty and is no file of NCEI normals"),
    "a picture": (b"\x89PNG\r\n\x1a\n\x00\x00", "is a NUL byte"),
    "UTF-16": (files.annual().encode("utf-16"), "is UTF-16 text"),
    "Latin-1": (files.annual().replace("NOWHERE", "QU\u00c9BEC").encode("latin-1"), "is not UTF-8 text"),
    "a weather file": ("STATION,DATE,TMIN\nA,2026-01-01,18\n", "is no file of NCEI normals"),
    "only a heading": (files.annual().splitlines()[0], "holds a heading and no row"),
    "cut off": (files.annual().rsplit(",", 6)[0], "cells where the heading has 33; it is cut off"),
    "cut off in a cell": (files.annual()[:-60], "quotation mark"),
    "an open quotation": (files.annual().replace('"   10/03"', '"   10/03', 1), "quotation mark"),
    "31 November": (files.annual({COLUMN: "11/31"}), 'PRBFST-T32FP10 "11/31" is not a date'),
    "month 13": (files.annual({COLUMN: "13/01"}), "is not a date such as 10/15"),
    "ISO": (files.annual({COLUMN: "2026-10-03"}), "is not a date such as 10/15"),
    "unknown code": (files.annual({COLUMN: "-1234"}), "nor a code for a missing one"),
    "a number": (files.annual({COLUMN: "276"}), "is not a date"),
    "nan": (files.annual({COLUMN: "nan"}), "is not a date"),
    "digits of another script": (files.annual({COLUMN: "\u0661\u0660/\u0660\u0663"}), "is not a date"),
    "a terminal's escape": (files.annual({COLUMN: "\x1b[2J"}), "is not a date"),
    "first ones shuffled": (files.annual({COLUMN: "10/20"}), "first freezes at 32 degF are out of order (10 % 10-20"),
    "last ones shuffled": (files.annual({"ANN-TMIN-PRBLST-T32FP10": "04/01"}), "last freezes at 32 degF are out of"),
    "chance of 1000 %": (files.annual({"ANN-TMIN-PRBOCC-LSTH032": "1000"}), "is 1000 %; 0 to 100 is wanted"),
    "chance below 0": (files.annual({"ANN-TMIN-PRBOCC-LSTH032": "-5"}), "is -5 %; 0 to 100 is wanted"),
    "chance of inf": (files.annual({"ANN-TMIN-PRBOCC-LSTH032": "inf"}), "is not a plain number"),
    "two rows that differ": (
        "\n".join([*files.row(files.DATES), files.row(files.DATES | {COLUMN: "10/02"})[1]]),
        "differs from the row before",
    ),
    "month 13 of a file of months": (files.monthly().replace('US",12,', 'US",13,'), 'month "13" is not 01 to 12'),
    "a month twice": (files.monthly().replace('US",12,', 'US",11,'), "month 11 stands twice"),
    "no column of months": (files.monthly().replace("month,", "x,", 1), 'month "" is not 01 to 12'),
    "tenths in a new file": (files.monthly(tuple(each * 10 for each in files.MONTHLY)), "no mean lowest temperature"),
    "nan in a month": (files.monthly().replace("    16.9", "     nan"), "is not a plain number"),
}  # fmt: skip


@pytest.mark.parametrize(("given_", "says"), REFUSED.values(), ids=REFUSED)
def test_damaged_and_foreign_files_are_a_sentence(given_: str | bytes, says: str) -> None:
    assert any(says in each for each in refused(given_)), refused(given_)
    assert all("\x1b" not in each for each in refused(given_))


def test_a_file_too_large() -> None:
    assert "at most" in refused(b"a" * (MOST_BYTES + 1))[0]


@pytest.mark.parametrize("text", cases("csv_export", "unicode", "markup", "terminal"))
def test_hostile_text_as_a_name_or_a_value_does_nothing(text: str | bytes) -> None:
    hostile = text.decode("utf-8", "replace") if isinstance(text, bytes) else text
    for file in (files.annual().replace("NOWHERE AP", hostile), files.annual({COLUMN: hostile})):
        found, problems = read_normals(file.encode("utf-8", "replace"), "n.csv")
        assert (found is None) == bool(problems)


@given(st.data())
def test_any_damage_is_read_or_refused_never_a_crash(data: st.DataObject) -> None:
    """Bytes cut out, doubled or changed anywhere."""
    whole = data.draw(st.sampled_from([files.annual(), files.monthly(), files.old()])).encode()
    at, length = data.draw(st.integers(0, len(whole))), data.draw(st.integers(0, 40))
    damaged = whole[:at] + data.draw(st.binary(max_size=20)) + whole[at + length :]
    found, problems = read_normals(damaged, "n.csv")
    assert (found is None) == bool(problems)


@pytest.mark.parametrize("end", ["\r\n", "\r", "\n\n"], ids=["crlf", "cr", "empty lines"])
def test_line_ends_do_not_matter(end: str) -> None:
    assert read(files.annual().replace("\n", end)) == read(files.annual())
    assert read_normals(b"\xef\xbb\xbf" + files.annual().encode(), "n.csv")[0] == read(files.annual())
