"""WAV files in and out. Any rate, width and number of channels of whole numbers is taken; PyAV resamples."""

import io
import wave
from typing import Any

from seasonlog.errors import InputRefusedError, Problem
from seasonlog.voice.engines.absent import needed
from seasonlog.voice.engines.sound import BYTES, LONGEST_S, RATE_HZ, Clip

_FORMATS = {1: "u8", 2: "s16", 4: "s32"}
"""PyAV's name of each width; 24 bits are widened to 32 first."""


def read_wav(data: bytes, name: str) -> Clip:
    """The sound of a WAV file.

    Args:
        data: The file's bytes.
        name: What to call it in a sentence.

    Raises:
        InputRefusedError: it is no WAV file of whole numbers, is empty, lacks its end, or is longer than 30 s.
        VoiceMissingError: it must be resampled and the extra is not installed.
    """
    try:
        with wave.open(io.BytesIO(data)) as file:
            _must_fit(file, name)
            frames = file.readframes(file.getnframes())
            _must_be_whole(frames, file.getparams(), name)
            return Clip(_as_wanted(file.getparams(), frames))
    except (wave.Error, EOFError) as error:
        says = f"is not a WAV file that can be read ({str(error) or 'it ends too early'}); save it as 16-bit PCM"
        raise InputRefusedError([Problem(name, says)]) from None


def _must_fit(file: wave.Wave_read, name: str) -> None:
    if not file.getnframes():
        raise InputRefusedError([Problem(name, "holds no sound; record it again")])
    seconds = file.getnframes() / file.getframerate()
    if seconds > LONGEST_S:
        says = f"is {seconds:.0f} s long; one phrase of at most {LONGEST_S:.0f} s is taken, cut it"
        raise InputRefusedError([Problem(name, says)])


def _must_be_whole(frames: bytes, params: Any, name: str) -> None:
    """Half a file is no phrase: "thirty two point one" without its end is thirty two."""
    wanted = params.nframes * params.sampwidth * params.nchannels
    if len(frames) < wanted:
        share = 100 * len(frames) // wanted
        says = f"was cut short: {share} % of its sound is there, and words may be missing; copy or record it again"
        raise InputRefusedError([Problem(name, says)])


def _as_wanted(params: Any, frames: bytes) -> bytes:
    width, channels = params.sampwidth, params.nchannels
    if (width, channels, params.framerate) == (BYTES, 1, RATE_HZ):
        return frames
    if width == 3:
        width, frames = 4, _widened(frames)
    return resampled(frames, _FORMATS[width], channels, params.framerate)


def _widened(frames: bytes) -> bytes:
    """24-bit samples as 32-bit ones."""
    return b"".join(b"\0" + frames[at : at + 3] for at in range(0, len(frames), 3))


def resampled(frames: bytes, sample: str, channels: int, rate_hz: int) -> bytes:
    """Samples of any rate as 16-bit ones of one channel at 16 kHz.

    Args:
        frames: Samples of all channels in turn.
        sample: `u8`, `s16` or `s32`.
        channels: How many there are.
        rate_hz: How many samples of each a second.
    """
    av, np = needed("av", "Reading this WAV file (not 16 kHz, 16 bit, one channel)"), needed("numpy", "Voice")
    kind = {"u8": np.uint8, "s16": np.int16, "s32": np.int32}[sample]
    layout = "mono" if channels == 1 else "stereo" if channels == 2 else f"{channels}c"
    frame = av.AudioFrame.from_ndarray(np.frombuffer(frames, kind).reshape(1, -1), format=sample, layout=layout)
    frame.sample_rate = rate_hz
    resampler = av.AudioResampler(format="s16", layout="mono", rate=RATE_HZ)
    out = [*resampler.resample(frame), *resampler.resample(None)]
    return b"".join(each.to_ndarray().tobytes() for each in out)


def write_wav(clip: Clip) -> bytes:
    """A clip as the bytes of a WAV file."""
    out = io.BytesIO()
    with wave.open(out, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(BYTES)
        file.setframerate(RATE_HZ)
        file.writeframes(clip.pcm)
    return out.getvalue()
