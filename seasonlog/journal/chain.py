"""Checks rows of the log one after another, in order of arrival; the first complaint is the first bad entry.

Works on bytes alone: `line` and `sig` are the evidence, the other columns have to agree with the line.
"""

import hashlib
import re
from collections.abc import Callable, Iterable
from typing import Any, Literal, Self

from seasonlog.journal.encoding import EncodingError, Entry, entry_from_line, fingerprint, signed_bytes
from seasonlog.journal.pen import DEVICE_JOINED, LOG_STARTED
from seasonlog.journal.stored import Stored

Depth = Literal["quick", "full"]
"""How thoroughly a log is checked."""

ROWS = "SELECT pos, dev, seq, hash, uid, hlc, kind, line, sig FROM entry NOT INDEXED ORDER BY pos"
"""Rows as `Chains.complaint` takes them, read with text as bytearray and blobs as bytes."""
Row = tuple[Any, ...]

# The end of a canonical line: keys are sorted, so everything after the body is in this order. Quotes inside texts are
# escaped, so the last `,"dev":"` is the line's own.
_AFTER_BODY = re.compile(
    rb'(?s),"dev":"(.{16})","hlc":"(.{21})","kind":"([a-z_]+)","log":"(.{32})","offset":-?\d+,'
    rb'"prev":"(.{64}|)","seq":(\d+),"uid":"([^"\\]+)","v":1,"wall":(\d+),"who":"[^"\\]*(?:\\.[^"\\]*)*"\}'
)
_LOG = re.compile("[0-9a-f]{32}")
_FIRST_KINDS = frozenset(kind.encode() for kind in (LOG_STARTED, DEVICE_JOINED))


def _after_body(line: bytes) -> re.Match[bytes] | None:
    return _AFTER_BODY.fullmatch(line, max(line.rfind(b',"dev":"'), 0))


def log_of(line: object) -> str:
    """The id of the log that a first line states, or empty when it states none."""
    found = _after_body(line) if isinstance(line, bytes) else None
    stated = found[4].decode("ascii", "replace") if found else ""
    return stated if _LOG.fullmatch(stated) else ""


class _Device:
    """Where one device's chain stands."""

    __slots__ = ("check", "hash", "hlc", "pos", "prev", "seq", "sig", "wall")

    def __init__(self, key: bytes) -> None:
        self.check = _signature_check(key)
        self.seq = 0
        self.hash = b""
        self.prev = b""
        self.hlc = b""
        self.wall = 0
        self.sig = b""
        self.pos = 0


def _signature_check(key: bytes) -> Callable[[bytes, bytes], bool]:
    from cryptography.exceptions import InvalidSignature
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

    verify = Ed25519PublicKey.from_public_bytes(key).verify

    def fits(sig: bytes, digest: bytes) -> bool:
        try:
            verify(sig, signed_bytes(digest))
        except InvalidSignature:
            return False
        return True

    return fits


