"""Engines made of nothing, that keep the same protocols as the real ones."""

import threading
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field

from seasonlog.voice.engines.sound import Clip
from seasonlog.voice.hearing import Hearing, Hypothesis


@dataclass
class ByteActivity:
    """A frame whose first byte is not zero holds speech."""

    frame_bytes: int = 1024
    restarts: int = 0

    def chance(self, frame: bytes) -> float:
        return 0.9 if frame[0] else 0.01

    def restart(self) -> None:
        self.restarts += 1


@dataclass
class TableRecogniser:
    """Hears what a table says of a clip's length in frames; a second engine, of another kind."""

    table: dict[int, str] = field(default_factory=dict)
    name: str = "table 1"
    model: str = "by hand"
    heard: list[tuple[Clip, tuple[str, str]]] = field(default_factory=list)

    def hear(self, clip: Clip, prompts: tuple[str, str]) -> Hearing:
        self.heard.append((clip, prompts))
        text = self.table.get(len(clip.pcm) // 1024, f"{len(clip.pcm) // 1024} frames")
        return Hearing((Hypothesis(text, -0.1, 0), Hypothesis(text, -0.1, 1)), self.name, self.model, clip.seconds)


class TapeMicrophone:
    """Plays frames, then waits to be closed."""

    def __init__(self, frames: Sequence[bytes], at_frame: Callable[[int], None] = lambda number: None) -> None:
        self.tape, self.at_frame = frames, at_frame
        self.played, self.closed = threading.Event(), threading.Event()

    def frames(self, frame_bytes: int) -> Iterator[bytes]:
        for number, frame in enumerate(self.tape):
            self.at_frame(number)
            yield frame
        self.played.set()
        self.closed.wait(5)

    def close(self) -> None:
        self.closed.set()


def tape(pattern: str) -> list[bytes]:
    """`..##..`: a frame for each sign, # with speech."""
    return [(b"\x40\x20" if sign == "#" else b"\0\0") * 512 for sign in pattern]
