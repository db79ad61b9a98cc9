"""Recognition by a Whisper model run by CTranslate2, with decode calls of our own.

A phrase is heard twice: as it is and a little slower, each time after another example of what is said at this step. The
example is what makes so small a model hear "twenty one point six amps"; what both agree on was said, and what they do
not is asked back. All readings of each beam are kept with their probabilities; what they are worth is decided
elsewhere. No call reaches the network.
"""

import threading
from typing import Any

from seasonlog.voice.engines.absent import needed
from seasonlog.voice.engines.model import Model
from seasonlog.voice.engines.sound import LONGEST_S, RATE_HZ, Clip
from seasonlog.voice.engines.wav import resampled
from seasonlog.voice.hearing import Hearing, Hypothesis

BEAM = 8
"""Readings kept of each decode. Measured: fewer lose the second reading that shows a doubt."""
THREADS = 2
"""The class of machine this is for has two cores."""
MOST_TOKENS = 40
"""Longest text of one phrase, in tokens; what is longer was not a phrase but a decoder going round in circles."""
NO_SPEECH = 0.6
"""Above this chance the model itself says that nobody spoke (the threshold of the published decoder)."""
VIEWS = (1.0, 0.92)
"""Pace at which the sound is played after the first and the second example. One model errs differently on each:
measured, a quarter of the wrong agreements of two examples over the same sound, and more readings right in noise."""
WINDOW_S = 15
"""The model was trained on windows of 30 s. Half as much silence after a phrase is heard as well (measured) and takes a
quarter of the time; much less makes it say everything twice."""
_MEL_FRAMES_PER_S = 100


class WhisperRecogniser:
    """A loaded model. Loading takes some seconds' half: make it outside the screen's thread."""

    def __init__(self, model: Model) -> None:
        purpose = "Recognising speech"
        ctranslate2, whisper = needed("ctranslate2", purpose), needed("faster_whisper", purpose)
        self._np, self._ctranslate2 = needed("numpy", purpose), ctranslate2
        self._whisper = ctranslate2.models.Whisper(
            str(model.folder), device="cpu", compute_type="int8", intra_threads=THREADS, inter_threads=1
        )
        self._tokens = _tokenizer(model, multilingual=self._whisper.is_multilingual)
        extractor = needed("faster_whisper.feature_extractor", purpose)
        self._features = extractor.FeatureExtractor(feature_size=self._whisper.n_mels)
        self._one_at_a_time = threading.Lock()
        self.name = f"faster-whisper {whisper.__version__}"
        self.model = model.name

    def hear(self, clip: Clip, prompts: tuple[str, str]) -> Hearing:
        """All likely ways a clip may be read; none where nobody spoke."""
        with self._one_at_a_time:
            found = [
                each
                for number, (pace, prompt) in enumerate(zip(VIEWS, prompts, strict=True))
                for each in self._decoded(self._encoded(_played(clip, pace)), prompt, number)
            ]
        return Hearing(tuple(found), self.name, self.model, clip.seconds)

    def _encoded(self, clip: Clip) -> Any:
        sound = self._np.frombuffer(clip.pcm, self._np.int16).astype(self._np.float32) / 32768
        window_s = WINDOW_S if clip.seconds < WINDOW_S - 1 else int(LONGEST_S)
        padded = self._np.pad(sound, (0, max(0, window_s * RATE_HZ - len(sound))))
        features = self._features(padded, padding=0)[None, :, : window_s * _MEL_FRAMES_PER_S]
        features = self._np.ascontiguousarray(features)
        return self._whisper.encode(self._ctranslate2.StorageView.from_array(features))

    def _decoded(self, encoded: Any, prompt: str, number: int) -> list[Hypothesis]:
        start = [self._tokens.sot_prev, *self._tokens.encode(f" {prompt.strip()}"), *self._tokens.sot_sequence]
        start.append(self._tokens.no_timestamps)
        (result,) = self._whisper.generate(
            encoded,
            [start],
            beam_size=BEAM,
            num_hypotheses=BEAM,
            max_length=len(start) + MOST_TOKENS,
            return_scores=True,
            return_no_speech_prob=True,
        )
        if result.no_speech_prob > NO_SPEECH:
            return []
        pairs = zip(result.sequences_ids, result.scores, strict=True)
        return [Hypothesis(self._tokens.decode(ids).strip(), score * len(ids), number) for ids, score in pairs]


def _played(clip: Clip, pace: float) -> Clip:
    """The sound played slower or faster."""
    return clip if pace == 1 else Clip(resampled(clip.pcm, "s16", 1, round(RATE_HZ * pace)))


def _tokenizer(model: Model, *, multilingual: bool) -> Any:
    tokenizers = needed("tokenizers", "Recognising speech")
    reader = tokenizers.Tokenizer.from_file(str(model.folder / "tokenizer.json"))
    wrapper = needed("faster_whisper.tokenizer", "Recognising speech").Tokenizer
    return wrapper(reader, multilingual, task="transcribe", language="en")