class Chains:
    """The chains of all devices of one log, as far as they have been read."""

    def __init__(self, depth: Depth) -> None:
        self._thorough = depth == "full"
        self._devices: dict[bytes, _Device] = {}
        self._log = b""
        self.entries = 0
        """How many entries were found good."""
        self.demonstration = False
        """Whether the first entry says so."""
        self.clock_set_back = 0
        """How many entries carry an earlier clock time than the same device's entry before."""

    @classmethod
    def going_on(cls, log: str, lasts: Iterable[tuple[bytes, Stored]]) -> Self:
        """Chains that go on after entries already found good, every signature checked.

        Args:
            log: Id of the log.
            lasts: Each device's public key and last entry. The next row's position is 1 more than how many these are.
        """
        chains = cls("full")
        chains._log = log.encode()
        for key, last in lasts:
            device = chains._devices[last.entry.dev.encode()] = _Device(key)
            device.seq, device.hash, device.prev = last.entry.seq, last.hash, last.hash.hex().encode()
            device.hlc, device.wall, device.sig = last.entry.hlc.encode(), last.entry.wall, last.sig
            chains.entries += 1
        return chains

    @property
    def log(self) -> str:
        """The log's id, empty before the first entry."""
        return self._log.decode("ascii")

    @property
    def devices(self) -> int:
        """How many devices have written."""
        return len(self._devices)

    def complaint(self, row: Row) -> str:
        """What is wrong with the next row, or empty."""
        pos, dev, seq, digest, uid, hlc, kind, line, sig = row
        if not (
            int is type(pos) is type(seq)
            and bytearray is type(dev) is type(uid) is type(hlc) is type(kind)
            and bytes is type(digest) is type(line) is type(sig)
        ):
            return "a column holds a value of the wrong type"
        if hashlib.sha256(b"\x00" + line).digest() != digest:
            return "its line does not have the recorded hash: it was changed"
        # The body's bracket is the last but one, unless a name or an id has one too: found in a fifth of the time.
        found = _AFTER_BODY.fullmatch(line, line.rfind(b"}", 0, -1) + 1) or _after_body(line)
        if found is None:
            return "its line is not an entry"
        stated_dev, stated_hlc, stated_kind, log, prev, stated_seq, stated_uid, wall = found.groups()
        if (stated_dev, stated_hlc, stated_kind, stated_uid, int(stated_seq)) != (dev, hlc, kind, uid, seq):
            return "the columns beside its line say something else than the line"
        if pos != self.entries + 1:
            return f"{pos - self.entries - 1} entries before it are missing"
        device = self._devices.get(stated_dev) or self._joining(line, stated_dev)
        if isinstance(device, str):
            return device
        follows = seq == device.seq + 1 and prev == device.prev and stated_hlc > device.hlc and log == self._log
        if not follows or (seq > 1 and stated_kind in _FIRST_KINDS):
            return self._misfit(device, log, prev, seq, stated_hlc)
        if self._thorough:
            why = _form(line) or ("" if device.check(sig, digest) else UNSIGNED)
            if why:
                return why
        time = int(wall)
        self.clock_set_back += time < device.wall
        device.pos, device.seq, device.hash, device.prev = pos, seq, digest, digest.hex().encode()
        device.hlc, device.wall, device.sig = stated_hlc, time, sig
        self.entries = pos
        return ""

    def _joining(self, line: bytes, dev: bytes) -> _Device | str:
        """A device from its first entry, or why it is none."""
        try:
            entry = entry_from_line(line)
        except EncodingError as error:
            return str(error)
        why = _unfit_to_join(entry, first=self.entries == 0)
        if why:
            return why
        if self.entries == 0:
            self._log = entry.log.encode()
            self.demonstration = entry.body.get("demonstration") is True
        device = self._devices[dev] = _Device(bytes.fromhex(entry.body["key"]))
        return device

    def _misfit(self, device: _Device, log: bytes, prev: bytes, seq: int, hlc: bytes) -> str:
        if log != self._log:
            return "it belongs to another log"
        if seq != device.seq + 1:
            return f"the device's entry {device.seq + 1} is missing before it"
        if prev != device.prev:
            return "it does not follow from the device's entry before: one of the two was changed"
        if hlc <= device.hlc:
            return "its place in the order of time is not after the device's entry before"
        return "a device can only join with its first entry"

    def unsigned(self) -> tuple[int, str, int] | None:
        """Position, device and number of the first last-entry whose signature does not fit; None when all do."""
        for dev, device in sorted(self._devices.items(), key=lambda item: item[1].pos):
            if not device.check(device.sig, device.hash):
                return device.pos, dev.decode(), device.seq
        return None


UNSIGNED = "its signature is not the device's: the entry, or its signature, was changed"
"""Words for a signature that does not fit."""


def _form(line: bytes) -> str:
    try:
        entry_from_line(line)
    except EncodingError as error:
        return str(error)
    return ""


def _unfit_to_join(entry: Entry, *, first: bool) -> str:
    if entry.kind != (LOG_STARTED if first else DEVICE_JOINED):
        return "the log does not begin with its first entry" if first else "its device never joined the log"
    key = entry.body.get("key")
    if not isinstance(key, str) or re.fullmatch("[0-9a-f]{64}", key) is None:
        return "it does not hold its device's key"
    if fingerprint(bytes.fromhex(key)) != entry.dev:
        return "the key in it is not the key of its device"
    return ""
