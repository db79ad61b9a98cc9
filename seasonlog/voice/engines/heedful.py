"""A recogniser that is asked only when somebody speaks, and says how loud the noise was.

A recogniser of this size makes up words for a fan. What the voice finder calls silence is heard as nothing.
"""

from dataclasses import dataclass, replace

from seasonlog.voice.engines.activity import heed
from seasonlog.voice.engines.protocols import Activity, Recogniser
from seasonlog.voice.engines.sound import Clip
from seasonlog.voice.engines.wav import write_wav
from seasonlog.voice.hearing import Hearing


@dataclass(frozen=True, slots=True)
class Heedful:
    """A recogniser behind a voice finder."""

    recogniser: Recogniser
    activity: Activity
    keeps_clips: bool = False

    @property
    def name(self) -> str:
        """Name and version of the recogniser."""
        return self.recogniser.name

    @property
    def model(self) -> str:
        """Name and hash of its model."""
        return self.recogniser.model

    def hear(self, clip: Clip, prompts: tuple[str, str]) -> Hearing:
        """All likely ways a clip may be read; none where nobody spoke."""
        seen = heed(self.activity, clip)
        empty = Hearing((), self.name, self.model, clip.seconds)
        hearing = self.recogniser.hear(clip, prompts) if seen.is_speech else empty
        return replace(hearing, noise_db=seen.noise_db, clip=write_wav(clip) if self.keeps_clips else None)
