"""Small made-up weather records: a cosine year with noise, in the form of our own daily files."""

import math
import random
from datetime import date, timedelta

from seasonlog.calc.season_days import NORTH, SOUTH
from seasonlog.domain.season import COLD_SNAP
from seasonlog.domain.season_due import DueItem
from seasonlog.services import climate, season
from seasonlog.services.climate_study import HowToRead
from seasonlog.services.logbook import Logbook


def winters(seasons: int = 12, *, south: bool = False, mean_degf: float = 40.0, swing_degf: float = 25.0) -> str:
    """So many winters in degF from 2001 on, coldest in the middle of the season."""
    calendar, begins = (SOUTH, date(2001, 2, 1)) if south else (NORTH, date(2001, 8, 1))
    draw, lines = random.Random(4), ["date,tmin_degf,tmax_degf"]
    for at in range(366 * seasons):
        day = begins + timedelta(days=at)
        wave = math.cos((calendar.number(day) - 182) / 365 * 2 * math.pi)
        low = round(mean_degf - swing_degf * wave + draw.gauss(0, 6))
        lines.append(f"{day},{low},{low + 15}")
    return "\n".join(lines)


def asked(
    site: str, record: str | bytes | None, *normals: str, threshold_degf: int = 32, name: str = "made-up.csv"
) -> climate.Import:
    """An import of files handed in as text."""
    data = record.encode() if isinstance(record, str) else record
    files = [climate.HandedIn(f"normals-{n}.csv", each.encode()) for n, each in enumerate(normals)]
    own = None if data is None else climate.HandedIn(f"some/folder/{name}", data)
    return climate.Import(site, own, files, threshold_degf, HowToRead())


def imported(book: Logbook, wanted: climate.Import) -> climate.Looked:
    """The import, written."""
    looked = climate.look(book, wanted)
    climate.keep(book, looked)
    return looked


def snaps(book: Logbook, on: date, tower: str) -> list[DueItem]:
    """The cold-snap checks of a tower."""
    return [each for each in season.items(book, on, tower=tower) if each.checklist == COLD_SNAP]
