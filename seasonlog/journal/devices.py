"""Which devices may add to a log: enrolled by a device that may, revoked when lost. A pure fold of entries.

The device that started a log may always add; so may every device whose entries are already here, until revoked. What a
revoked device wrote up to the last entry that was known when it was revoked stays good.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from seasonlog.domain.records import Kind
from seasonlog.journal.encoding import Entry

KINDS = (str(Kind.DEVICE_ENROLLED), str(Kind.DEVICE_REVOKED))
"""The entries that say who may."""
TELLING = (*KINDS, str(Kind.FORK_FOUND))
"""The entries that tell of devices whose entries others may hold otherwise."""


@dataclass(frozen=True, slots=True)
class Standing:
    """Who may add."""

    may: frozenset[str]
    """Devices that may add entries, now or up to a number."""
    revoked: Mapping[str, int]
    """Revoked device to the number of its last entry that counts."""

    def counts(self, entry: Entry) -> bool:
        """Whether an entry is of a device that may add, and not past its revocation."""
        return entry.dev in self.may and entry.seq <= self.revoked.get(entry.dev, entry.seq)


def standing(entries: Iterable[Entry], known: Iterable[str]) -> Standing:
    """Who may add, from the entries that say so.

    Args:
        entries: At least those of `KINDS`, in causal order.
        known: Devices that may from the start.
    """
    said = [entry for entry in entries if entry.kind in KINDS and _readable(entry)]
    found = Standing(frozenset(known), {})
    for _ in range(2):  # what a revoked device said after its last good entry counts for nothing
        found = _once(said, frozenset(known), found.revoked)
    return found


def _once(said: Iterable[Entry], known: frozenset[str], revoked: Mapping[str, int]) -> Standing:
    may, out = set(known), dict[str, int]()
    for entry in said:
        if not Standing(frozenset(may), revoked).counts(entry):
            continue
        dev = str(entry.body["device"])
        if entry.kind == KINDS[0]:
            may.add(dev)
        else:
            out[dev] = max(out.get(dev, 0), int(entry.body["entries"]))
    return Standing(frozenset(may), out)


_NUMBERS = {KINDS[1]: "entries", TELLING[-1]: "seq"}


def _readable(entry: Entry) -> bool:
    """Whether an entry of `TELLING` says what one must say; signed well or not, another one says nothing."""
    number = entry.body.get(_NUMBERS.get(entry.kind, ""), 0)
    return isinstance(entry.body.get("device"), str) and type(number) is int and number >= 0


def explained(said: Iterable[Entry], known: Iterable[str], forks: Iterable[tuple[str, int]] = ()) -> dict[str, str]:
    """Why fewer or other entries of a device may stand here than somebody stated: words by device.

    Args:
        said: At least the entries of `TELLING`, in any order.
        known: Devices that may add from the start.
        forks: Device and number of forks that no entry tells of yet.
    """
    ordered = sorted(said, key=lambda e: (e.hlc, e.dev, e.seq))
    told = ((str(e.body["device"]), int(e.body["seq"])) for e in ordered if e.kind == TELLING[-1] and _readable(e))
    words = {
        dev: f"it wrote two pasts from number {seq} on, and there the other one is counted; both are evidence: ask who"
        " held that laptop, and who copied it"
        for dev, seq in sorted((*told, *forks), reverse=True)
    }
    for dev, end in standing(ordered, known).revoked.items():
        words[dev] = (
            f"its key is revoked, so that only its first {end} entries count and later ones are put aside; ask who"
            " held that laptop after it was revoked, and whoever has the later ones for a bundle"
        )
    return words
