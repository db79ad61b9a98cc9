"""The real recogniser on recordings of people, with no network; and what it makes of silence and of fans."""

import json
import re
import socket
from pathlib import Path

import pytest

from seasonlog.cli import run
from seasonlog.services import checklists
from seasonlog.voice.engines import ready
from seasonlog.voice.engines.protocols import Recogniser
from seasonlog.voice.engines.sound import RATE_HZ, Clip
from seasonlog.voice.engines.wav import read_wav, write_wav
from tests.builders import a_book
from tests.voice.spoken_files import need_speech, spoken

RECORDED = Path("/usr/share/pocketsphinx/test/data")
"""Debian's package pocketsphinx-testdata: people speaking, with what they said written beside it."""


@pytest.fixture(scope="module")
def recogniser() -> Recogniser:
    """Loaded once, with every way to the network shut."""
    need_speech()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(socket.socket, "connect", _no_network)
        patch.setattr(socket, "getaddrinfo", _no_network)
        return ready.recogniser({})


def _no_network(*args: object, **kwargs: object) -> None:
    raise AssertionError(f"the network was asked for {args}")


@pytest.fixture
def recorded() -> Path:
    if not RECORDED.is_dir():
        pytest.skip("Debian's package pocketsphinx-testdata is not installed")
    return RECORDED


@pytest.mark.parametrize(
    ("file", "said", "example"),
    [
        ("goforward.raw", "go forward ten meters", "Go back nine meters."),
        ("numbers.raw", "thirty three four six ninety two", "One, nine, four. seven eight"),
        ("something.raw", "go somewhere and do something", "The boat is red."),
        ("cards/001.wav", "ten of clubs", "Six of diamonds."),
        ("cards/003.wav", "seven of clubs", "Six of diamonds."),
        ("cards/004.wav", "five five", "Six of diamonds."),
    ],
)
def test_people_are_heard(recogniser: Recogniser, recorded: Path, file: str, said: str, example: str) -> None:
    """Held against the transcripts of the package: six of its nine short clips, word for word but for commas."""
    data = (recorded / file).read_bytes()
    clip = read_wav(data, file) if file.endswith(".wav") else Clip(data)
    hearing = recogniser.hear(clip, (example, example.lower()))
    assert " ".join(re.findall(r"[a-z0-9]+", hearing.best.lower())).replace("10", "ten") == said
    assert hearing.noise_db is not None
    assert hearing.noise_db > 15


def test_both_decodes_come_with_probabilities(recogniser: Recogniser) -> None:
    hearing = recogniser.hear(spoken("twenty one point six amps"), ("17.3 amps.", "27.7 amps."))
    for decode in (0, 1):
        ours = [each for each in hearing.hypotheses if each.prompt == decode]
        assert ours[0].text.startswith("21.6")
        assert all(each.log_prob <= 0 for each in ours)
        assert len(ours) > 1
    assert hearing.engine.startswith("faster-whisper ")
    assert hearing.model.endswith("1a5afae06a4db91c")


def test_silence_and_a_fan_are_heard_as_nothing(recogniser: Recogniser) -> None:
    from tests.bench.voice.noise import roof

    fan = (roof(RATE_HZ * 4, 3) * 3000).clip(-32000, 32000).astype("int16").tobytes()
    for clip in (Clip(bytes(RATE_HZ * 2)), Clip(fan), Clip(b"")):
        assert recogniser.hear(clip, ("17.3 amps.", "27.7 amps.")).hypotheses == ()


def test_the_voice_of_the_package_speaks_what_can_be_heard(recogniser: Recogniser) -> None:
    """espeakng-loader's library: its samples, recognised."""
    pytest.importorskip("espeakng_loader", reason="the extra `voice` is not installed")
    from seasonlog.voice.engines.espeak import Synthesiser
    from seasonlog.voice.engines.wav import resampled

    samples, rate_hz = Synthesiser().samples("The heater draws twenty two amps.")
    hearing = recogniser.hear(
        Clip(resampled(samples, "s16", 1, rate_hz)), ("The fan draws 9 amps.", "It draws 7 amps.")
    )
    assert "draws 22 amps" in hearing.best


@pytest.fixture(scope="module")
def log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("hear")
    a_book(folder).close()
    return folder / "seasonlog.db"


def hear(log: Path, file: Path, step: str, *more: str) -> int:
    return run(
        ["hear", str(file), "--log", str(log), "--tower", "HOS-2", "--checklist", "fall-enable", "--step", step, *more]
    )


def test_hear_tells_what_would_be_taken_and_writes_nothing(
    recogniser: Recogniser,
    log: Path,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(ready, "recogniser", lambda settings: recogniser)
    before = log.read_bytes()
    file = tmp_path / "said.wav"
    file.write_bytes(write_wav(spoken("seven point four degrees")))
    assert hear(log, file, "probe_plumb_deg") == 0
    shown = capsys.readouterr()
    assert shown.out == "taken: probe_plumb_deg = 7.4\n"
    assert "example 2" in shown.err
    assert hear(log, file, "supply_volts", "--json") == 1
    document = json.loads(capsys.readouterr().out)
    assert document["tier"] == "refused"
    assert document["readings"][0]["means"].startswith("nothing: ")
    file.write_bytes(write_wav(spoken("seven point four degrees", 5)))
    assert hear(log, file, "probe_plumb_deg") == 1
    noisy = capsys.readouterr()
    assert noisy.out == "asked back: probe_plumb_deg = 7.4\n"
    assert log.read_bytes() == before


def test_hear_refuses_what_is_not_asked(
    recogniser: Recogniser, log: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "said.wav"
    file.write_bytes(write_wav(Clip(bytes(RATE_HZ))))
    assert hear(log, file, "line_ohms") == 3
    assert "step line_ohms: is not asked in this visit" in capsys.readouterr().err
    assert "fall-enable" in checklists.shipped()
    assert hear(log, tmp_path / "none.wav", "line_amps") == 2


def test_voice_check_names_what_is_missing(
    recogniser: Recogniser, log: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(ready, "recogniser", lambda settings: recogniser)
    monkeypatch.setattr("seasonlog.voice.engines.speaking.is_installed", lambda module: False)
    monkeypatch.setattr("seasonlog.voice.engines.speaking._program", lambda platform, which: ())
    assert run(["voice", "check", "--log", str(log), "--quiet", "--json"]) == 1
    rows = {row["part"]: row for row in json.loads(capsys.readouterr().out)}
    assert rows["model"]["works"]
    assert "1a5afae06a4db91c" in rows["model"]["says"]
    assert not rows["speaker"]["works"]
    assert 'pip install "seasonlog[voice]"' in rows["speaker"]["says"]
