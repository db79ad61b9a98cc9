"""A year of the sample sites from end to end: windows, plan, visits early, on time and late, repairs, calendars, proof.

What happens is kept by hand beside the log (`a_year.Year`); at four moments everything that the program
shows is held against it, against the windows' own arithmetic, the UID's recipe and the IANA zones.
"""

import hashlib
from datetime import UTC, date, datetime, time, timedelta
from functools import lru_cache
from zoneinfo import ZoneInfo

import pytest
from icalendar import Calendar

from seasonlog.domain.due_state import DueState
from seasonlog.domain.protection import Protection
from seasonlog.domain.season import COLD_SNAP, FALL_ENABLE
from seasonlog.domain.season_due import DueItem, DueKey
from seasonlog.journal.compare import first_difference
from seasonlog.journal.views import LogViews
from seasonlog.planning.model import Assignment
from seasonlog.services import audit
from seasonlog.services.logbook import Logbook
from tests.builders import FixedBytes, FixedClock, Surroundings, a_book, around
from tests.export.calendar_readers import by_vobject, facts_by_icalendar, facts_by_vobject
from tests.services.a_year import CANNOT_TELL, DRY, EARLY, GONE, ILL, LATE, NEVER, ZONES, Moment, Year, key, lived
from tests.services.plan_samples import is_legal


@pytest.fixture(scope="module")
def year(tmp_path_factory: pytest.TempPathFactory) -> Year:
    """Closed again; the log lies where `book.places` says."""
    clock = FixedClock(datetime(2026, 8, 3, 13, tzinfo=UTC))
    book = a_book(tmp_path_factory.mktemp("year"), surroundings=Surroundings(clock, FixedBytes()))
    with book:
        return lived(book, clock)


@pytest.fixture(params=range(4), ids=["august", "october", "december", "july"])
def moment(year: Year, request: pytest.FixtureRequest) -> Moment:
    return year.moments[request.param]


def test_windows_come_from_the_record_or_from_the_typed_dates(year: Year) -> None:
    """By hand: typed dates less 21 days; by a record 14 days before the early first freeze, north and south."""
    enables = {site: windows[0] for site, windows in year.windows.items()}
    typed = {"DAT": date(2026, 9, 22), "ICE": date(2026, 9, 26), "ULV": date(2026, 10, 2)}
    assert {site: enables[site].due + timedelta(days=21) for site in typed} == typed
    assert "as typed for the site" in enables["DAT"].reason
    assert "14 days before" in enables["HOS"].reason
    assert "as typed" not in enables["HOS"].reason
    for site, (first_month, last_month) in {"HOS": (10, 5), "ORR": (4, 11)}.items():
        enable, *checks, disable = year.windows[site]
        freeze = enable.due + timedelta(days=14)
        assert (freeze.month, disable.opens.month) == (first_month, last_month)
        assert [each.ordinal for each in checks] == list(range(1, len(checks) + 1))
        assert all(freeze < each.due < disable.opens for each in checks)


def test_what_was_done_dropped_and_left_stands_in_the_list(moment: Moment) -> None:
    found = {item.key: item for item in moment.items}
    done = {item.key: item.planned for item in found.values() if item.state is DueState.DONE}
    assert done == {made: on for made, on in moment.done.items() if made in found}
    assert {made for made in moment.done if made.season >= season_now(made.tower, moment.on)} <= done.keys()
    assert {item.key for item in found.values() if item.state is DueState.DROPPED} == moment.dropped
    for item in found.values():
        if item.key not in done and item.key not in moment.dropped:
            assert (item.state is DueState.OVERDUE) == (item.due < moment.on)


def season_now(tower: str, on: date) -> int:
    return on.year if on.month >= (2 if tower.startswith("ORR") else 8) else on.year - 1


def proven_by(moment: Moment, tower: str) -> bool:
    """By hand: a healthy fall enable in the season of the day."""
    return key(tower, FALL_ENABLE, season_now(tower, moment.on)) in moment.done and tower != CANNOT_TELL


def test_coverage_follows_the_fall_enables(moment: Moment) -> None:
    proven = {tower for tower, row in moment.rows.items() if row.protection is Protection.PROVEN}
    assert proven == {tower for tower in moment.rows if proven_by(moment, tower)}
    assert len(proven) == {"august": 0, "october": 13, "december": 14, "july": 16}[name_of(moment)]
    if key(CANNOT_TELL) in moment.done:
        assert "cannot tell" in moment.rows[CANNOT_TELL].words


def name_of(moment: Moment) -> str:
    return {8: "august", 10: "october", 12: "december", 7: "july"}[moment.on.month]


