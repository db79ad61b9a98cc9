"""The open daily records beside the checkout and what was published of the same stations, for tests of freeze dates."""

import csv
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import NamedTuple

from seasonlog.calc.freeze_chances import FreezeDays, Side
from seasonlog.calc.freeze_dates import Record, lowest_of
from seasonlog.calc.season_days import NORTH, MonthDay
from seasonlog.intake.weather import read_weather
from tests.intake import weather_files as files


class Place(NamedTuple):
    short: str
    id: str
    file: str
    seasons: range


PLACES = (
    Place("ALB", "USW00014735", files.ALBANY, range(1991, 2017)),
    Place("NYC", "USW00094728", files.NEW_YORK, range(1991, 2019)),
)


@cache
def record_of(shared: Path, place: Place) -> Record:
    climate, problems = read_weather((shared / "climate" / place.file).read_bytes(), place.file)
    assert climate is not None, problems
    return Record(lowest_of(climate.days, rounded=True), NORTH)


def rows(shared: Path, name: str) -> list[dict[str, str]]:
    with (shared / "climate" / name).open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


class Published(NamedTuple):
    side: Side
    degf: float
    percent: float
    day: MonthDay

    def days_later(self, ours: FreezeDays) -> int:
        """How many days later than the published date ours is."""
        found = ours.date(self.percent)
        assert found is not None
        return NORTH.number(found) - NORTH.number(self.day)


def published(shared: Path, place: Place) -> Iterator[Published]:
    """NCEI's dates 1991-2020 of a station."""
    row = next(each for each in rows(shared, "published-freeze-dates-1991-2020.csv") if each["station"] == place.id)
    for name, text in row.items():
        if text and name not in ("station", "name"):
            month, day = text.split("/")
            side, degf, percent = name[:-6], name[-6:-4], name[-2:]
            yield Published(Side(side), float(degf), float(percent), MonthDay(int(month), int(day)))
