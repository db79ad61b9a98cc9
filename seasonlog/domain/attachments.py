"""Photos and sound clips of a visit: what is taken, and which step of which visit one belongs to by its time.

Pure: the bytes are looked at only far enough to tell what they are; a name or an ending says nothing.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from seasonlog.domain.answers import MOST_TEXT
from seasonlog.domain.text import as_stored

PHOTO, SOUND = "photo", "sound"
MOST_NAME = 120
"""Characters of a file's name that are kept."""
_MINUTE = 60_000
BEFORE_MS, AFTER_MS = 15 * _MINUTE, 60 * _MINUTE
"""A photo may be older than its visit's start and younger than its end by this much. By reasoning, no source."""
NEAR_MS = 20 * _MINUTE
"""A photo belongs to a step answered within this time of it. By reasoning, no source."""
HEAD_BYTES = 16
"""So many first bytes tell what a file is."""

_BEGINS: tuple[tuple[bytes, str, str], ...] = (
    (b"\xff\xd8\xff", PHOTO, "jpeg"),
    (b"\x89PNG\r\n\x1a\n", PHOTO, "png"),
    (b"OggS", SOUND, "ogg"),
    (b"fLaC", SOUND, "flac"),
    (b"ID3", SOUND, "mp3"),
    (b"\xff\xfb", SOUND, "mp3"),
    (b"\xff\xf3", SOUND, "mp3"),
    (b"\xff\xf2", SOUND, "mp3"),
)
_BRANDS: Mapping[bytes, tuple[str, str]] = {
    b"heic": (PHOTO, "heic"), b"heix": (PHOTO, "heic"), b"mif1": (PHOTO, "heic"), b"M4A ": (SOUND, "m4a"),
}  # fmt: skip
_RIFF: Mapping[bytes, tuple[str, str]] = {b"WEBP": (PHOTO, "webp"), b"WAVE": (SOUND, "wav")}


def kind_of(head: bytes) -> tuple[str, str] | None:
    """(photo or sound, format) by the first bytes; None for anything that is not kept.

    Args:
        head: At least `HEAD_BYTES` first bytes, all of a shorter file. Signatures from the formats' own public
            descriptions (JPEG, PNG, RIFF, ISO base media, Ogg, FLAC, MPEG audio), from memory.
    """
    if head[:4] == b"RIFF":
        return _RIFF.get(head[8:12])
    if head[4:8] == b"ftyp":
        return _BRANDS.get(head[8:12])
    return next(((kind, name) for begin, kind, name in _BEGINS if head.startswith(begin)), None)


@dataclass(frozen=True, slots=True)
class Attachment:
    """A photo or clip as the log names it."""

    id: str
    sha256: str
    """Name of the kept file."""
    kind: str
    format: str
    size: int
    """Bytes of the content."""
    name: str
    """File name as handed in; never used as a path. Empty where it is kept apart and not here."""
    tower: str
    visit: str
    step: str
    taken_at: str
    taken_from: str
    keep_until: str
    """Last day it is to be kept; empty: for good."""
    words: str
    """What it shows; empty where it is kept apart and not here."""
    who: str
    wall_ms: int
    erased: str = ""
    """Day, who and why it was erased, in words; empty while it is kept."""
    details: str = ""
    """Name of the kept file with file name and words; empty where the entry holds them itself, or there are none."""

    @classmethod
    def of(
        cls, body: Mapping[str, Any], who: str, wall_ms: int, erased: str = "", apart: Mapping[str, str] | None = None
    ) -> "Attachment":
        """From its entry, and from what is kept apart of it, where that is here."""
        told = {"name": body["name"], "words": body["words"]} | dict(apart or {})
        return cls(
            body["attachment"], body["sha256"], body["kind"], body["format"], body["bytes"], name_of(told["name"]),
            body["tower"], body["visit"], body["step"], body["taken_at"], body["taken_from"], body["keep_until"],
            told["words"][:MOST_TEXT], who, wall_ms, erased, str(body.get("details", "")),
        )  # fmt: skip

    @property
    def says(self) -> str:
        """One line for reports and lists."""
        when = f", taken {self.taken_at}" if self.taken_at else ""
        if self.erased:
            return f"{self.kind} {self.id}{when}: ERASED {self.erased}; its hash stays: {self.sha256[:16]}"
        kept = f", keep until {self.keep_until}" if self.keep_until else ""
        words = f": {self.words}" if self.words else ""
        return f"{self.kind} {self.id}{when} ({self.format}, {self.size:,} bytes{kept}){words}"


def name_of(file_name: str) -> str:
    """A file's name as it may stand in the record: bytes that are no text replaced, cut to `MOST_NAME`."""
    return as_stored(file_name.encode("utf-8", "surrogateescape").decode("utf-8", "replace"))[:MOST_NAME]


@dataclass(frozen=True, slots=True)
class Moment:
    """When a step was answered."""

    step: str
    wall_ms: int
    wants_photo: bool


@dataclass(frozen=True, slots=True)
class Span:
    """A visit's time on site."""

    visit: str
    tower: str
    begins_ms: int
    ends_ms: int
    moments: Sequence[Moment]

    def gap_ms(self, taken_ms: int) -> int:
        """How far a time lies outside the visit; 0 inside."""
        return max(self.begins_ms - taken_ms, taken_ms - self.ends_ms, 0)

    def may_hold(self, taken_ms: int) -> bool:
        """Whether something taken then may belong to the visit."""
        return self.begins_ms - BEFORE_MS <= taken_ms <= self.ends_ms + AFTER_MS


@dataclass(frozen=True, slots=True)
class Place:
    """Where an attachment belongs."""

    tower: str
    visit: str
    step: str
    """Step key, or empty: the visit as a whole."""


def place_of(taken_ms: int, kind: str, spans: Sequence[Span]) -> Place | None:
    """The visit, and for a photo the step asking for one, that a time belongs to; None when there is none.

    Of several visits the one it lies deepest in wins, then the one begun last; of several steps the nearest in time.
    """
    holding = [span for span in spans if span.may_hold(taken_ms)]
    if not holding:
        return None
    span = min(holding, key=lambda each: (each.gap_ms(taken_ms), -each.begins_ms, each.visit))
    near = [m for m in span.moments if m.wants_photo and kind == PHOTO and abs(m.wall_ms - taken_ms) <= NEAR_MS]
    step = min(near, key=lambda m: (abs(m.wall_ms - taken_ms), m.step)).step if near else ""
    return Place(span.tower, span.visit, step)
