"""Exposure: five hundred towers, each with a whole fall enable on record, ranked by what freezes first."""

import json
import time
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

from seasonlog.domain.records import Kind, Record
from seasonlog.domain.register_items import to_item
from seasonlog.domain.register_records import Circuit, word_of
from seasonlog.domain.register_records import Record as Item
from seasonlog.services import closing
from seasonlog.services.logbook import Logbook
from tests.builders import TODAY, a_book, a_visit, answered, sample_register

TOWERS = 500
PATTERN = "HOS-1"
AT_ONCE = 25
"""Towers written in one commit."""


def measure(folder: Path) -> Iterator[tuple[str, float, float, str]]:
    from seasonlog.services.exposure import Asked, exposure

    with a_book(folder / "many") as book:
        many_towers(book, folder / "one")
        took, found = [], None
        for _ in range(3):
            start = time.process_time()  # the machine may be busy with other things
            found = exposure(book, TODAY, Asked())
            took.append(time.process_time() - start)
    ranked = len(found.exposed) if found else 0
    if ranked < TOWERS // 5:
        raise ValueError(f"only {ranked} of {TOWERS} towers are exposed: nothing to rank")
    yield f"{TOWERS} towers ranked by what freezes first", max(took), 2, "s"


def many_towers(book: Logbook, folder: Path, count: int = TOWERS) -> None:
    """Towers like the hospital's first one, heaters of many sizes, each with the entries of one signed visit."""
    visits = [told(folder / str(wrong), wrong) for wrong in (False, True)]
    book.write(*(record for number in range(count) for record in installed(number)))
    for first in range(0, count, AT_ONCE):
        numbers = range(first, min(first + AT_ONCE, count))
        book.write(*(renamed(kind, body, n) for n in numbers for kind, body in visits[n % 5 == 0]))


def installed(number: int) -> Iterator[Record]:
    """One more tower with all its parts; its heater is larger or smaller than the pattern's."""
    register = sample_register()
    tower = register.towers[PATTERN]
    parts: list[Item] = [tower, *register.basins_of(tower.id), *register.circuits_of(tower.id)]
    for part in [*parts, *register.traces_of(tower.id), *register.sources_of(tower.id)]:
        if isinstance(part, Circuit):
            part = replace(part, kw=Decimal(9 + number % 20))
        item = json.loads(name_of(number, json.dumps(to_item(part))))
        yield Record(Kind.REGISTER_RECORDED, {"what": word_of(part), "id": item["id"], "item": item})


def name_of(number: int, text: str) -> str:
    return text.replace(PATTERN, f"X-{number:04d}")


def told(folder: Path, wrong: bool) -> list[tuple[str, dict[str, object]]]:
    """Kind and body of every entry of a visit, healthy or with a line missing."""
    with a_book(folder) as book:
        before = book.journal.count()
        at = answered(book, a_visit(book, PATTERN), {"line_amps": ("0", "18.7", "18.7")} if wrong else {})
        closing.sign_off(book, at, closing.NOT_AVAILABLE)
        rows = book.db.execute("SELECT kind, line FROM entry WHERE pos>? ORDER BY pos", (before,)).fetchall()
    return [(kind, json.loads(line)["body"]) for kind, line in rows]


def renamed(kind: str, body: dict[str, object], number: int) -> Record:
    """The same entry for another tower and visit."""
    visit = str(body.get("visit", ""))
    text = name_of(number, json.dumps(body))
    return Record(Kind(kind), json.loads(text.replace(visit, f"{visit[:-4]}{number:04d}") if visit else text))
