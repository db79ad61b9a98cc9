"""The fault finder at a tower: one circuit of the register, what was seen of it, the next question, and a way back.

A search is a frozen value. Everything a screen, a command or a voice does with it gives the next one; the log is only
read here (`fault_finding_record` writes the end of a search into it).
"""

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Self

from seasonlog import resources
from seasonlog.domain.answers import Unfit, decimal_text, number_of
from seasonlog.domain.finding import Finding
from seasonlog.domain.register import Circuit as Entry
from seasonlog.domain.register import Register
from seasonlog.domain.text import visible
from seasonlog.domain.visit import Progress, Saved
from seasonlog.errors import InputRefusedError, Problem
from seasonlog.faults.circuit import Circuit, circuit_of
from seasonlog.faults.diagnose import Session, evidence_from_visit
from seasonlog.faults.effects import UnmodelledError
from seasonlog.faults.evidence import VisitAnswer
from seasonlog.faults.observation import (
    DEAD,
    DRAINED,
    JUMPER,
    LIVE,
    AnswerError,
    Check,
    Choice,
    Stop,
)
from seasonlog.faults.priors import Priors, parse_priors
from seasonlog.faults.repairs import PROOFS
from seasonlog.faults.settings import ICED
from seasonlog.faults.tests_offered import GATE, READY
from seasonlog.faults.typed_ohms import TAKEN, ohms_typed
from seasonlog.faults.words_here import words_here
from seasonlog.intake.observations_file import NOT_QUALIFIED, QUALIFIED, ObservationsFile
from seasonlog.services import registry, rounds
from seasonlog.services.logbook import Logbook
from seasonlog.services.reasons import refuse

WHO = "at_the_panel"
"""Id of the very first question, in files and documents."""
WHO_ASKED = "Who is at the panel, and are they qualified and equipped for energised work?"
WHO_ANSWERS: Mapping[str, str] = {
    QUALIFIED: "Qualified and equipped for it",
    NOT_QUALIFIED: "Not, or not sure: only looking from outside, panel shut",
}
WHO_WHY = (
    "It decides what may be asked at all. Nobody opens the panel on this tool's word: whoever is not qualified and "
    "equipped looks at lamps, ammeter, level, ice and breaker handle from outside, and a technician is sent."
)
RE_ENERGISE = (
    "The test before was made locked out. Own locks off and power on only by a qualified person, leads landed, "
    "water seen over the heater."
)
BEFORE_ALL = "A tripped breaker, a blown fuse or a tripped ground-fault device is never closed again as a test."
FROM_OUTSIDE = replace(
    GATE,
    choices=tuple(each for each in GATE.choices if each != ICED),
    do="Touching nothing: is the basin full to its mark, the heater switch on, the pump off, and the water colder than "
    "cut-in (cold)? Say low if water is missing, not_ready otherwise, or if it cannot be seen from outside.",
)
"""The first test for whoever only looks: nobody is asked to move a sensor."""
LONGEST_NAME = 60
MUST_BE_READ = (LIVE, JUMPER, DRAINED)
"""Ways of making a test whose caution is acknowledged each time."""
_DEAD_WAYS = (DEAD, JUMPER, DRAINED)


@lru_cache(maxsize=1)
def trade_weights() -> Priors:
    """How often each fault is met, from the table that comes with the program."""
    file = resources.checklists() / "practice" / "faults.toml"
    priors, problems = parse_priors(tomllib.loads(file.read_text("utf-8")), "practice/faults.toml")
    if priors is None:
        raise InputRefusedError(problems)
    return priors


