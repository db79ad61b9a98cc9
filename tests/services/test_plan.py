"""From what is due to a published plan and its repairs: no rule broken, and every board shows what was published."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from seasonlog.domain.due_state import DueState
from seasonlog.domain.register import Register
from seasonlog.domain.season import FALL_ENABLE
from seasonlog.domain.season_due import DueItem, due_words
from seasonlog.errors import InputRefusedError
from seasonlog.journal.plan_queries import plan_basis, planned_visits
from seasonlog.services import audit, board, closing, plan, plan_draft, plan_rows, season
from seasonlog.services import register as equipment
from seasonlog.services.day_sheet import day_sheets
from seasonlog.services.logbook import Logbook
from seasonlog.services.plan import Absence, Addition
from seasonlog.services.plan_moves import move, targets
from tests.builders import FixedBytes, FixedClock, Surroundings, a_book, a_visit, answered
from tests.services.plan_samples import FROM, PLAN, as_published, is_legal, made, published, request


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Logbook]:
    around = Surroundings(FixedClock(datetime(2026, 8, 20, 13, tzinfo=UTC)), FixedBytes())
    with a_book(tmp_path, surroundings=around) as opened:
        yield opened


NAMED = [f'[[person]]\nid = "{who}"\nbase = "{base}"\n' for who, base in (("mirel", "lake"), ("halden", "lake"))]
ONLY_JESSA = PLAN.replace(NAMED[0], "").replace(NAMED[1], "").replace('[[person]]\nid = "tobrin"\nbase = "south"\n', "")
"""Nobody is qualified."""


def due(book: Logbook, tower: str, on: date = FROM, checklist: str = FALL_ENABLE) -> DueItem:
    return next(i for i in season.items(book, on, tower=tower) if i.checklist == checklist)


def set_clock(book: Logbook, on: date) -> None:
    clock = book.around.clock
    assert isinstance(clock, FixedClock)
    clock.now = datetime(on.year, on.month, on.day, 15, tzinfo=UTC)


def do(book: Logbook, tower: str, on: date, checklist: str = FALL_ENABLE) -> None:
    """The visit, made and signed on a day."""
    set_clock(book, on)
    closing.sign_off(book, answered(book, a_visit(book, tower, checklist, on)), closing.NOT_AVAILABLE)


def test_a_draft_keeps_every_rule_and_writes_nothing(book: Logbook) -> None:
    before = book.journal.count()
    work = plan.draft(book, request())
    assert is_legal(work)
    assert book.journal.count() == before
    assert plan.published(book, FROM) is None
    assert {m.day.weekday() for m in work.plan.assignments} <= {0, 1, 2, 3, 4}
    assert due(book, "HOS-1").planned_with == ""


def test_energised_work_goes_only_to_people_on_record_as_qualified(book: Logbook) -> None:
    """Jessa Wickmoor is not (sample team); a fall enable has steps on live parts, a cold-snap check has none."""
    work = plan.draft(book, request())
    assert is_legal(work)
    only_jessa = PLAN.replace('id = "mirel"', 'id = "verita"').replace('id = "halden"', 'id = "tobrin2"')
    with pytest.raises(InputRefusedError, match="is no technician of the register"):
        plan.draft(book, request(file=only_jessa))
    alone = plan.draft(book, request(file=ONLY_JESSA))
    assert not [m for m in alone.plan.assignments if alone.inputs.instance.job(m.job).needs_qualified]
    left = next(u for u in plan_rows.unplaced(alone) if u.item.tower == "HOS-1" and u.item.checklist == FALL_ENABLE)
    assert "needs a qualified person" in left.reason


def test_a_qualification_that_ends_is_taken_to_the_day(book: Logbook) -> None:
    ends = date(2026, 8, 21)
    people = book_people(book)
    equipment.write(
        book,
        equipment.preview(
            Register.of(people.values()),
            [replace(people[name], qualified_until=ends) for name in ("mirel", "halden")],
        ),
        "papers run out",
    )
    work = plan.draft(book, request())
    live = [
        m for m in work.plan.assignments if work.inputs.instance.job(m.job).needs_qualified and m.worker != "tobrin"
    ]
    assert live
    assert max(m.day for m in live) <= ends
    assert is_legal(work)


def book_people(book: Logbook) -> dict[str, object]:
    from seasonlog.services import registry

    return dict(registry.shared(book.db).people)


def test_a_published_plan_moves_the_planned_day_and_never_the_last_sensible_one(book: Logbook) -> None:
    before = {i.key: i for i in season.items(book, FROM)}
    work = published(book)
    assert is_legal(work)
    after = {i.key: i for i in season.items(book, FROM)}
    assert {key: (i.due, i.state) for key, i in after.items()} == {key: (i.due, i.state) for key, i in before.items()}
    for one in work.plan.assignments:
        item = after[work.inputs.items[one.job].key]
        assert (item.planned, item.planned_with.split(" at ")[0]) == (one.day, plan_rows.name_of(work, one.worker))
        assert one.day <= item.due or item.state is DueState.OVERDUE


def test_boards_and_due_words_show_the_plan(book: Logbook) -> None:
    who, day, start = made(published(book), "HOS-1")
    words = f"planned for {day}, {plan_rows.name_of(as_published(book), who)} at {start // 60:02}:{start % 60:02}"
    assert due_words(due(book, "HOS-1"), FROM).endswith(words)
    assert board.tower_rows(book, ["HOS-1"], FROM)[0].due.endswith(words)
    view = board.tower_view(book, "HOS-1", FROM)
    assert any(i.planned == day and i.planned_with for i in view.due)


def test_the_mornings_sheet_is_the_plans_day_in_its_order(book: Logbook) -> None:
    """What the plan has for a later day is on nobody's sheet; the rest is with whoever knows the site."""
    work = published(book)
    on = next(m.day for m in work.plan.assignments if m.worker == "mirel")
    sheets = {sheet.person: [stop.tower for stop in sheet.stops] for sheet in day_sheets(book, on).sheets}
    for who in ("mirel", "halden"):
        theirs = [m for m in work.plan.assignments if (m.worker, m.day) == (who, on)]
        assert sheets[plan_rows.name_of(work, who)] == [work.inputs.items[m.job].tower for m in theirs]
    later = {work.inputs.items[m.job].tower for m in work.plan.assignments if m.day > on}
    today = {work.inputs.items[m.job].tower for m in work.plan.assignments if m.day <= on}
    assert not {tower for towers in sheets.values() for tower in towers} & (later - today)


