"""Untrusted text made safe to look at: every character that could act is replaced by one that can be seen.

Decides nothing about storage: the record keeps what was typed. Screens, commands and exports pass text through
`visible` and then hand it to a widget or stream as plain text, never as markup.
"""

import unicodedata

_BIDI = {
    0x061C: "[ALM]", 0x200E: "[LRM]", 0x200F: "[RLM]", 0x202A: "[LRE]", 0x202B: "[RLE]", 0x202C: "[PDF]",
    0x202D: "[LRO]", 0x202E: "[RLO]", 0x2066: "[LRI]", 0x2067: "[RLI]", 0x2068: "[FSI]", 0x2069: "[PDI]",
}  # fmt: skip
_UNSEEN = {
    0x00AD: "[SHY]", 0x180E: "[MVS]", 0x200B: "[ZWSP]", 0x200C: "[ZWNJ]", 0x200D: "[ZWJ]", 0x2060: "[WJ]",
    0xFEFF: "[BOM]", 0x2028: "[LS]", 0x2029: "[PS]",
}  # fmt: skip
_C0 = {code: chr(0x2400 + code) for code in range(0x20)} | {0x7F: "\u2421"}
_C1 = {code: f"[{code:02X}]" for code in range(0x80, 0xA0)}
_STAND_INS = _C0 | _C1 | _BIDI | _UNSEEN
MOST_MARKS = 4
"""Combining marks kept on one letter; a longer pile would spill over the lines above and below."""


def visible(text: str, *, keep_newlines: bool = False) -> str:
    """The text with a visible stand-in for each control, bidirectional or zero-width character.

    Args:
        text: Anything a person, a file or a voice handed in.
        keep_newlines: Leave LF as it is, for notes shown over several lines.
    """
    kept = {0x0A: "\n"} if keep_newlines else {}
    return _thinned(text.translate(_STAND_INS | kept).encode("utf-8", "replace").decode())


def _thinned(text: str) -> str:
    if text.isascii():
        return text
    out: list[str] = []
    marks = 0
    for char in text:
        marks = marks + 1 if unicodedata.combining(char) else 0
        if marks <= MOST_MARKS:
            out.append(char)
    return "".join(out)


def as_stored(text: str) -> str:
    """The form a typed text is stored in: NFC, so that equal-looking accents are equal bytes."""
    return unicodedata.normalize("NFC", text)
