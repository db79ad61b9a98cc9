"""One entry, one line of bytes: canonical JSON, its hash, what is signed, and the order of entries.

The bytes follow RFC 8785 (JSON Canonicalization Scheme), narrowed to what needs no rule for floating numbers: text,
whole numbers below 2^53, true, false, null, lists and objects. Readings are text, digit for digit as typed.
`SHA-256(00 || line)` is the link to the next entry and, unchanged, the leaf hash of RFC 9162.
Pure: no disk, no clock, no random.
"""

import hashlib
import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, NoReturn

from seasonlog.errors import SeasonlogError

FORMAT_VERSION = 1
"""Value of `v` in every line. 1: RFC 8785 line, SHA-256, Ed25519."""
MAX_INT = 2**53 - 1
"""Largest whole number every JSON reader keeps exactly (RFC 8785 section 3.2.2.3, RFC 7493 section 2.2)."""
MAX_DEPTH = 32
"""Deepest nesting accepted, the line itself counted as 1."""
MAX_LINE_BYTES = 1_000_000
"""Longest line accepted [bytes]; a checklist of 200 steps is about 100,000."""
LAST_MS = 253_402_214_400_000
"""The last day of the year 9999: a later time is no date [ms since 1970 UTC]."""
SIGNING_TAG = b"seasonlog entry v1\n"
"""Put before the hash when signing, so that a signature of an entry can never pass for one of anything else."""


class EncodingError(SeasonlogError):
    """A value has no canonical form here, or bytes are not an entry's canonical line."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One thing that happened, as it stands in the log."""

    log: str
    """32 hex digits, random, the same in every entry of a log."""
    dev: str
    """16 hex digits: the fingerprint of the writing device's public key."""
    seq: int
    """1, 2, 3 ... within the device, no gaps."""
    prev: str
    """64 hex digits: hash of the device's entry before, empty for its first."""
    uid: str
    """Unique in the log; writing the same uid again writes nothing."""
    wall: int
    """What the device's clock said [ms since 1970 UTC]."""
    offset: int
    """Local time minus UTC on the device [min]."""
    hlc: str
    """Sortable time that never runs backwards, see `next_hlc`."""
    anchor: str
    """64 hex digits of the newest checkpoint the device held, or empty."""
    who: str
    """The person, as declared on the device."""
    kind: str
    """What happened, in the past tense: `step_answered`."""
    body: Mapping[str, Any]
    """The facts of this kind."""
    v: int = FORMAT_VERSION
    """Format of the line."""

    def line(self) -> bytes:
        """The canonical bytes that are hashed, signed and stored.

        Raises:
            EncodingError: a field is out of its form, or the body holds what cannot be written.
        """
        fields = {name: getattr(self, name) for name in _FORMS} | {"body": dict(self.body)}
        _check_fields(fields)
        line = canonical(fields)
        if len(line) > MAX_LINE_BYTES:
            raise EncodingError(f"an entry of {len(line)} bytes is too long; the most is {MAX_LINE_BYTES}")
        return line


_HASH_OR_NOTHING = re.compile(r"(?:[0-9a-f]{64})?", re.ASCII)
_FORMS: Mapping[str, re.Pattern[str] | range] = {
    "v": range(FORMAT_VERSION, FORMAT_VERSION + 1),
    "log": re.compile(r"[0-9a-f]{32}", re.ASCII),
    "dev": re.compile(r"[0-9a-f]{16}", re.ASCII),
    "seq": range(1, MAX_INT + 1),
    "prev": _HASH_OR_NOTHING,
    "uid": re.compile(r"[0-9A-Za-z._:@+-]{1,128}", re.ASCII),
    "wall": range(LAST_MS),
    "offset": range(-1440, 1441),
    "hlc": re.compile(r"[0-2]\d{14}-\d{5}", re.ASCII),
    "anchor": _HASH_OR_NOTHING,
    "who": re.compile(r".{1,200}", re.DOTALL),
    "kind": re.compile(r"[a-z][a-z_]{0,63}", re.ASCII),
}


def entry_from_line(line: bytes) -> Entry:
    """The entry a stored line stands for.

    Raises:
        EncodingError: the bytes are not exactly the canonical line of an entry.
    """
    fields, beyond_bmp = _parsed(line)
    if not isinstance(fields, dict) or fields.keys() != {*_FORMS, "body"} or not isinstance(fields["body"], dict):
        raise EncodingError("the line does not have exactly the fields of an entry")
    _check_fields(fields)
    if _encoded(fields, beyond_bmp=beyond_bmp) != line:
        raise EncodingError("the line is not in canonical form")
    return Entry(**fields)


def _check_fields(fields: Mapping[str, Any]) -> None:
    for name, form in _FORMS.items():
        if not _fits(fields[name], form):
            raise EncodingError(f"the field {name} of an entry cannot be {fields[name]!r:.80}")


def _fits(value: object, form: re.Pattern[str] | range) -> bool:
    if isinstance(form, range):
        return isinstance(value, int) and not isinstance(value, bool) and value in form
    return isinstance(value, str) and form.fullmatch(value) is not None


def entry_hash(line: bytes) -> bytes:
    """SHA-256 of a zero byte and the line: link to the next entry, and leaf hash of RFC 9162 section 2.1.1."""
    return hashlib.sha256(b"\x00" + line).digest()


def signed_bytes(hash_of_line: bytes) -> bytes:
    """What a device's key signs for an entry."""
    return SIGNING_TAG + hash_of_line


def fingerprint(public_key: bytes) -> str:
    """A device's name: the first 16 hex digits of SHA-256 over its raw public key."""
    return hashlib.sha256(public_key).hexdigest()[:16]


