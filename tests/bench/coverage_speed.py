"""Coverage of ten thousand towers over five seasons: 400,000 visits, one in twenty with something amiss.

The tables are filled directly, as the fold would leave them; making half a million visits would take an hour.
"""

import json
import time
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

from seasonlog.domain.coverage_cells import CellState
from seasonlog.domain.register_items import to_item
from seasonlog.domain.season import windows
from seasonlog.domain.visit_flags import Flag
from seasonlog.journal.database import transaction
from seasonlog.services import closing
from seasonlog.services.coverage import Wanted, grid
from seasonlog.services.logbook import Logbook
from tests.builders import a_book, a_visit, answered, sample_register

TOWERS, SEASONS, PER_SITE = 10_000, 5, 40
ON = date(2026, 7, 31)
PATTERN = "HOS-1"


def measure(folder: Path) -> Iterator[tuple[str, float, float, str]]:
    with a_book(folder) as book:
        closing.sign_off(book, answered(book, a_visit(book, PATTERN)), closing.NOT_AVAILABLE)
        many(book, TOWERS)
        took = []
        for _ in range(3):
            start = time.process_time()  # the machine may be busy with other things
            found = grid(book, ON, Wanted(seasons=SEASONS))
            took.append(time.process_time() - start)
    counts = found.counts()
    if (
        len(found.cells) < TOWERS * SEASONS * 3
        or counts[CellState.AMISS] < TOWERS // 4
        or not counts[CellState.MISSING]
    ):
        raise ValueError(f"the table is not what was filled in: {counts}")
    yield f"coverage of {TOWERS} towers x {SEASONS} seasons ({TOWERS * SEASONS * 8} visits)", min(took), 2, "s"


def many(book: Logbook, towers: int, seasons: int = SEASONS) -> None:
    """Towers like the hospital's first one, at sites of forty, with the visits of five winters."""
    register = sample_register()
    site, pattern = register.site_of(PATTERN), register.towers[PATTERN]
    (sha256,) = book.db.execute("SELECT sha256 FROM proof").fetchone()
    connection = book.journal.pen().connection
    years = range(ON.year - seasons, ON.year)
    plan = {year: windows(site, year) for year in years}
    with transaction(connection):
        for number in range(towers):
            home, name = f"S{number // PER_SITE:04d}", f"X-{number:05d}"
            if number % PER_SITE == 0:
                item = json.dumps(to_item(replace(site, id=home, name=f"Site {home}")))
                connection.execute("INSERT INTO register_item VALUES ('site',?,'',?,?,0,2)", (home, home, item))
            item = json.dumps(to_item(replace(pattern, id=name, site=home)))
            connection.execute("INSERT INTO register_item VALUES ('tower',?,?,?,?,0,2)", (name, home, name, item))
            connection.execute("INSERT INTO tower_since VALUES (?,?)", (name, f"{years[0]}-06-01"))
            for row in _visits(number, name, plan, sha256):
                connection.execute("INSERT INTO proof VALUES (?,?,?,?,?,?,?,?,?,?,?,?)", row)
                if row[8] & Flag.WEAK:
                    connection.execute("INSERT INTO visit_step VALUES (?,'line_amps','fail',1000,'{}')", (row[4],))


def _visits(number, name, plan, sha256):
    for year, planned in plan.items():
        for place, window in enumerate(planned):
            which = number * 7919 + year * 31 + place * 17
            if which % 20 == 0:
                continue  # never made
            late = timedelta(days=9) if which % 20 == 1 else timedelta(0)
            flags = Flag.SIGNED | (Flag.WEAK | Flag.FOUND if which % 20 == 2 else Flag.NONE)
            visit = f"V-{number:05d}{year}{place:02d}"
            made = (name, window.checklist, year, window.ordinal, visit, "complete", str(window.due + late))
            yield (*made, "Mirel Oduvane", int(flags), "level_above_heater_in", sha256, 900)
