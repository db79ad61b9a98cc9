"""Whatever happens to a season in whatever order, a repaired plan breaks no rule and the log's tables follow."""

import os
import shutil
import tempfile
from datetime import UTC, datetime, timedelta
from pathlib import Path

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule

from seasonlog.errors import InputRefusedError
from seasonlog.journal.compare import first_difference
from seasonlog.journal.views import LogViews
from seasonlog.services import plan, plan_draft, season
from seasonlog.services.plan import Absence, Addition
from seasonlog.services.plan_moves import move, take_out, targets
from tests.builders import FixedBytes, FixedClock, Surroundings, a_book
from tests.services.plan_samples import FROM, as_published, is_legal, request

PEOPLE = st.sampled_from(["mirel", "halden", "jessa", "tobrin"])
NUMBERS = st.integers(0, 60)


class Season(RuleBasedStateMachine):
    """The sample sites from 20 August on."""

    @initialize()
    def begin(self) -> None:
        around = Surroundings(FixedClock(datetime(2026, 8, 20, 13, tzinfo=UTC)), FixedBytes())
        self.folder = Path(tempfile.mkdtemp(dir=os.environ.get("PYTEST_DEBUG_TEMPROOT")))
        self.book = a_book(self.folder, surroundings=around)
        self.today = FROM
        plan.publish(self.book, plan.draft(self.book, request(days=21)))

    @rule(days=st.integers(1, 6))
    def days_go_by(self, days: int) -> None:
        self.today += timedelta(days=days)
        self._repair()

    @rule(who=PEOPLE, after=st.integers(0, 5), days=st.integers(0, 6))
    def somebody_is_ill(self, who: str, after: int, days: int) -> None:
        first = self.today + timedelta(days=after)
        self._repair([Absence(who, first, first + timedelta(days=days))])

    @rule(number=NUMBERS, days=st.integers(0, 12))
    def one_more_visit(self, number: int, days: int) -> None:
        tower = f"HOS-{1 + number % 6}"
        last = self.today + timedelta(days=days)
        self._repair(added=[Addition(tower, "cold-snap", self.today, last, "cold")])

    @rule(number=NUMBERS, days=st.integers(-2, 12))
    def moved_in_the_list_of_what_is_due(self, number: int, days: int) -> None:
        tower = f"HOS-{1 + number % 6}"
        wanted = season.DueRequest(tower, "fall-enable")
        season.move(self.book, wanted, self.today + timedelta(days=days), "crane", self.today)
        self._repair()

    @rule(number=NUMBERS)
    def dropped(self, number: int) -> None:
        try:
            season.drop(self.book, season.DueRequest(f"HOS-{1 + number % 6}", "fall-enable"), "sold", self.today)
        except InputRefusedError:
            return
        self._repair()

    @rule(number=NUMBERS, place=NUMBERS, out=st.booleans())
    def moved_on_the_screen(self, number: int, place: int, out: bool) -> None:
        work = plan_draft.standing(self.book, self.today) or as_published(self.book, self.today)
        jobs = [m.job for m in work.plan.assignments if m.day >= self.today] + [u.job for u in work.plan.left_out]
        if jobs:
            job = jobs[number % len(jobs)]
            open_to = targets(work, job)
            if open_to:
                plan_draft.keep(self.book, move(work, job, *open_to[place % len(open_to)]))
            elif out:
                plan_draft.keep(self.book, take_out(work, job))

    @rule()
    def published(self) -> None:
        draft = plan_draft.standing(self.book, self.today)
        if draft is not None:
            plan.publish(self.book, draft)
            plan_draft.forget(self.book.places)

    def _repair(self, away: list[Absence] | None = None, added: list[Addition] | None = None) -> None:
        plan_draft.forget(self.book.places)
        work = plan.replanned(self.book, request(self.today, file=None, days=21), away or (), added or ())
        assert is_legal(work)
        plan.publish(self.book, work)

    @invariant()
    def nothing_is_broken(self) -> None:
        if hasattr(self, "book"):
            assert is_legal(as_published(self.book, self.today))
            draft = plan_draft.kept(self.book, self.today)
            assert draft is None or is_legal(draft)

    def teardown(self) -> None:
        if hasattr(self, "book"):
            assert first_difference(self.book.journal, LogViews()) == ""
            self.book.close()
            shutil.rmtree(self.folder)


TestSeason = Season.TestCase
TestSeason.settings = settings(
    max_examples=6, stateful_step_count=8, deadline=None, suppress_health_check=list(HealthCheck)
)
