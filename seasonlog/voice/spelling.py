"""Numbers as a recogniser writes them when it runs them together: `0.67.93`, `Leg 121.6`, `Leg 1.93`, `0.8 0 1.0 1.3`.

These spellings were seen of a Whisper model, with digits only. They are opened where a phrase can be read in no other
way, and what is read so is always asked back. What a person's own words leave open ("twenty one six") stays refused.
"""

import re
from collections.abc import Iterator, Sequence
from itertools import product

_MOST_DECIMALS = 2
"""More, and the points between the digits were ends of numbers."""
_GLUED = re.compile(r"(?<![\d.])(\d*(?:\.\d+){2,})(?!\d)")
_LINE_OF = re.compile(r"^(\s*(?:line|leg|phase)) of (?=\.?\d)", re.I)
"""`line of 0.02` was written for "line A point oh two"."""
_NAME_IN_NUMBER = re.compile(r"\b(leg|line|phase) ([123])(\d*\.\d+|\d{2,})(?=\D*$)", re.I)
"""A line is never said without its number: the first digit is the line's."""
_APART = re.compile(r"(?<=\d)(\.\d) (\d)(?= \d)")
_ENDS_IN_OH = re.compile(r"^(\D*\d*\.\d)[-. ](?:0|oh|o)\b(?=\D*$)", re.I)
"""`0.5-0` and `0.5 O` for "point five oh"."""
_HUNDREDS_AND = re.compile(r"(?<![\d.])([1-9])00 (?:and|in) (\d{1,2})\b(?!\.\d)", re.I)
"""`100 in 13` for "one hundred and thirteen"."""


def opened(text: str) -> str:
    """The phrase with its numbers apart, or as it was where they are not run together, or could be parted in two ways.

    Args:
        text: As a recogniser wrote it.
    """
    text = _LINE_OF.sub(r"\1 a ", text)
    text = _NAME_IN_NUMBER.sub(r"\1 \2 \3", text)
    text = _ENDS_IN_OH.sub(r"\g<1>0", text)
    text = _HUNDREDS_AND.sub(lambda found: f"{found[1]}{found[2]:0>2}", text)
    text = _GLUED.sub(lambda found: _parted(found[1]), text)
    return _APART.sub(r"\1\2", text) if len(_APART.findall(text)) == 1 else text


def _parted(glued: str) -> str:
    """`0.67.93` as `0.67 .93`: digits between two points stay together, unless only another way gives numbers."""
    pieces = glued.split(".")
    together = _numbers(pieces, [len(piece) for piece in pieces[1:-1]])
    others = [way for cuts in _cuts(pieces) if (way := _numbers(pieces, cuts)) and way != together]
    if together:
        return glued if not _is_even(together) and any(map(_is_even, others)) else " ".join(together)
    return " ".join(others[0]) if len(others) == 1 else glued


def _cuts(pieces: Sequence[str]) -> Iterator[tuple[int, ...]]:
    """Where each piece between two points may end the one number and begin the next."""
    return product(*(range(1, len(piece) + 1) for piece in pieces[1:-1]))


def _numbers(pieces: Sequence[str], cuts: Sequence[int]) -> list[str]:
    """The numbers, every point a decimal one; none where one of them is no reading of a meter."""
    inner = list(zip(pieces[1:-1], cuts, strict=True))
    wholes = [pieces[0], *(piece[cut:] for piece, cut in inner)]
    decimals = [*(piece[:cut] for piece, cut in inner), pieces[-1]]
    fits = all(len(d) <= _MOST_DECIMALS for d in decimals) and not any(w[:1] == "0" and len(w) > 1 for w in wholes)
    return [f"{w}.{d}" for w, d in zip(wholes, decimals, strict=True)] if fits else []


def _is_even(numbers: Sequence[str]) -> bool:
    """All with as many decimals, as one meter shows them."""
    return len({len(number.partition(".")[2]) for number in numbers}) == 1
