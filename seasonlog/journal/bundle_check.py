"""Proves a bundle: every line, hash, link and signature, and every checkpoint in it. Knows nothing of our own log."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from seasonlog.journal.bundle import PROGRESS_EVERY, Bundle, Head, Progress, SignedLine, refused
from seasonlog.journal.chain import Chains
from seasonlog.journal.checkpoint import Checkpoint, does_not_hold, read, trees_of
from seasonlog.journal.devices import TELLING, explained
from seasonlog.journal.encoding import EncodingError, entry_from_line, entry_hash
from seasonlog.journal.merkle import Tree
from seasonlog.journal.note import Note, NoteError, parse, proved_by
from seasonlog.journal.stored import Stored


@dataclass(frozen=True, slots=True)
class Attested:
    """A checkpoint that stands, and who signed it."""

    note: Note
    stated: Checkpoint
    names: tuple[str, ...]
    """The devices whose signatures fit."""


@dataclass(frozen=True, slots=True)
class Proved:
    """A bundle in which nothing wrong was found."""

    head: Head
    entries: tuple[Stored, ...]
    """Each once, in causal order; `pos` is the place in it."""
    keys: Mapping[str, bytes]
    """Device to public key."""
    hashes: Mapping[str, list[bytes]]
    """Device to the hashes of its entries."""
    checkpoints: tuple[Attested, ...]
    """In order of their issue."""
    files: Mapping[str, bytes]
    details: Mapping[str, bytes]
    demonstration: bool
    """Whether the log says that its entries are invented."""
    clock_set_back: int
    """How many entries carry an earlier clock time than the same device's entry before."""


def signature_fits(key: bytes, sig: bytes, message: bytes) -> bool:
    """Whether an Ed25519 signature fits (RFC 8032)."""
    from cryptography.exceptions import InvalidSignature
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

    try:
        Ed25519PublicKey.from_public_bytes(key).verify(sig, message)
    except (InvalidSignature, ValueError):
        return False
    return True


def proved(bundle: Bundle, name: str, progress: Progress | None = None) -> Proved:
    """The content of a bundle, with every check passed.

    Args:
        bundle: Its parts.
        name: What to call the file in sentences.
        progress: Told now and then how many of how many entries are checked.

    Raises:
        InputRefusedError: the first thing that is wrong, and where.
    """
    entries = _in_order(bundle.entries, name)
    chains = Chains("full")
    for stored in entries:
        why = chains.complaint(row(stored))
        if why:
            e = stored.entry
            raise refused(name, _number(bundle.entries, stored), f"device {e.dev}, number {e.seq}: {why}")
        if progress is not None and stored.pos % PROGRESS_EVERY == 0:
            progress(stored.pos, len(entries))
    keys = {s.entry.dev: bytes.fromhex(str(s.entry.body["key"])) for s in entries if s.entry.seq == 1}
    hashes: dict[str, list[bytes]] = {}
    for stored in entries:
        hashes.setdefault(stored.entry.dev, []).append(stored.hash)
    _head_fits(bundle.head, entries, name)
    trees = trees_of(hashes)
    told = explained((s.entry for s in entries if s.entry.kind in TELLING), keys)
    checkpoints = [_attested(note, keys, trees, bundle.head.log, name, told) for note in dict.fromkeys(bundle.notes)]
    checkpoints.sort(key=lambda a: (a.stated.issued_ms, a.stated.hash))
    return Proved(
        bundle.head, entries, keys, hashes, tuple(checkpoints), bundle.files, bundle.details, chains.demonstration,
        chains.clock_set_back,
    )  # fmt: skip


def row(stored: Stored) -> tuple[object, ...]:
    """An entry as `Chains` takes it."""
    e = stored.entry
    texts = (bytearray(text.encode()) for text in (e.dev, e.uid, e.hlc, e.kind))
    dev, uid, hlc, kind = texts
    return (stored.pos, dev, e.seq, stored.hash, uid, hlc, kind, stored.line, stored.sig)


def _in_order(lines: Sequence[SignedLine], name: str) -> tuple[Stored, ...]:
    found: dict[bytes, Stored] = {}
    for one in lines:
        try:
            entry = entry_from_line(one.line)
        except EncodingError as error:
            raise refused(name, one.number, str(error)) from None
        digest = entry_hash(one.line)
        if found.setdefault(digest, Stored(0, entry, digest, one.line, one.sig)).sig != one.sig:
            raise refused(name, one.number, "an entry stands twice, with two signatures")
    if not found:
        raise refused(name, 0, "holds no entries")
    ordered = sorted(found.values(), key=lambda s: (s.entry.hlc, s.entry.dev, s.entry.seq))
    return tuple(Stored(at, s.entry, s.hash, s.line, s.sig) for at, s in enumerate(ordered, 1))


def _number(lines: Sequence[SignedLine], stored: Stored) -> int:
    return next(one.number for one in lines if one.line == stored.line)


def _head_fits(head: Head, entries: Sequence[Stored], name: str) -> None:
    if head.log != entries[0].entry.log:
        raise refused(name, 2, "the head names another log than the entries")


def stated_here(note: Note, log: str, known: Collection[str]) -> Checkpoint:
    """What a note states, when it is about this log and by a device that is known.

    Raises:
        NoteError: it is not.
    """
    stated = read(note.text)
    if stated.log != log:
        raise NoteError("it is of another log")
    if stated.by not in known:
        raise NoteError(f"device {stated.by} states it, of which there is no entry here: that device was left out")
    return stated


def _attested(
    note: Note, keys: Mapping[str, bytes], trees: Mapping[str, Tree], log: str, name: str, told: Mapping[str, str]
) -> Attested:
    try:
        stated = stated_here(note, log, keys)
        names = proved_by(note, keys, signature_fits)
        if stated.by not in names:
            raise NoteError("the device that states it did not sign it")
    except NoteError as error:
        raise refused(name, 0, f"a checkpoint does not stand: {error}") from None
    why = does_not_hold(stated, trees, told)
    if why:
        raise refused(name, 0, f"does not bear out a checkpoint: {why}")
    return Attested(note, stated, names)


def bears_out(found: Proved, note: str, name: str) -> Checkpoint:
    """A checkpoint kept by somebody else, held against a bundle: all that it covers must still be there.

    Raises:
        InputRefusedError: the note does not stand, or something is gone or changed since.
    """
    try:
        kept = parse(note)
    except NoteError as error:
        raise refused(name, 0, f"the checkpoint kept is none: {error}") from None
    told = explained((s.entry for s in found.entries if s.entry.kind in TELLING), found.keys)
    return _attested(kept, found.keys, trees_of(found.hashes), found.head.log, name, told).stated
