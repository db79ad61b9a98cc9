"""What a technician is asked, and what he answers: frozen values."""

import math
from dataclasses import dataclass

from seasonlog.errors import SeasonlogError
from seasonlog.faults.typed_ohms import OPEN_WORDS

MOST = 1e9
"""No meter shows more [V, ohm]; more is a slip of the finger."""
DOOR, PANEL, HAND, DEAD, LIVE, JUMPER, DRAINED = "door", "panel", "hand", "dead", "live", "jumper", "drained"
MODES = {
    DOOR: "from outside, panel shut",
    PANEL: "panel open, look only: nothing is touched",
    HAND: "something is moved by hand that carries no volts, then looked at",
    DEAD: "branch locked out and proved dead",
    LIVE: "energised: probes or clamp at the listed points",
    JUMPER: "prepared under lockout, then energised by a qualified person",
    DRAINED: "heater leads lifted under lockout, basin drained past the trip level",
}
"""How a test is made, from the least to the most that can go wrong."""


class AnswerError(SeasonlogError):
    """An answer that this test does not have, or a test that this circuit does not have; a sentence says which."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """One thing to look at or to measure, in one state."""

    id: str
    """Stable: `lamp_a`, `volts_k`, `ohms_coil`."""
    mode: str
    """One of `MODES`."""
    state: str
    """Situation of the circuit it is made in: a key of `tests_offered.SETTINGS`."""
    what: str
    """What is predicted: `lamp`, `lamps`, `coil`, `coils`, `volts`, `highest`, `ohms`, `amps`, `residual` or `seen`."""
    points: tuple[str, ...] = ()
    """Where the probes go, or what is looked at."""
    do: str
    """What to do, for a person."""
    caution: str = ""
    minutes: float
    """Its own time, without locking out or energising before it [min]. Common practice, no source."""
    choices: tuple[str, ...] = ()
    """Every answer possible; empty when it is a number."""
    unit: str = ""
    """`V` or `ohm` of a number."""
    covers: tuple[str, ...] = ()
    """Ids of narrower tests that this one answers too: after it they are not asked, nor it after them."""

    @property
    def live(self) -> bool:
        """Probes or clamp come near energised parts."""
        return self.mode == LIVE

    @property
    def door_closed(self) -> bool:
        """Needs nobody qualified at the panel."""
        return self.mode == DOOR

    def answer(self, given: str | float) -> str | float:
        """The answer as it is kept: one of the choices, or a number; `OL` is an ohmmeter's open, infinite.

        Raises:
            AnswerError: this test has no such answer.
        """
        if self.choices:
            return self._choice(str(given))
        return self._number(given)

    def _choice(self, given: str) -> str:
        if given not in self.choices:
            raise AnswerError(f"test {self.id}: {given!r} is not an answer; it has {', '.join(self.choices)}")
        return given

    def _number(self, given: str | float) -> float:
        if str(given).strip().lower() in OPEN_WORDS and self.unit == "ohm":
            return math.inf
        try:
            number = float(given)
        except ValueError:
            number = math.nan
        if not 0.0 <= number <= MOST:
            raise AnswerError(f"test {self.id}: {given!r} is not a reading in {self.unit}; 0 or more is wanted")
        return number


@dataclass(frozen=True, slots=True)
class Observation:
    """One answer."""

    test: str
    """Id of a `Check`."""
    answer: str | float
    given: bool = False
    """It was there before the session began: from a visit or a file. It does not count as a test made."""


@dataclass(frozen=True, slots=True)
class Suspect:
    """One fault and how likely it is."""

    fault: str
    """Two digits; `07+22` of a pair; `00` is no fault."""
    probability: float
    says: str


@dataclass(frozen=True, slots=True)
class Outcome:
    """One possible answer of a test, before it is made."""

    answer: str
    """As a person says it: `lit`, `near 120 V`."""
    probability: float
    means: str
    """What would remain."""


@dataclass(frozen=True, slots=True)
class Choice:
    """The next test, and why it is this one."""

    test: Check
    why: str
    outcomes: tuple[Outcome, ...]


@dataclass(frozen=True, slots=True)
class Stop:
    """Nothing more to ask."""

    reason: str
    """`one_cause`, `group`, `nothing_left`, `enough`, `send_technician`, `fill_first` or `make_ready`."""
    suspects: tuple[Suspect, ...]
    says: str
    """Why it stops, in sentences."""
    repair: str = ""
    """What to do about the first suspect, or each of the group, and what proves it."""
    retest: tuple[str, ...] = ()
    """Ids of the checklist steps that prove the repair."""
    cautions: tuple[str, ...] = ()
    unexplained: tuple[str, ...] = ()
    """Tests whose answers are mistakes if the first suspect is all; then `Session.pairs` is worth asking."""
