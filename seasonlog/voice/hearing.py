"""What an engine heard, before anybody decides what it means. A typed phrase is a hearing too, and a certain one."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

TYPED = "typed"
"""The engine's name when a person typed the phrase."""


@dataclass(frozen=True, slots=True)
class Hypothesis:
    """One way a clip may be read."""

    text: str
    log_prob: float
    """Natural logarithm of the decoder's probability of the whole text; only differences count."""
    prompt: int
    """Which decode it comes from, from 0: each has an example before it, and may have the sound slower or faster."""


@dataclass(frozen=True, slots=True)
class Hearing:
    """All ways one clip may be read, of all decodes."""

    hypotheses: tuple[Hypothesis, ...]
    engine: str
    """Name and version, or `typed`."""
    model: str
    """Name and hash of its model; empty when typed."""
    seconds: float
    """Length of the clip [s]."""
    noise_db: float | None = None
    """Speech over noise [dB], where it was measured."""
    clip: bytes | None = None
    """The clip itself as a WAV file, where the person wants it kept."""

    @property
    def is_typed(self) -> bool:
        """A person typed it: no sound can have been mistaken."""
        return self.engine == TYPED

    @property
    def best(self) -> str:
        """The likeliest text; empty where nothing was heard."""
        return max(self.hypotheses, key=lambda each: each.log_prob).text if self.hypotheses else ""


def typed(text: str) -> Hearing:
    """A phrase from the keyboard: one certain hypothesis."""
    return Hearing((Hypothesis(text, 0.0, 0),), TYPED, "", 0.0)


class Listener(Protocol):
    """A recogniser, as a screen drives it. It works in a thread of its own and hands over what it heard."""

    def start(self, heard: Callable[[Hearing], None], prompts: Callable[[], tuple[str, str]]) -> None:
        """Listen until `stop`. Both callables may be called from another thread.

        Args:
            heard: Called with each hearing.
            prompts: Gives the two example prompts of the step then on the screen.
        """

    def stop(self) -> None:
        """Stop listening; what was heard up to now is still handed over."""
