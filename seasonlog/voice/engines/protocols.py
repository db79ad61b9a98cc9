"""What an engine must be able to do. Each has a real form and one in the tests, so that another can take its place."""

from collections.abc import Iterator
from typing import Protocol

from seasonlog.voice.engines.sound import Clip
from seasonlog.voice.hearing import Hearing


class Recogniser(Protocol):
    """Sound to words."""

    @property
    def name(self) -> str:
        """Name and version."""

    @property
    def model(self) -> str:
        """Name and hash of the model."""

    def hear(self, clip: Clip, prompts: tuple[str, str]) -> Hearing:
        """All likely ways a clip may be read.

        Args:
            clip: One phrase, at most 30 s.
            prompts: Two examples of what is said at this step, without any value of the visit.
        """


class Activity(Protocol):
    """Where somebody speaks."""

    frame_bytes: int
    """Bytes of one frame."""

    def chance(self, frame: bytes) -> float:
        """Chance that a frame holds speech, 0 to 1; frames come in order."""

    def restart(self) -> None:
        """Forget the frames before."""


class Microphone(Protocol):
    """A source of sound that goes on."""

    def frames(self, frame_bytes: int) -> Iterator[bytes]:
        """Frames in real time until `close` is called."""

    def close(self) -> None:
        """End the frames."""


class Speaker(Protocol):
    """Words to sound."""

    missing: str
    """Why it is silent and what to do; empty when it can speak."""

    @property
    def is_speaking(self) -> bool:
        """A sentence is being said."""

    def say(self, text: str) -> None:
        """Begin to say a sentence, in place of one not finished; returns at once."""

    def stop(self) -> None:
        """Be silent."""
