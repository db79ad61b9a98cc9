"""The device's key for one log, and what the device remembers of its own last entry.

`LOG.key` holds the private key, `LOG.tail` the last own sequence number and hash (`LOG` is the log's random id). A log
that does not hold that last entry was restored from an older copy: writing on would give the same number to a second
entry, so the old key is put aside and a new device begins.
A copy of log and keys together (an image of the whole machine) cannot be told from the original here; two such copies
that both write show as a fork when their entries meet.
Only the user may read the key (mode 0600; on Windows the folder's own permissions stand).
"""

import os
import sys
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from seasonlog.journal.encoding import fingerprint

RandomBytes = Callable[[int], bytes]
"""Gives that many unpredictable bytes: `secrets.token_bytes`, or fixed ones in a test."""


class DeviceKey:
    """An Ed25519 key (RFC 8032) and the name it gives its device."""

    def __init__(self, seed: bytes) -> None:
        from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

        self._private = Ed25519PrivateKey.from_private_bytes(seed)
        self.public: bytes = self._private.public_key().public_bytes_raw()
        self.dev: str = fingerprint(self.public)

    def sign(self, message: bytes) -> bytes:
        """The 64-byte signature of a message."""
        return self._private.sign(message)


@dataclass(frozen=True, slots=True)
class Tail:
    """The last entry this device wrote, as it remembers it."""

    dev: str
    """Which device."""
    seq: int
    """Its last sequence number; 0 when the key is new and nothing is written yet."""
    hash: bytes
    """Hash of that entry; 32 zero bytes when there is none."""

    def record(self) -> bytes:
        """Fixed width, so that it is replaced in place by one write."""
        return f"{self.dev} {self.seq:016d} {self.hash.hex()}\n".encode()


class KeyFiles:
    """The two files of one log in the keys folder. Call the writing methods only under the log's lock."""

    def __init__(self, folder: Path, log_id: str) -> None:
        self._folder = folder
        self._key = folder / f"{log_id}.key"
        self._tail = folder / f"{log_id}.tail"

    def tail(self) -> Tail | None:
        """What the device remembers, or None when there is no readable memory."""
        try:
            record = self._tail.read_bytes()
            dev, seq, digest = record.decode("ascii").split()
            tail = Tail(dev, int(seq), bytes.fromhex(digest))
        except (OSError, ValueError):
            return None
        return tail if tail.record() == record else None

    def remember(self, tail: Tail) -> None:
        """Replace the memory in place: one write, no sync, since a lost one only weakens a later check."""
        with self._tail.open("r+b", buffering=0) as file:
            file.write(tail.record())

    def load(self) -> DeviceKey | None:
        """The device's key, or None when there is none or its file is not a key."""
        try:
            seed = bytes.fromhex(self._key.read_text("ascii"))
            return DeviceKey(seed)
        except (FileNotFoundError, ValueError):
            return None

    def make(self, random_bytes: RandomBytes) -> DeviceKey:
        """Put an older key aside and make a new one, private and on disk before it returns."""
        self._folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        self._put_aside()
        seed = random_bytes(32)
        key = DeviceKey(seed)
        write_private(self._tail, Tail(key.dev, 0, bytes(32)).record())
        write_private(self._key, f"{seed.hex()}\n".encode())
        return key

    def retire(self) -> None:
        """Put the key aside, if there is one, and what it remembers: whoever writes next does so as a new device."""
        self._put_aside()
        self._tail.unlink(missing_ok=True)

    def _put_aside(self) -> None:
        for number in range(1, 10_000):
            aside = self._key.with_suffix(f".retired-{number}")
            if not aside.exists():
                with suppress(FileNotFoundError):
                    self._key.rename(aside)
                return


def write_private(path: Path, content: bytes) -> None:
    """Write a file only its owner may read; it appears whole or not at all."""
    new = path.with_name(path.name + ".new")
    new.unlink(missing_ok=True)
    descriptor = os.open(new, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o600)
    with os.fdopen(descriptor, "wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
    new.replace(path)
    sync_folder(path.parent)


def sync_folder(folder: Path) -> None:
    """Make a rename in this folder survive a power cut, where the system can."""
    if sys.platform == "win32":
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