def next_hlc(last: str, wall_ms: int) -> str:
    """The next sortable time: the clock's when that is later, else the last one with its counter raised.

    A hybrid logical clock (Kulkarni and others, 2014): entries written later on what was seen sort later, even when
    the machine's clock was set back.

    Args:
        last: The latest in the log, or empty.
        wall_ms: What the clock says [ms since 1970 UTC].

    Returns:
        15 digits of milliseconds, a dash, 5 digits of counter.
    """
    millis, _, counter = last.partition("-")
    if not last or wall_ms > int(millis):
        return f"{wall_ms:015d}-00000"
    raised = int(counter) + 1
    return f"{int(millis):015d}-{raised:05d}" if raised < 100_000 else f"{int(millis) + 1:015d}-00000"


_SORTING = json.JSONEncoder(ensure_ascii=False, separators=(",", ":"), sort_keys=True, check_circular=False)
_ORDERED = json.JSONEncoder(ensure_ascii=False, separators=(",", ":"), check_circular=False)


def canonical(value: object) -> bytes:
    """RFC 8785 bytes of a value.

    Raises:
        EncodingError: a decimal number, a whole number of 2^53 or more, a key that is not text, half of a surrogate
            pair, too deep nesting, or any other type.
    """
    return _encoded(value, beyond_bmp=_check(value, 1))


def _encoded(value: object, *, beyond_bmp: bool) -> bytes:
    # Python sorts by code point, RFC 8785 by UTF-16 code unit: the same unless a key has a character above U+FFFF.
    text = _ORDERED.encode(_in_utf16_order(value)) if beyond_bmp else _SORTING.encode(value)
    return text.encode("utf-8")


def _check(value: object, depth: int) -> bool:
    """Refuse what has no canonical form here; true when some key has a character above U+FFFF."""
    if type(value) is str and value.isascii():  # nearly everything: the proof of a long log spends its time here
        return False
    if value is None or isinstance(value, str | bool | int):
        _check_scalar(value)
        return False
    if depth > MAX_DEPTH:
        raise EncodingError(f"nested deeper than {MAX_DEPTH} levels")
    if isinstance(value, dict):
        return _check_items(value, depth + 1)
    if isinstance(value, list | tuple):
        return bool(sum([_check(item, depth + 1) for item in value]))  # sum, not any: every item is looked at
    raise EncodingError(f"{value!r:.40} ({type(value).__name__}) cannot be recorded; write it as text")


def _check_items(items: Mapping[object, object], depth: int) -> bool:
    beyond_bmp = False
    for key, item in items.items():
        if not (type(key) is str and key.isascii()):
            beyond_bmp |= _check_key(key)
        if not (type(item) is str and item.isascii()):
            beyond_bmp |= _check(item, depth)
    return beyond_bmp


def _check_scalar(value: object) -> None:
    if isinstance(value, str):
        _check_text(value)
    elif isinstance(value, int) and not -MAX_INT <= value <= MAX_INT:
        raise EncodingError("a whole number of 2^53 or more cannot be recorded; write it as text")


def _check_key(key: object) -> bool:
    if not isinstance(key, str):
        raise EncodingError(f"the key {key!r:.40} is not text")
    _check_text(key)
    return not key.isascii() and max(key) > "\uffff"


def _check_text(text: str) -> None:
    if text.isascii():
        return
    try:
        text.encode("utf-8")
    except UnicodeEncodeError:
        raise EncodingError(f"the text {text!r:.40} holds half of a surrogate pair") from None


def _in_utf16_order(value: object) -> object:
    if isinstance(value, dict):
        pairs = sorted(value.items(), key=lambda pair: str(pair[0]).encode("utf-16-be"))
        return {key: _in_utf16_order(item) for key, item in pairs}
    if isinstance(value, list | tuple):
        return [_in_utf16_order(item) for item in value]
    return value


def parse(data: bytes) -> Any:
    """The value some JSON bytes stand for, refusing everything that `canonical` could not have written.

    White space and the order of keys are free; compare `canonical(parse(data)) == data` where they must not be.

    Raises:
        EncodingError: not UTF-8, not JSON, a key twice in one object, NaN, a decimal number, a whole number of 2^53
            or more, half of a surrogate pair, too deep nesting.
    """
    return _parsed(data)[0]


def _parsed(data: bytes) -> tuple[Any, bool]:
    """The value, and whether some key has a character above U+FFFF."""
    try:
        value = _STRICT.decode(data.decode("utf-8"))
    except UnicodeDecodeError:
        raise EncodingError("the bytes are not UTF-8") from None
    except json.JSONDecodeError as error:
        raise EncodingError(f"not JSON at character {error.pos + 1}: {error.msg}") from None
    except RecursionError:
        raise EncodingError(f"nested deeper than {MAX_DEPTH} levels") from None
    return value, _check(value, 1)


def _whole(digits: str) -> int:
    if len(digits) > 17:
        raise EncodingError("a whole number of 2^53 or more cannot be read")
    return int(digits)


def _refuse(digits: str) -> NoReturn:
    raise EncodingError(f"the number {digits:.40} is not whole; numbers with decimals are recorded as text")


def _unique(pairs: Sequence[tuple[str, Any]]) -> dict[str, Any]:
    mapping = dict(pairs)
    if len(mapping) != len(pairs):
        raise EncodingError("a key appears twice in one object")
    return mapping


_STRICT = json.JSONDecoder(
    object_pairs_hook=_unique, parse_int=_whole, parse_float=_refuse, parse_constant=_refuse, strict=True
)
