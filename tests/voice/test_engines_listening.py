"""Phrases cut out of endless sound, and the threads that listen; with engines made of nothing."""

import threading
from queue import Queue

import pytest

from seasonlog.voice.engines.activity import FRAME_S, PAUSE_S, Phrases, heed
from seasonlog.voice.engines.heedful import Heedful
from seasonlog.voice.engines.listening import MicrophoneListener
from seasonlog.voice.engines.protocols import Activity, Microphone, Recogniser
from seasonlog.voice.engines.sound import Clip
from seasonlog.voice.hearing import Hearing
from tests.voice.fakes import ByteActivity, TableRecogniser, TapeMicrophone, tape

PAUSE = "." * (round(PAUSE_S / FRAME_S) + 1)


def cut(pattern: str) -> list[int]:
    """Lengths of the phrases of a tape, in frames."""
    phrases = Phrases(ByteActivity())
    found = [clip for frame in tape(pattern) if (clip := phrases.take(frame))]
    rest = phrases.rest()
    return [len(clip.pcm) // 1024 for clip in [*found, *([rest] if rest else [])]]


def test_two_phrases_with_a_pause_between_are_two_and_keep_a_little_before() -> None:
    first, second = cut("." * 40 + "#" * 20 + PAUSE + "." * 10 + "#" * 30 + PAUSE)
    assert first >= 20 + 12  # 0.4 s before the voice was noticed
    assert second >= 30


def test_a_breath_inside_a_number_does_not_cut_it() -> None:
    assert len(cut("#" * 20 + "." * 12 + "#" * 20 + PAUSE)) == 1


def test_a_knock_is_no_phrase() -> None:
    assert cut("...###" + PAUSE) == []


def test_talk_that_does_not_end_is_cut() -> None:
    assert max(cut("#" * 2000)) * FRAME_S <= 20.1


def test_noise_is_measured_in_decibel() -> None:
    """20 times the amplitude is 26 dB; the noise under the speech is taken off (arithmetic)."""
    loud, quiet = (2000).to_bytes(2, "little") * 512, (0, 100)
    noise = b"".join(n.to_bytes(2, "little") for n in quiet * 256)
    seen = heed(_LoudActivity(), Clip(noise * 10 + loud * 10 + noise * 10))
    assert seen.spoken_s == pytest.approx(10 * FRAME_S)
    assert seen.noise_db == pytest.approx(29.0, abs=0.1)  # 2000^2 over the mean of 0 and 100^2


class _LoudActivity(ByteActivity):
    def chance(self, frame: bytes) -> float:
        return 0.9 if int.from_bytes(frame[:2], "little") > 1000 else 0.01


def test_a_recogniser_is_not_asked_what_a_fan_says() -> None:
    recogniser = TableRecogniser()
    heedful: Recogniser = Heedful(recogniser, ByteActivity())
    assert heedful.hear(Clip(b"".join(tape("." * 50))), ("", "")).hypotheses == ()
    assert recogniser.heard == []
    assert heedful.hear(Clip(b"".join(tape("." * 10 + "#" * 20))), ("a", "b")).best == "30 frames"
    assert (heedful.name, heedful.model) == ("table 1", "by hand")


def test_a_clip_is_kept_only_where_that_is_wanted() -> None:
    clip = Clip(b"".join(tape("#" * 20)))
    assert Heedful(TableRecogniser(), ByteActivity()).hear(clip, ("", "")).clip is None
    kept = Heedful(TableRecogniser(), ByteActivity(), keeps_clips=True).hear(clip, ("", "")).clip
    assert kept is not None
    assert kept.startswith(b"RIFF")


def listening(microphone: Microphone, recogniser: Recogniser, **given: object) -> MicrophoneListener:
    def activity() -> Activity:
        return ByteActivity()

    return MicrophoneListener(lambda: microphone, activity, lambda: recogniser, **given)  # type: ignore[arg-type]


def test_hands_free_every_phrase_is_handed_over_from_another_thread() -> None:
    heard: Queue[tuple[Hearing, str]] = Queue()
    microphone = TapeMicrophone(tape("#" * 20 + PAUSE + "#" * 40 + PAUSE))
    listener = listening(microphone, TableRecogniser())
    prompts = iter([("one", "1"), ("two", "2")])
    listener.start(lambda hearing: heard.put((hearing, threading.current_thread().name)), lambda: next(prompts))
    (first, thread), (second, _) = heard.get(timeout=5), heard.get(timeout=5)
    listener.stop()
    assert thread != threading.current_thread().name
    assert first.seconds < second.seconds


def test_push_to_talk_hands_over_all_that_was_said_at_release() -> None:
    heard: Queue[Hearing] = Queue()
    microphone = TapeMicrophone(tape("#" * 20 + PAUSE + "#" * 20))
    recogniser = TableRecogniser()
    listener = listening(microphone, recogniser, hands_free=False)
    listener.start(heard.put, lambda: ("", ""))
    assert microphone.played.wait(5)
    assert heard.empty()
    listener.stop()
    assert heard.get(timeout=5).best == f"{40 + len(PAUSE)} frames"


def test_listening_again_after_a_stop_asks_the_same_recogniser() -> None:
    heard: Queue[Hearing] = Queue()
    recogniser, loaded = TableRecogniser(), []
    microphones = [TapeMicrophone(tape("#" * 20)), TapeMicrophone(tape("#" * 30))]
    listener = MicrophoneListener(
        lambda: microphones[len(loaded_again)], ByteActivity, lambda: loaded.append(1) or recogniser, hands_free=False
    )
    loaded_again: list[int] = []
    for microphone in microphones:
        listener.start(heard.put, lambda: ("", ""))
        assert microphone.played.wait(5)
        listener.stop()
        heard.get(timeout=5)
        loaded_again.append(1)
    assert loaded == [1]
    assert len(recogniser.heard) == 2


def test_what_the_app_itself_says_is_not_heard() -> None:
    speaking = threading.Event()
    frames = tape("#" * 20 + PAUSE + "#" * 25 + PAUSE)

    def at_frame(number: int) -> None:
        (speaking.set if number < 20 + len(PAUSE) else speaking.clear)()

    heard: Queue[Hearing] = Queue()
    microphone = TapeMicrophone(frames, at_frame)
    recogniser = TableRecogniser()
    listener = listening(microphone, recogniser, is_muted=speaking.is_set)
    listener.start(heard.put, lambda: ("", ""))
    assert heard.get(timeout=5).seconds < 50 * FRAME_S
    listener.stop()
    assert len(recogniser.heard) == 1


def test_a_microphone_pulled_out_is_told_in_a_sentence() -> None:
    says: Queue[str] = Queue()

    class Torn(TapeMicrophone):
        def close(self) -> None: ...

        def frames(self, frame_bytes: int):  # type: ignore[no-untyped-def]
            yield from tape("..")
            raise OSError("the device went away")

    listener = listening(Torn([]), TableRecogniser(), failed=says.put)
    listener.start(lambda hearing: None, lambda: ("", ""))
    assert says.get(timeout=5) == (
        "Listening ended: the device went away. Type the phrase, or switch listening on again."
    )
