"""When a photo was taken, as its camera wrote it. Bytes in, a time or none out; the picture itself is never unpacked.

Reads EXIF (CIPA DC-008, tags DateTimeOriginal 0x9003 and OffsetTimeOriginal 0x9011) with Pillow, the extra `photos`;
without it only the times of files are known.
"""

import re
import struct
from datetime import datetime
from io import BytesIO
from typing import Any

_UNREADABLE = (OSError, ValueError, SyntaxError, KeyError, TypeError, EOFError, struct.error)
"""What Pillow raises on damaged files."""
_EXIF_IFD, _TAKEN, _OFFSET, _CHANGED = 0x8769, 0x9003, 0x9011, 0x0132
_TIME = re.compile(r"(\d{4}):(\d\d):(\d\d) (\d\d):(\d\d):(\d\d)", re.ASCII)
_ZONE = re.compile(r"[+-]\d\d:\d\d", re.ASCII)


def has_reader() -> bool:
    """Whether the extra that reads cameras' times is installed."""
    from importlib.util import find_spec

    return find_spec("PIL") is not None


def taken_at(data: bytes) -> datetime | None:
    """When the camera says the photo was taken: with an offset where it wrote one, else the camera's own local time.

    Args:
        data: The whole file. Anything but a readable JPEG or WebP has no time: no camera writes it into others.
    """
    tags = _tags(data) if has_reader() else {}
    time = _TIME.match(str(tags.get(_TAKEN) or tags.get(_CHANGED) or ""))
    zone = str(tags.get(_OFFSET) or "").strip("\0 ")
    if time is None:
        return None
    text = f"{time[1]}-{time[2]}-{time[3]}T{time[4]}:{time[5]}:{time[6]}"
    try:
        return datetime.fromisoformat(text + (zone if _ZONE.fullmatch(zone) else ""))
    except ValueError:
        return None


def _tags(data: bytes) -> dict[int, Any]:
    import warnings

    from PIL import Image

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # a damaged photo is no news to whoever attaches it
            with Image.open(BytesIO(data), formats=("JPEG", "WEBP")) as image:
                exif = image.getexif()
                return {**exif, **exif.get_ifd(_EXIF_IFD)}
    except (
        OSError,
        ValueError,
        SyntaxError,
        KeyError,
        TypeError,
        EOFError,
        struct.error,
        Image.DecompressionBombError,
    ):
        return {}
