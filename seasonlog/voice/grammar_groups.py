"""A spoken reading cut into its parts: words of a name, then values, each with its line and unit where they were said.

Only what stands in the phrase is told here; which step it is for, and whether it can be, is decided in
`grammar_reading`.
"""

from dataclasses import dataclass, field

from seasonlog.voice.numbers import WORDS, is_numeral, starts_number
from seasonlog.voice.words import FILLERS, PAUSE

OVER = "OL"
_OVER = (("over", "range"), ("over", "limit"), ("over", "load"), ("o", "l"), ("ol",), ("infinity",),
         ("infinite",))  # fmt: skip
_BOUNDS = {
    ("more", "than"): ">", ("greater", "than"): ">", ("over",): ">", ("above",): ">", (">",): ">",
    ("less", "than"): "<", ("under",): "<", ("below",): "<", ("<",): "<",
}  # fmt: skip
_UNITS: dict[tuple[str, ...], str] = {
    ("amps",): "A", ("amperes",): "A", ("milliamps",): "mA", ("milli", "amps"): "mA",
    ("volts",): "V", ("v",): "V", ("volts", "ac"): "V", ("volts", "dc"): "V",
    ("ohms",): "ohm", ("ω",): "ohm", ("kilohms",): "kohm", ("kilo", "ohms"): "kohm", ("k", "ohms"): "kohm",
    ("megohms",): "Mohm", ("megohm",): "Mohm", ("meg", "ohms"): "Mohm", ("mega", "ohms"): "Mohm", ("mohm",): "Mohm",
    ("megaohms",): "Mohm", ("meg",): "Mohm", ("megs",): "Mohm", ("m", "ω"): "Mohm", ("mohms",): "Mohm",
    ("gigohms",): "Gohm", ("gig", "ohms"): "Gohm", ("giga", "ohms"): "Gohm", ("gigaohms",): "Gohm",
    ("degrees", "fahrenheit"): "degF", ("fahrenheit",): "degF", ("degrees", "f"): "degF", ("°", "f"): "degF",
    ("f",): "degF", ("degf",): "degF", ("degrees", "celsius"): "degC", ("celsius",): "degC", ("degrees", "c"): "degC",
    ("°", "c"): "degC", ("degc",): "degC", ("degrees", "centigrade"): "degC",
    ("degrees",): "degrees", ("degree",): "degrees", ("deg",): "degrees", ("°",): "degrees",
    ("seconds",): "s", ("second",): "s", ("s",): "s", ("minutes",): "min", ("minute",): "min", ("min",): "min",
    ("inches",): "in", ("inch",): "in", ("of", "an", "inch"): "in", ("an", "inch"): "in", ("in",): "in",
    ("millimeters",): "mm", ("millimetres",): "mm", ("mm",): "mm", ("percent",): "%", ("%",): "%",
}  # fmt: skip
"""What is said behind a number, and the unit as an answer takes it; `degrees` fits whichever the step has."""
_LINE = frozenset({"leg", "line", "phase", "t", "l"})
_BETWEEN = frozenset({"leg", "line", "phase", "legs", "lines", "phases"})
_FIRST = {"1": 0, "one": 0, "a": 0, "2": 1, "two": 1, "b": 1, "3": 2, "three": 2, "c": 2}
_ORDINAL = {"first": 0, "second": 1, "third": 2}
_PAIR = {(0, 1): 0, (1, 2): 1, (0, 2): 2}
_PART = frozenset({"half", "quarter", "hundred", "thousand"})
"""After these, `a` is `one`."""
_IGNORED = FILLERS | {"to", "a", "and"}
_JOINTS = frozenset(
    {
        "is",
        "was",
        "are",
        "reads",
        "read",
        "reading",
        "equals",
        "equal",
        "shows",
        "at",
        "measured",
        "value",
        "its",
        "um",
        "uh",
    }
)
"""May stand between a name and its number. `for`, `to` and `the` may not: `forty` and `four` were heard so."""
_AFTER = frozenset({"please", "now"})
"""May stand right behind a number."""


