"""Numbers that a recogniser ran together. What was said and what was written stand side by side: seen of the packaged
model with neural and synthetic voices (`python -m tests.bench.voice`), none made up but where it says so."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seasonlog.voice.grammar import parse
from seasonlog.voice.intents import Answer, Ask, Ground, Refused
from seasonlog.voice.spelling import opened
from seasonlog.voice.tiers import judge
from tests.voice.test_tiers import both, grounds  # noqa: F401  (a fixture)

SEEN: tuple[tuple[str, str, str, str, int | None], ...] = (
    ("line_amps", "zero point six seven, point nine three, one point five", "0.67.93. 1.5.", "0.67 0.93 1.5", None),
    ("line_amps", "one point one, zero point five zero, point nine six", "1.10.50.96 amps.", "1.10 0.50 0.96", None),
    ("off_switch_amps", "point oh one, point zero one, point oh one", "0.01.01.01 amps.", "0.01 0.01 0.01", None),
    ("off_warm_volts", "one point one, point six oh, one point three", "1.1.601.3.", "1.1 0.60 1.3", None),
    (
        "off_low_level_volts",
        "point eight zero, one point zero, one point three",
        "0.8 0 1.0 1.3.",
        "0.80 1.0 1.3",
        None,
    ),
    ("line_amps", "leg one point nine three", "Leg 1.93.", "0.93", 0),
    ("off_switch_amps", "leg three point zero one", "leg 3.01.", "0.01", 2),
    ("line_amps", "leg one twenty one point six amps", "Leg 121.6 amps.", "21.6", 0),
    ("off_warm_amps", "line A point zero two", "Line of 0.02.", "0.02", 0),
    ("cut_out_degf", "point five oh", "0.5-0.", "0.50", None),
    ("coil_volts", "one hundred and one volts", "100 and 1 volts.", "101", None),
    ("trace_volts", "one hundred and thirteen", "100 in 13.", "113", None),
)


@pytest.mark.parametrize(("key", "said", "text", "value", "line"), SEEN, ids=[row[2] for row in SEEN])
def test_what_was_run_together_is_read_in_the_one_way_there_is(
    grounds: dict[str, Ground],  # noqa: F811
    key: str,
    said: str,
    text: str,
    value: str,
    line: int | None,
) -> None:
    """Written plainly it says the same; and however sure the hearing is, it is asked back."""
    raw = tuple(value.split()) if " " in value else value
    found, spoken = parse(text, grounds[key]), parse(said, grounds[key])
    assert found == Answer(key, raw, line)
    assert isinstance(spoken, Answer)
    assert [*map(float, _each(spoken.raw))] == [*map(float, _each(raw))]
    assert isinstance(judge(both(text), grounds[key]), Ask)


def test_the_question_says_why(grounds: dict[str, Ground]) -> None:  # noqa: F811
    judged = judge(both("Leg 121.6 amps."), grounds["line_amps"])
    assert isinstance(judged, Ask)
    assert judged.why == "its numbers were heard run together"


def _each(raw: str | tuple[str, ...]) -> tuple[str, ...]:
    return (raw,) if isinstance(raw, str) else raw


@pytest.mark.parametrize(
    ("key", "text"),
    [
        ("line_amps", "1.21.21.2"),  # 1.2 three times, or 1.21, 0.21, 0.2
        ("off_switch_amps", "0.01.01.01.01.01 amps."),
        ("trace_insulation_mohm", "26.9.8."),
        ("line_amps", "Leg 12."),  # leg twelve is nobody's leg: two digits say too little
        ("supply_volts", "425.481.497"),
        ("coil_volts", "1 to 11."),
        ("coil_volts", "300 and 20.5"),
        ("line_amps", "twenty one six"), ("line_amps", "thirty forty"), ("coil_volts", "thirty 40"),
    ],
)  # fmt: skip
def test_what_could_be_parted_in_two_ways_stays_refused(grounds: dict[str, Ground], key: str, text: str) -> None:  # noqa: F811
    assert isinstance(parse(text, grounds[key]), Refused)


def test_a_person_who_types_so_is_told(grounds: dict[str, Ground]) -> None:  # noqa: F811
    from dataclasses import replace

    for key, _, text, _, _ in SEEN:
        assert isinstance(parse(text, replace(grounds[key], typed=True)), Refused), text


@given(st.text(alphabet=" abcdefghijklmnopqrstuvwxyz,.'-", max_size=60))
def test_words_are_never_touched(text: str) -> None:
    assert opened(text) == text


@given(st.lists(st.decimals("0.01", "99.99", places=2).map(str), min_size=2, max_size=4))
def test_parting_loses_and_makes_up_no_digit(numbers: list[str]) -> None:
    for joint in ("", ".", " ", ", "):
        text = joint.join(numbers)
        assert opened(text).replace(" ", "").replace(",", "").replace(".", "") == text.replace(" ", "").replace(
            ",", ""
        ).replace(".", "")
