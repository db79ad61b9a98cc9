"""One utterance said to the program, and what the program did: taken, asked back, refused; right or wrong."""

import time
from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal, InvalidOperation
from functools import cached_property
from pathlib import Path

from seasonlog.domain.checklist import StepInstance
from seasonlog.domain.desk import Desk
from seasonlog.services.demo import healthy
from seasonlog.voice.engines.protocols import Recogniser
from seasonlog.voice.ground import ground_of
from seasonlog.voice.hearing import Hearing
from seasonlog.voice.intents import Answer, Ask, Command, Expecting, Ground, Intent, Judged, Refused, Taken, Word
from seasonlog.voice.prompts import example_prompts
from seasonlog.voice.tiers import judge
from tests.bench.voice.noise import in_noise
from tests.bench.voice.utterances import Utterance
from tests.bench.voice.voices import Voice, said
from tests.builders import TODAY, a_book, a_visit

TOWER, CHECKLIST = "HOS-2", "fall-enable"


@dataclass(frozen=True)
class Saying:
    """An utterance in a voice and in noise."""

    utterance: Utterance
    voice: Voice
    snr_db: float | None
    seed: int


@dataclass(frozen=True)
class Result:
    """What came of one saying."""

    saying: Saying
    tier: str
    """`taken`, `asked` or `refused`."""
    is_right: bool
    """What was taken or asked back is what was said."""
    would_pass: bool
    """A wrong value was taken, and it lies in the band."""
    heard: str
    noise_db: float | None
    seconds: float
    """From the end of the sound to the judgement [s]."""
    clip_s: float
    is_done: bool | None = None
    """After at most two sayings and truthful confirmations the right answer was in; None: not tried."""
    is_spoilt: bool = False
    """A wrong answer went in although the speaker confirmed truthfully."""


class Bench:
    """A visit just begun, and a recogniser."""

    def __init__(self, recogniser: Recogniser, folder: Path) -> None:
        self.recogniser = recogniser
        self.book = a_book(folder)
        self.at = a_visit(self.book, TOWER, CHECKLIST)
        self._grounds: dict[str, Ground] = {}

    def close(self) -> None:
        self.book.close()

    @cached_property
    def instances(self) -> Sequence[StepInstance]:
        return self.at.instances

    def middle(self, instance: StepInstance) -> str:
        """What a healthy heater reads."""
        found = healthy(self.at, instance, TODAY)
        return found if isinstance(found, str) else found[0]

    def ground(self, step: str) -> Ground:
        """The step on the screen, its gates open and its caution read."""
        if step not in self._grounds:
            self._grounds[step] = replace(ground_of(self.book, Desk(self.at, step)), expecting=Expecting.ANSWER)
        return self._grounds[step]

    def hear(self, saying: Saying, text: str, ground: Ground) -> tuple[Hearing, float]:
        clip = in_noise(said(saying.voice, text), saying.snr_db, saying.seed)
        started = time.perf_counter()
        hearing = self.recogniser.hear(clip, example_prompts(ground))
        return hearing, time.perf_counter() - started

    def once(self, saying: Saying) -> tuple[Result, Judged]:
        """Said once."""
        ground = self.ground(saying.utterance.step)
        hearing, _ = self.hear(saying, saying.utterance.text, ground)
        started = time.perf_counter()
        judged = judge(hearing, ground)
        took = _ + time.perf_counter() - started
        tier = {Taken: "taken", Ask: "asked", Refused: "refused"}[type(judged)]
        right = not isinstance(judged, Refused) and means(judged.intent, saying.utterance)
        slipped = isinstance(judged, Taken) and not right and passes(judged.intent, ground)
        return Result(saying, tier, right, slipped, hearing.best, hearing.noise_db, took, hearing.seconds), judged

    def told(self, saying: Saying) -> Result:
        """Said up to twice, every question answered truthfully, all of it heard through the noise."""
        first, judged = self.once(saying)
        state = self._after(saying, judged)
        if state == "open":
            again = replace(saying, seed=saying.seed + 500_000)
            state = self._after(again, self.once(again)[1])
        return replace(first, is_done=state == "right", is_spoilt=state == "wrong")

    def _after(self, saying: Saying, judged: Judged) -> str:
        """`right`, `wrong` or `open`."""
        if isinstance(judged, Refused):
            return "open"
        right = means(judged.intent, saying.utterance)
        if isinstance(judged, Ask):
            ground = replace(self.ground(saying.utterance.step), expecting=Expecting.CONFIRM, asked_back=judged.intent)
            if not self._confirmed(saying, ground, "yes" if right else "no"):
                return "open"
        return "right" if right else "wrong"

    def _confirmed(self, saying: Saying, ground: Ground, word: str) -> bool:
        """The word, said up to twice, was taken as yes."""
        for seed in (1, 2):
            hearing, _ = self.hear(replace(saying, seed=saying.seed + seed * 1_000_000), word, ground)
            answer = judge(hearing, ground)
            if isinstance(answer, Taken):
                return answer.intent == Command(Word.YES)
        return False


def means(intent: Intent, utterance: Utterance) -> bool:
    """The intent is what was said."""
    if utterance.raw is None:
        return False
    if utterance.kind == "command":
        return isinstance(intent, Command)
    if not isinstance(intent, Answer) or intent.step != utterance.step or intent.line != utterance.line:
        return False
    wanted = utterance.raw
    if isinstance(intent.raw, tuple) or isinstance(wanted, tuple):
        return _numbers(intent.raw) == _numbers(wanted)
    return intent.raw == wanted or _numbers(intent.raw) == _numbers(wanted) is not None


def _numbers(raw: str | tuple[str, ...]) -> list[Decimal] | None:
    try:
        return [Decimal(each.split()[0]) for each in ((raw,) if isinstance(raw, str) else raw)]
    except (InvalidOperation, IndexError):
        return None


def passes(intent: Intent, ground: Ground) -> bool:
    """Every value of an answer lies inside the limit, or it is the good answer."""
    if not isinstance(intent, Answer):
        return False
    step, numbers = ground.step, _numbers(intent.raw)
    if numbers is None:
        return intent.raw == step.expect
    low = step.limit_low if step.limit_low is not None else float("-inf")
    high = step.limit_high if step.limit_high is not None else float("inf")
    return all(low <= float(number) <= high for number in numbers)
