"""WAV files of any rate, width and number of channels; what is no WAV file is told in a sentence."""

import io
import math
import struct
import sys
import wave

import pytest

from seasonlog.errors import InputRefusedError
from seasonlog.voice.engines.absent import VoiceMissingError
from seasonlog.voice.engines.sound import RATE_HZ, Clip
from seasonlog.voice.engines.wav import read_wav, write_wav


def a_tone(hertz: float, rate_hz: int, width: int, channels: int, seconds: float = 0.5) -> bytes:
    """A sine in every channel, half as loud as can be; written with struct, not with what reads it."""
    out = io.BytesIO()
    with wave.open(out, "wb") as file:
        file.setnchannels(channels)
        file.setsampwidth(width)
        file.setframerate(rate_hz)
        for n in range(round(rate_hz * seconds)):
            value = 0.5 * math.sin(2 * math.pi * hertz * n / rate_hz)
            file.writeframes(_sample(value, width) * channels)
    return out.getvalue()


def _sample(value: float, width: int) -> bytes:
    if width == 1:
        return struct.pack("B", round(128 + 127 * value))
    return struct.pack("<i", round(value * (2 ** (8 * width - 1) - 1)))[:width]


@pytest.mark.parametrize("channels", [1, 2])
@pytest.mark.parametrize(("rate_hz", "width"), [(8000, 1), (16000, 2), (16000, 3), (22050, 2), (44100, 3), (48000, 4)])
def test_a_tone_keeps_its_pitch_and_its_loudness(rate_hz: int, width: int, channels: int) -> None:
    """Held against numpy's Fourier transform: the loudest bin is the tone's, its height within 3 %."""
    np = pytest.importorskip("numpy", reason="the extra `voice` is not installed")
    pytest.importorskip("av", reason="the extra `voice` is not installed")
    clip = read_wav(a_tone(1000, rate_hz, width, channels), "tone.wav")
    samples = np.frombuffer(clip.pcm, np.int16)[1600:6400] / 32768  # the middle: a resampler swings in and out
    heights = np.abs(np.fft.rfft(samples)) * 2 / len(samples)
    assert abs(np.argmax(heights) * RATE_HZ / len(samples) - 1000) < 4
    assert heights.max() == pytest.approx(0.5, rel=0.03)
    assert clip.seconds == pytest.approx(0.5, abs=0.01)


def test_what_is_16_khz_already_is_taken_as_it_is_without_the_extra(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "av", None)
    clip = Clip(bytes(range(256)) * 40)
    assert read_wav(write_wav(clip), "own.wav") == clip


def test_another_rate_without_the_extra_says_how_to_add_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "av", None)
    with pytest.raises(VoiceMissingError, match=r'needs the extra: pip install "seasonlog\[voice\]"'):
        read_wav(a_tone(1000, 8000, 2, 1), "tone.wav")


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "is not a WAV file that can be read"),
        (b"RIFF\x10\0\0\0WAVEfmt ", "is not a WAV file that can be read"),
        (b"ID3\x04" + bytes(400), "is not a WAV file that can be read"),
        (write_wav(Clip(b"")), "holds no sound"),
        (write_wav(Clip(bytes(RATE_HZ * 2 * 31))), "is 31 s long"),
    ],
    ids=["empty", "cut in its head", "an mp3", "no sound", "too long"],
)
def test_what_cannot_be_a_phrase_is_refused_by_name(data: bytes, says: str) -> None:
    with pytest.raises(InputRefusedError, match=says) as refused:
        read_wav(data, "odd.wav")
    assert str(refused.value).startswith("odd.wav")


@pytest.mark.parametrize("lost", [1, 2, RATE_HZ])
def test_a_file_cut_short_is_no_phrase(lost: int) -> None:
    """ "Thirty two point one" cut short was heard as 32."""
    whole = write_wav(Clip(b"\1\2" * RATE_HZ))
    with pytest.raises(InputRefusedError, match=r"cut.wav: was cut short: (99|50) % of its sound is there"):
        read_wav(whole[:-lost], "cut.wav")


def test_a_part_of_a_clip() -> None:
    clip = Clip(b"\0\1" * RATE_HZ)
    assert clip.between(0.25, 0.5).seconds == 0.25
    assert clip.between(-1, 9) == clip