@dataclass(frozen=True, slots=True)
class Search:
    """One circuit being asked about."""

    tower: str
    register: Register
    session: Session
    visit: str = ""
    """Visit whose answers are evidence, or empty."""
    panel: str = ""
    """`qualified` or `not_qualified`; empty until it was answered."""
    person: str = ""
    """Who is at the panel, where somebody said so; whoever types may sit elsewhere."""
    before: "Search | None" = None
    """As it stood before the last answer."""

    @property
    def circuit(self) -> Circuit:
        """As the ladder takes it."""
        return self.session.circuit

    @property
    def entry(self) -> Entry:
        """As the register has it."""
        return self.register.circuits[self.session.circuit.id]

    @property
    def asks_who(self) -> bool:
        """The first question is still open."""
        return not self.panel

    def at_the_panel(self, who: str) -> "Search":
        """The search with the first question answered.

        Raises:
            InputRefusedError: it is not one of `WHO_ANSWERS`.
        """
        if who not in WHO_ANSWERS:
            raise refuse(WHO, f'"{visible(who[:40])}" is not one of {", ".join(WHO_ANSWERS)}')
        return replace(self, panel=who, session=replace(self.session, qualified=who == QUALIFIED), before=self)

    def with_person(self, name: str) -> "Search":
        """The search with the name of who is at the panel.

        Raises:
            InputRefusedError: it is no name that a record can hold.
        """
        if not (kept := visible(name).strip()) or len(kept) > LONGEST_NAME:
            raise refuse("at_panel", f"a name of 1 to {LONGEST_NAME} characters is wanted")
        return replace(self, person=kept)

    def answered(self, test: str, raw: str) -> "Search":
        """The search with one more answer, as typed: a word, its number in the list of choices, or a reading.

        Raises:
            InputRefusedError: this circuit has no such test, or the test no such answer.
        """
        try:
            return self._next(self.session.with_answer(test, answer_typed(self._test(test), raw)))
        except AnswerError as wrong:
            raise refuse(f"test {visible(test[:40])}", _without_name(wrong, test)) from None

    def cannot(self, test: str) -> "Search":
        """The search without a test that cannot be made here."""
        return self._next(self.session.cannot_do(test))

    def undone(self) -> "Search":
        """The search before its last answer, with whoever is named by now; itself when there is none."""
        before = self.before or self
        return before if before.person == self.person else replace(before, person=self.person)

    def next(self) -> Choice | Stop:
        """The next test, or why there is none."""
        found = self.session.next_test()
        if isinstance(found, Stop) or self.session.qualified or found.test.id != READY:
            return found
        return Choice(self._test(READY), found.why, tuple(each for each in found.outcomes if each.answer != ICED))

    def _test(self, test: str) -> Check:
        if test != READY or self.session.qualified:
            return self.session.test(test)
        return replace(FROM_OUTSIDE, do=words_here(self.circuit, FROM_OUTSIDE.do))

    def _next(self, session: Session) -> "Search":
        return replace(self, session=session, before=self)

    def caution(self, check: Check) -> str:
        """What has to be said before a test: its own caution, and the change from locked out to energised."""
        change = RE_ENERGISE if self._is_locked_out and check.mode not in _DEAD_WAYS else ""
        return " ".join(each for each in (change, check.caution) if each)

    @property
    def _is_locked_out(self) -> bool:
        """The test made last left the branch locked out, so that every look and reading after it needs power again."""
        last = self.session.last_made
        return last is not None and last.mode in _DEAD_WAYS

    def must_be_read(self, check: Check) -> bool:
        """Its caution is acknowledged before it can be answered: each energised one, and each change of lockout."""
        changes = (check.mode in _DEAD_WAYS) != self._is_locked_out
        return check.mode in MUST_BE_READ or changes


def _without_name(wrong: AnswerError, test: str) -> str:
    return visible(str(wrong).removeprefix(f"test {test}: "))


def answer_typed(check: Check, raw: str) -> str | float:
    """An answer as a person types it, as the test takes it.

    Raises:
        AnswerError: the test has no such answer; a sentence says what it takes.
    """
    text = raw.strip()
    if check.choices:
        if text.isascii() and text.isdigit() and 1 <= int(text[:3]) <= len(check.choices):
            return check.choices[int(text[:3]) - 1]
        word = text.casefold().replace(" ", "_").replace("-", "_")
        return check.answer(word if word in check.choices else visible(text[:60]))
    if check.unit == "ohm":
        ohms = ohms_typed(text)
        if ohms is None:
            raise AnswerError(f'test {check.id}: "{visible(text[:40])}" is not a reading; {TAKEN}')
        return check.answer(ohms)
    found = decimal_text(text, check.unit)
    if isinstance(found, Unfit):
        raise AnswerError(f"test {check.id}: {visible(found.says[:160])}")
    return check.answer(found)


def is_about_a_circuit(finding: Finding) -> bool:
    """A finding that a search for a fault of the heater's circuit may explain."""
    return finding.step_id in PROOFS


@dataclass(frozen=True, slots=True)
class CircuitChoice:
    """A heater circuit of a tower."""

    circuit: str
    refused: str
    """Why its faults are not worked out here; empty when they are."""


