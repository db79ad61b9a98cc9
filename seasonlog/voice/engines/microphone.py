"""The microphone, through PortAudio."""

from collections.abc import Iterator
from queue import SimpleQueue
from typing import Any

from seasonlog.voice.engines.absent import VoiceMissingError, needed
from seasonlog.voice.engines.sound import BYTES, RATE_HZ

PURPOSE = "The microphone"
ON_LINUX = "on Debian and Ubuntu: apt install libportaudio2"
CHOICE = "voice_microphone"
"""The setting that names a microphone, by its number or a part of its name."""


class PortAudioMicrophone:
    """A microphone that is open from the first frame asked for until `close`."""

    def __init__(self, device: str = "") -> None:
        self._device: int | str | None = int(device) if device.isdigit() else device or None
        self._sounddevice = sounddevice()
        _check(self._sounddevice, self._device)
        self._queue: SimpleQueue[bytes | None] = SimpleQueue()

    def frames(self, frame_bytes: int) -> Iterator[bytes]:
        """Frames of so many bytes, as they come."""
        stream = self._sounddevice.RawInputStream(
            samplerate=RATE_HZ,
            channels=1,
            dtype="int16",
            blocksize=frame_bytes // BYTES,
            device=self._device,
            callback=lambda data, *_: self._queue.put(bytes(data)),
        )
        with stream:
            while (frame := self._queue.get()) is not None:
                yield frame

    def close(self) -> None:
        """End the frames."""
        self._queue.put(None)


def sounddevice() -> Any:
    """The PortAudio binding.

    Raises:
        VoiceMissingError: it or PortAudio is missing.
    """
    try:
        return needed("sounddevice", PURPOSE)
    except VoiceMissingError as error:
        if "library of the system" in str(error):
            raise VoiceMissingError(f"{PURPOSE} needs PortAudio; {ON_LINUX}.") from None
        raise


def _check(portaudio: Any, device: int | str | None) -> None:
    try:
        portaudio.check_input_settings(device=device, channels=1, dtype="int16", samplerate=RATE_HZ)
    except (portaudio.PortAudioError, ValueError) as error:
        which = "No microphone was found" if device is None else f'No microphone answers to "{device}"'
        raise VoiceMissingError(
            f"{which} ({error}); plug one in, or type the phrases. `seasonlog voice check` lists what is there."
        ) from None


def inputs() -> list[str]:
    """Number and name of each microphone."""
    return [f"{d['index']} {d['name']}" for d in sounddevice().query_devices() if d["max_input_channels"] > 0]