def test_publishing_the_same_again_writes_nothing(book: Logbook) -> None:
    published(book)
    count = book.journal.count()
    assert plan.publish(book, plan.draft(book, request())).entries == 0
    assert book.journal.count() == count


def test_only_what_is_new_is_written(book: Logbook) -> None:
    published(book)
    count = book.journal.count()
    work = as_published(book)
    name = next(m.job for m in work.plan.assignments if m.worker == "mirel")
    free = next(on for who, on in targets(work, name) if who == "halden")
    wrote = plan.publish(book, move(work, name, "halden", free))
    assert wrote.entries == book.journal.count() - count
    assert 1 <= wrote.planned < len(work.plan.assignments)


def test_the_log_holds_no_float_and_proves_itself(book: Logbook) -> None:
    published(book)
    plan.publish(book, plan.replanned(book, request(file=None), [Absence("mirel", FROM, FROM + timedelta(days=3))]))
    assert audit.verify_log(book.places, quick=False).ok
    rows = list(planned_visits(book.db)), plan_basis(book.db)
    audit.rebuild_tables(book.places, book.around)
    assert (list(planned_visits(book.db)), plan_basis(book.db)) == rows
    assert all(isinstance(v.start_minute, int) for v in rows[0])


def test_what_cannot_be_reached_is_left_out_with_its_reason(book: Logbook) -> None:
    work = plan.draft(book, request())
    left = {each.item.tower: each for each in plan_rows.unplaced(work)}
    assert "with the way there and back" in left["ICE-1"].reason
    assert all(each.called == work.inputs.register.people[each.id].name for each in work.inputs.instance.workers)
    assert not left["ICE-1"].can_wait
    cover = {c.site: c for c in plan_rows.cover(work)}
    assert cover["ICE"].unplaced == cover["ICE"].due == 3
    assert cover["HOS"].in_time == cover["HOS"].due == 6


def test_towers_on_one_roof_are_done_together(book: Logbook) -> None:
    """Six towers of one site in two shifts of four and two; nobody drives there three times."""
    days = {(m.worker, m.day) for m in plan.draft(book, request()).plan.assignments if m.job.startswith("HOS")}
    assert len(days) == 2


