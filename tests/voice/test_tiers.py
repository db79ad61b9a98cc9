"""How sure is sure: the tiers hold for what was heard, never for what it is worth."""

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seasonlog.domain.checklist import StepKind
from seasonlog.domain.desk import Desk
from seasonlog.voice.grammar import parse
from seasonlog.voice.ground import ground_of
from seasonlog.voice.hearing import Hearing, Hypothesis, typed
from seasonlog.voice.intents import Answer, Ask, Command, Expecting, Ground, Refused, Taken, Word
from seasonlog.voice.tiers import crosses, judge, sounds_like
from tests.builders import a_book, a_visit


@pytest.fixture(scope="module")
def grounds(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Ground]:
    folder: Path = tmp_path_factory.mktemp("log")
    with a_book(folder) as book:
        at = a_visit(book, "HOS-1")
        found = {}
        for instance in at.instances:
            desk = Desk(at, instance.key)
            desk.read_caution()
            found[instance.key] = replace(ground_of(book, desk), expecting=Expecting.ANSWER)
        return found


def heard(*texts: tuple[str, float, int]) -> Hearing:
    return Hearing(tuple(Hypothesis(*each) for each in texts), "test engine", "test model", 1.5, noise_db=30.0)


def both(text: str, other: str = "something else entirely", gap: float = 3.0) -> Hearing:
    """Both prompts hear the same, the runner-up less likely by `gap` in logarithms."""
    return heard((text, -1.0, 0), (other, -1.0 - gap, 0), (text, -1.2, 1), (other, -1.2 - gap, 1))


def with_limit(ground: Ground, low: float, high: float) -> Ground:
    step = replace(ground.step, edges=(low, high), limit_low=low, limit_high=high)
    return replace(ground, steps=tuple(step if s.key == step.key else s for s in ground.steps), names=())


def test_both_prompts_and_sure_is_taken(grounds: dict[str, Ground]) -> None:
    found = judge(both("twenty one point six"), with_limit(grounds["line_amps"], 19.5, 22.4))
    assert isinstance(found, Taken)
    assert found.intent == Answer("line_amps", "21.6", 0)
    assert found.posterior > 0.9


def test_one_prompt_alone_is_asked_back(grounds: dict[str, Ground]) -> None:
    one = heard(("twenty one point six", -1.0, 0))
    other = heard(("twenty one point six", -1.0, 0), ("twenty two point six", -1.0, 1))
    assert isinstance(judge(one, grounds["line_amps"]), Ask)
    assert isinstance(judge(other, grounds["line_amps"]), Ask)


def test_a_narrow_lead_is_asked_back_and_none_is_refused(grounds: dict[str, Ground]) -> None:
    narrow = both("twenty one point six", "twenty two point six", gap=0.3)
    assert isinstance(judge(narrow, grounds["line_amps"]), Ask)
    texts = [f"{tens} {digit}" for tens in ("twenty", "thirty", "forty") for digit in ("one", "two", "three", "six")]
    flat = heard(*((f"{text} point six", -1.0, prompt) for text in texts for prompt in (0, 1)))
    assert isinstance(judge(flat, grounds["line_amps"]), Refused)


def test_what_cannot_be_is_refused_however_sure(grounds: dict[str, Ground]) -> None:
    assert isinstance(judge(both("two thousand one hundred"), grounds["line_amps"]), Refused)


@given(st.integers(100, 3000), st.booleans())
def test_the_tier_does_not_depend_on_the_verdict(grounds: dict[str, Ground], tenths: int, sure: bool) -> None:
    """The same hearing under a limit that passes it and one that fails it, both edges out of earshot: one tier."""
    text = f"{tenths / 10:.1f}"
    value = float(text)
    hearing = both(text, "never mind", gap=3.0 if sure else 0.1)
    wide = with_limit(grounds["line_amps"], -5000.0, 5000.0)
    above = with_limit(grounds["line_amps"], 5000.0, 6000.0)
    assert -5000 < value < 5000
    assert type(judge(hearing, wide)) is type(judge(hearing, above))


@given(st.integers(0, 999), st.integers(0, 999))
def test_a_value_near_a_limit_in_sound_is_asked_back_from_either_side(
    grounds: dict[str, Ground], tenths: int, edge: int
) -> None:
    """If one value sounds like another across an edge, so does the other like the one."""
    low = edge / 10 + 0.05
    ground = with_limit(grounds["line_amps"], low, 5000.0)
    text = f"{tenths / 10:.1f}"
    for other in sounds_like(text):
        if (float(text) > low) != (float(other) > low):
            assert crosses(Answer("line_amps", text, 0), ground.step)
            assert text in set(sounds_like(other))
            assert crosses(Answer("line_amps", other, 0), ground.step)


@pytest.mark.parametrize(("one", "other"), [("40", "14"), ("15", "50"), ("480", "418"), ("49", "45"), ("21.6", "21.7")])
def test_the_confusions_are_known_both_ways(one: str, other: str) -> None:
    """Forty and fourteen, one digit: measured with small recognisers; five and nine: from memory."""
    assert other in set(sounds_like(one))
    assert one in set(sounds_like(other))


