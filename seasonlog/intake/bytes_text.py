"""Bytes of a file somebody handed in, made into text or refused in one sentence. Opens no file."""

from collections.abc import Callable
from typing import Any

from seasonlog.errors import InputRefusedError, Problem

_OTHER_ENCODINGS = {
    b"\xff\xfe\x00\x00": "UTF-32",
    b"\x00\x00\xfe\xff": "UTF-32",
    b"\xff\xfe": "UTF-16",
    b"\xfe\xff": "UTF-16",
}
_MARK = b"\xef\xbb\xbf"


def refuse_other_encodings(data: bytes, name: str) -> None:
    """Refuse bytes that begin like UTF-16 or UTF-32.

    Raises:
        InputRefusedError: they do.
    """
    for start, encoding in _OTHER_ENCODINGS.items():
        if data.startswith(start):
            raise InputRefusedError([Problem(f"{name}, byte 0", f"is {encoding} text; save it as UTF-8")])


def not_utf8(data: bytes, name: str) -> InputRefusedError | None:
    """The refusal of bytes that are not UTF-8, naming the first bad byte; None when they are."""
    try:
        data.decode("utf-8")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        says = f"byte {data[error.start]:#04x} is not UTF-8 text; save the file as UTF-8"
        return InputRefusedError([Problem(f"{name}, line {line}, byte {error.start}", says)])
    return None


def decoded(data: bytes, name: str, *, most_bytes: int, mark_allowed: bool) -> str:
    """The bytes as text.

    Args:
        data: The file's bytes.
        name: What to call the file in sentences.
        most_bytes: Largest size taken.
        mark_allowed: Whether the byte order mark some spreadsheet programs write is passed over.

    Raises:
        InputRefusedError: too large, marked, or not UTF-8; the byte is named.
    """
    if len(data) > most_bytes:
        raise InputRefusedError([Problem(name, f"has {len(data)} bytes; at most {most_bytes} are taken")])
    refuse_other_encodings(data, name)
    if data.startswith(_MARK) and not mark_allowed:
        says = "begins with a byte order mark; save it as UTF-8 without one"
        raise InputRefusedError([Problem(f"{name}, byte 0", says)])
    if refusal := not_utf8(data, name):
        raise refusal
    return data.removeprefix(_MARK).decode("utf-8")


def toml_tables(text: str, name: str, number: Callable[[str], Any]) -> dict[str, Any]:
    """What the standard TOML reader makes of a text.

    Args:
        text: The file's text.
        name: What to call the file in sentences.
        number: What to make of a number with a point or an exponent, as it stands in the file.

    Raises:
        InputRefusedError: it is not TOML (with the line), or too deep or too long to be read.
    """
    import tomllib  # only files of ours are TOML

    try:
        return tomllib.loads(text, parse_float=number)
    except tomllib.TOMLDecodeError as error:
        raise InputRefusedError([Problem(name, f"is not TOML: {error}")]) from None
    except (RecursionError, ValueError):
        says = "is nested too deeply or holds a number too long to be read"
        raise InputRefusedError([Problem(name, says)]) from None