def test_an_overdue_visit_is_planned_within_the_week_and_marked(book: Logbook) -> None:
    on = date(2026, 9, 10)
    work = plan.draft(book, request(on))
    stops = [s for d in plan_rows.person_days(work) for s in d.stops if s.item.tower == "HOS-1"]
    assert [(s.is_late, s.item.due < on) for s in stops if s.item.checklist == FALL_ENABLE] == [(True, True)]
    assert all(m.day <= on + timedelta(days=6) for m in work.plan.assignments if m.job.startswith("HOS"))
    assert not work.broken


def test_a_visit_moved_by_hand_is_planned_for_that_very_day(book: Logbook) -> None:
    day = date(2026, 9, 1)
    season.move(book, season.DueRequest("HOS-3", FALL_ENABLE), day, "crane", FROM)
    work = published(book)
    assert made(work, "HOS-3")[1] == day
    season.move(book, season.DueRequest("HOS-3", FALL_ENABLE), date(2026, 9, 2), "crane again", FROM)
    now = as_published(book)
    assert "HOS-3" not in {now.inputs.items[m.job].tower for m in now.plan.assignments}
    (nobody,) = [u for u in plan_rows.unplaced(now) if u.item.tower == "HOS-3" and u.item.checklist == FALL_ENABLE]
    assert nobody.reason == "moved by hand to 2026-09-02: crane again"
    assert made(plan.replanned(book, request(file=None)), "HOS-3")[1] == date(2026, 9, 2)


def test_an_appointment_is_kept_to_the_minute_or_told(book: Logbook) -> None:
    agreed = '[[appointment]]\ntower = "HOS-2"\nchecklist = "fall-enable"\nday = {}\nfrom = "10:00"\nto = "10:30"\n'
    work = plan.draft(book, request(file=PLAN + agreed.format("2026-08-26")))
    _, day, start = made(work, "HOS-2")
    assert (day, 600 <= start <= 630) == (date(2026, 8, 26), True)
    assert is_legal(work)
    beyond = plan.draft(book, request(file=PLAN + agreed.format("2026-09-10")))
    (left,) = [u for u in plan_rows.unplaced(beyond) if u.item.tower == "HOS-2" and u.item.checklist == FALL_ENABLE]
    assert "lies outside" in left.reason


def test_a_repair_keeps_what_is_done_and_moves_only_the_sick_persons_work(book: Logbook) -> None:
    before = published(book)
    sick = max(("mirel", "halden"), key=lambda who: sum(m.worker == who for m in before.plan.assignments))
    first = min(m.day for m in before.plan.assignments if m.worker == sick)
    today = first
    done = next(m for m in before.plan.assignments if (m.worker, m.day) == (sick, first))
    do(book, before.inputs.items[done.job].tower, first)
    work = plan.replanned(
        book, request(today, file=None), [Absence(sick, first + timedelta(days=1), first + timedelta(days=30))]
    )
    assert is_legal(work)
    assert next(m for m in work.plan.assignments if m.job == done.job) == done
    away = {first + timedelta(days=n) for n in range(1, 31)}
    assert not [m for m in work.plan.assignments if m.worker == sick and m.day in away]
    untouched = {m.job for m in before.plan.assignments if m.worker != sick}
    moved = {m.job for m in work.moved if m.before and m.after and m.before.day != m.after.day}
    assert not moved & untouched
    plan.publish(book, work, "ill")
    again = as_published(book, today)
    assert is_legal(again)
    assert plan.replanned(book, request(today, file=None)).moved == ()
    basis = plan_basis(book.db)
    assert basis is not None
    assert basis.away[0][0] == sick


def test_somebody_who_falls_out_at_noon_keeps_the_morning_and_a_later_repair_keeps_it_too(book: Logbook) -> None:
    """The hour goes with the record: the plan that is read from the log again is as legal as the repaired one."""
    before = published(book)
    noon = 12 * 60
    who, on = next((m.worker, m.day) for m in before.plan.assignments if m.finish_minute <= noon)
    todays = [m for m in before.plan.assignments if m.day == on]
    morning = [m for m in todays if m.worker == who and m.finish_minute <= noon]
    rest = {m.job for m in todays if m.worker == who} - {m.job for m in morning}
    assert rest
    work = plan.replanned(book, request(on, file=None), [Absence(who, on, on, noon)])
    assert is_legal(work)
    assert [m for m in work.plan.assignments if m.worker == who and m.day == on] == morning
    assert {move.job for move in work.moved} == rest
    moved = [m for m in work.plan.assignments if m.day == on and m.job in rest]
    assert all(m.start_minute >= noon for m in moved)
    plan_draft.keep(book, work)
    kept = plan_draft.kept(book, on)
    assert kept is not None
    assert kept.inputs.basis == work.inputs.basis
    plan.publish(book, work, "ill")
    basis = plan_basis(book.db)
    assert basis is not None
    assert basis.away == ((who, on, on, noon),)
    again = as_published(book, on)
    assert (is_legal(again), again.plan.assignments) == (True, work.plan.assignments)
    assert plan.replanned(book, request(on, file=None)).moved == ()


