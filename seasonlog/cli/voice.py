"""`seasonlog voice check`: whether this machine can hear and speak, and what to install."""

from collections.abc import Callable
from typing import TYPE_CHECKING

import click

from seasonlog.cli import frame
from seasonlog.cli.frame import Frame, log_option, shows

if TYPE_CHECKING:
    from collections.abc import Mapping

    from seasonlog.voice.engines.protocols import Microphone

LISTENED_S = 1.5
"""How long the microphone is listened to [s]."""
SENTENCE = "seasonlog can be heard"


@click.group()
@log_option
@click.pass_obj
def voice(obj: Frame, log: str | None) -> None:
    """Working by voice: what this machine can do."""
    obj.log = log if log is not None else obj.log


@voice.command()
@click.option("--quiet", is_flag=True, help="Say nothing aloud and open no microphone.")
@log_option
@shows
@click.pass_obj
def check(obj: Frame, quiet: bool, log: str | None, as_json: bool, today: str | None) -> int:
    """Try model, microphone and speaker, and say what to install."""
    from seasonlog.services.settings import kept

    settings = kept(frame.places_of(obj, log))
    rows = [_row("model", lambda: _model(settings)), _row("microphone", lambda: _microphone(settings, quiet=quiet))]
    rows.append(_row("speaker", lambda: _speaker(settings, quiet=quiet)))
    if as_json:
        frame.out_json([{"part": part, "works": works, "says": says} for part, works, says in rows])
    else:
        frame.table((part, "ok" if works else "MISSING", says) for part, works, says in rows)
    if not all(works for _, works, _ in rows):
        frame.say("Without these the same phrases are typed; everything else works.")
    return 0 if all(works for _, works, _ in rows) else 1


def _row(part: str, tried: Callable[[], str]) -> tuple[str, bool, str]:
    from seasonlog.voice.engines.absent import VoiceMissingError

    try:
        return part, True, tried()
    except VoiceMissingError as error:
        return part, False, str(error)


def _model(settings: "Mapping[str, str]") -> str:
    import time

    from seasonlog.voice.engines import ready
    from seasonlog.voice.engines.sound import RATE_HZ, Clip

    started = time.monotonic()
    recogniser = ready.recogniser(settings)
    loaded_s = time.monotonic() - started
    recogniser.hear(Clip(bytes(RATE_HZ * 2)), ("Pass.", "Fail."))
    return f"{recogniser.name}, {recogniser.model}, loaded in {loaded_s:.1f} s"


def _microphone(settings: "Mapping[str, str]", *, quiet: bool) -> str:
    from seasonlog.voice.engines import microphone

    opened = microphone.PortAudioMicrophone(settings.get(microphone.CHOICE, ""))
    there = "; ".join(microphone.inputs())
    return there if quiet else f"{there}; loudness {_loudness_db(opened):.0f} dB of full scale"


def _loudness_db(opened: "Microphone") -> float:
    from itertools import islice

    from seasonlog.voice.engines.activity import FRAME_BYTES, FRAME_S, loudness_db

    frames = list(islice(opened.frames(FRAME_BYTES), round(LISTENED_S / FRAME_S)))
    opened.close()
    return loudness_db(b"".join(frames))


def _speaker(settings: "Mapping[str, str]", *, quiet: bool) -> str:
    import time

    from seasonlog.voice.engines import ready
    from seasonlog.voice.engines.absent import VoiceMissingError

    speaker = ready.speaker(settings)
    if not speaker.missing and not quiet:
        speaker.say(SENTENCE)
        until = time.monotonic() + 10
        while speaker.is_speaking and time.monotonic() < until:
            time.sleep(0.05)
    if speaker.missing:
        raise VoiceMissingError(speaker.missing)
    return type(speaker).__name__.removesuffix("Speaker").lower() + (" found" if quiet else f' said "{SENTENCE}"')
