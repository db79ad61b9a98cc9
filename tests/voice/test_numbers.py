"""Numbers as the trade says them: what is said is read back, and what could be two things is refused.

Source of the forms: common practice, no source. Every form the speller knows is read back and compared as a decimal,
exactly; the forms a person would write down by hand stand in a list of their own.
"""

import random
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seasonlog.voice.numbers import read_number, say_number, three_in_one_breath, ways

DECIMALS = st.one_of(st.just(""), st.text("0123456789", min_size=1, max_size=3).map(lambda d: f".{d}"))
WHOLES = st.one_of(st.integers(0, 999), st.integers(0, 99_999))
TEXTS = st.builds(lambda sign, whole, tail: f"{sign}{whole}{tail}", st.sampled_from(["", "-"]), WHOLES, DECIMALS)


def read(words: str) -> str | None:
    return read_number(tuple(words.split()))


def holds_in_every_form(text: str) -> int:
    """Each way of saying a value reads back as that value; how many ways there are."""
    forms = ways(text)
    for words in forms:
        found = read(words)
        assert found is not None, (text, words)
        assert Decimal(found) == Decimal(text), (text, words, found)
    assert read(say_number(text)) is not None
    return len(forms)


@given(TEXTS)
def test_every_form_of_a_value_reads_back_as_the_value(text: str) -> None:
    holds_in_every_form(text)


def test_a_few_thousand_values_in_every_form() -> None:
    draw = random.Random(7)
    values = [f"{draw.randrange(100_000)}" for _ in range(500)]
    values += [f"{draw.randrange(1000)}.{draw.randrange(100):02d}" for _ in range(500)]
    values += [str(n) for n in range(1300)]
    assert sum(map(holds_in_every_form, values)) > 8000


@pytest.mark.long
def test_a_hundred_thousand_values_in_every_form() -> None:
    assert sum(holds_in_every_form(str(n)) for n in range(100_000)) > 300_000
    assert sum(holds_in_every_form(f"{n // 100}.{n % 100:02d}") for n in range(100_000)) > 300_000


def test_no_two_values_share_a_form() -> None:
    """A form that two values had would be ambiguous: over all whole values below 10,000 there is none."""
    seen: dict[str, str] = {}
    for n in range(10_000):
        for words in ways(str(n)):
            assert seen.setdefault(words, str(n)) == str(n), (words, n, seen[words])


@pytest.mark.parametrize(
    ("words", "value"),
    [
        ("twenty one point six", "21.6"), ("four eighty", "480"), ("four eighty two", "482"), ("one oh five", "105"),
        ("point eight five", "0.85"), ("minus four", "-4"), ("twenty one point oh five", "21.05"),
        ("forty nine and a half", "49.5"), ("eighty five hundred", "8500"), ("two four zero", "240"),
        ("four hundred and eighty", "480"), ("a hundred and five", "105"), ("one twenty", "120"),
        ("twelve hundred", "1200"), ("two and a quarter", "2.25"), ("three quarters", "0.75"), ("half", "0.5"),
        ("two one point six", "21.6"), ("four eighty two point five", "482.5"), ("oh point nine", "0.9"),
        ("21.6", "21.6"), (".85", "0.85"), ("21 point 6", "21.6"), ("4 82", "482"), ("zero", "0"),
        ("negative four point five", "-4.5"), ("point oh five", "0.05"), ("point eighty five", "0.85"),
        ("one hundred twenty point three", "120.3"), ("ten thousand", "10000"),
        ("twelve thousand five hundred", "12500"),
    ],
)  # fmt: skip
def test_the_trade_s_forms(words: str, value: str) -> None:
    assert read(words) == value


@pytest.mark.parametrize(
    "words",
    [
        "twenty one six", "thirty forty", "thirty four ty", "two one", "twenty one twenty", "oh five", "zero five",
        "twenty hundred", "five hundred thousand", "one hundred hundred", "point", "and", "twenty zero",
        "twenty eleven", "twelve fifty", "twenty one point six point two", "fifty sixty seven", "for the", "two to",
        "twenty one point six twenty", "one point", "four and eighty", "minus", "minus minus four", "007", "1.2345",
        "123456", "twenty one point", "eighty five hundred hundred", "point five hundred", "nine ninety nine nine",
        "five and a", "half half", "forty teen", "one two three four five six", "",
    ],
)  # fmt: skip
def test_what_is_ambiguous_or_no_number_is_refused_and_never_mended(words: str) -> None:
    assert read(words) is None


@given(
    st.lists(
        st.sampled_from(
            [
                "one",
                "two",
                "twenty",
                "thirty",
                "four",
                "oh",
                "point",
                "hundred",
                "and",
                "a",
                "half",
                "minus",
                "teen",
                "six",
            ]
        ),
        max_size=9,
    )
)
def test_whatever_words_come_nothing_breaks(words: list[str]) -> None:
    found = read_number(tuple(words))
    assert found is None or Decimal(found) == Decimal(found)


def test_two_pairs_of_tens_cannot_be_told_apart() -> None:
    """`four eighty four eighty one ...`: 480, 481 or 484, 81."""
    assert len(three_in_one_breath(["four", "eighty", "four", "eighty", "one", "four", "seventy", "nine"])) == 2
    assert three_in_one_breath(
        ["twenty", "one", "point", "six", "twenty", "one", "point", "nine", "twenty", "one", "point", "four"]
    ) == {("21.6", "21.9", "21.4")}


@given(st.tuples(*[st.integers(10, 999).map(lambda n: f"{n / 10:.1f}")] * 3))
def test_three_readings_with_decimals_in_one_breath_are_themselves_or_refused(texts: tuple[str, str, str]) -> None:
    words = [word for text in texts for word in say_number(text).split()]
    found = three_in_one_breath(words)
    assert texts in found


def test_spoken_words_for_what_is_no_plain_number() -> None:
    assert say_number("OL") == "over range"
    assert say_number(">2000") == "more than two thousand"
    assert say_number("-0.5") == "minus zero point five"