def test_a_visit_done_late_or_early_frees_its_place_and_is_told_as_done(book: Logbook) -> None:
    before = published(book)
    last = max(before.plan.assignments, key=lambda m: (m.worker != "tobrin", m.day))
    tower, early = before.inputs.items[last.job].tower, last.day - timedelta(days=1)
    do(book, tower, early)
    now = as_published(book, early)
    assert last.job not in {m.job for m in now.plan.assignments}
    assert (due(book, tower, early).state, due(book, tower, early).planned) == (DueState.DONE, early)
    assert is_legal(plan.replanned(book, request(early, file=None)))


def test_what_was_missed_is_told_and_planned_anew(book: Logbook) -> None:
    before = published(book)
    today = min(m.day for m in before.plan.assignments if m.job.startswith("HOS")) + timedelta(days=4)
    now = as_published(book, today)
    assert now.missed
    told = [u.reason for u in plan_rows.unplaced(now) if "was not done" in u.reason]
    assert len(told) == len(now.missed)
    work = plan.replanned(book, request(today, file=None))
    again = {m.job: m.day for m in work.plan.assignments}
    assert all(again.get(m.job, today) >= today for m in now.missed)
    assert is_legal(work)


def test_one_more_visit_is_planned_published_due_and_settled(book: Logbook) -> None:
    published(book)
    wanted = Addition("HOS-1", "repair-retest", date(2026, 8, 27), date(2026, 8, 31), "new element")
    work = plan.replanned(book, request(file=None), added=[wanted])
    _, day, _ = made(work, "HOS-1", "repair-retest")
    assert wanted.first <= day <= wanted.last
    plan.publish(book, work)
    item = due(book, "HOS-1", FROM, "repair-retest")
    assert (item.opens, item.due, item.planned, item.why) == (wanted.first, wanted.last, day, "new element")
    do(book, "HOS-1", day, "repair-retest")
    assert due(book, "HOS-1", day, "repair-retest").state is DueState.DONE
    assert audit.verify_log(book.places, quick=False).ok


def test_a_dropped_visit_leaves_the_plan(book: Logbook) -> None:
    work = published(book)
    made(work, "HOS-4")
    season.drop(book, season.DueRequest("HOS-4", FALL_ENABLE), "tower sold", FROM)
    now = as_published(book)
    assert not [m for m in now.plan.assignments if now.inputs.items[m.job].tower == "HOS-4" and "fall" in m.job]
    assert is_legal(now)


def test_the_work_of_somebody_who_left_the_register_is_told_and_given_to_others(book: Logbook) -> None:
    before = published(book)
    gone = [m.job for m in before.plan.assignments if m.worker == "halden"]
    equipment.retire(book, "person", "halden", "left the firm")
    with pytest.raises(InputRefusedError, match="halden is no technician"):
        plan.published(book, FROM)
    assert "halden at" in due(book, before.inputs.items[gone[0]].tower).planned_with
    without = PLAN.replace(NAMED[1], "")
    work = plan.replanned(book, request(file=without))
    assert {m.job for m in work.moved} >= set(gone)
    plan.publish(book, work)
    assert is_legal(as_published(book))


def test_nothing_is_published_that_breaks_a_rule_by_now(book: Logbook) -> None:
    work = plan.draft(book, request())
    wrong = replace(work, plan=replace(work.plan, assignments=tuple(
        replace(m, worker="jessa") if m.worker == "mirel" else m for m in work.plan.assignments)))  # fmt: skip
    count = book.journal.count()
    with pytest.raises(InputRefusedError, match="not qualified"):
        plan.publish(book, wrong)
    assert book.journal.count() == count