def test_every_tower_is_in_one_part_of_the_exposure_board(moment: Moment) -> None:
    """Not proven and wet: exposed. Proven: there only for heat that may not be enough."""
    shown = moment.exposed
    waiting = getattr(shown, "not_now", ())  # not proven, and nothing freezes in this weather
    exposed = {placed.found.tower: placed.found.reasons for placed in (*shown.exposed, *waiting)}
    assert len(exposed) + len(shown.unjudged) + len(shown.drained) + shown.covered == len(moment.rows) == 22
    assert {each.tower: each.proven for each in shown.drained} == {t: proven_by(moment, t) for t in DRY}
    assert {tower for tower in moment.rows if not proven_by(moment, tower)} - DRY <= exposed.keys()
    for tower, reasons in exposed.items():
        if proven_by(moment, tower):
            assert all(reason.startswith("heat of ") for reason in reasons)
    assert [placed.rank for placed in shown.exposed] == list(range(1, len(shown.exposed) + 1))


TODAY = {  # site: due now, overdue; of a tower's missed months the latest counts, unless a later one was made
    "august": {"HOS": (0, 6), "DAT": (5, 0), "ULV": (5, 0), "ICE": (3, 0), "ORR": (0, 6)},
    "october": {"HOS": (0, 1), "DAT": (0, 0), "ULV": (0, 0), "ICE": (0, 3), "ORR": (0, 5)},
    "december": {"HOS": (0, 0), "DAT": (0, 0), "ULV": (0, 0), "ICE": (0, 5), "ORR": (0, 5)},
    "july": {"HOS": (0, 0), "DAT": (0, 0), "ULV": (0, 0), "ICE": (0, 8), "ORR": (0, 4)},
}


def test_the_board_of_today_counts_what_is_pressing(moment: Moment) -> None:
    assert {s.id: (s.due_now, s.overdue) for s in moment.board.sites} == TODAY[name_of(moment)]
    assert [s.open_visits for s in moment.board.sites] == [0] * 5
    assert not moment.board.visits
    assert not moment.board.tonight


# Repairs of the plan


def test_the_sick_persons_work_is_moved_and_nothing_else(year: Year) -> None:
    """Mirel is ill from 20 to 28 August: only the appointment of the 25th finds no other day."""
    repair = year.repairs[0]
    hers = {made.job for made in repair.before.plan.assignments if made.worker == "mirel" and made.day >= ILL[0]}
    missed = {made.job for made in repair.before.missed}
    moved = {move.job for move in repair.draft.moved}
    assert missed == {"HOS-1 fall-enable 2026-1", "HOS-4 fall-enable 2026-1"}
    assert hers == {f"HOS-{n} fall-enable 2026-1" for n in (2, 5, 6)}
    assert moved == hers | missed
    after = {made.job: made for made in repair.after.plan.assignments}
    assert not [m for m in after.values() if m.worker == "mirel" and ILL[0] <= m.day <= ILL[1]]
    assert {move.job for move in repair.draft.moved if move.after is None} == {f"{LATE} fall-enable 2026-1"}
    left = {each.job: each.reason for each in repair.after.plan.left_out}
    assert "2026-08-25 between 09:00 and 10:00" in left[f"{LATE} fall-enable 2026-1"]


def test_no_repair_touches_what_is_done_or_breaks_a_rule(year: Year) -> None:
    assert len(year.repairs) == 4
    for repair in year.repairs:
        done = {place(made) for made in repair.before.plan.assignments if made.job in repair.before.inputs.done}
        assert done <= {place(made) for made in repair.after.plan.assignments}
        assert is_legal(repair.after)
        assert {place(m) for m in repair.after.plan.assignments} == {place(m) for m in repair.draft.plan.assignments}
    assert sum(len(repair.before.inputs.done) for repair in year.repairs) > 20


def place(made: Assignment) -> tuple[object, ...]:
    return made.job, made.worker, made.day, made.start_minute, made.finish_minute


def test_a_cold_snap_is_planned_before_its_night_and_lapses_after_it(year: Year) -> None:
    december = year.moments[2]
    checks = {key: on for key, on in december.done.items() if key.checklist == COLD_SNAP}
    assert {key.tower for key in checks} == {f"HOS-{n}" for n in range(1, 7)}
    assert all(on <= date(2026, 12, 9) for on in checks.values())
    assert {item.key for item in december.items if item.checklist == COLD_SNAP} == checks.keys()


def test_late_early_and_impossible_visits_are_told_as_they_were(year: Year) -> None:
    done = year.done
    due = {item.key: item.due for item in year.moments[0].items}
    first, then = year.moments[0].planned, year.moments[1].planned
    assert done[key(LATE)] > due[key(LATE)]
    assert first[key(EARLY)].day == done[key(EARLY)] + timedelta(days=1)
    assert first[key(NEVER)].day == date(2026, 8, 19) < done[key(NEVER)] == then[key(NEVER)].day
    assert key(GONE) not in done


# Calendars

read_once, facts_once = lru_cache(maxsize=8)(by_vobject), lru_cache(maxsize=8)(facts_by_vobject)
"""Several tests look at each of the four calendars; none changes one."""


