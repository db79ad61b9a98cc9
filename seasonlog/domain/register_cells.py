"""Text in a spreadsheet cell: made harmless on the way out, given back exactly on the way in.

A spreadsheet program runs a cell that begins like a formula. Such a text goes out behind an apostrophe (OWASP, CSV
injection) and so does one that begins with an apostrophe itself, which makes the way back unambiguous.
"""

_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "\0", "'", "\uff1d", "\uff0b", "\uff0d", "\uff20")


def neutralised(text: str) -> str:
    """The text as a cell that no spreadsheet program takes for a formula. For text only: a number stays a number."""
    return "'" + text if text.startswith(_STARTS) else text


def as_typed(cell: str) -> str:
    """The text a cell stands for: the inverse of `neutralised`, and any other cell unchanged."""
    return cell[1:] if cell.startswith("'") and cell[1:].startswith(_STARTS) else cell
