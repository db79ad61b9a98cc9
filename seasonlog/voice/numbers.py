"""Numbers as the trade says them, read and spelled: `twenty one point oh five`, `four eighty`, `eighty five hundred`.

A number is read from whole words or refused; what could be two numbers, such as `twenty one six`, is never mended.
The forms are common practice, no source. `ways` spells a value in every form, and reading each gives the value back.
"""

from collections.abc import Iterator, Sequence
from functools import lru_cache

_DIGITS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
_TEENS = (
    "ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen",
)  # fmt: skip
_TENS = ("twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
_VALUES = (
    {word: number for number, word in enumerate(_DIGITS)}
    | {word: number for number, word in enumerate(_TEENS, 10)}
    | {word: number * 10 for number, word in enumerate(_TENS, 2)}
    | {"niner": 9, "fourty": 40}
)
_OH = frozenset({"oh", "o"})
_SIGNS = frozenset({"minus", "negative"})
_PARTS: dict[tuple[str, ...], str] = {
    ("a", "half"): "5", ("one", "half"): "5", ("a", "quarter"): "25", ("one", "quarter"): "25",
    ("three", "quarters"): "75",
}  # fmt: skip
_HALF: dict[tuple[str, ...], str] = {("half",): "5", ("half", "a"): "5", ("half", "an"): "5"}
_MOST = 99_999
MOST_WORDS = 14
"""A number has no more words than this; what is longer is several."""
WORDS = frozenset(_VALUES) | _OH | _SIGNS | {"hundred", "thousand", "point", "and", "a", "half", "quarter", "quarters"}
"""Every word that may be part of a number. `a` and `and` only inside one."""


def is_numeral(token: str) -> bool:
    """Digits as a recogniser or a keyboard writes them: `21`, `21.6`, `.85`."""
    return token.replace(".", "", 1).isascii() and token.replace(".", "", 1).isdigit()


def starts_number(token: str) -> bool:
    """May begin a number. `a` may only where `half`, `quarter`, `hundred` or `thousand` follows: the reader decides."""
    return is_numeral(token) or token in _VALUES or token in _SIGNS or token in ("point", "half", "a")


@lru_cache(maxsize=4096)
def read_number(words: tuple[str, ...]) -> str | None:
    """The decimal text that these words say, all of them; None when they say none, or more than one thing.

    Args:
        words: Lower-case words and numerals, no punctuation.
    """
    if not words or len(words) > MOST_WORDS:
        return None
    if words[0] in _SIGNS:
        found = _unsigned(words[1:])
        return f"-{found}" if found is not None else None
    return _unsigned(words)


def _unsigned(words: tuple[str, ...]) -> str | None:
    if len(words) == 1 and is_numeral(words[0]):
        return _numeral(words[0])
    if words in _PARTS or words in _HALF:
        return f"0.{_PARTS.get(words) or _HALF[words]}"
    if len(words) > 3 and words[-3] == "and" and words[-2:] in _PARTS:
        whole = _whole(words[:-3], before_point=False)
        return f"{whole}.{_PARTS[words[-2:]]}" if whole is not None else None
    if "point" not in words:
        whole = _whole(words, before_point=False)
        return str(whole) if whole is not None else None
    return _with_point(words)


def _numeral(token: str) -> str | None:
    whole, point, decimals = token.partition(".")
    if len(whole) > 5 or len(decimals) > 3 or (point and not decimals):
        return None
    if len(whole) > 1 and whole.startswith("0"):
        return None
    return f"{whole or '0'}{point}{decimals}"


def _with_point(words: tuple[str, ...]) -> str | None:
    at = words.index("point")
    decimals = _decimals(words[at + 1 :])
    if decimals is None:
        return None
    if at == 0 or words[:at] == ("oh",):
        return f"0.{decimals}"
    whole = _whole(words[:at], before_point=True)
    return f"{whole}.{decimals}" if whole is not None else None


def _decimals(words: tuple[str, ...]) -> str | None:
    if len(words) == 1 and words[0].isdigit() and len(words[0]) <= 3:
        return words[0]
    digits = [digit for digit in map(_digit, words) if digit is not None]
    if 1 <= len(words) <= 3 and len(digits) == len(words):
        return "".join(str(d) for d in digits)
    pair = _below_hundred(words)
    return str(pair) if pair is not None and pair >= 10 else None


def _digit(word: str) -> int | None:
    if word in _OH:
        return 0
    value = _value(word)
    return value if value is not None and value < 10 else None


def _value(word: str) -> int | None:
    if word.isdigit() and len(word) <= 2 and not (len(word) == 2 and word[0] == "0"):
        return int(word)
    return _VALUES.get(word)


def _below_hundred(words: Sequence[str]) -> int | None:
    """`seven`, `seventeen`, `seventy`, `seventy seven`."""
    first = _value(words[0]) if words else None
    if first is None or len(words) == 1:
        return first
    digit = _digit(words[1])
    is_spoken = not words[0].isdigit() or not words[1].isdigit()
    if len(words) > 2 or not digit or not is_spoken or first < 20 or first % 10:
        return None
    return first + digit


def _whole(words: tuple[str, ...], *, before_point: bool) -> int | None:
    for form in (_below_hundred, _thousands, _hundreds, _paired):
        found = form(words)
        if found is not None:
            return found if found <= _MOST else None
    return _digit_by_digit(words, fewest=2 if before_point else 3)


def _one_for_a(words: tuple[str, ...]) -> tuple[str, ...]:
    return ("one", *words[1:]) if words[:1] == ("a",) and words[1:2] in (("hundred",), ("thousand",)) else words


def _thousands(words: tuple[str, ...]) -> int | None:
    """`five thousand`, `twelve thousand four hundred and six`."""
    words = _one_for_a(words)
    if "thousand" not in words:
        return None
    at = words.index("thousand")
    thousands, rest = _below_hundred(words[:at]), words[at + 1 :]
    if not thousands:
        return None
    if not rest:
        return thousands * 1000
    below = _hundreds(rest) if "hundred" in rest else _below_hundred(rest[1:] if rest[0] == "and" else rest)
    return thousands * 1000 + below if below is not None and 0 < below < 1000 else None


def _hundreds(words: tuple[str, ...]) -> int | None:
    """`four hundred`, `four hundred and eighty`, `eighty five hundred`."""
    words = _one_for_a(words)
    if "hundred" not in words:
        return None
    at = words.index("hundred")
    hundreds, rest = _below_hundred(words[:at]), words[at + 1 :]
    if not hundreds or hundreds % 10 == 0:
        return None
    if not rest:
        return hundreds * 100
    below = _below_hundred(rest[1:] if rest[0] == "and" else rest)
    return hundreds * 100 + below if below else None


def _paired(words: tuple[str, ...]) -> int | None:
    """`four eighty two`, `one oh five`: a digit, then two more as one number."""
    hundreds = _digit(words[0]) if words and words[0] not in _OH else None
    if not hundreds or len(words) < 2:
        return None
    if words[1] in _OH:
        last = _digit(words[2]) if len(words) == 3 else None
        return hundreds * 100 + last if last else None
    below = _below_hundred(words[1:])
    return hundreds * 100 + below if below is not None and below >= 10 else None


def _digit_by_digit(words: tuple[str, ...], fewest: int) -> int | None:
    """`two four zero`; two digits alone could be two readings and are not taken."""
    digits = [digit for digit in map(_digit, words) if digit is not None]
    if not fewest <= len(words) <= 5 or len(digits) < len(words) or not digits[0]:
        return None
    return int("".join(str(d) for d in digits))


def three_in_one_breath(words: Sequence[str]) -> set[tuple[str, ...]]:
    """Every way to read words that follow each other without a pause as three numbers.

    A way that parts a ten from its unit (`twenty | one`) is told as nothing readable: nobody can hear that pause.

    Args:
        words: Words of numbers only.
    """
    out: set[tuple[str, ...]] = set()
    for first, second in _cuts(words):
        parts = (tuple(words[:first]), tuple(words[first:second]), tuple(words[second:]))
        numbers = [read_number(part) for part in parts]
        if None not in numbers:
            parted = _joins(words, first) or _joins(words, second)
            out.add(("",) if parted else tuple(str(n) for n in numbers))
    return out


def _cuts(words: Sequence[str]) -> Iterator[tuple[int, int]]:
    places = [at for at in range(1, len(words)) if words[at] not in _OH and words[at] != "point"]
    return ((a, b) for a in places for b in places if a < b and max(a, b - a, len(words) - b) <= MOST_WORDS)


def is_three_in_one(words: Sequence[str]) -> bool:
    """One number that three readings said digit by digit would sound like: `twenty one point six zero zero`."""
    return bool(three_in_one_breath(words) - {("",)})


def _joins(words: Sequence[str], at: int) -> bool:
    """The word belongs to the one before it: `twenty | one`, `| point`, `| oh`."""
    before, word = _value(words[at - 1]), words[at]
    if word == "point" or word in _OH:
        return True
    return before is not None and before >= 20 and before % 10 == 0 and (_digit(word) or 0) > 0


# -- spelling -----------------------------------------------------------------------------------------------------


def say_number(text: str) -> str:
    """The words for a decimal text, in the one form that cannot be mistaken: `four hundred eighty two point five`.

    Args:
        text: Such as `21.60`, `-4`, `>2000`, `OL`.
    """
    if text == "OL":
        return "over range"
    if text[:1] in "<>":
        return f"{'more' if text[0] == '>' else 'less'} than {say_number(text[1:])}"
    if text.startswith("-"):
        return f"minus {say_number(text[1:])}"
    whole, point, decimals = text.partition(".")
    words = _cardinal(int(whole or "0"), "")
    return f"{words} point {' '.join(_DIGITS[int(d)] for d in decimals)}" if point else words


def ways(text: str) -> tuple[str, ...]:
    """Every way the trade says a value of 0 to 99,999, each different; the plain one first.

    Args:
        text: Decimal text with at most three decimals, `-4.5`.
    """
    sign = "minus " if text.startswith("-") else ""
    whole, _, decimals = text.removeprefix("-").partition(".")
    said = dict.fromkeys(f"{sign}{words}" for words in _ways(int(whole), decimals))
    return tuple(said)


def _ways(whole: int, decimals: str) -> Iterator[str]:
    wholes = list(_whole_ways(whole, has_point=bool(decimals)))
    if not decimals:
        yield from wholes
        return
    for tail in _decimal_ways(decimals):
        yield from (f"{words} point {tail}" for words in wholes)
        if whole == 0:
            yield f"point {tail}"
            yield f"oh point {tail}"
    parts = {"5": "a half", "25": "a quarter", "75": "three quarters"}
    if decimals in parts:
        yield from (f"{words} and {parts[decimals]}" for words in wholes if whole and _has_own_end(words))
        yield from ([parts[decimals]] if whole == 0 else [])


def _has_own_end(words: str) -> bool:
    """Two digits before `and a half` are only taken with a point."""
    return read_number(tuple(words.split())) is not None


def _whole_ways(number: int, *, has_point: bool) -> Iterator[str]:
    yield _cardinal(number, "")
    yield _cardinal(number, "and ")
    hundreds, below = divmod(number, 100)
    digits = [_DIGITS[int(d)] for d in str(number)]
    if hundreds < 10 and hundreds and below >= 10:
        yield f"{_DIGITS[hundreds]} {_cardinal(below, '')}"
    if 0 < hundreds < 10 and 0 < below < 10:
        yield f"{_DIGITS[hundreds]} oh {_DIGITS[below]}"
    if 10 < hundreds < 100 and hundreds % 10:
        tail = f" {_cardinal(below, '')}" if below else ""
        yield f"{_cardinal(hundreds, '')} hundred{tail}"
    if len(digits) >= (2 if has_point else 3):
        yield " ".join(digits)
        yield " ".join("oh" if d == "zero" else d for d in digits)


def _decimal_ways(decimals: str) -> Iterator[str]:
    digits = [_DIGITS[int(d)] for d in decimals]
    yield " ".join(digits)
    yield " ".join("oh" if d == "zero" else d for d in digits)
    if len(decimals) == 2 and decimals[0] != "0":
        yield _cardinal(int(decimals), "")


def _cardinal(number: int, joint: str) -> str:
    if number < 20:
        return (_DIGITS + _TEENS)[number]
    if number < 100:
        tens, digit = divmod(number, 10)
        return _TENS[tens - 2] + (f" {_DIGITS[digit]}" if digit else "")
    size, word = (1000, "thousand") if number >= 1000 else (100, "hundred")
    many, below = divmod(number, size)
    tail = f" {joint if below < 100 else ''}{_cardinal(below, joint)}" if below else ""
    return f"{_cardinal(many, joint)} {word}{tail}"
