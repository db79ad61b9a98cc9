"""The espeak-ng library out of the package espeakng-loader, by its C interface (speak_lib.h)."""

import ctypes
import threading
from typing import Any

from seasonlog.voice.engines.absent import VoiceMissingError, needed
from seasonlog.voice.engines.microphone import sounddevice

PURPOSE = "Reading aloud"
_RETRIEVAL, _UTF8, _RATE = 1, 1, 1
"""AUDIO_OUTPUT_RETRIEVAL, espeakCHARS_UTF8, espeakRATE of speak_lib.h."""
_WORDS_PER_MINUTE = 165
_BLOCK_BYTES = 4096
_CALLBACK = ctypes.CFUNCTYPE(ctypes.c_int, ctypes.POINTER(ctypes.c_short), ctypes.c_int, ctypes.c_void_p)


class Synthesiser:
    """The library, started once for the process."""

    def __init__(self) -> None:
        loader = needed("espeakng_loader", PURPOSE)
        try:
            self._library: Any = ctypes.CDLL(loader.get_library_path())
            data = loader.get_data_path()
        except (OSError, RuntimeError) as error:
            raise VoiceMissingError(f"The library of espeakng-loader does not load ({error}).") from None
        self.rate_hz: int = self._library.espeak_Initialize(_RETRIEVAL, 0, data.encode(), 0)
        if self.rate_hz <= 0 or self._library.espeak_SetVoiceByName(b"en-us"):
            raise VoiceMissingError("The library of espeakng-loader finds no English voice; install it again.")
        self._library.espeak_SetParameter(_RATE, _WORDS_PER_MINUTE, 0)
        self._made = bytearray()
        self._callback = _CALLBACK(self._take)  # kept: the library holds no reference
        self._library.espeak_SetSynthCallback(self._callback)
        self._one_at_a_time = threading.Lock()

    def samples(self, text: str) -> tuple[bytes, int]:
        """Text to 16-bit samples of one channel and their rate [Hz]."""
        said = text.encode()
        with self._one_at_a_time:
            self._made.clear()
            self._library.espeak_Synth(said, ctypes.c_size_t(len(said) + 1), 0, 1, 0, _UTF8, None, None)
            self._library.espeak_Synchronize()
            return bytes(self._made), self.rate_hz

    def _take(self, samples: Any, count: int, events: Any) -> int:
        if samples and count > 0:
            self._made += ctypes.string_at(samples, count * 2)
        return 0


def play(samples: bytes, rate_hz: int, stopped: threading.Event) -> None:
    """Play 16-bit samples until they end or the event is set."""
    with sounddevice().RawOutputStream(samplerate=rate_hz, channels=1, dtype="int16") as stream:
        for at in range(0, len(samples), _BLOCK_BYTES):
            if stopped.is_set():
                return
            stream.write(samples[at : at + _BLOCK_BYTES])