def events(moment: Moment) -> dict[str, tuple[DueItem, object]]:
    """Event by UID, found by the recipe: a hash of what names the visit."""
    found = {event.uid.value: event for event in read_once(moment.calendar).vevent_list}
    recipe = {uid_of(moment.log, item.key): item for item in moment.items}
    assert recipe.keys() == found.keys()
    return {uid: (item, found[uid]) for uid, item in recipe.items()}


def uid_of(log: str, key: DueKey) -> str:
    parts = ("visit", log, key.tower, key.checklist, str(key.season), str(key.ordinal))
    return hashlib.sha256("\n".join(parts).encode()).hexdigest()[:40] + "@seasonlog"


def test_both_readers_agree_and_every_visit_is_one_event(moment: Moment) -> None:
    assert facts_by_icalendar(moment.calendar) == facts_once(moment.calendar)
    assert len(events(moment)) == len(moment.items) == len(facts_once(moment.calendar))


def test_done_dropped_and_open_visits_look_so(moment: Moment) -> None:
    for item, event in events(moment).values():
        alarms = len(getattr(event, "valarm_list", []))
        is_done, is_dropped = item.key in moment.done, item.key in moment.dropped
        assert (event.status.value == "CANCELLED") == is_dropped
        assert (" - done" in event.summary.value) == is_done
        assert alarms == (0 if is_done or is_dropped else 2)
        assert event.status.value != "TENTATIVE" or not is_done


def test_a_planned_visit_is_at_its_time_on_the_sites_own_clock(moment: Moment) -> None:
    """IANA zones, read by both parsers; Chicago and Auckland are met on both sides of a change of the clock."""
    ours = {str(event["UID"]): event.start for event in Calendar.from_ical(moment.calendar).events}
    offsets: dict[str, set[timedelta | None]] = {}
    for uid, (item, event) in events(moment).items():
        was = moment.planned.get(item.key)
        at = time(was.start_minute // 60, was.start_minute % 60) if was and was.is_planned else time(8)
        local = datetime.combine(item.planned, at, ZoneInfo(ZONES[item.site]))
        assert event.dtstart.value.astimezone(UTC) == ours[uid].astimezone(UTC) == local.astimezone(UTC)
        assert event.dtstart.value.replace(tzinfo=None) == local.replace(tzinfo=None)
        offsets.setdefault(item.site, set()).add(local.utcoffset())
    hours = {site: {offset / timedelta(hours=1) for offset in found if offset} for site, found in offsets.items()}
    assert (hours["HOS"], hours["DAT"]) == ({-5.0, -6.0}, {-6.0, -7.0})
    assert hours["ORR"] == {12.0, 13.0}


def test_an_event_keeps_its_name_and_its_number_never_falls(year: Year) -> None:
    seen: dict[str, int] = {}
    names: dict[DueKey, str] = {}
    changed = 0
    for moment in year.moments:
        numbers = {uid: sequence for uid, sequence, *_ in facts_once(moment.calendar)}
        assert all(number >= seen.get(uid, 0) for uid, number in numbers.items())
        changed += sum(number > seen[uid] for uid, number in numbers.items() if uid in seen)
        for uid, (item, _) in events(moment).items():
            assert names.setdefault(item.key, uid) == uid
        seen |= numbers
    assert len(set(names.values())) == len(names)
    assert changed > 60


def test_what_changed_in_the_calendar_has_a_higher_number(year: Year) -> None:
    """Start, length, status, words or alarms cannot change behind a reader's back."""
    for before, after in zip(year.moments, year.moments[1:], strict=False):
        old, new = events(before), events(after)
        for uid in old.keys() & new.keys():
            (_, a), (_, b) = old[uid], new[uid]
            if shown(a) != shown(b):
                assert int(b.sequence.value) > int(a.sequence.value), b.summary.value
                assert b.dtstamp.value > a.dtstamp.value


def shown(event: object) -> tuple[object, ...]:
    parts = event.dtstart, event.duration, event.status, event.summary, event.description  # type: ignore[attr-defined]
    return (*(part.value for part in parts), len(getattr(event, "valarm_list", [])))


# Proof


def test_the_log_proves_itself_and_its_tables_are_made_again(year: Year) -> None:
    places, last = year.book.places, year.moments[-1]
    verdict = audit.verify_log(places, quick=False)
    assert verdict.ok
    assert verdict.log.entries > 2000
    audit.rebuild_tables(places, around())
    clock = FixedClock(datetime(2027, 7, 23, 15, tzinfo=UTC))
    with Logbook.open(places, Surroundings(clock, FixedBytes("later")), "Mirel Oduvane", writing=True) as book:
        assert first_difference(book.journal, LogViews()) == ""
        again = Year(book, clock, dict(year.done), set(year.dropped))
        again.look(last.on)
    assert again.moments == [last]
