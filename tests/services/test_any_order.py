"""Whatever is done in whatever order: no gate is skipped, no saved answer lost, every table follows the entries."""

import tempfile
from pathlib import Path

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule

from seasonlog.domain.visit import VisitState
from seasonlog.errors import InputRefusedError
from seasonlog.journal.compare import first_difference
from seasonlog.journal.verify import verify
from seasonlog.journal.views import LogViews
from seasonlog.services import closing, findings, rounds
from seasonlog.services.demo import healthy
from tests.builders import TODAY, a_book, a_visit

NUMBERS = st.integers(0, 40)


class Visits(RuleBasedStateMachine):
    """One short enable after another on one tower, by somebody who does anything at any time."""

    def __init__(self) -> None:
        super().__init__()
        self.folder = Path(tempfile.mkdtemp())
        self.book = a_book(self.folder)
        self.at = a_visit(self.book, checklist="short-enable")
        self.saved: dict[tuple[str, str], str] = {}

    def key(self, number: int) -> str:
        return self.at.instances[number % len(self.at.instances)].key

    def keep(self, key: str) -> None:
        answer = self.at.answers[key]
        self.saved[(self.at.visit.id, key)] = answer.uid

    @rule(number=NUMBERS, wrong=st.booleans(), because=st.sampled_from(["", "typed twice"]), retest=st.booleans())
    def answer(self, number: int, wrong: bool, because: str, retest: bool) -> None:
        key = self.key(number)
        instance = self.at.instance(key)
        assert instance is not None
        raw = healthy(self.at, instance, TODAY)
        if wrong and instance.step.expect:
            raw = {"yes": "no", "no": "yes"}[instance.step.expect]
        shut = self.at.waits_for(key)
        try:
            self.at = rounds.answer(self.book, self.at, key, raw, rounds.AnswerOptions(because=because, retest=retest))
        except InputRefusedError:
            return
        assert not shut
        self.keep(key)

    @rule(number=NUMBERS)
    def skip(self, number: int) -> None:
        key = self.key(number)
        if self.at.visit.state is VisitState.OPEN:
            self.at = rounds.skip(self.book, self.at, key, "not now")
            self.keep(key)

    @rule()
    def answer_the_rest(self) -> None:
        if self.at.visit.state is VisitState.OPEN:
            for instance in self.at.remaining:
                if not self.at.waits_for(instance.key):
                    raw = healthy(self.at, instance, TODAY)
                    self.at = rounds.answer(self.book, self.at, instance.key, raw)
                    self.keep(instance.key)

    @rule()
    def change(self) -> None:
        if self.at.visit.state is VisitState.OPEN:
            self.at = closing.make_change(self.book, self.at, "jumper", "terminals 7 and 8")

    @precondition(lambda self: self.at.open_changes)
    @rule()
    def restore(self) -> None:
        self.at = closing.restore_change(self.book, self.at, self.at.open_changes[0].id)

    @rule()
    def sign(self) -> None:
        if self.at.visit.state is not VisitState.OPEN:
            return
        hindered = self.at.hindrances
        try:
            self.at = closing.sign_off(self.book, self.at, closing.NOT_AVAILABLE)
        except InputRefusedError:
            assert hindered
            return
        assert not hindered

    @precondition(lambda self: self.at.visit.state is not VisitState.OPEN)
    @rule()
    def start_again(self) -> None:
        self.at = a_visit(self.book, checklist="short-enable")

    @rule()
    def close_a_finding(self) -> None:
        for found in findings.open_findings(self.book)[:1]:
            try:
                closed = findings.close(self.book, found.id, "looked at it")
            except InputRefusedError:
                assert found.needs_retest
            else:
                assert not closed.needs_retest

    @invariant()
    def what_is_shown_is_what_is_kept(self) -> None:
        kept = rounds.progress(self.book, self.at.visit.id)
        assert kept == self.at
        mine = {key: uid for (visit, key), uid in self.saved.items() if visit == self.at.visit.id}
        assert {key: answer.uid for key, answer in kept.answers.items()} == mine

    def teardown(self) -> None:
        assert first_difference(self.book.journal, LogViews()) == ""
        self.book.close()
        assert verify(self.folder / "seasonlog.db", keys_dir=self.folder / "keys").ok


TestVisits = Visits.TestCase
TestVisits.settings = settings(
    max_examples=15, stateful_step_count=40, deadline=None, suppress_health_check=list(HealthCheck)
)