def test_a_draft_is_kept_beside_the_log_and_follows_it(book: Logbook) -> None:
    assert plan_draft.kept(book, FROM) is None
    work = plan.draft(book, request())
    plan_draft.keep(book, work)
    again = plan_draft.kept(book, FROM)
    assert again is not None
    assert again.plan == work.plan
    do(book, "HOS-1", FROM)
    later = plan_draft.kept(book, FROM)
    assert later is not None
    assert not [m for m in later.plan.assignments if later.inputs.items[m.job].key == due(book, "HOS-1").key]
    plan_draft.forget(book.places)
    assert plan_draft.kept(book, FROM) is None


@pytest.mark.parametrize(
    "text", ["", "{}", "[1]", '{"format":"other"}', "\ud800x".encode("utf-8", "replace").decode(), "{" * 500]
)
def test_a_damaged_draft_is_told_in_a_sentence(book: Logbook, text: str) -> None:
    (book.places.home / plan_draft.NAME).write_text(text)
    with pytest.raises(InputRefusedError, match="makes a new one"):
        plan_draft.kept(book, FROM)


def test_a_move_by_hand_is_taken_or_refused_with_a_sentence(book: Logbook) -> None:
    work = published(book)
    name = next(m.job for m in work.plan.assignments if m.worker == "mirel")
    day = next(
        d for d in work.inputs.instance.days if d > max(m.day for m in work.plan.assignments if m.job.startswith("HOS"))
    )
    assert work.inputs.items[name].due >= day
    moved = move(work, name, "halden", day)
    assert is_legal(moved)
    assert (moved.is_draft, [str(m.after.worker) for m in moved.moved if m.job == name and m.after]) == (
        True,
        ["halden"],
    )
    for who, on, says in (
        ("jessa", day, "not qualified"),
        ("tobrin", day, "back at the base after the shift|cannot be at"),
        ("halden", work.inputs.items[name].due + timedelta(days=4), "outside its days|not a working day"),
        ("halden", date(2026, 8, 22), "not a working day"),
    ):
        with pytest.raises(InputRefusedError, match=says):
            move(work, name, who, on)
    assert ("halden", day) in targets(moved, name)


def test_the_first_day_may_not_be_over_and_the_file_must_be_there(book: Logbook) -> None:
    with pytest.raises(InputRefusedError, match="is over"):
        plan.draft(book, replace(request(), first=FROM - timedelta(days=1)))
    with pytest.raises(InputRefusedError, match="--file"):
        plan.draft(book, request(file=None))
    with pytest.raises(InputRefusedError, match="no published plan"):
        plan.replanned(book, request())
    published(book)
    with pytest.raises(InputRefusedError, match="nobody of the register"):
        plan.replanned(book, request(file=None), [Absence("nobody", FROM, FROM)])


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ("[travel.lake]\nNOWHERE = 5\n", "neither a site"),
        ('[[base]]\nid = "HOS"\nlatitude_deg = 1\nlongitude_deg = 1\n', "is the id of a site"),
        (
            '[[appointment]]\ntower = "X-1"\nchecklist = "fall-enable"\nday = 2026-08-26\nfrom = "10:00"\n',
            "not in the register",
        ),
    ],
)
def test_a_file_that_does_not_go_with_the_register_is_refused_whole(book: Logbook, more: str, says: str) -> None:
    with pytest.raises(InputRefusedError, match=says):
        plan.draft(book, request(file=PLAN + more))


def test_minutes_that_nobody_gave_are_asked_for(book: Logbook) -> None:
    with pytest.raises(InputRefusedError, match="does not say how long mid-winter takes"):
        plan.draft(book, request(file=PLAN.replace("other = 60\n", "")))


def test_a_known_way_goes_before_the_straight_line(book: Logbook) -> None:
    work = plan.draft(book, request(file=PLAN + "[travel.lake]\nHOS = 61\n"))
    day = next(d for d in plan_rows.person_days(work) if d.stops[0].item.site == "HOS")
    assert (day.stops[0].travel_minutes, day.travel_minutes) == (61, 122)


def test_pyvrp_is_asked_only_with_seconds_and_never_makes_it_worse(book: Logbook) -> None:
    pytest.importorskip("pyvrp")
    simple = plan.draft(book, request())
    better = plan.draft(book, request(seconds=1.0))
    assert simple.by == "greedy"
    assert len(better.plan.left_out) <= len(simple.plan.left_out)
    assert is_legal(better)
