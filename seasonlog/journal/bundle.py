"""Bundles: a log, or what is known of it, as one text file that needs no trust in whoever carries it.

Format 1. UTF-8 lines, each ended by a line feed; the first word says what the line is:

    seasonlog bundle 1
    head {"by":"9c01...","contacts":false,"log":"4f6a...","made":1790000000000,"software":"seasonlog 0.1.0"}
    entry SIG LINE        signature, 128 hex digits; then the entry's canonical line, byte for byte
    checkpoint "TEXT"     a checkpoint, a signed note, as one JSON text
    file SHA256 BASE64    a kept photo or sound clip, or what is said of one, named by its hash (`journal.blobs`)
    detail SHA256 BASE64  a kept contact detail; only when asked for
    end N SHA256          how many lines stand before this one, and the hash of all their bytes

Entries, checkpoints and files may stand in any order and more than once. Keys stand in the first entry of each device,
checklists in the entries that recorded them. The last line is no proof of anything but a whole file: what proves are
signatures, links and checkpoints. Nothing in the file is ever used as a name of a file.
"""

import base64
import binascii
import hashlib
import json
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from seasonlog.errors import InputRefusedError, Problem
from seasonlog.journal import blobs
from seasonlog.journal.encoding import MAX_LINE_BYTES, EncodingError, canonical, parse
from seasonlog.journal.note import Note, NoteError
from seasonlog.journal.note import parse as parse_note

FIRST_LINE = b"seasonlog bundle 1"
"""What a bundle of this version begins with."""
MOST_BYTES = 200_000_000
"""Largest bundle taken in [bytes]. Common sense, no source."""
MOST_FILE_BYTES = blobs.MOST_BYTES + blobs.SALT_BYTES
"""Largest kept file [bytes]."""
PROGRESS_EVERY = 500

Progress = Callable[[int, int], None]
"""Told now and then how many of how many lines are done."""


@dataclass(frozen=True, slots=True)
class SignedLine:
    """An entry as it travels: the evidence and nothing else."""

    line: bytes
    """Canonical line."""
    sig: bytes
    """Signature, 64 bytes."""
    number: int = field(default=0, compare=False)
    """Its line in the file it came from, 0 when it came from a log."""


@dataclass(frozen=True, slots=True)
class Head:
    """What a bundle says about itself. Nothing here is proved; the log id and device are compared with the entries."""

    log: str
    by: str
    """Device that made it."""
    made: int
    """Its clock [ms since 1970 UTC]."""
    software: str
    contacts: bool = False
    """Whether contact details go with it."""

    def encoded(self) -> bytes:
        """As it stands in the file."""
        fields = {name: getattr(self, name) for name in ("by", "contacts", "log", "made", "software")}
        return canonical(fields)


@dataclass(frozen=True, slots=True)
class Bundle:
    """The parts of a bundle, taken apart; nothing is proved yet."""

    head: Head
    entries: tuple[SignedLine, ...] = ()
    notes: tuple[Note, ...] = ()
    """Checkpoints."""
    files: Mapping[str, bytes] = field(default_factory=dict)
    """Kept photos and clips: SHA-256 of the bytes, hex, to the bytes."""
    details: Mapping[str, bytes] = field(default_factory=dict)
    """Kept contact details, the same way."""


def written(bundle: Bundle) -> Iterator[bytes]:
    """The lines of a bundle, in a form that is the same for the same parts."""
    digest, count = hashlib.sha256(), 0
    for line in _lines(bundle):
        digest.update(line)
        count += 1
        yield line
    yield f"end {count} {digest.hexdigest()}\n".encode()


def _lines(bundle: Bundle) -> Iterator[bytes]:
    yield FIRST_LINE + b"\n"
    yield b"head " + bundle.head.encoded() + b"\n"
    for one in bundle.entries:
        yield b"entry " + one.sig.hex().encode() + b" " + one.line + b"\n"
    for note in bundle.notes:
        yield b"checkpoint " + json.dumps(note.encoded()).encode() + b"\n"
    for word, kept in (("file", bundle.files), ("detail", bundle.details)):
        for digest, data in sorted(kept.items()):
            yield f"{word} {digest} ".encode() + base64.b64encode(data) + b"\n"


def refused(name: str, number: int, says: str) -> InputRefusedError:
    """A bundle is refused as a whole, with the line that is to blame."""
    where = f"{name}, line {number}" if number else name
    return InputRefusedError([Problem(where, f"{says}; nothing was taken in")])


