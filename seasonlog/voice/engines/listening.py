"""Listens in threads of its own, one that takes frames and one that recognises; the screen's thread waits for neither.

Hands-free, a phrase ends with a pause. Push-to-talk, it lasts from `start` to `stop`. While the app itself speaks,
nothing is listened to.
"""

import threading
from collections.abc import Callable
from dataclasses import dataclass
from queue import SimpleQueue

from seasonlog.voice.engines.activity import Phrases
from seasonlog.voice.engines.protocols import Activity, Microphone, Recogniser
from seasonlog.voice.engines.sound import LONGEST_S, RATE_HZ, Clip
from seasonlog.voice.hearing import Hearing

Heard = Callable[[Hearing], None]
Prompts = Callable[[], tuple[str, str]]
Clips = SimpleQueue[Clip | None]
"""What was said, phrase by phrase; None: nothing more comes."""
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
    _loaded: Recogniser | None = None

    def start(self, heard: Heard, prompts: Prompts) -> None:
        """Listen until `stop`. Both callables are called from another thread."""
        if self._open is not None:
            return
        self._open = self.microphone()
        clips: Clips = SimpleQueue()
        threading.Thread(target=self._recognise, args=(clips, heard, prompts), daemon=True, name="hear").start()
        threading.Thread(target=self._record, args=(self._open, clips), daemon=True, name="listen").start()

    def stop(self) -> None:
        """Stop listening; what was said up to now is still handed over."""
        if self._open is not None:
            self._open.close()
            self._open = None

    def _record(self, microphone: Microphone, clips: Clips) -> None:
        try:
            record = self._phrase_by_phrase if self.hands_free else self._whole
            record(microphone, clips)
        except Exception as error:  # noqa: BLE001  (a cable pulled out must not take the app with it)
            self._open = None
            self.failed(f"Listening ended: {error}. Type the phrase, or switch listening on again.")
        finally:
            clips.put(None)

    def _phrase_by_phrase(self, microphone: Microphone, clips: Clips) -> None:
        activity = self.activity()
        phrases = Phrases(activity)
        for frame in microphone.frames(activity.frame_bytes):
            if self.is_muted():
                phrases = Phrases(activity)
            elif (clip := phrases.take(frame)) is not None:
                clips.put(clip)
        if (clip := phrases.rest()) is not None:
            clips.put(clip)

    def _whole(self, microphone: Microphone, clips: Clips) -> None:
        said = bytearray()
        for frame in microphone.frames(self.activity().frame_bytes):
            if len(said) < _MOST_BYTES and not self.is_muted():
                said += frame
        clips.put(Clip(bytes(said)))

    def _recognise(self, clips: Clips, heard: Heard, prompts: Prompts) -> None:
        try:
            recogniser = self._loaded = self._loaded or self.recogniser()
            while (clip := clips.get()) is not None:
                heard(recogniser.hear(clip, prompts()))
        except Exception as error:  # noqa: BLE001  (what is said to the person, instead of a traceback over the screen)
            self.stop()
            self.failed(f"Recognition ended: {error}. Type the phrase.")