@dataclass(slots=True)
class Group:
    """One value as it was said."""

    words: list[str] = field(default_factory=list)
    """Words of the number, or `OL`."""
    bound: str = ""
    """`>` or `<` where it was said."""
    unit: str = ""
    is_ended: bool = False
    """Its unit was said behind it: a number that follows is another one."""
    line: int | None = None
    """From 0, where a line or pair was named."""
    is_pair: bool | None = None
    """The line was named as a pair of letters; None where it was named by its place: first, second."""


@dataclass(frozen=True, slots=True)
class Parts:
    """A phrase, cut."""

    name: tuple[str, ...]
    groups: tuple[Group, ...]
    behind: tuple[str, ...]
    """Those of its words that were said behind the last number."""
    is_all: bool
    """One value was said for all lines."""
    doubt: str
    """A small word beside a number that may be a number heard wrong; empty for none."""


def cut(words: tuple[str, ...], *, lines: bool, corrects: bool = False) -> Parts:
    """The parts of a phrase.

    Args:
        words: Tokens, synonyms replaced.
        lines: Legs, lines and phases may be named; else such words are part of a name.
        corrects: `to` may stand before the new value.
    """
    return _Cutter(words, lines=lines, joints=_JOINTS | {"to"} if corrects else _JOINTS).parts()


class _Cutter:
    """Reads a phrase from left to right; each `_take` takes what it knows at the place, or nothing."""

    def __init__(self, words: tuple[str, ...], *, lines: bool, joints: frozenset[str]) -> None:
        self.words = words
        self.lines = lines
        self.joints = joints
        self.doubt = ""
        self.at = 0
        self.name: list[str] = []
        self.groups = [Group()]
        self.before = 0

    def parts(self) -> Parts:
        takes = (self._take_all, self._take_line, self._take_pause, self._take_over, self._take_bound,
                 self._take_number, self._take_unit)  # fmt: skip
        while self.at < len(self.words):
            if not any(take() for take in takes):
                self._take_word()
        groups = tuple(g for g in self.groups if g.words or g.line is not None)
        return Parts(tuple(self.name), groups, tuple(self.name[self.before :]), "all" in self.name, self.doubt)

    def _take_all(self) -> bool:
        """`all three zero`: the three is no reading."""
        if self._ahead(2) not in (("all", "three"), ("all", "lines"), ("all", "legs"), ("all", "phases")):
            return False
        self.name.append("all")
        self.at += 2
        return True

    @property
    def group(self) -> Group:
        return self.groups[-1]

    def _ahead(self, size: int) -> tuple[str, ...]:
        return self.words[self.at : self.at + size]

    def _word(self, by: int = 0) -> str:
        return self.words[self.at + by] if 0 <= self.at + by < len(self.words) else ""

    def _take_line(self) -> bool:
        found = _line_at(self.words, self.at) if self.lines else None
        if found is None:
            return False
        if self.group.words or self.group.line is not None:
            self.groups.append(Group())
        self.group.line, self.group.is_pair, size = found
        self.at += size
        return True

    def _take_pause(self) -> bool:
        if self._word() != PAUSE and not (self._word() == "and" and not self._is_number()):
            return False
        if self.group.words and self._word() == "and" and (self._word(1),) in _UNITS:
            self.doubt = "and"  # `point oh one amps` was heard as `point 0 and amps`
        if self.group.words:
            self.groups.append(Group())
        self.at += 1
        return True

    def _take_over(self) -> bool:
        phrase = next((p for p in _OVER if self._ahead(len(p)) == p), None)
        if phrase is None or self.group.words:
            return False
        self.group.words.append(OVER)
        self.at += len(phrase)
        return True

    def _take_bound(self) -> bool:
        for size in (2, 1):
            sign = _BOUNDS.get(self._ahead(size))
            if sign and not self.group.words and starts_number(self._word(size)):
                self.group.bound = sign
                self.at += size
                return True
        return False

    def _take_number(self) -> bool:
        if not self._is_number():
            return False
        if self.group.is_ended:
            self.groups.append(Group())
        self.group.words.append(self._word())
        self.before = len(self.name)
        self.at += 1
        return True

    def _is_number(self) -> bool:
        word, after = self._word(), self._word(1)
        if word == "a":
            return after in _PART
        if word == "and":
            return bool(self.group.words) and (self._word(-1) in _PART - {"half"} or self._says_part(1))
        if word in ("oh", "o"):
            return bool(self.group.words) or after == "point"
        return is_numeral(word) or word in WORDS

    def _says_part(self, by: int) -> bool:
        return self._ahead(by + 2)[by:] in (("a", "half"), ("a", "quarter"), ("one", "quarter"), ("three", "quarters"))

    def _take_unit(self) -> bool:
        wanted = bool(self.group.words or self.group.line is not None) and not self.group.unit
        for size in (3, 2, 1) if wanted else ():
            unit = _UNITS.get(self._ahead(size))
            if unit or (size == 1 and self._is_letter_a()):
                self.group.unit, self.group.is_ended = unit or "A", bool(self.group.words)
                self.at += size
                return True
        return False

    def _is_letter_a(self) -> bool:
        """`21.6 A`, as typed."""
        return self._word() == "a" and bool(self.group.words) and self._word(1) in ("", PAUSE)

    def _take_word(self) -> None:
        """A word of a name. Numbers said before it belong to the name too, if values still follow."""
        word = self._word()
        if word not in _IGNORED:
            follows = any(is_numeral(w) or (starts_number(w) and w != "a") for w in self.words[self.at + 1 :])
            if follows and any(g.words for g in self.groups):
                self.name += [w for g in self.groups for w in g.words]
                self.groups = [Group()]
            self.name.append(word)
        elif self._is_doubtful(word):
            self.doubt = word
        self.at += 1

    def _is_doubtful(self, word: str) -> bool:
        """A small word right before or right behind a number, where it may itself be one that was heard wrong."""
        behind = bool(self.group.words) and not self.group.unit
        after = next((w for w in self.words[self.at + 1 :] if w not in _IGNORED), "")
        before = is_numeral(after) or starts_number(after)
        return (behind and word not in _AFTER) or (before and word not in self.joints)


