"""Who has taken a due visit on: claimed it, or begun it. A second person is told; nobody is stopped, both results stay.

A claim is a word between people on different devices, not a lock: it may arrive late, or never.
"""

from dataclasses import dataclass
from datetime import date

from seasonlog.domain.records import Kind, Record
from seasonlog.domain.season_due import DueKey, settles
from seasonlog.domain.visit import VisitState
from seasonlog.journal import queries, trust_queries
from seasonlog.services import registry, season
from seasonlog.services.days import local_words
from seasonlog.services.device_ages import age_words
from seasonlog.services.logbook import Logbook
from seasonlog.services.reasons import refuse

BOTH_STAY = "If both of you make it, both results are kept."


@dataclass(frozen=True, slots=True)
class Taken:
    """Somebody, or somebody's other device, who has taken the visit on."""

    who: str
    device: str
    """Name of the device, or empty for this one."""
    since_ms: int
    visit: str
    """Id of the visit begun; empty when it is only claimed."""

    def words(self, now_ms: int, offset: int) -> str:
        """`Halden Pruskett on the roof tablet claimed it on 2026-10-03 at 14:30, 2 hours ago`."""
        by = f"{self.who} on {self.device}" if self.device else self.who
        did = "began it" if self.visit else "claimed it"
        return f"{by} {did} on {local_words(self.since_ms, offset)}, {age_words(self.since_ms, now_ms)}"


def claim(book: Logbook, tower: str, checklist: str, today: date, *, give_up: bool = False) -> DueKey:
    """Tell the others that this person makes a due visit; or does not after all.

    Raises:
        InputRefusedError: no such tower, or nothing of the kind is due there.
    """
    key = _due(book, tower, checklist, today)
    if key is None:
        raise refuse(f"tower {tower}", f"has no {checklist} due that could be claimed; `seasonlog due --all` lists all")
    book.write(Record(Kind.VISIT_CLAIMED, key._asdict() | ({"given_up": True} if give_up else {})))
    return key


def _due(book: Logbook, tower: str, checklist: str, today: date) -> DueKey | None:
    registry.refuse_unknown(book.db, tower=tower)
    return settles(season.items(book, today, tower=tower), tower, checklist, today)


def taken_by_others(book: Logbook, tower: str, checklist: str, today: date) -> list[Taken]:
    """Whoever else claimed or began this visit, the earliest first; the same person on another device is told, too."""
    key = _due(book, tower, checklist, today)
    found = [*_begun(book, tower, checklist), *(_claimed(book, key) if key else ())]
    mine = (book.who, book.journal.device_id)
    names = {d.dev: d.name or f"device {d.dev[:4]}" for d in trust_queries.devices(book.db)}
    others = [(dev, each) for dev, each in found if (each.who, dev) != mine]
    shown = [Taken(t.who, names.get(dev, "") if dev != mine[1] else "", t.since_ms, t.visit) for dev, t in others]
    return sorted(shown, key=lambda t: (t.since_ms, t.who))


def _begun(book: Logbook, tower: str, checklist: str) -> list[tuple[str, Taken]]:
    visits = [v for v in queries.visits_of(book.db, tower) if v.checklist == checklist and v.state is VisitState.OPEN]
    starts = {v.id: book.journal.find(f"{v.id}:start") for v in visits}
    return [
        (entry.entry.dev if entry else "", Taken(v.who, "", v.started_wall_ms, v.id))
        for v in visits
        for entry in [starts[v.id]]
    ]


def _claimed(book: Logbook, key: DueKey) -> list[tuple[str, Taken]]:
    sql = "SELECT dev, who, wall FROM visit_claim WHERE tower=? AND checklist=? AND season=? AND ordinal=? ORDER BY pos"
    return [(dev, Taken(who, "", wall, "")) for dev, who, wall in book.journal.query(sql, key)]


def claimants(book: Logbook) -> dict[DueKey, str]:
    """Who has claimed which visit, for a list of what is due."""
    found: dict[DueKey, str] = {}
    for *key, who in book.journal.query("SELECT tower, checklist, season, ordinal, who FROM visit_claim ORDER BY pos"):
        at = DueKey(*key)
        found[at] = f"{found[at]}, {who}" if at in found else f"claimed by {who}"
    return found


def warnings(book: Logbook, tower: str, checklist: str, today: date) -> list[str]:
    """What a person who wants to begin a visit is told first; empty when nobody else has taken it on."""
    found = taken_by_others(book, tower, checklist, today)
    if not found:
        return []
    now, offset = book.around.clock.wall_ms(), book.around.clock.offset_minutes()
    return [each.words(now, offset) for each in found]
