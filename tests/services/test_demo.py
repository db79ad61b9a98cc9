"""The demonstration begins with a published plan, whatever the day: sheets, calendar and plan show real work."""

from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from seasonlog.journal.hurry import hurried
from seasonlog.services import demo, plan, season
from seasonlog.services.day_sheet import day_sheets
from seasonlog.services.places import Places
from tests.builders import a_book, around
from tests.services.plan_samples import is_legal


@pytest.mark.parametrize("on", [date(2026, 1, 15), date(2026, 7, 4)], ids=["winter", "a saturday in summer"])
def test_the_demonstration_has_a_legal_plan_of_the_next_weeks(on: date, tmp_path: Path) -> None:
    now = around(datetime(on.year, on.month, on.day, 13, tzinfo=UTC))
    with demo.build(Places(tmp_path / "seasonlog.db"), now, lambda _: None, history=False) as book:
        work = plan.published(book, on)
        assert work is not None
        assert is_legal(work)
        assert len({made.worker for made in work.plan.assignments}) >= 3
        assert min(made.day for made in work.plan.assignments) >= on
        (repair,) = [
            item for item in work.inputs.items.values() if item.checklist == "repair-retest" and item.tower == "HOS-2"
        ]
        assert "Line amps" in repair.why
        planned = {stop.tower for sheet in day_sheets(book, on).sheets for stop in sheet.stops if sheet.person}
        todays = {work.inputs.items[made.job].tower for made in work.plan.assignments if made.day == on}
        assert todays <= planned
        assert b"With: Mirel Oduvane" in season.calendar(book, on)


def test_one_that_was_interrupted_leaves_nothing_that_looks_finished(tmp_path: Path) -> None:
    at = Places(tmp_path / "seasonlog.db")

    def stops(_: str) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        demo.build(at, around(), stops, history=False)
    assert not at.log.exists()
    said: list[str] = []
    for _ in range(2):
        with demo.build(at, around(), said.append, history=False) as book:
            assert book.db.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    assert said[-1].startswith("The demonstration is there already")
    assert sorted(p.name for p in tmp_path.iterdir() if "making" in p.name) == []


def test_a_real_log_never_hurries(tmp_path: Path) -> None:
    only = pytest.raises(ValueError, match="only a demonstration")
    with a_book(tmp_path, sites=False) as book, only, hurried(book.journal):
        pass
