"""Questions to the views about the climate of sites and the cold snaps raised for them."""

import json
import sqlite3
from datetime import date

from seasonlog.domain.climate_record import SiteClimate
from seasonlog.domain.season_due import ColdSnap


def climates(db: sqlite3.Connection) -> dict[str, SiteClimate]:
    """Site to its newest record."""
    rows = db.execute("SELECT site, doc, who, day FROM climate ORDER BY site")
    return {site: SiteClimate(site, json.loads(doc), who, date.fromisoformat(day)) for site, doc, who, day in rows}


def climate(db: sqlite3.Connection, site: str) -> SiteClimate | None:
    """The newest record of a site; None when there is none."""
    row = db.execute("SELECT doc, who, day FROM climate WHERE site=?", (site,)).fetchone()
    return None if row is None else SiteClimate(site, json.loads(row[0]), row[1], date.fromisoformat(row[2]))


def cold_snaps(db: sqlite3.Connection) -> dict[str, list[ColdSnap]]:
    """Site to its cold snaps, oldest season first."""
    out: dict[str, list[ColdSnap]] = {}
    sql = "SELECT site, season, ordinal, night, last_night, raised, says FROM cold_snap ORDER BY site, season, ordinal"
    for site, season, ordinal, night, last, raised, says in db.execute(sql):
        first, end, on = (date.fromisoformat(day) for day in (night, last, raised))
        out.setdefault(site, []).append(ColdSnap(season, ordinal, first, end, on, says))
    return out
