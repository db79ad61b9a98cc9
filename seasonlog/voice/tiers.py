"""How sure a hearing is, and what follows: done and read back, asked back, or "say again".

The rule was measured on synthetic voices in fan-like noise (tests/bench/voice): every decode agrees, the posterior over
the readings is 0.7 or more, no other meaning has a share worth naming, and the voice is 15 dB over the noise. It asks
how sure the hearing is, never whether the value passes: a value is asked back on either side of a limit alike. The only
gate on a value is what can be at all, and that stands in the grammar.
"""

import math
import re
from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from seasonlog.domain.answers import OVER_RANGE, Unfit, decimal_text
from seasonlog.domain.checklist import StepKind
from seasonlog.voice.grammar import is_opened, parse
from seasonlog.voice.hearing import Hearing
from seasonlog.voice.intents import (
    Answer,
    Ask,
    AskedStep,
    Command,
    Go,
    Ground,
    Intent,
    Judged,
    Note,
    Refused,
    Skip,
    Taken,
    Word,
)
from seasonlog.voice.naming import table_of
from seasonlog.voice.words import word_list

SURE = 0.7
"""Posterior from which a reading that all decodes agree on is taken."""
RIVAL = 0.02
"""Share of another meaning from which it is asked back: "one point oh" was heard as 1.2 with 0.9, and 1.0 with 0.07."""
QUIET_DB = 15.0
"""Voice over noise from which an answer may be taken unasked [dB]; below, a model agrees with itself when wrong too."""
CLEAR = 0.7
"""Posterior from which a command, or yes and no to a question, is followed."""
PLAUSIBLE = 0.1
"""Posterior from which a reading is worth asking back: in noise the right one often has no more."""
STOPS = 0.25
"""Posterior from which "stop, not safe" halts the visit, and a no to a question is followed."""
HARMLESS = 0.5
"""Posterior from which a command that writes nothing is followed."""
_LAST_DECIMAL = re.compile(r"\.2\b|^-?0\.\d\b")
"""One decimal, heard wrong without a doubt in either decode: "one point oh" as 1.2, "zero point eight nine" as 0.8."""
_WRITES_NOTHING = frozenset(
    {Word.BACK, Word.NEXT, Word.REPEAT, Word.LIMIT, Word.READ_BACK, Word.HOW_MANY, Word.WHAT_NOW, Word.LISTEN_OFF,
     Word.HELP}
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Vote:
    """What the hypotheses of one prompt say together."""

    shares: Mapping[Intent, float]
    """Intent to its share of the probability, refused texts included in the whole."""
    texts: Mapping[Intent, str]
    """The likeliest text of each."""

    @property
    def first(self) -> Intent | None:
        """The likeliest intent."""
        return max(self.shares, key=lambda each: self.shares[each], default=None)


def judge(hearing: Hearing, ground: Ground) -> Judged:
    """What a hearing is worth at this place.

    Args:
        hearing: All ways a clip may be read, or a typed phrase.
        ground: What may be said now.
    """
    if not hearing.hypotheses:
        return Refused("nothing was heard", is_stray=True)
    if hearing.is_typed:
        return _typed(hearing.best, replace(ground, typed=True))
    votes = votes_of(hearing, ground)
    shares, texts = _pooled(votes)
    stop = Command(Word.STOP)
    if shares.get(stop, 0.0) >= STOPS or any(vote.first == stop for vote in votes):
        return Ask(stop, texts[stop], shares[stop], "it ends the visit")
    if not shares:
        return _nothing(hearing, ground)
    intent = max(shares, key=lambda each: shares[each])
    agree = len(votes) > 1 and all(vote.first == intent for vote in votes)
    rival = max((share for other, share in shares.items() if other != intent), default=0.0)
    doubt = _doubt(hearing, shares[intent], rival) if agree else "not sure"
    if any(intent in vote.texts and is_opened(vote.texts[intent], ground) for vote in votes):
        doubt = doubt or "its numbers were heard run together"
    return _tier(Taken(intent, texts[intent], shares[intent]), ground, doubt, agree=agree)


def _typed(text: str, ground: Ground) -> Judged:
    found = parse(text, ground)
    if isinstance(found, Refused):
        return found
    if found == Command(Word.STOP):
        return Ask(found, text, 1.0, "it ends the visit")
    return Taken(found, text, 1.0)


def votes_of(hearing: Hearing, ground: Ground) -> list[Vote]:
    """What each prompt's hypotheses say, by prompt."""
    by_prompt = defaultdict(list)
    for each in hearing.hypotheses:
        by_prompt[each.prompt].append(each)
    votes = []
    for prompt in sorted(by_prompt):
        hypotheses = sorted(by_prompt[prompt], key=lambda each: -each.log_prob)
        best = hypotheses[0].log_prob
        weights = [math.exp(each.log_prob - best) for each in hypotheses]
        shares: dict[Intent, float] = {}
        texts: dict[Intent, str] = {}
        for each, weight in zip(hypotheses, weights, strict=True):
            found = parse(each.text, ground)
            if not isinstance(found, Refused):
                shares[found] = shares.get(found, 0.0) + weight / sum(weights)
                texts.setdefault(found, each.text)
        votes.append(Vote(shares, texts))
    return votes


def _pooled(votes: list[Vote]) -> tuple[dict[Intent, float], dict[Intent, str]]:
    shares: dict[Intent, float] = {}
    texts: dict[Intent, str] = {}
    for vote in votes:
        for intent, share in vote.shares.items():
            shares[intent] = shares.get(intent, 0.0) + share / len(votes)
            texts.setdefault(intent, vote.texts[intent])
    return shares, texts


def _nothing(hearing: Hearing, ground: Ground) -> Refused:
    """Why the likeliest text means nothing. Talk beside the work is stray, a number that cannot be read is not."""
    refusals = [parse(each.text, ground) for each in hearing.hypotheses]
    told = [each for each in refusals if isinstance(each, Refused)]
    return next((each for each in told if not each.is_stray), told[0])


def _doubt(hearing: Hearing, share: float, rival: float) -> str:
    """Why an answer on which all decodes agree is still not taken unasked; empty when it may be."""
    if share < SURE or rival >= RIVAL:
        return "not sure"
    loud = hearing.noise_db is None or hearing.noise_db < QUIET_DB
    return "it is noisy here" if loud else ""


def _tier(heard: Taken, ground: Ground, doubt: str, *, agree: bool) -> Judged:
    intent, share = heard.intent, heard.posterior
    if isinstance(intent, Go) or (isinstance(intent, Command) and intent.word in _WRITES_NOTHING):
        return heard if share >= HARMLESS else Refused("say that again")
    if intent == Command(Word.NO):
        return heard if share >= STOPS else Refused("say that again")
    if isinstance(intent, Command) and intent.word is not Word.UNDO:
        return heard if agree and share >= CLEAR else Refused("say that again")
    why = why_asked(intent, ground) or doubt
    if not why:
        return heard
    return Ask(intent, heard.text, share, why) if share >= PLAUSIBLE else Refused("say that again")


def why_asked(intent: Intent, ground: Ground) -> str:
    """Why something that was heard is asked back however sure the hearing is; empty when it need not be."""
    if isinstance(intent, Skip | Note):
        return "words, as heard"
    if not isinstance(intent, Answer):
        return ""
    if intent.corrects:
        return "it corrects what was saved"
    if intent.step != ground.current:
        return "it is for another step"
    step = ground.step
    if step.kind is StepKind.TEXT:
        return "words, as heard"
    table = table_of(ground)
    if table.read_back & {*table.plain(word_list(step.title))}:
        return "one small word turns it into another"
    if any(_LAST_DECIMAL.search(text) for text in _texts(intent)):
        return "its last decimal is often heard wrong"
    return "a sound away from the other side of a limit" if crosses(intent, step) else ""


def _texts(answer: Answer) -> tuple[str, ...]:
    return (answer.raw,) if isinstance(answer.raw, str) else answer.raw


def crosses(answer: Answer, step: AskedStep) -> bool:
    """A value that sounds like this one lies on the other side of an edge of the limit; the same from either side."""
    others = ((text, other) for text in _texts(answer) for other in sounds_like(text) if _can_be(other, step))
    return any(_zone(other, step) != _zone(text, step) for text, other in others)


def _can_be(text: str, step: AskedStep) -> bool:
    value = decimal_text(text, step.unit)
    return isinstance(value, Unfit) or value == OVER_RANGE or step.least <= float(value) <= step.most


def _zone(text: str, step: AskedStep) -> int:
    value = decimal_text(text, step.unit) if text != OVER_RANGE else OVER_RANGE
    return 0 if isinstance(value, Unfit) or value == OVER_RANGE else bisect_left(step.edges, float(value))


def sounds_like(text: str) -> Iterator[str]:
    """Values taken for this one in noise: forty and fourteen, five and nine, the last digit off by one or lost.

    Args:
        text: Decimal text, with or without a unit; what is no number has none.
    """
    number, _, unit = text.lstrip("<>").partition(" ")
    whole, point, decimals = number.removeprefix("-").partition(".")
    if not whole.isdigit():
        return
    tail = f" {unit}" if unit else ""
    sign = "-" if number.startswith("-") else ""
    for other in (*_teens(whole), *([] if decimals else _hundreds(whole))):
        yield f"{sign}{other}{point}{decimals}{tail}"
    digits = whole + decimals
    for at, digit in enumerate(digits):
        if digit in "59":
            yield _placed(sign, digits[:at] + ("9" if digit == "5" else "5") + digits[at + 1 :], len(decimals)) + tail
    for step in (-1, 1):
        value = int(digits) + step
        if value >= 0:
            yield _placed(sign, str(value).zfill(len(digits)), len(decimals)) + tail


def _teens(whole: str) -> Iterator[str]:
    """`40` for `14` and the other way round, also at the end of a longer number."""
    head, last = whole[:-2], whole[-2:]
    if len(last) == 2 and last[0] in "3456789" and last[1] == "0":
        yield f"{head}1{last[0]}"
    if len(last) == 2 and last[0] == "1" and last[1] in "3456789":
        yield f"{head}{last[1]}0"


def _hundreds(whole: str) -> Iterator[str]:
    """`488` and `480` for `48`, and the other way round: "four eighty eight" was written so, sure and twice."""
    if len(whole) == 2:
        yield f"{whole[0]}{whole}"
    if len(whole) == 2 and whole[1] != "0":
        yield from (f"{whole}0", f"{whole}{whole[1]}")
    if len(whole) == 3 and whole[1] != "0" and whole[2] in ("0", whole[1]):
        yield whole[:2]
    if len(whole) == 3 and whole[0] == whole[1]:
        yield whole[1:]


def _placed(sign: str, digits: str, places: int) -> str:
    whole = (digits[:-places] if places else digits).lstrip("0") or "0"
    return f"{sign}{whole}.{digits[-places:]}" if places else f"{sign}{whole}"
