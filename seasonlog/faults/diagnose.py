"""From what was seen and measured to the faults that explain it, and to the next test.

    session = Session(circuit)
    while isinstance(found := session.next_test(), Choice):
        session = session.with_answer(found.test.id, answer)
    found.repair

A session is a frozen value over a list of observations: undoing is dropping the last.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

from seasonlog.domain.text import visible
from seasonlog.faults import choose, explain
from seasonlog.faults import settings as at
from seasonlog.faults.circuit import Circuit
from seasonlog.faults.evidence import VisitAnswer, from_visit
from seasonlog.faults.likelihood import Answerbook, Answers, answerbook
from seasonlog.faults.lines import dead_line
from seasonlog.faults.observation import AnswerError, Check, Choice, Observation, Stop, Suspect
from seasonlog.faults.pairs import suspected_pairs
from seasonlog.faults.priors import Priors
from seasonlog.faults.readings import LOW_METER_OHMS, METER_OHMS
from seasonlog.faults.tests_offered import METER, READY, check_of

LEAST_SHARE = 1e-6
"""No answer rules a fault out."""


@dataclass(frozen=True, slots=True)
class Session:
    """One circuit being asked about."""

    circuit: Circuit
    observations: tuple[Observation, ...] = ()
    """In the order they were made. The last answer to a test counts."""
    cannot: tuple[str, ...] = ()
    """Ids of tests that cannot be made here; never offered again."""
    qualified: bool = True
    """Somebody qualified and equipped is at the panel. If not, only looking from outside is offered."""
    priors: Priors | None = None
    """Weights from the trade; all faults alike when None."""
    once: bool = False
    """Each answer is the last word, as in a file that holds every test once: nothing is asked a second time."""

    def with_answer(self, test_id: str, answer: str | float, given: bool = False) -> "Session":
        """The session with one more answer.

        Args:
            test_id: Id of a test of this circuit, offered or not.
            answer: One of its choices, or a number in its unit; `OL` of an ohmmeter.
            given: It was known before; it does not count as a test made.

        Raises:
            AnswerError: this circuit has no such test, or the test no such answer.
        """
        kept = self.test(test_id).answer(answer)
        return replace(self, observations=(*self.observations, Observation(test_id, kept, given)))

    def with_evidence(self, observations: Iterable[Observation]) -> "Session":
        """The session with what was already read; what this circuit has no test for is left out."""
        session = self
        for each in observations:
            if check_of(self.circuit, each.test, session.base, session.line) is not None:
                session = session.with_answer(each.test, each.answer, given=True)
        return session

    def without_last(self) -> "Session":
        """The session before its last answer; itself when there is none."""
        return replace(self, observations=self.observations[:-1])

    def cannot_do(self, test_id: str) -> "Session":
        """The session with a test that cannot be made here.

        Raises:
            AnswerError: this circuit has no such test.
        """
        self.test(test_id)
        return self if test_id in self.cannot else replace(self, cannot=(*self.cannot, test_id))

    def test(self, test_id: str) -> Check:
        """The test with this id.

        Raises:
            AnswerError: this circuit has none.
        """
        found = check_of(self.circuit, test_id, self.base, self.line)
        if found is None:
            raise AnswerError(f'this circuit has no test "{visible(test_id[:40])}"')
        return found

    @property
    def base(self) -> str:
        """How the heater is called for: a key of `settings.BASES`."""
        return at.ICED if self.answers.get(READY) == at.ICED else at.COLD_WATER

    @property
    def line(self) -> int:
        """The line to the heater that was read dead: 1 to 3; 0 when none was, or nobody said which."""
        return dead_line(self.answers.get("line_amps"))

    @property
    def meter_ohms(self) -> float:
        """Impedance of the voltmeter on the float leads [ohm]."""
        return LOW_METER_OHMS if self.answers.get(METER.id) == "low" else METER_OHMS

    @property
    def last_made(self) -> Check | None:
        """The test made last in this session; what was known before, and which meter is used, is none."""
        made = (each.test for each in reversed(self.observations) if not each.given and each.test != METER.id)
        last = next(made, "")
        return self.test(last) if last else None

    @property
    def answers(self) -> dict[str, str | float]:
        """Test -> its last answer."""
        return {each.test: each.answer for each in self.observations}

    @property
    def asked(self) -> int:
        """Tests made in this session; what was given before does not count."""
        return sum(not each.given for each in self.observations)

    @property
    def book(self) -> Answerbook:
        """What every fault would show in every test; kept per circuit. The first use takes up to a second."""
        return answerbook(self.circuit, self.base, self.line, self.meter_ohms)

    def probabilities(self) -> tuple[float, ...]:
        """How likely each fault of `book.faults` is, all observations in, if there is but one fault."""
        logs = self.log_weights()
        highest = max(logs)
        weights = [math.exp(log - highest) for log in logs]
        whole = sum(weights)
        return tuple(weight / whole for weight in weights)

    def log_weights(self) -> list[float]:
        """Logarithm of prior times likelihood of each fault of `book.faults`."""
        book = self.book
        logs = [self.log_prior(fault.numbers) for fault in book.faults]
        for test_id, places in self.outcomes(book).items():
            logs = _weighed(logs, book.tests[test_id], places[-1])
            if places[-1:] == places[-2:-1]:
                logs = _weighed(logs, book.again(test_id, places[-1]), places[-1])
        return logs

    def outcomes(self, book: Answerbook) -> dict[str, list[int]]:
        """Test -> the outcomes it had, in order.

        Where the last two differ the last counts; one that was read twice alike is hardly a mistake.
        """
        found: dict[str, list[int]] = {}
        for each in self.observations:
            if (test := book.tests.get(each.test)) is not None:
                found.setdefault(each.test, []).append(test.outcome(each.answer))
        return found

    def log_prior(self, numbers: tuple[int, ...]) -> float:
        """Logarithm of the prior of a fault, or of a pair."""
        if self.priors is None:
            return -len(numbers) * math.log(len(self.book.faults))
        return math.log(self.priors.of(numbers))

    def suspects(self) -> tuple[Suspect, ...]:
        """Every fault this circuit can have, the likeliest first."""
        return explain.suspects(self.book.faults, self.probabilities())

    def unexplained(self) -> tuple[str, ...]:
        """Tests whose answers are mistakes if the likeliest fault is the only one."""
        chances = self.probabilities()
        return explain.contradictions(self, self.book.faults[chances.index(max(chances))])

    def pairs(self) -> tuple[Suspect, ...]:
        """Two faults at once, the likeliest first, where no single fault explains every answer; otherwise none.

        Takes up to a few seconds. A single fault with a mistaken answer stands between them where it is as likely.
        """
        return suspected_pairs(self) if self.unexplained() else ()

    def next_test(self) -> Choice | Stop:
        """The next test to make, or why there is none."""
        return choose.next_test(self)


def _weighed(logs: list[float], test: Answers, place: int) -> list[float]:
    kinds = [math.log(max(shares[place], LEAST_SHARE)) for shares, _ in test.kinds]
    return [log + kinds[kind] for log, kind in zip(logs, test.kind_of, strict=True)]


def evidence_from_visit(circuit: Circuit, answers: Iterable[VisitAnswer]) -> tuple[Observation, ...]:
    """What a visit already read, as observations for `Session.with_evidence`.

    Args:
        circuit: The circuit.
        answers: Of this circuit and its basin: (step id, value) or (step id, values of three lines), in the order they
            were given; what says nothing about the circuit is left out.
    """
    return from_visit(circuit, answers)
