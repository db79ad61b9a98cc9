"""Who has taken a due visit on: claimed it, or begun it. A second person is told; nobody is stopped, both results stay.

A claim is a word between people on different devices, not a lock: it may arrive late, or never.
"""

from dataclasses import dataclass
from datetime import date

from seasonlog.domain.records import Kind, Record
from seasonlog.domain.season_due import SETTLED, DueItem, DueKey, settles
from seasonlog.domain.visit import VisitState
from seasonlog.journal import queries, trust_queries
from seasonlog.services import registry, season
from seasonlog.services.days import local_words, moment
from seasonlog.services.device_ages import age_words
from seasonlog.services.logbook import Logbook
from seasonlog.services.reasons import refuse

FEW_TOWERS = 10
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


@dataclass(frozen=True, slots=True)
class Claim:
    """A claim that stands: its visit is neither made nor dropped, and its person has not given it up."""

    key: DueKey
    who: str
    device: str
    """Name of the device, or empty for this one."""
    since_ms: int
    is_mine: bool
    """Of this person on this device, who can give it up here."""

    def words(self, offset: int) -> str:
        """`claimed by Halden Pruskett on the roof tablet since 2026-10-03 14:30`."""
        by = f"{self.who} on {self.device}" if self.device else self.who
        return f"claimed by {by} since {moment(self.since_ms, offset):%Y-%m-%d %H:%M}"


def claim(book: Logbook, tower: str, checklist: str, today: date) -> DueKey:
    """Tell the others that this person makes a due visit.

    Raises:
        InputRefusedError: no such tower, or nothing of the kind is due there.
    """
    key = _due(book, tower, checklist, today)
    if key is None:
        raise refuse(f"tower {tower}", f"has no {checklist} due that could be claimed; `seasonlog due --all` lists all")
    book.write(Record(Kind.VISIT_CLAIMED, key._asdict()))
    return key


def give_up(book: Logbook, tower: str, checklist: str) -> DueKey:
    """Tell the others that this person does not make a claimed visit after all.

    Raises:
        InputRefusedError: no such tower, or this person has not claimed it on this device.
    """
    registry.refuse_unknown(book.db, tower=tower)
    ours = [each for each in standing(book, tower) if each.key.checklist == checklist and each.who == book.who]
    here = [each for each in ours if each.is_mine]
    if not here:
        where = f"claimed it on {ours[-1].device}; give it up there" if ours else "have not claimed it"
        raise refuse(f"tower {tower}, {checklist}", f"cannot be given up here: you ({book.who}) {where}")
    book.write(Record(Kind.VISIT_CLAIMED, here[-1].key._asdict() | {"given_up": True}))
    return here[-1].key


def _due(book: Logbook, tower: str, checklist: str, today: date) -> DueKey | None:
    registry.refuse_unknown(book.db, tower=tower)
    return settles(season.items(book, today, tower=tower), tower, checklist, today)


def taken_by_others(book: Logbook, tower: str, checklist: str, today: date) -> list[Taken]:
    """Whoever else claimed or began this visit, the earliest first; the same person on another device is told, too."""
    key = _due(book, tower, checklist, today)
    found = [*_begun(book, tower, checklist), *(_claimed(book, key) if key else ())]
    mine = (book.who, book.journal.device_id)
    names = _device_names(book)
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


def standing(book: Logbook, tower: str = "") -> list[Claim]:
    """The claims that stand, the oldest first; of one tower where named."""
    sql = """SELECT tower, checklist, season, ordinal, dev, who, wall FROM visit_claim c WHERE ? IN ('', tower)
      AND NOT EXISTS (SELECT 1 FROM plan p WHERE (p.tower, p.checklist, p.season, p.ordinal)
        = (c.tower, c.checklist, c.season, c.ordinal) AND (p.done != '' OR p.dropped != '')) ORDER BY pos"""
    rows, own = book.journal.query(sql, [tower]), book.journal.device_id
    names = _device_names(book) if rows else {}
    return [
        Claim(DueKey(*key), who, "" if dev == own else names.get(dev, ""), wall, (dev, who) == (own, book.who))
        for *key, dev, who, wall in rows
    ]


def _device_names(book: Logbook) -> dict[str, str]:
    return {d.dev: d.name or f"device {d.dev[:4]}" for d in trust_queries.devices(book.db)}


def told(book: Logbook, tower: str = "") -> dict[DueKey, str]:
    """Who has claimed which visit since when, for a list of what is due."""
    offset = book.around.clock.offset_minutes()
    found: dict[DueKey, str] = {}
    for each in standing(book, tower):
        found[each.key] = "; ".join([*filter(None, [found.get(each.key)]), each.words(offset)])
    return found


@dataclass(frozen=True, slots=True)
class ClaimedVisit:
    """A visit to be made that somebody has claimed."""

    item: DueItem
    claims: tuple[Claim, ...]
    """The oldest first."""

    @property
    def is_mine(self) -> bool:
        """This person can give it up here."""
        return any(each.is_mine for each in self.claims)


def claimed_visits(book: Logbook, today: date) -> list[ClaimedVisit]:
    """What is claimed and still to be made, the first due first."""
    ours: dict[DueKey, list[Claim]] = {}
    for each in standing(book):
        ours.setdefault(each.key, []).append(each)
    towers = {key.tower for key in ours}
    asked = towers if len(towers) <= FEW_TOWERS else {""}  # all at once is quicker than very many by one
    items = [item for tower in asked for item in season.items(book, today, tower=tower)]
    found = [ClaimedVisit(i, tuple(ours[i.key])) for i in items if i.key in ours and i.state not in SETTLED]
    return sorted(found, key=lambda each: (each.item.due, each.item.key))


def warnings(book: Logbook, tower: str, checklist: str, today: date) -> list[str]:
    """What a person who wants to begin a visit is told first; empty when nobody else has taken it on."""
    found = taken_by_others(book, tower, checklist, today)
    if not found:
        return []
    now, offset = book.around.clock.wall_ms(), book.around.clock.offset_minutes()
    return [each.words(now, offset) for each in found]
