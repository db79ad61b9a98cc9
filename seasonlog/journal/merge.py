"""A proved bundle held against our own log, and taken in: set union by hash, in one transaction.

Nothing that is here changes. What may not stand in the log is put aside and named: the other branch of a fork, what a
revoked device wrote after its last entry that counts. The rule of a witness holds for checkpoints: no device may state
less than it stated before, and what was seen once must still be there.
"""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

from seasonlog.journal.bundle import refused
from seasonlog.journal.bundle_check import Attested, Proved
from seasonlog.journal.checkpoint import Checkpoint, does_not_hold, shrinks, trees_of
from seasonlog.journal.devices import explained, standing
from seasonlog.journal.encoding import Entry
from seasonlog.journal.stored import Stored

FORKED = "the other branch of a fork"
PAST_ITS_END = "written after its device was revoked"
"""Why an entry is put aside."""


@dataclass(frozen=True, slots=True)
class Ours:
    """What our log knows, as far as a merge asks."""

    log: str
    hashes: Mapping[str, list[bytes]]
    """Device to the hashes of its entries."""
    held: Sequence[Checkpoint]
    """Checkpoints, in the order they came to be known here."""
    said: Sequence[Entry]
    """Entries about devices."""
    aside: frozenset[bytes] = frozenset()
    """Hashes of what was put aside before."""


@dataclass(frozen=True, slots=True)
class Aside:
    """A signed entry that may not stand in the log."""

    stored: Stored
    why: str


@dataclass(frozen=True, slots=True)
class Fork:
    """A device wrote two entries with one number: its key was copied, or its holder hides something."""

    held: bytes
    """Hash of the one in the log."""
    other: Stored

    def __str__(self) -> str:
        e = self.other.entry
        return f"device {e.dev} wrote two entries with number {e.seq}: its key was copied, or a past was rewritten"


@dataclass(frozen=True, slots=True)
class Merge:
    """What taking a bundle in would do."""

    new: tuple[Stored, ...]
    """Entries that are not here yet, in causal order."""
    known: int
    """Entries of the bundle that are here already."""
    aside: tuple[Aside, ...]
    forks: tuple[Fork, ...]
    checkpoints: tuple[Attested, ...]
    """Those that stand with what is then here."""
    passed_over: tuple[str, ...]
    """Why a checkpoint is not kept, in words."""
    joining: tuple[str, ...]
    """Devices whose first entry comes with this bundle."""


def merge(found: Proved, ours: Ours, name: str, enrol: Iterable[str] = ()) -> Merge:
    """What a proved bundle adds to our log.

    Args:
        found: The bundle.
        ours: What is here.
        name: What to call the file in sentences.
        enrol: Devices that a supervisor enrols with this very import.

    Raises:
        InputRefusedError: another log, a device that may not add, or less than was seen before.
    """
    if found.head.log != ours.log:
        raise refused(name, 0, "is of another log; two logs are never mixed")
    said = [*ours.said, *(s.entry for s in found.entries)]
    said.sort(key=lambda e: (e.hlc, e.dev, e.seq))
    who = standing(said, {*ours.hashes, *enrol})
    strangers = sorted(dev for dev in found.hashes if dev not in who.may)
    if strangers:
        words = "; a supervisor enrols it: bundle import --enrol, after a look at who holds it"
        raise refused(name, 0, f"device {strangers[0]} is not enrolled here{words}")
    sort = _Sorted(ours)
    for stored in found.entries:
        sort.take(stored, counts=who.counts(stored.entry))
    _same_past(found, ours, name, {fork.other.entry.dev for fork in sort.forks})
    forks = [(fork.other.entry.dev, fork.other.entry.seq) for fork in sort.forks]
    told = explained(said, {*ours.hashes, *enrol}, forks)
    kept, passed_over = _standing_checkpoints(found, ours, sort.after, told, who.revoked)
    joining = tuple(sorted(dev for dev in found.hashes if dev not in ours.hashes and sort.after[dev]))
    return Merge(tuple(sort.new), sort.known, tuple(sort.aside), tuple(sort.forks), kept, passed_over, joining)


def _same_past(found: Proved, ours: Ours, name: str, forked: Collection[str]) -> None:
    """A device does not take back what it stated: neither in a bundle without it, nor in a later checkpoint.

    Of a device whose fork this bundle shows, the two branches tell more than a refusal would.
    """
    mine = [c for c in ours.held if c.by == found.head.by and c.issued_ms <= found.head.made]
    for stated in mine:
        sizes = ((d, s) for d, s in stated.sizes.items() if d not in forked)
        short = {d: s for d, s in sizes if len(found.hashes.get(d, ())) < s.entries}
        if short:
            why = does_not_hold(Checkpoint(stated.log, stated.by, stated.issued_ms, short), trees_of(found.hashes))
            raise refused(name, 0, f"is shorter than a checkpoint already seen: {why}")
    for one in found.checkpoints:
        for stated in (c for c in ours.held if c.by == one.stated.by and c.hash != one.stated.hash):
            earlier, later = sorted((stated, one.stated), key=_extent)
            why = shrinks(earlier, later, forked)
            if why:
                raise refused(name, 0, f"holds a checkpoint that takes back an earlier one: {why}")


def _extent(stated: Checkpoint) -> int:
    """How much a checkpoint covers: tells the earlier of two by one device, also where its clock was set back."""
    return sum(size.entries for size in stated.sizes.values())


class _Sorted:
    """The entries of a bundle by what becomes of them."""

    def __init__(self, ours: Ours) -> None:
        self.after: dict[str, list[bytes]] = {dev: list(own) for dev, own in ours.hashes.items()}
        self.new: list[Stored] = []
        self.known = 0
        self.aside: list[Aside] = []
        self.forks: list[Fork] = []
        self._forked: set[str] = set()

    def take(self, stored: Stored, *, counts: bool) -> None:
        e = stored.entry
        own = self.after.setdefault(e.dev, [])
        if e.dev not in self._forked and e.seq <= len(own):
            if own[e.seq - 1] == stored.hash:
                self.known += 1
                return
            self._forked.add(e.dev)
            self.forks.append(Fork(own[e.seq - 1], stored))
        if e.dev in self._forked:
            self.aside.append(Aside(stored, FORKED))
        elif not counts:
            self.aside.append(Aside(stored, PAST_ITS_END))
        else:
            own.append(stored.hash)
            self.new.append(stored)


def _standing_checkpoints(
    found: Proved, ours: Ours, after: dict[str, list[bytes]], told: Mapping[str, str], revoked: Collection[str]
) -> tuple[tuple[Attested, ...], tuple[str, ...]]:
    held_already = {c.hash for c in ours.held}
    trees = trees_of(after)
    kept: list[Attested] = []
    passed_over: list[str] = []
    for one in found.checkpoints:
        why = "" if one.stated.hash in held_already else does_not_hold(one.stated, trees, told)
        if not why and not after.get(one.stated.by):  # its key would not be known here, so that nobody could prove it
            why = "none of its entries stands in this log"
        if why:
            not_kept = ", whose key is revoked, is refused" if one.stated.by in revoked else " is not kept"
            passed_over.append(f"a checkpoint of device {one.stated.by}{not_kept}: {why}")
        else:
            kept.append(one)
    return tuple(kept), tuple(passed_over)


def is_nothing(news: Merge, ours: Ours) -> bool:
    """Whether a bundle brings neither an entry nor a checkpoint."""
    known = {c.hash for c in ours.held}
    aside = {one.stored.hash for one in news.aside}
    return not news.new and aside <= ours.aside and all(one.stated.hash in known for one in news.checkpoints)
