"""Listens in threads of its own, one that takes frames and one that recognises; the screen's thread waits for neither.

Hands-free, a phrase ends with a pause. Push-to-talk, it lasts from `start` to `stop`. While the app itself speaks,
nothing is listened to.
"""

import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from queue import SimpleQueue

from seasonlog.voice.engines.activity import Phrases
from seasonlog.voice.engines.protocols import Activity, Microphone, Recogniser
from seasonlog.voice.engines.sound import LONGEST_S, RATE_HZ, Clip
from seasonlog.voice.hearing import Hearing

Heard = Callable[[Hearing], None]
Prompts = Callable[[], tuple[str, str]]
_MOST_BYTES = int(LONGEST_S * RATE_HZ) * 2


@dataclass(slots=True)
class MicrophoneListener:
    """A microphone, a voice finder and a recogniser put together. `start` and `stop` may be called again and again."""

    microphone: Callable[[], Microphone]
    """Opens it anew for each `start`."""
    activity: Callable[[], Activity]
    recogniser: Callable[[], Recogniser]
    """Called once, in the recognising thread: loading takes a second or two."""
    hands_free: bool = True
    is_muted: Callable[[], bool] = lambda: False
    failed: Callable[[str], None] = lambda says: None
    """Told with one sentence when listening ended by itself."""
    _open: Microphone | None = None
    _clips: "SimpleQueue[Clip]" = field(default_factory=SimpleQueue)
    _worker: threading.Thread | None = None
    _heard: Heard = lambda hearing: None
    _prompts: Prompts = lambda: ("", "")

    def start(self, heard: Heard, prompts: Prompts) -> None:
        """Listen until `stop`. Both callables are called from another thread."""
        if self._open is not None:
            return
        self._heard, self._prompts = heard, prompts
        self._open = self.microphone()
        if self._worker is None:
            self._worker = threading.Thread(target=self._recognise, daemon=True, name="hear")
            self._worker.start()
        threading.Thread(target=self._record, args=(self._open,), daemon=True, name="listen").start()

    def stop(self) -> None:
        """Stop listening; what was said up to now is still handed over."""
        if self._open is not None:
            self._open.close()
            self._open = None

    def _record(self, microphone: Microphone) -> None:
        try:
            record = self._phrase_by_phrase if self.hands_free else self._whole
            record(microphone)
        except Exception as error:  # noqa: BLE001  (a cable pulled out must not take the app with it)
            self._open = None
            self.failed(f"Listening ended: {error}. Type the phrase, or switch listening on again.")

    def _phrase_by_phrase(self, microphone: Microphone) -> None:
        activity = self.activity()
        phrases = Phrases(activity)
        for frame in microphone.frames(activity.frame_bytes):
            if self.is_muted():
                phrases = Phrases(activity)
            elif (clip := phrases.take(frame)) is not None:
                self._clips.put(clip)
        if (clip := phrases.rest()) is not None:
            self._clips.put(clip)

    def _whole(self, microphone: Microphone) -> None:
        said = bytearray()
        for frame in microphone.frames(self.activity().frame_bytes):
            if len(said) < _MOST_BYTES and not self.is_muted():
                said += frame
        self._clips.put(Clip(bytes(said)))

    def _recognise(self) -> None:
        try:
            recogniser = self.recogniser()
            while True:
                clip = self._clips.get()
                self._heard(recogniser.hear(clip, self._prompts()))
        except Exception as error:  # noqa: BLE001  (what is said to the person, instead of a traceback over the screen)
            self.stop()
            self._worker = None
            self.failed(f"Recognition ended: {error}. Type the phrase.")