@pytest.mark.parametrize(
    ("words", "text"), [("four eighty eight", "488"), ("forty eight", "48"), ("four eighty", "480")]
)
def test_a_lost_last_digit_is_asked_back_on_either_side(grounds: dict[str, Ground], words: str, text: str) -> None:
    """Seen in the bench: "C to A four eighty eight volts", without noise, was 48 to both decodes."""
    ground = with_limit(grounds["supply_volts"], 432.0, 504.0)
    found = judge(both(f"C to A {words} volts"), ground)
    assert isinstance(found, Ask)
    assert found.intent == Answer("supply_volts", text, 2)
    assert found.why == "a sound away from the other side of a limit"
    assert isinstance(judge(both("C to A four eighty two volts"), ground), Taken)


@pytest.mark.parametrize("text", ["Line C 1.2 amps.", "Line C 0.8 amps."])
def test_a_decimal_that_is_often_heard_wrong_is_asked_back(grounds: dict[str, Ground], text: str) -> None:
    """Seen in the bench without noise: "one point oh" was 1.2, "zero point eight nine" 0.8 to both decodes."""
    found = judge(both(text), grounds["line_amps"])
    assert isinstance(found, Ask)
    assert found.why == "its last decimal is often heard wrong"
    for other in ("1.3", "1.25", "2.1", "0.85", "0"):
        assert isinstance(judge(both(f"Line C {other} amps."), grounds["line_amps"]), Taken), other


def test_forty_beside_a_limit_of_thirty_is_asked_back_on_either_side(grounds: dict[str, Ground]) -> None:
    ground = with_limit(grounds["line_amps"], 30.0, 300.0)
    for words in ("forty", "fourteen"):
        found = judge(both(words), ground)
        assert isinstance(found, Ask)
        assert "other side" in found.why
    assert isinstance(judge(both("two hundred"), ground), Taken)


def test_cut_in_and_cut_out_are_always_asked_back(grounds: dict[str, Ground]) -> None:
    for key, words in (("cut_in_degf", "sixty two"), ("cut_out_degf", "cut out sixty two")):
        found = judge(both(words), grounds[key])
        assert isinstance(found, Ask), key


def test_another_step_a_correction_and_words_are_asked_back(grounds: dict[str, Ground]) -> None:
    ground = grounds["line_amps"]
    for words in (
        "glue",
        "supply volts a to b two hundred",
        "skip because the deck is iced",
        "note the strainer is worn",
    ):
        found = judge(both(words), ground)
        assert isinstance(found, Refused if words == "glue" else Ask), words
    assert isinstance(judge(both("write the north lock stays on"), grounds["handover"]), Ask)


def test_stop_is_heard_in_every_state_even_when_unsure(grounds: dict[str, Ground]) -> None:
    for expecting in Expecting:
        ground = replace(grounds["basin_clean"], expecting=expecting)
        assert judge(both("stop, not safe"), ground).intent == Command(Word.STOP)  # type: ignore[union-attr]
        unsure = heard(("stop not safe", -1.0, 0), ("top note seven", -1.1, 0), ("top not save", -1.0, 1))
        assert isinstance(judge(unsure, ground), Ask)


def test_pass_heard_as_yes_answers_nothing(grounds: dict[str, Ground]) -> None:
    ground = grounds["basin_clean"]
    assert isinstance(judge(both("yes"), ground), Refused)
    assert isinstance(judge(both("no"), ground), Refused)
    assert isinstance(judge(both("pass"), replace(ground, expecting=Expecting.CONFIRM)), Refused)
    assert isinstance(judge(both("pass"), ground), Taken)


def test_a_typed_phrase_cannot_have_been_misheard(grounds: dict[str, Ground]) -> None:
    for key, text in (("cut_in_degf", "40"), ("line_amps", "A 40 B 14 C 50"), ("basin_clean", "yes")):
        assert isinstance(judge(typed(text), grounds[key]), Taken)
    assert isinstance(judge(typed("stop, not safe"), grounds["line_amps"]), Ask)


STRAY = [
    "hand me the wrench", "the ball game is on tonight", "watch your step there", "is it going to rain", "thank you",
    "subscribe to my channel", "you", "that fan is loud", "coffee", "where did you park", "all right then",
]  # fmt: skip


@pytest.mark.parametrize("text", STRAY)
def test_talk_beside_the_work_means_nothing_at_any_step(grounds: dict[str, Ground], text: str) -> None:
    for ground in grounds.values():
        found = parse(text, ground)
        assert isinstance(found, Refused), (ground.current, found)


def test_no_kind_of_step_takes_another_kind_s_words(grounds: dict[str, Ground]) -> None:
    for ground in grounds.values():
        if ground.step.kind is StepKind.YES_NO:
            assert not isinstance(parse("twenty one point six", ground), Answer)
        if ground.step.kind in (StepKind.READING, StepKind.THREE_LINES):
            assert not isinstance(parse("pass", ground), Answer)