def taken_apart(data: bytes, name: str) -> Bundle:
    """The parts of a bundle.

    Args:
        data: The file's bytes.
        name: What to call the file in sentences.

    Raises:
        InputRefusedError: it is not a whole bundle of this version; says which line and why.
    """
    if len(data) > MOST_BYTES:
        raise refused(name, 0, f"holds more than {MOST_BYTES // 1_000_000} MB")
    if not data.startswith(FIRST_LINE + b"\n"):
        raise refused(name, 1, _no_bundle(data))
    _must_be_whole(data, name)
    parts = _Parts()
    lines = data.split(b"\n")[1:-2]
    for number, line in enumerate(lines, 2):
        try:
            parts.take(line, number)
        except (EncodingError, NoteError, ValueError, RecursionError) as error:
            raise refused(name, number, str(error)) from None
    if parts.head is None:
        raise refused(name, 2, "has no head")
    return Bundle(parts.head, tuple(parts.entries), tuple(parts.notes), parts.files, parts.details)


def _no_bundle(data: bytes) -> str:
    if data.startswith(FIRST_LINE + b"\r"):
        return "had its line ends changed on the way (CR LF); hand it on as a file, not as text"
    later = data.startswith(b"seasonlog bundle ")
    return "is a bundle of a later version; install that seasonlog" if later else "is not a bundle of seasonlog"


def _must_be_whole(data: bytes, name: str) -> None:
    at = data.rfind(b"\nend ") + 1
    count = data.count(b"\n", 0, at)
    wanted = f"end {count} {hashlib.sha256(data[:at]).hexdigest()}\n".encode()
    if at == 0 or not data.endswith(b"\n"):
        raise refused(name, 0, "is cut short: its last line is missing; copy it again")
    if data[at:] != wanted:
        raise refused(name, 0, "is not as it was written: its last line does not fit the rest; copy it again")


class _Parts:
    """Collects the lines of a bundle by their first word."""

    def __init__(self) -> None:
        self._number = 0
        self.head: Head | None = None
        self.entries: list[SignedLine] = []
        self.notes: list[Note] = []
        self.files: dict[str, bytes] = {}
        self.details: dict[str, bytes] = {}

    def take(self, line: bytes, number: int) -> None:
        self._number = number
        word, _, rest = line.partition(b" ")
        taker = _TAKERS.get(word)
        if taker is None:
            raise ValueError(f"{word[:20]!r} is no kind of line of a bundle")
        taker(self, rest)

    def _head(self, rest: bytes) -> None:
        if self.head is not None:
            raise ValueError("a second head")
        self.head = _head_from(parse(rest))

    def _entry(self, rest: bytes) -> None:
        sig, _, line = rest.partition(b" ")
        if len(line) > MAX_LINE_BYTES or len(sig) != 128:
            raise ValueError("an entry is too long, or its signature has not 128 hex digits")
        self.entries.append(SignedLine(line, _from_hex(sig), self._number))

    def _checkpoint(self, rest: bytes) -> None:
        text = parse(rest)
        if not isinstance(text, str):
            raise ValueError("a checkpoint is a text")
        self.notes.append(parse_note(text))

    def _file(self, rest: bytes) -> None:
        digest, content = _kept(rest)
        self.files[digest] = content

    def _detail(self, rest: bytes) -> None:
        digest, content = _kept(rest)
        self.details[digest] = content


_TAKERS: dict[bytes, Callable[[_Parts, bytes], None]] = {
    b"head": _Parts._head,
    b"entry": _Parts._entry,
    b"checkpoint": _Parts._checkpoint,
    b"file": _Parts._file,
    b"detail": _Parts._detail,
}


def _kept(rest: bytes) -> tuple[str, bytes]:
    digest, _, coded = rest.partition(b" ")
    if len(coded) > MOST_FILE_BYTES * 4 // 3 + 4:
        raise ValueError(f"a file holds more than {MOST_FILE_BYTES // 1_000_000} MB")
    try:
        content = base64.b64decode(coded, validate=True)
    except binascii.Error:
        raise ValueError("a file is not written in base64") from None
    if hashlib.sha256(content).hexdigest().encode() != digest:
        raise ValueError("a file does not have the hash that names it: it was changed")
    return digest.decode(), content


def _from_hex(text: bytes) -> bytes:
    if not set(text) <= set(b"0123456789abcdef"):
        raise ValueError("a signature is not written in hex digits")
    return bytes.fromhex(text.decode())


def _head_from(fields: Any) -> Head:
    texts = ("by", "log", "software")
    if not isinstance(fields, dict) or fields.keys() != {*texts, "contacts", "made"}:
        raise ValueError("the head does not have exactly the fields of a head")
    typed = type(fields["made"]) is int and isinstance(fields["contacts"], bool)
    if not typed or not all(isinstance(fields[name], str) for name in texts):
        raise ValueError("a field of the head is of the wrong type")
    return Head(**fields)
