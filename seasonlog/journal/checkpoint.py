"""Checkpoints: how much each device had written, and the Merkle root over it, as one device stated at a time.

Text of the note, every line ended by a line feed:

    seasonlog checkpoint 1
    log 4f6a...                      id of the log, 32 hex digits
    by 9c01...                       device that states it, 16 hex digits
    issued 2026-09-15T13:00:00.000Z  its clock, UTC
    9c01... 41 77ab...               device, entries, RFC 9162 root over their hashes; sorted by device

The first line binds the purpose: what is signed here can never pass for an entry, nor an entry for a checkpoint. A
checkpoint that others hold shows what the holder of the key could hide alone: entries cut off, a device left out, a
past rewritten.
"""

import hashlib
import re
from base64 import b32encode
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime

from seasonlog.domain.plain_words import entries
from seasonlog.journal import merkle
from seasonlog.journal.note import NoteError

FIRST_LINE = "seasonlog checkpoint 1"
"""Purpose and version."""
_HEAD = re.compile(
    rf"{FIRST_LINE}\nlog ([0-9a-f]{{32}})\nby ([0-9a-f]{{16}})\n"
    r"issued (\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z)\n((?:[0-9a-f]{16} [1-9]\d{0,15} [0-9a-f]{64}\n)+)",
    re.ASCII,
)


@dataclass(frozen=True, slots=True)
class Size:
    """How far one device had written."""

    entries: int
    """Number of its entries, from its first on."""
    root: bytes
    """RFC 9162 root over their hashes, 32 bytes."""


@dataclass(frozen=True, slots=True)
class Checkpoint:
    """What one device stated about all devices of a log."""

    log: str
    by: str
    """Device that states it."""
    issued_ms: int
    """Its clock [ms since 1970 UTC]."""
    sizes: Mapping[str, Size]
    """Device to how far it had written; never empty."""

    def text(self) -> str:
        """The text that is signed."""
        lines = (f"{dev} {size.entries} {size.root.hex()}\n" for dev, size in sorted(self.sizes.items()))
        return f"{FIRST_LINE}\nlog {self.log}\nby {self.by}\nissued {instant(self.issued_ms)}\n{''.join(lines)}"

    @property
    def hash(self) -> bytes:
        """SHA-256 of the text: what an entry's `anchor` names. Signatures may be added without changing it."""
        return hash_of(self.text())

    @property
    def code(self) -> str:
        """16 characters to print: the first 80 bits of the hash in base 32 (RFC 4648), in groups of four."""
        return code_of(self.hash)


def hash_of(text: str) -> bytes:
    """SHA-256 of a checkpoint's text."""
    return hashlib.sha256(text.encode()).digest()


def code_of(digest: bytes) -> str:
    """The printed form of a checkpoint's hash, `ABCD-EFGH-IJKL-MNOP`."""
    letters = b32encode(digest[:10]).decode("ascii")
    return "-".join(letters[at : at + 4] for at in range(0, 16, 4))


def read(text: str) -> Checkpoint:
    """The checkpoint a text states.

    Raises:
        NoteError: the text is not exactly one.
    """
    found = _HEAD.fullmatch(text)
    try:
        issued = datetime.fromisoformat(found[3]) if found else None
    except ValueError:
        issued = None
    if found is None or issued is None:
        raise NoteError("its text is not a checkpoint of this version")
    rows = [line.split(" ") for line in found[4].splitlines()]
    sizes = {dev: Size(int(entries), bytes.fromhex(root)) for dev, entries, root in rows}
    stated = Checkpoint(found[1], found[2], round(issued.timestamp() * 1000), sizes)
    if stated.text() != text:
        raise NoteError("the devices in it are not in order, or named twice")
    return stated


def instant(ms: int) -> str:
    """Milliseconds since 1970 as UTC in words, `2026-09-15T13:00:00.000Z`."""
    return datetime.fromtimestamp(ms / 1000, UTC).strftime("%Y-%m-%dT%H:%M:%S.") + f"{ms % 1000:03d}Z"


CUT_OFF = "entries were cut off"
"""What is wrong where nothing else explains that entries are missing."""


def does_not_hold(stated: Checkpoint, trees: Mapping[str, merkle.Tree], told: Mapping[str, str] | None = None) -> str:
    """What of a checkpoint some entries do not bear out; empty when all of it stands.

    Args:
        stated: The checkpoint.
        trees: Device to the tree over the hashes of its entries, from the first on; may be longer than stated.
        told: Device to why fewer or other entries of it stand here (`devices.explained`).
    """
    told = told or {}
    for dev, size in stated.sizes.items():
        tree = trees.get(dev)
        if tree is None or not tree.leaves:
            words = f"device {dev} is left out, of which a checkpoint of {instant(stated.issued_ms)} knows"
            return words + (f": {told[dev]}" if dev in told else "")
        if len(tree.leaves) < size.entries:
            return (
                f"device {dev} has {entries(len(tree.leaves))} here, but had {size.entries} in a checkpoint of "
                f"{instant(stated.issued_ms)}: {told.get(dev, CUT_OFF)}"
            )
        if tree.root(size.entries) != size.root:
            words = f"the first {size.entries} entries of device {dev} are not those of a checkpoint seen before"
            return words + (f": {told[dev]}" if dev in told else "")
    return ""


def shrinks(held: Checkpoint, later: Checkpoint, forked: Collection[str] = ()) -> str:
    """What the same device takes back in a later checkpoint of its own; empty when nothing.

    The rule of a witness (C2SP tlog-witness): never smaller, and never another root at the same size.

    Args:
        held: What it stated before.
        later: What it states now.
        forked: Devices that are known to have forked, and are told of otherwise.
    """
    for dev, size in held.sizes.items():
        now = later.sizes.get(dev)
        if dev in forked:
            continue
        if now is None or now.entries < size.entries or (now.entries == size.entries and now.root != size.root):
            was = now.entries if now else 0
            return f"device {later.by} stated {size.entries} entries of device {dev} before, and {was} now"
    return ""


def trees_of(hashes: Mapping[str, list[bytes]]) -> dict[str, merkle.Tree]:
    """A tree for each device."""
    return {dev: merkle.Tree(own) for dev, own in hashes.items()}
