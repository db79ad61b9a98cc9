"""What the record asks for becomes visits of a plan: repairs of open findings, commissioning of new heaters."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from seasonlog.domain.register import Device, Register
from seasonlog.domain.season_due import DueItem
from seasonlog.domain.visit import VisitState
from seasonlog.journal.plan_queries import planned_visits
from seasonlog.services import closing, findings, plan, plan_findings, plan_rows, rounds, season
from seasonlog.services import register as equipment
from seasonlog.services.logbook import Logbook
from tests.builders import FixedBytes, FixedClock, Surroundings, a_book, a_visit, answered
from tests.services.plan_samples import FROM, PLAN, is_legal, request

ONLY_ENABLES = PLAN.replace("other = 60\n", "mid-winter = 60\nspring-disable = 60\ncold-snap = 60\n")


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Logbook]:
    """A probe that hangs askew at HOS-1, and a heater that was put into HOS-3 in June."""
    around = Surroundings(FixedClock(datetime(2026, 8, 20, 13, tzinfo=UTC)), FixedBytes())
    with a_book(tmp_path_factory.mktemp("asked"), surroundings=around) as opened:
        at = rounds.answer(opened, a_visit(opened, "HOS-1", "fall-enable", FROM), "probe_plumb_deg", "22")
        closing.close_unfinished(opened, at, VisitState.INCOMPLETE, "rain")
        facts = {"position": "heater", "of": "HOS-3-HN", "maker": "Somebody", "model": "K", "serial": "1"}
        heater = Device(id="HOS-3-HN-1", installed=date(2026, 6, 2), removed=None, **facts)
        equipment.write(opened, Register.of(()).changes([heater]))
        yield opened


def asked(book: Logbook, today: date = FROM) -> dict[tuple[str, str], DueItem]:
    found = plan_findings.asked(book, today, today)
    assert [key for key, item in found.items() if key != item.key] == []
    return {(item.tower, item.checklist): item for item in found.values()}


def test_a_finding_asks_for_a_repair_and_a_new_heater_for_its_commissioning_before_the_fall_enable(
    book: Logbook,
) -> None:
    (finding,) = findings.open_findings(book)
    found = asked(book)
    assert set(found) == {("HOS-1", "repair-retest"), ("HOS-3", "commissioning")}
    repair, new = found["HOS-1", "repair-retest"], found["HOS-3", "commissioning"]
    assert repair.why == f"repair and retest: {finding.id} {finding.title}"
    assert new.why == "new heater on HOS-3-HN, put in on 2026-06-02, not commissioned since"
    enable = next(i for i in season.items(book, FROM, tower="HOS-1") if i.checklist == "fall-enable")
    assert (repair.opens, repair.due, repair.reason) == (FROM, enable.due, "before the season's fall enable")


def test_after_the_fall_enable_it_is_soon_and_an_old_heater_is_not_new(book: Logbook) -> None:
    winter = date(2027, 1, 11)
    assert asked(book, winter)["HOS-3", "commissioning"].due == winter + timedelta(days=6)
    assert ("HOS-3", "commissioning") not in asked(book, date(2027, 6, 3))


def test_a_plan_places_them_and_says_why_and_only_asks_once(book: Logbook) -> None:
    work = plan.draft(book, request())
    assert is_legal(work)
    stops = {(s.item.tower, s.item.checklist): s for day in plan_rows.person_days(work) for s in day.stops}
    assert stops["HOS-1", "repair-retest"].item.why.startswith("repair and retest: F-")
    assert stops["HOS-3", "commissioning"].item.why.startswith("new heater on HOS-3-HN")
    silent = plan.draft(book, request(file=ONLY_ENABLES))
    assert [note for note in silent.inputs.notes if "does not say how long repair-retest takes" in note]
    assert is_legal(silent)

    plan.publish(book, work)
    assert {v.key.tower: v.added for v in planned_visits(book.db) if v.added} == {
        tower: item.why for (tower, _), item in asked_before(work).items()
    }
    assert asked(book) == {}
    assert plan.draft(book, request()).moved == ()
    assert plan.replanned(book, replace(request(file=None), findings=True)).moved == ()


def asked_before(work: plan.Workplan) -> dict[tuple[str, str], DueItem]:
    return {(item.tower, item.checklist): item for item in work.inputs.added.values()}


def test_what_is_made_is_asked_for_no_more(book: Logbook) -> None:
    """After the test above: the commissioning is made; nothing asks for another, though a year is not over."""
    closing.sign_off(book, answered(book, a_visit(book, "HOS-3", "commissioning", FROM)), closing.NOT_AVAILABLE)
    assert not [
        i for i in season.items(book, FROM, tower="HOS-3") if i.checklist == "commissioning" and i.state != "done"
    ]
    assert ("HOS-3", "commissioning") not in asked(book, FROM + timedelta(days=1))
