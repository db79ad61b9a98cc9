"""Weather files that are broken or malicious: a sentence with the line, never a traceback, never half read."""

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seasonlog.intake.weather import read_weather
from seasonlog.intake.weather_text import MOST_BYTES, MOST_PROBLEMS
from tests.intake import weather_files as files

REFUSED: dict[str, tuple[str | bytes, str]] = {
    "empty": ("", "line 1: is empty"),
    "only line ends": ("\n\n\n", "line 1: is empty"),
    "a picture": (b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR", "byte 8: is a NUL byte"),
    "NUL in a cell": ("date,tmin_degf\n2026-01-01,1\x008\n", "byte 27: is a NUL byte"),
    "UTF-16": (files.OWN_DAYS.encode("utf-16"), "is UTF-16 text"),
    "Latin-1": ("LOCATION,Québec\n".encode("latin-1"), "is not UTF-8 text"),
    "some other table": ("tower,kw\nHOS-1,18\n", "none of the weather files known"),
    "a terminal's escape": ("\x1b[2Jdate\n", "none of the weather files known"),
    "31 February": ("date,tmin_degf,tmax_degf\n2026-02-31,1,2\n", "line 2: there is no day 2026-02-31"),
    "month 13": ("date,tmin_degf,tmax_degf\n2026-13-01,1,2\n", "line 2: there is no day 2026-13-01"),
    "year 0": ("date,tmin_degf,tmax_degf\n0000-01-01,1,2\n", "line 2: there is no day 0000-01-01"),
    "an American day": ("date,tmin_degf,tmax_degf\n1/31/2026,1,2\n", "is not a day"),
    "the same day twice": (files.OWN_DAYS + "2026-01-01,18,36\n", "line 4: 2026-01-01 has TMIN twice; the first is "),
    "nan": ("date,tmin_degf,tmax_degf\n2026-01-01,nan,2\n", 'line 2: TMIN "nan" is not a plain number'),
    "inf": ("date,tmin_degf,tmax_degf\n2026-01-01,1,inf\n", 'line 2: TMAX "inf" is not a plain number'),
    "1e9": ("date,tmin_degf,tmax_degf\n2026-01-01,1e9,2\n", "is not a plain number"),
    "a decimal comma": ('date,tmin_degf,tmax_degf\n2026-01-01,"1,5",2\n', "is not a plain number"),
    "digits of another script": ("date,tmin_degf,tmax_degf\n2026-01-01,\u0661\u0668,36\n", "is not a plain number"),
    "hotter than air": ("date,tmin_degf,tmax_degf\n2026-01-01,1,500\n", "line 2: 500.0 degF (260.0 degC) is no air"),
    "upside down": ("date,tmin_degf,tmax_degf\n2026-01-01,36,18\n", "line 2: on 2026-01-01 the lowest 36.0 degF is "),
    "cut off": ("date,tmin_degf,tmax_degf\n2026-01-01\n", "line 2: has 1 cells where the heading has more"),
    "an open quotation": ('date,tmin_degf,tmax_degf\n"2026-01-01,1,2\n', "line 2: has a quotation mark"),
    "no lowest": ("date,tmin_degf,tmax_degf\n2026-01-01,,2\n", "holds no daily lowest temperature"),
    "only a heading": ("date,tmin_degf,tmax_degf\n", "holds no daily lowest temperature"),
    "unknown column": ("date,tmin_degf,tmax_degf,rain\n2026-01-01,1,2,3\n", "line 1: must name the columns"),
    "no column of lowest": ("date,high\n2026-01-01,1\n", "line 1: must name the columns"),
    "an order without TMIN": ("STATION,DATE,PRCP\nA,2026-01-01,0\n", "line 1: names no column TMIN"),
    "only a heading of an order": ("STATION,DATE,TMIN\n", "holds no daily lowest temperature"),
    "parts that are no day": (files.BY_PARTS + "2026,02,30,1.0,0.5,0\n", "line 4: there is no day 2026-02-30"),
    "half a day": (files.BY_PARTS + "2026,02,1.5,1.0,0.5,0\n", "line 4: year, month and day must be whole numbers"),
    "by station, cut off": (files.BY_STATION + "USW00099999,20260103,TM", "line 5: has 3 cells"),
    "by station, wrong day": (files.BY_STATION + "USW00099999,20260231,TMIN,1,,,W,\n", "there is no day 2026-02-31"),
    "by station, twice": (files.BY_STATION + files.BY_STATION, "line 5: 2026-01-01 has TMAX twice"),
    "fixed width, cut off": (files.dly()[:-100], "line 2: ends before the value of day 20; the line is cut off"),
    "fixed width, 30 February": (files.month("TMIN", [1] * 30), "line 1: there is no day 2026-02-29"),
    "fixed width, month 13": (files.month("TMIN", [1], year_month="202613"), "there is no day 2026-13-01"),
    "fixed width, no number": (files.dly().replace("  -78", "  -7x", 1), "line 2: the value of day 1"),
    "fixed width, junk below": (files.dly() + "junk\n", "line 3: has no year and month"),
    "fixed width, twice": (files.dly() + files.dly(), "line 3: 2026-02-01 has TMAX twice"),
    "EPW, cut off": (files.epw(days=100), "holds 2400 hours; a typical year has 8760"),
    "EPW, cut off in a line": (files.epw()[:-60], "line 8768: has 2"),
    "EPW, only its heading": (files.epw(days=0), "holds 0 hours"),
    "EPW, hour 25": (files.epw().replace("1986,1,1,24,", "1986,1,1,25,"), "line 32: hour 25 is not from 1 to 24"),
    "EPW, 31 February": (files.epw().replace("1986,2,28,24,", "1986,2,31,24,"), "there is no day 2000-02-31"),
    "EPW, an hour twice": (files.epw().replace("1986,1,1,2,", "1986,1,1,1,"), "line 10: has an hour that line 9 has"),
    "EPW, nan": (files.epw().replace("?9?9,-5.0,", "?9?9,nan,", 1), "line 9: air"),
    "EPW, hurricane": (files.epw().replace(",3.0,6,", ",300,6,", 1), "line 9: wind 671.081 is not from 0 to 150"),
    "EPW, negative humidity": (files.epw().replace(",70,", ",-1,", 1), "line 9: humidity -1 is not from 0 to 110"),
    "TMY3, cut off": (files.tmy3()[: 200_000], "line "),
    "TMY3, ISO day": (files.tmy3().replace("01/01/1988", "1988-01-01", 1), "line 3: "),
    "hours, half past": ("time,degf\n2026-01-01T00:30,18\n", "line 2: "),
    "hours, 24 o'clock": ("time,degf\n2026-01-01T24:00,18\n", "line 2: "),
    "hours, twice": ("time,degf\n2026-01-01T00:00,18\n2026-01-01T00:00,18\n", "line 3: has an hour that line 2 has"),
    "hours, cloud of 11": ("time,degf,cloud_tenths\n2026-01-01T00:00,18,11\n", "line 2: cloud cover 11 is not"),
    "hours, no temperature": ("time,degf\n2026-01-01T00:00,\n", "holds no hour with a temperature"),
    "hours, unknown column": ("time,degf,sun\n2026-01-01T00:00,18,1\n", "line 1: must name the columns time and"),
}  # fmt: skip


@pytest.mark.parametrize(("given_file", "says"), REFUSED.values(), ids=REFUSED)
def test_refused_with_a_sentence(given_file: str | bytes, says: str) -> None:
    data = given_file if isinstance(given_file, bytes) else given_file.encode()
    climate, problems = read_weather(data, "odd.csv")
    assert climate is None
    assert any(says in str(each) for each in problems), [str(each) for each in problems][:3]
    assert all(str(each).startswith("odd.csv") for each in problems)


def test_a_file_too_large_is_refused_unread() -> None:
    climate, problems = read_weather(b"9" * (MOST_BYTES + 1), "huge.csv")
    assert climate is None
    assert "at most 64000000 are taken" in problems[0].says


def test_a_million_mistakes_are_told_in_a_few_lines() -> None:
    text = "date,tmin_degf,tmax_degf\n" + "no day,1,2\n" * 100_000
    climate, problems = read_weather(text.encode(), "x.csv")
    assert climate is None
    assert len(problems) == MOST_PROBLEMS + 1
    assert problems[-1].says.startswith("has 99950 more problems")


def test_one_endless_line_is_refused() -> None:
    climate, problems = read_weather(("date,tmin_degf," + "x," * 500_000).encode(), "x.csv")
    assert climate is None
    assert problems


WHOLE = [files.ACCESS, files.ORDER, files.BY_STATION, files.BY_PARTS, files.OWN_DAYS, files.OWN_HOURS, files.dly()]


@given(st.sampled_from(WHOLE), st.integers(0, 2**32), st.integers(1, 20))
def test_damaged_files_are_read_or_refused_and_nothing_else(text: str, seed: int, times: int) -> None:
    """Bytes overwritten, cut or doubled at random: either a climate or problems, never both, never an exception."""
    draw, data = random.Random(seed), bytearray(text.encode())
    for _ in range(times):
        at = draw.randrange(len(data) + 1)
        data[at : at + draw.randrange(4)] = bytes(draw.randrange(256) for _ in range(draw.randrange(4)))
    climate, problems = read_weather(bytes(data), "x")
    assert (climate is None) == bool(problems)


@given(st.binary(max_size=400))
def test_any_bytes_are_read_or_refused(data: bytes) -> None:
    climate, problems = read_weather(data, "x")
    assert climate is None
    assert problems


@given(st.text(max_size=200), st.sampled_from(["date,tmin_degf,tmax_degf\n", "LOCATION,", "STATION,DATE,TMIN\n"]))
def test_any_text_below_a_heading_is_read_or_refused(text: str, heading: str) -> None:
    climate, problems = read_weather((heading + text).encode("utf-8", "surrogatepass"), "x")
    assert (climate is None) == bool(problems)