def circuits(register: Register, tower: str) -> tuple[CircuitChoice, ...]:
    """The heater circuits of a tower, each with why it is refused, if it is."""
    return tuple(CircuitChoice(each.id, _refused(register, each.id)) for each in register.circuits_of(tower))


def _refused(register: Register, circuit: str) -> str:
    try:
        circuit_of(register, circuit)
    except UnmodelledError as refused:
        return str(refused).removeprefix(f"circuit {circuit}: ")
    return ""


def circuit(book: Logbook, tower: str, named: str = "") -> tuple[Register, Circuit]:
    """The circuit to look at, as the ladder takes it.

    Args:
        book: The log.
        tower: Tower id.
        named: Circuit id; may be left out where the tower has only one.

    Raises:
        InputRefusedError: no such tower or circuit, several to choose from, or one that is not modelled.
    """
    register = registry.of_known_tower(book.db, tower)
    ours = [each.id for each in register.circuits_of(tower)]
    if not ours:
        raise refuse(f"tower {tower}", "has no heater circuit on record")
    if named and named not in ours:
        raise refuse(f"circuit {visible(named[:40])}", f"is not one of {tower}; it has {', '.join(ours)}")
    if not named and len(ours) > 1:
        raise refuse(f"tower {tower}", f"has several heater circuits; name one of {', '.join(ours)}")
    try:
        return register, circuit_of(register, named or ours[0])
    except UnmodelledError as refused:
        where = f"circuit {named or ours[0]}"
        raise refuse(where, str(refused).removeprefix(f"{where}: ")) from None


def begin(book: Logbook, tower: str, named: str = "", visit: str = "") -> Search:
    """A search over a circuit; with a visit, over all that was already read in it.

    Raises:
        InputRefusedError: as `circuit`; or the visit is not in the log, or of another tower.
    """
    register, found = circuit(book, tower, named)
    search = Search(tower, register, Session(found, priors=trade_weights()), visit)
    return search if not visit else _with_visit(search, rounds.progress(book, visit))


def _with_visit(search: Search, at: Progress) -> Search:
    if at.visit.tower != search.tower:
        raise refuse(f"visit {at.visit.id}", f"is of {at.visit.tower}, not of {search.tower}")
    session = search.session
    for each in evidence_from_visit(search.circuit, _read_in(at, search.entry)):
        try:
            session = session.with_evidence([each])
        except AnswerError:  # a reading that no meter shows says nothing about the circuit
            continue
    return replace(search, session=session)


def _read_in(at: Progress, entry: Entry) -> Iterator[VisitAnswer]:
    """Answers about this circuit, its basin or the whole tower, in the order they were saved."""
    about = ("", entry.id, entry.basin)
    for saved in sorted(at.answers.values(), key=lambda each: each.seq):
        if not saved.is_skipped and saved.target in about:
            yield saved.step_id, _value(saved)


def _value(saved: Saved) -> str | float | tuple[float, ...]:
    if not isinstance(saved.value, str):
        return tuple(number_of(each) for each in saved.value)
    try:
        return number_of(saved.value)
    except ValueError:
        return saved.value


def observed(search: Search, file: ObservationsFile) -> Search:
    """The search with everything in a file of observations.

    Raises:
        InputRefusedError: with every test or answer that this circuit does not have; nothing was taken over.
    """
    if file.at_the_panel:
        search = search.at_the_panel(file.at_the_panel)
    taken = _Taken(search)
    for each in file.observations:
        taken.answer(each.test, each.answer, each.where)
    for each in file.cannot:
        taken.cannot(each.test, each.where)
    if taken.problems:
        raise InputRefusedError(taken.problems)
    return replace(taken.search, session=replace(taken.search.session, once=True), before=None)


class _Taken:
    """A search that takes answers over and keeps what it could not take."""

    def __init__(self, search: Search) -> None:
        self.search = search
        self.problems: list[Problem] = []

    def answer(self, test: str, raw: str, where: str) -> Self:
        try:
            self.search = self.search.answered(test, raw)
        except InputRefusedError as refused:
            self.problems += [Problem(where, each.says) for each in refused.problems]
        return self

    def cannot(self, test: str, where: str) -> None:
        try:
            self.search = self.search.cannot(test)
        except AnswerError as wrong:
            self.problems.append(Problem(where, visible(str(wrong))))
