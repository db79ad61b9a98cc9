"""Reading aloud: the system's own voice, the espeak-ng program, or its library from a package; else silence.

Nothing here is needed: what would be said stands on the screen.
"""

import shutil
import subprocess
import sys
import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from seasonlog.voice.engines.absent import ADD_IT, VoiceMissingError, is_installed
from seasonlog.voice.engines.protocols import Speaker

NO_VOICE = f"Nothing is read aloud: neither a voice of the system nor espeak-ng was found. To add one: {ADD_IT}."
WORDS_PER_MINUTE = 165
"""Slower than the usual 175: numbers in wind."""
_SAPI = (
    "Add-Type -AssemblyName System.Speech;"
    "(New-Object System.Speech.Synthesis.SpeechSynthesizer).Speak([Console]::In.ReadToEnd())"
)


@dataclass(slots=True)
class Silent:
    """Says nothing, and why."""

    missing: str = NO_VOICE
    is_speaking: bool = False

    def say(self, text: str) -> None:
        """Nothing."""

    def stop(self) -> None:
        """Nothing."""


@dataclass(slots=True)
class ProgramSpeaker:
    """A program that reads its standard input aloud."""

    command: Sequence[str]
    missing: str = ""
    _running: "subprocess.Popen[bytes] | None" = None

    @property
    def is_speaking(self) -> bool:
        """The program is still at it."""
        return self._running is not None and self._running.poll() is None

    def say(self, text: str) -> None:
        """Begin to say a sentence, in place of one not finished."""
        self.stop()
        try:
            self._running = subprocess.Popen(  # noqa: S603  (a fixed command; the text goes to its standard input)
                list(self.command), stdin=subprocess.PIPE, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
            )
        except OSError as error:
            self.missing = f"Nothing is read aloud: {self.command[0]} does not start ({error.strerror or error})."
            return
        _hand_over(self._running, text)

    def stop(self) -> None:
        """Be silent."""
        if self._running is not None:
            if self._running.poll() is None:
                self._running.terminate()
            self._running.wait()
            self._running = None


def _hand_over(running: "subprocess.Popen[bytes]", text: str) -> None:
    if running.stdin is None:
        return
    try:
        running.stdin.write(text.encode())
        running.stdin.close()
    except OSError:  # it ended before it read: silence, which is no reason to stop
        return


@dataclass(slots=True)
class LibrarySpeaker:
    """The espeak-ng library of a package, played through PortAudio."""

    made: Callable[[str], tuple[bytes, int]]
    """Text to 16-bit samples and their rate [Hz]."""
    played: Callable[[bytes, int, threading.Event], None]
    """Plays them until they end or the event is set."""
    missing: str = ""
    _stopped: threading.Event = field(default_factory=threading.Event)
    _thread: threading.Thread | None = None

    @property
    def is_speaking(self) -> bool:
        """A sentence is being said."""
        return self._thread is not None and self._thread.is_alive()

    def say(self, text: str) -> None:
        """Begin to say a sentence, in place of one not finished."""
        self.stop()
        self._stopped = threading.Event()
        self._thread = threading.Thread(target=self._run, args=(text, self._stopped), daemon=True, name="speak")
        self._thread.start()

    def stop(self) -> None:
        """Be silent."""
        self._stopped.set()
        if self._thread is not None:
            self._thread.join(timeout=1)

    def _run(self, text: str, stopped: threading.Event) -> None:
        try:
            samples, rate_hz = self.made(text)
            self.played(samples, rate_hz, stopped)
        except Exception as error:  # noqa: BLE001  (a voice that fails must not stop a visit)
            self.missing = f"Nothing is read aloud: {error}."


def found(platform: str = sys.platform, which: Callable[[str], str | None] = shutil.which) -> Speaker:
    """The best voice of this machine; a silent one, with the sentence why, where there is none.

    Args:
        platform: As `sys.platform`.
        which: Finds a program.
    """
    command = _program(platform, which)
    if command:
        return ProgramSpeaker(command)
    if not is_installed("espeakng_loader") or not is_installed("sounddevice"):
        return Silent()
    from seasonlog.voice.engines import espeak

    try:
        return LibrarySpeaker(espeak.Synthesiser().samples, espeak.play)
    except VoiceMissingError as error:
        return Silent(f"Nothing is read aloud: {error}")


def _program(platform: str, which: Callable[[str], str | None]) -> tuple[str, ...]:
    if platform == "darwin" and (say := which("say")):
        return (say, "-r", str(WORDS_PER_MINUTE), "-f", "-")
    if platform == "win32" and (shell := which("powershell")):
        return (shell, "-NoProfile", "-Command", _SAPI)
    espeak = which("espeak-ng")
    return (espeak, "-v", "en-us", "-s", str(WORDS_PER_MINUTE), "--stdin") if espeak else ()
