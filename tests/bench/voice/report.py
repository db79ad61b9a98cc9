"""The results in tables, and the floors they are held against."""

import statistics
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass

from tests.bench.voice.trial import Result

LEVELS = (None, 20, 10, 5, 0)


@dataclass(frozen=True)
class Floor:
    """One promise, and what was measured."""

    name: str
    measured: float
    floor: float
    at_most: bool = False

    @property
    def is_met(self) -> bool:
        return self.measured <= self.floor if self.at_most else self.measured >= self.floor


def tables(results: Sequence[Result]) -> Iterator[str]:
    """Per family and level, per voice, per kind of step: how many were right on first saying, taken, asked, refused."""
    said = [r for r in results if r.saying.utterance.raw is not None]
    yield from _table("family, noise", said, lambda r: (r.saying.voice.family, _level(r)))
    yield from _table("voice", said, lambda r: (r.saying.voice.name,))
    yield from _table("kind of step", said, lambda r: (r.saying.utterance.kind,))
    other = [r for r in results if r.saying.utterance.raw is None]
    tiers = Counter(r.tier for r in other)
    yield f"other people's talk: {tiers['refused']} refused, {tiers['asked']} asked back, {tiers['taken']} taken"


def _level(result: Result) -> str:
    return "clean" if result.saying.snr_db is None else f"{result.saying.snr_db:2.0f} dB"


def _table(title: str, results: Sequence[Result], key: Callable[[Result], tuple[str, ...]]) -> Iterator[str]:
    columns = ("right %", "taken %", "asked %", "wrongly", "refused")
    yield f"{title:34} {'n':>5} {' '.join(f'{column:>8}' for column in columns)}  TAKEN WRONG"
    for row in sorted({key(r) for r in results}):
        mine = [r for r in results if key(r) == row]
        count = Counter((r.tier, r.is_right) for r in mine)
        right = count["taken", True] + count["asked", True]
        parts = (right, count["taken", True], count["asked", True], count["asked", False], count["refused", False])
        shares = " ".join(f"{100 * part / len(mine):8.0f}" for part in parts)
        yield f"{' '.join(row):34} {len(mine):5} {shares} {count['taken', False]:12}"


def floors(results: Sequence[Result]) -> Iterator[Floor]:
    """What the program promises, and what it did."""
    said = [r for r in results if r.saying.utterance.raw is not None and r.saying.utterance.kind != "command"]
    for snr_db in LEVELS[:3]:
        natural = _of(said, lambda r, snr_db=snr_db: r.saying.voice.family == "piper" and r.saying.snr_db == snr_db)
        yield Floor(f"neural voice right, {snr_db or 'clean'} dB", _right(natural), 0.93)
    festival = _of(said, lambda r: r.saying.voice.family == "festival" and r.saying.snr_db == 10)
    yield Floor("festival right, 10 dB", _right(festival), 0.80)
    yield Floor("all voices right, clean", _right(_of(said, lambda r: r.saying.snr_db is None)), 0.88)
    quiet = _of(said, lambda r: r.saying.voice.family == "piper" and r.saying.snr_db in (None, 20))
    yield Floor(
        "neural voice taken without a question, clean and 20 dB", _share(quiet, lambda r: r.tier == "taken"), 0.5
    )
    yield Floor("wrong and taken", sum(r.tier == "taken" and not r.is_right for r in results), 0, at_most=True)
    yield Floor("wrong, taken and passing", sum(r.would_pass for r in results), 0, at_most=True)
    tried = [r for r in said if r.is_done is not None]
    if tried:
        ten = _of(tried, lambda r: r.saying.voice.family == "piper" and r.saying.snr_db == 10)
        yield Floor("neural voice done in two sayings, 10 dB", _share(ten, lambda r: bool(r.is_done)), 0.97)
        yield Floor("wrong in the log though confirmed truthfully", sum(r.is_spoilt for r in tried), 0, at_most=True)


def speed(results: Sequence[Result]) -> Iterator[Floor]:
    """Times of this run; they mean something on a quiet machine only."""
    yield Floor(
        "end of speech to judgement, middle [s]", statistics.median(r.seconds for r in results), 1.2, at_most=True
    )
    pace = sum(r.seconds for r in results) / sum(r.clip_s for r in results)
    yield Floor("seconds a second of sound", pace, 0.5, at_most=True)


def _of(results: Iterable[Result], which: Callable[[Result], bool]) -> list[Result]:
    return [r for r in results if which(r)]


def _right(results: Sequence[Result]) -> float:
    return _share(results, lambda r: r.is_right)


def _share(results: Sequence[Result], which: Callable[[Result], bool]) -> float:
    return sum(map(which, results)) / len(results) if results else float("nan")
