"""Names that a person could take for one another: `Tower 1` with a hidden character, a Cyrillic A in a Latin name.

A pair is a warning for whoever registers them, never a refusal: two towers may rightly be called `North`. The folding
follows the idea of UTS 39 (skeletons) with compatibility forms, case and unseen characters removed; the table of
look-alike letters is a small one of our own, from memory, not the published data.
"""

import unicodedata
from collections.abc import Iterable, Iterator

from seasonlog.domain.register_records import Record, word_of

_LETTERS = str.maketrans(
    "\u0430\u0435\u043e\u0440\u0441\u0443\u0445\u0456\u0458\u0455\u043a\u043c\u0442\u0432\u043d"  # Cyrillic
    "\u03b1\u03b5\u03b9\u03ba\u03bd\u03bf\u03c1\u03c4\u03c5\u03c7"  # Greek
    "0|1",
    "aeopcyxijskmtbh" + "aeikvoptux" + "oll",
)


def skeleton(name: str) -> str:
    """What is left of a name when everything the eye overlooks is taken away."""
    folded = unicodedata.normalize("NFKD", name).casefold()
    seen = "".join(each for each in folded if not unicodedata.category(each).startswith(("C", "M", "Z")))
    return seen.translate(_LETTERS)


def look_alikes(records: Iterable[Record]) -> list[tuple[Record, Record]]:
    """Pairs of records of one type whose ids look the same, or whose names do at one site or tower."""
    first: dict[tuple[str, str, str], Record] = {}
    pairs: dict[tuple[str, str, str], tuple[Record, Record]] = {}
    for each in records:
        for within, text in _looks(each):
            other = first.setdefault((word_of(each), within, text), each)
            if other.id != each.id:
                pairs[word_of(each), other.id, each.id] = other, each
    return list(pairs.values())


def _looks(record: Record) -> Iterator[tuple[str, str]]:
    yield "id", skeleton(record.id)
    if name := getattr(record, "name", None):
        yield getattr(record, "tower", getattr(record, "site", "")), skeleton(name)