def _line_at(words: tuple[str, ...], at: int) -> tuple[int, bool | None, int] | None:
    """The line or pair named at a place, whether it is a pair, and how many words it takes."""
    ordinal = _ORDINAL.get(words[at])
    if ordinal is not None and words[at + 1 : at + 2] and words[at + 1] in _LINE:
        return ordinal, None, 2
    lead = 1 if words[at] in _BETWEEN else 0
    pair = _pair_at(words, at + lead, lead=bool(lead))
    if pair is not None:
        return pair[0], True, pair[1] + lead
    if words[at] in _LINE and at + 1 < len(words) and words[at + 1] in _FIRST:
        return _FIRST[words[at + 1]], False, 2
    if words[at] in ("a", "b", "c") and at + 1 < len(words) and _letter_counts(words, at):
        return _FIRST[words[at]], False, 1
    return None


def _letter_counts(words: tuple[str, ...], at: int) -> bool:
    """A letter alone names a line where a number follows it; `a` only where it cannot be the article."""
    before, after = words[at - 1] if at else PAUSE, words[at + 1]
    is_article = words[at] == "a" and not (
        before == PAUSE or (before,) in _UNITS or is_numeral(before) or before in WORDS
    )
    return not is_article and after not in _PART and after != "a" and (is_numeral(after) or starts_number(after))


def _pair_at(words: tuple[str, ...], at: int, *, lead: bool) -> tuple[int, int] | None:
    """`A to B`, `A B`, `ab`; numbers only behind `phase`, `line` or `leg`, and with `to`."""
    here = words[at : at + 3]
    if here and here[0] in ("ab", "bc", "ca"):
        return ("ab", "bc", "ca").index(here[0]), 1
    has_to = len(here) == 3 and here[1] == "to"
    ends = (here[0], here[2]) if has_to else here[:2]
    if len(ends) < 2 or not all(end in _FIRST for end in ends):
        return None
    if not all(end in "abc" for end in ends) and not (lead and has_to and not any(end in "abc" for end in ends)):
        return None
    first, second = sorted(_FIRST[end] for end in ends)
    return (_PAIR[first, second], 3 if has_to else 2) if first != second else None
