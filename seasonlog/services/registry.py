"""The register as the log holds it: whole, or only the part a screen is about.

A screen never loads ten thousand towers to show one: it asks for the tower's own records and the shared ones.
"""

import sqlite3
from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import date

from seasonlog.domain.register import Register
from seasonlog.domain.register_items import from_item
from seasonlog.domain.register_records import Record, Site
from seasonlog.domain.season_due import ModeChange, mode_on
from seasonlog.errors import InputRefusedError, LogError, Problem
from seasonlog.journal import audit_queries, queries
from seasonlog.services.days import day, day_of

PARTS = ("basin", "circuit", "trace", "source")
"""The kinds of record that belong to a tower."""


def whole(db: sqlite3.Connection) -> Register:
    """Every record."""
    return Register.of(_records(queries.all_items(db)))


def of_tower(db: sqlite3.Connection, tower: str) -> Register:
    """One tower with its site, its parts, the people and the instruments; empty when there is no such tower."""
    item = queries.item(db, "tower", tower)
    return Register.of(()) if item is None else _around(db, item, ever=False)


def parts_of(db: sqlite3.Connection, tower: str) -> Register:
    """A tower with its site and its parts, without people, instruments and devices: all that conditions ask about."""
    item = queries.item(db, "tower", tower, ever=True)
    if item is None:
        return Register.of(())
    site = queries.item(db, "site", str(item.fields["site"]), ever=True)
    return Register.of(_records(i for i in (site, item, *queries.children(db, tower, *PARTS)) if i is not None))


def of_tower_ever(db: sqlite3.Connection, tower: str) -> Register:
    """The same for whoever looks at an old visit: a tower that was retired comes with its parts as they last were."""
    item = queries.item(db, "tower", tower)
    if item is not None:
        return _around(db, item, ever=False)
    item = queries.item(db, "tower", tower, ever=True)
    return Register.of(()) if item is None else _around(db, item, ever=True)


def each_of(db: sqlite3.Connection, site: Site, towers: Iterable[str], common: Register) -> Iterator[Register]:
    """What `of_tower_ever` gives of each of these towers of a site; what they share is read once.

    Args:
        db: The log's tables.
        site: Theirs.
        towers: Their ids.
        common: What `shared` gives.
    """
    shared = [site, *common.records()]
    for tower in towers:
        here = queries.item(db, "tower", tower)
        item = here or queries.item(db, "tower", tower, ever=True)
        yield Register.of([*(_records(_own(db, item, ever=here is None)) if item else ()), *shared])


def _around(db: sqlite3.Connection, item: queries.Item, *, ever: bool) -> Register:
    site = queries.item(db, "site", str(item.fields["site"]), ever=ever)
    own = [*([] if site is None else [site]), *_own(db, item, ever=ever)]
    return Register.of(_records([*own, *queries.shared_items(db)]))


def _own(db: sqlite3.Connection, item: queries.Item, *, ever: bool) -> list[queries.Item]:
    """A tower's record with its parts and their devices."""
    return [item, *queries.children(db, item.id, *PARTS, ever=ever), *queries.devices_on(db, item.id, PARTS, ever=ever)]


def of_known_tower(db: sqlite3.Connection, tower: str, on: date | None = None) -> Register:
    """A tower's part of the register.

    Args:
        db: The log's tables.
        tower: Its id.
        on: With the winter mode it has on this day; as it was recorded at first when not given.

    Raises:
        InputRefusedError: no such tower.
    """
    register = of_tower(db, tower)
    if tower not in register.towers:
        raise InputRefusedError(
            [Problem(f"tower {tower}", "is not in the register; `seasonlog register list` names all")]
        )
    return register if on is None else wintering(register, db, on)


def refuse_unknown(db: sqlite3.Connection, *, site: str = "", tower: str = "") -> None:
    """A site or tower that was never in the register is a slip of the finger, not an empty list.

    Raises:
        InputRefusedError: no such site or tower, now or before.
    """
    for what, ident in (("site", site), ("tower", tower)):
        if ident and not queries.on_record(db, what, ident):
            raise InputRefusedError(
                [Problem(f"{what} {ident}", f"is not in the register; `seasonlog register list {what}` names all")]
            )


def site(db: sqlite3.Connection, ident: str, *, ever: bool = False) -> Site | None:
    """One site's own record, however many towers it has; with `ever` also one that was retired. None: no such site."""
    item = queries.item(db, "site", ident, ever=ever)
    record = None if item is None else _record(item)
    return record if isinstance(record, Site) else None


def units_of(db: sqlite3.Connection, tower: str) -> str:
    """Units that people at a tower's site read, retired or not; those of the record where it is about no tower."""
    item = queries.item(db, "tower", tower, ever=True) if tower else None
    where = queries.item(db, "site", str(item.fields["site"]), ever=True) if item is not None else None
    return str(where.fields.get("units", "us")) if where is not None else "us"


def of_site(db: sqlite3.Connection, site: str) -> Register:
    """One site with its towers and no more."""
    items = [i for i in (queries.item(db, "site", site), *queries.children(db, site, "tower")) if i is not None]
    return Register.of(_records(items))


def towers_and_sites(db: sqlite3.Connection, *, ever: bool = False) -> Register:
    """All sites and towers: what the season is planned from; with `ever` also those that were retired."""
    return Register.of(_records(i for i in queries.all_items(db, ever=ever) if i.what in ("site", "tower")))


def retirements(db: sqlite3.Connection) -> dict[str, str]:
    """Retired tower to its last local day in the register."""
    found = (stored.entry for stored in audit_queries.retirements(db))
    return {str(e.body["id"]): day_of(e.wall, e.offset).isoformat() for e in found}


def shared(db: sqlite3.Connection) -> Register:
    """People and instruments alone."""
    return Register.of(_records(queries.shared_items(db)))


def _records(items: Iterable[queries.Item]) -> list[Record]:
    return [_record(item) for item in items]


def _record(item: queries.Item) -> Record:
    record, problems = from_item(item.what, item.fields, f"{item.what} {item.id} in the log")
    if record is None:
        raise LogError(f"The log holds a {item.what} this version cannot read: {problems[0] if problems else item.id}.")
    return record


def mode_changes(db: sqlite3.Connection, tower: str = "") -> dict[str, list[ModeChange]]:
    """Tower to its dated winter modes; only of one where named."""
    found = queries.winter_modes(db, tower)
    return {t: [ModeChange(day(since), mode) for since, mode in rows] for t, rows in found.items()}


def wintering(register: Register, db: sqlite3.Connection, on: date) -> Register:
    """The register with each tower's winter mode as it is on a day."""
    changes = mode_changes(db, next(iter(register.towers)) if len(register.towers) == 1 else "")
    changed = {t: register.towers[t] for t in changes if t in register.towers}
    return register.merged(replace(t, winter=mode_on(t, changes[i], on)) for i, t in changed.items())[0]
