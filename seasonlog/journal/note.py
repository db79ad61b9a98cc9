"""Signed notes: a short text with the signatures of whoever stands for it (C2SP signed-note, Ed25519 signature type).

The text counts for nothing until a known key's signature fits. A signature of an unknown key is passed over; one that
claims a known key and does not fit spoils the whole note. A key is named by its device.
"""

import base64
import binascii
import hashlib
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from seasonlog.errors import SeasonlogError

ED25519 = b"\x01"
"""Signature type of the note format: plain Ed25519 over the text."""
MOST_SIGNATURES = 100
"""More signatures than this on one note are refused."""
_DASH = "\u2014 "
_LINE = re.compile(rf"{_DASH}([^\s+]+) ([A-Za-z0-9+/=]+)")

Check = Callable[[bytes, bytes, bytes], bool]
"""(public key, signature, message): does the signature fit?"""


class NoteError(SeasonlogError):
    """The bytes are no signed note, or a known key's signature does not fit."""


@dataclass(frozen=True, slots=True)
class Signature:
    """One line under a note."""

    name: str
    """Device whose key it claims."""
    key_id: bytes
    """First 4 bytes of a hash over name, type and key."""
    sig: bytes
    """What follows them."""

    def line(self) -> str:
        """As it stands in the note."""
        return f"{_DASH}{self.name} {base64.b64encode(self.key_id + self.sig).decode()}\n"


@dataclass(frozen=True, slots=True)
class Note:
    """A text and its signatures."""

    text: str
    """Ends with a line feed."""
    signatures: tuple[Signature, ...]
    """At least one."""

    def encoded(self) -> str:
        """The note as it is handed on."""
        return self.text + "\n" + "".join(s.line() for s in self.signatures)


def key_id(name: str, public_key: bytes) -> bytes:
    """The 4 bytes by which a signature says which key made it."""
    return hashlib.sha256(name.encode() + b"\n" + ED25519 + public_key).digest()[:4]


def signature(name: str, public_key: bytes, sign: Callable[[bytes], bytes], text: str) -> Signature:
    """A signature over a text."""
    return Signature(name, key_id(name, public_key), sign(text.encode()))


def parse(note: str) -> Note:
    """A note taken apart, nothing proved yet.

    Raises:
        NoteError: it has not the form of a signed note.
    """
    text, blank, below = note.rpartition("\n\n")
    lines = below.split("\n")
    if not (blank and text and below.endswith("\n")) or any(c < " " and c != "\n" for c in note):
        raise NoteError("it has not the form of a signed note: text, an empty line, signature lines")
    if not 1 <= len(lines) - 1 <= MOST_SIGNATURES:
        raise NoteError(f"a note has 1 to {MOST_SIGNATURES} signatures")
    return Note(text + "\n", tuple(_signature(line) for line in lines[:-1]))


def _signature(line: str) -> Signature:
    found = _LINE.fullmatch(line)
    try:
        raw = base64.b64decode(found[2], validate=True) if found else b""
    except (binascii.Error, ValueError):
        raw = b""
    if found is None or len(raw) < 5:
        raise NoteError(f"{line!r:.60} is not a signature line")
    return Signature(found[1], raw[:4], raw[4:])


def proved_by(note: Note, keys: Mapping[str, bytes], check: Check) -> tuple[str, ...]:
    """The known devices that signed a note, in its order; never empty.

    Args:
        note: A note taken apart.
        keys: Device to public key: who is known.
        check: Does a signature fit?

    Raises:
        NoteError: a known key's signature does not fit, or no known key signed.
    """
    known = [s for s in note.signatures if s.name in keys and s.key_id == key_id(s.name, keys[s.name])]
    for one in known:
        if not check(keys[one.name], one.sig, note.text.encode()):
            raise NoteError(f"the signature of device {one.name} under it does not fit: the text was changed")
    if not known:
        raise NoteError("no known device signed it")
    if len({s.name for s in known}) != len(known):
        raise NoteError("a device signed it twice")
    return tuple(s.name for s in known)
