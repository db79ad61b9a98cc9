"""Entries that go on from what is here: proved one by one, each device's until the first that is not good.

A bundle is proved whole or refused. What a hub hands out piece by piece goes on after entries that were proved before;
a bad one stops its own device's chain and nobody else's.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from seasonlog.journal import held
from seasonlog.journal.bundle import Head
from seasonlog.journal.bundle_check import Attested, Proved, row, signature_fits
from seasonlog.journal.chain import Chains
from seasonlog.journal.checkpoint import read
from seasonlog.journal.devices import KINDS, standing
from seasonlog.journal.encoding import EncodingError, Entry, entry_from_line, entry_hash
from seasonlog.journal.note import Note, NoteError, Signature, key_id, proved_by
from seasonlog.journal.store import Journal
from seasonlog.journal.stored import SELECT, Stored, from_row

Signed = tuple[str, int, bytes, bytes]
"""Device, number, line and signature, as somebody hands them out."""
Stated = tuple[str, Mapping[str, bytes]]
"""Text of a checkpoint, and signatures under it by device."""


@dataclass(frozen=True, slots=True)
class Continued:
    """What of some handed-out entries may be taken in."""

    proved: Proved
    """The good entries of enrolled devices, in causal order, and the checkpoints that are signed by who states them."""
    complaints: tuple[str, ...]
    """What was wrong with the others, in words."""
    waiting: Mapping[str, int]
    """Device that is not enrolled yet, to how many good entries of it wait."""


def continued(journal: Journal, handed: Iterable[Signed], stated: Iterable[Stated]) -> Continued:
    """Prove entries that go on from what the log holds.

    Args:
        journal: The log here.
        handed: Each device's entries in the order of their numbers, beginning after the last one held.
        stated: Checkpoints. Those of devices that may not add yet are passed over, bad ones with a complaint.
    """
    lasts, keys = _lasts(journal), held.device_keys(journal.connection)
    walk = _Walk(journal.log_id, [(keys[s.entry.dev], s) for s in lasts])
    for one in handed:
        walk.take(*one)
    keys |= {s.entry.dev: bytes.fromhex(str(s.entry.body["key"])) for s in walk.good if s.entry.seq == 1}
    said = [s.entry for s in walk.good if s.entry.kind in KINDS] + _said(journal)
    may = standing(sorted(said, key=_order), {s.entry.dev for s in lasts}).may
    taken = [s for s in walk.good if s.entry.dev in may]
    waiting: dict[str, int] = {}
    for stored in walk.good:
        if stored.entry.dev not in may:
            waiting[stored.entry.dev] = waiting.get(stored.entry.dev, 0) + 1
    checkpoints, unsigned = _attested(stated, {dev: key for dev, key in keys.items() if dev in may}, journal.log_id)
    return Continued(_as_proved(journal, taken, keys, checkpoints), (*walk.complaints, *unsigned), waiting)


def _order(entry: Entry) -> tuple[str, str, int]:
    return entry.hlc, entry.dev, entry.seq


def _lasts(journal: Journal) -> list[Stored]:
    newest = "WHERE (dev, seq) IN (SELECT dev, max(seq) FROM entry GROUP BY dev)"
    return [from_row(found) for found in journal.query(SELECT + newest)]


def _said(journal: Journal) -> list[Entry]:
    marks = ",".join("?" * len(KINDS))
    return [from_row(found).entry for found in journal.query(f"{SELECT} WHERE kind IN ({marks})", KINDS)]


class _Walk:
    """The chains as far as they were handed out."""

    def __init__(self, log: str, lasts: Sequence[tuple[bytes, Stored]]) -> None:
        self._chains = Chains.going_on(log, lasts)
        self._stopped: set[str] = set()
        self.good: list[Stored] = []
        self.complaints: list[str] = []

    def take(self, dev: str, seq: int, line: bytes, sig: bytes) -> None:
        if dev in self._stopped:
            return
        why, stored = self._proved(dev, seq, line, sig)
        if stored is None:
            self._stopped.add(dev)
            self.complaints.append(f"entry {seq} of device {dev} is not taken, nor what follows it: {why}")
        else:
            self.good.append(stored)

    def _proved(self, dev: str, seq: int, line: bytes, sig: bytes) -> tuple[str, Stored | None]:
        try:
            entry = entry_from_line(line)
        except EncodingError as error:
            return str(error), None
        if (entry.dev, entry.seq) != (dev, seq):
            return "it was handed out under another device or number than its line says", None
        stored = Stored(self._chains.entries + 1, entry, entry_hash(line), line, sig)
        why = self._chains.complaint(row(stored))
        return why, None if why else stored


def signed_note(text: str, signatures: Mapping[str, bytes], keys: Mapping[str, bytes]) -> Note:
    """A note with those of its signatures whose devices' keys are known."""
    known = ((dev, sig) for dev, sig in signatures.items() if dev in keys)
    return Note(text, tuple(Signature(dev, key_id(dev, keys[dev]), sig) for dev, sig in known))


def _attested(
    stated: Iterable[Stated], keys: Mapping[str, bytes], log: str
) -> tuple[tuple[Attested, ...], tuple[str, ...]]:
    good: list[Attested] = []
    complaints: list[str] = []
    for text, signatures in stated:
        note = signed_note(text, signatures, keys)
        try:
            checkpoint = read(text)
            if checkpoint.by not in keys or checkpoint.log != log:
                continue
            good.append(Attested(note, checkpoint, proved_by(note, keys, signature_fits)))
        except NoteError as error:
            complaints.append(f"a checkpoint is not taken: {error}")
    ordered = sorted((a for a in good if a.stated.by in a.names), key=lambda a: (a.stated.issued_ms, a.stated.hash))
    return tuple(ordered), tuple(complaints)


def _as_proved(
    journal: Journal, taken: Sequence[Stored], keys: Mapping[str, bytes], checkpoints: tuple[Attested, ...]
) -> Proved:
    ordered = sorted(taken, key=lambda s: _order(s.entry))
    hashes = held.device_hashes(journal.connection)
    for stored in sorted(taken, key=lambda s: (s.entry.dev, s.entry.seq)):
        hashes.setdefault(stored.entry.dev, []).append(stored.hash)
    head = Head(journal.log_id, "", 0, "", contacts=False)
    return Proved(head, tuple(ordered), keys, hashes, checkpoints, {}, {}, journal.is_demonstration, 0)
