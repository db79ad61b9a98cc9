"""The plan as list rows: a person's day with its visits, what has nobody, how each site's windows are covered."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date

from textual.content import Content

from seasonlog.domain.season_due import DueKey
from seasonlog.planning.reasons import clock
from seasonlog.services.plan import Workplan
from seasonlog.services.plan_rows import (
    PersonDay,
    SiteCover,
    Stop,
    Unplaced,
    cover,
    move_times,
    name_of,
    person_days,
    told_moves,
    unplaced,
)
from seasonlog.tui.rows import marks
from seasonlog.tui.widgets.row import Row, heading
from seasonlog.tui.wording import Look, counted, plain, say
from seasonlog.tui.words import day_words

PLANNED = Look("●", "PLANNED", "hot")
DONE = Look("✓", "DONE", "pass")
LATE = Look("!", "OVERDUE", "fail")
NOBODY = Look("✗", "NOBODY", "fail")
WAITS = Look("○", "CAN WAIT", "calm")
WHOLE = Look("✓", "COVERED", "pass")
BAR = 12
"""Cells of the bar that shows how much of a site is covered."""


def nothing_yet() -> list[Row]:
    """No plan and no draft."""
    words = "`seasonlog plan --file plan.toml` drafts one; then it stands here, to be moved and published."
    return [Row("", Content("No plan yet"), Content(words))]


def days(work: Workplan, claimed: Mapping[DueKey, str]) -> list[Row]:
    """Every day of every person, the days gone by that were done or missed included; who claimed what with it."""
    changed = {move.job: move_times(work, move) for move in told_moves(work)}
    found = [row for each in person_days(work) for row in _person_day(work, each, changed, claimed)]
    return found or [Row("", Content("Nobody goes anywhere"), Content("The next part tells what has nobody, and why."))]


def next_ahead(work: Workplan, today: date) -> str:
    """Key of the first visit today or on the next day ahead; empty where there is none."""
    ahead = (stop for each in person_days(work) if each.day >= today for stop in each.stops if not stop.is_done)
    return next((f"stop:{stop.job}" for stop in ahead), "")


def _person_day(
    work: Workplan, each: PersonDay, changed: Mapping[str, str], claimed: Mapping[DueKey, str]
) -> Iterator[Row]:
    day = day_words(each.day).rpartition(" ")[0]
    yield heading(f"{day} · {say(each.name).plain} · {clock(each.leaves_minute)}-{clock(each.home_minute)}")
    site = ""
    for stop in each.stops:
        is_missed = not stop.is_done and each.day < work.inputs.span.first
        row = _stop(stop, changed.get(stop.job, ""), is_missed=is_missed, tells_access=stop.item.site != site)
        told = claimed.get(stop.item.key, "")
        yield replace(row, words=Content("\n").join([row.words, say(told, "$tone-cold")])) if told else row
        site = stop.item.site


def _stop(stop: Stop, changed: str, *, is_missed: bool, tells_access: bool) -> Row:
    look = DONE if stop.is_done else LATE if stop.is_late or is_missed else PLANNED
    mark = marks(
        ("moved" if changed else "", "near-fail"),
        ("MISSED" if is_missed else LATE.word if stop.is_late and not stop.is_done else "", "fail"),
        (DONE.word if stop.is_done else "", "pass"),
    )
    way = f"{stop.travel_minutes} min drive · " if stop.travel_minutes else ""
    told = [say(f"{plain(stop.item.checklist)} · {way}due {stop.item.due}")]
    told += [say(changed, "$tone-near-fail")] if changed else []
    told += [say(stop.item.why)] if stop.item.why else []
    if tells_access:
        told[0] = say(f"{stop.site_name} · ") + told[0]
        told += [say(f"Access: {stop.access}")] if stop.access else []
        told += [say(f"Permits: {stop.permits}")] if stop.permits else []
    title = say(f"{stop.times}  {stop.item.tower}  {stop.tower_name}")
    return Row(f"stop:{stop.job}", title, Content("\n").join(told), mark, look)


def nobody(work: Workplan) -> list[Row]:
    """What nobody has, first what cannot wait."""
    found = unplaced(work)
    pressing, waiting = [each for each in found if not each.can_wait], [each for each in found if each.can_wait]
    changed = {move.job: move_times(work, move) for move in told_moves(work)}
    shown: list[Row] = []
    for name, ours in (("NOBODY HAS", pressing), ("CAN WAIT UNTIL AFTER THIS PLAN", waiting)):
        if ours:
            shown += [heading(f"{name} · {len(ours)}"), *(_nobody(each, changed.get(each.job, "")) for each in ours)]
    everything = Row("", Content("✓ Everything that is due has somebody"))
    return shown or [everything]


def _nobody(each: Unplaced, changed: str) -> Row:
    why = f"\n{each.item.why}" if each.item.why else ""
    words = f"{plain(each.item.checklist)} · {each.site_name} · due by {each.item.due}{why}\n{each.reason}"
    lines = [say(part) for part in words.split("\n")]
    lines += [say(changed, "$tone-near-fail")] if changed else []
    look = WAITS if each.can_wait else NOBODY
    title = say(f"{each.item.tower}  {each.tower_name}")
    return Row(f"stop:{each.job}", title, Content("\n").join(lines), marks((look.word, look.tone)), look)


def windows(work: Workplan) -> list[Row]:
    """Every site: how many of the visits of these days are in time, late, with nobody."""
    span = work.inputs.span
    title = f"VISITS OF {span.first} TO {span.last}"
    return [heading(title), *map(_windows, cover(work))]


def _windows(each: SiteCover) -> Row:
    parts = (
        (f"{each.done} done", each.done), (f"{each.in_time} in time", each.in_time),
        (f"{each.late} overdue when planned", each.late), (f"{each.waiting} can wait", each.waiting),
        (f"{each.unplaced} with nobody", each.unplaced),
    )  # fmt: skip
    look = NOBODY if each.unplaced else LATE if each.late else WHOLE
    covered = each.done + each.in_time + each.late
    mark = (_bar(covered, each.due), *marks((f"{covered} of {each.due}", look.tone)))
    words = f"{counted(each.due, 'visit')}: {', '.join(text for text, count in parts if count)}"
    return Row(f"site:{each.site}", say(each.name), say(words), mark, look)


def _bar(part: int, whole: int) -> Content:
    filled = round(BAR * part / whole) if whole else 0
    return Content.assemble(("█" * filled, "$tone-pass"), ("░" * (BAR - filled), "$line"))


def choices(work: Workplan, open_to: Sequence[tuple[str, date]], now: tuple[str, date] | None) -> list[Row]:
    """Where a visit could go without breaking a rule."""
    looks = {now: PLANNED}
    return [
        Row(f"{who}:{day}", say(f"{day_words(day)}  {name_of(work, who)}"), look=looks.get((who, day), WAITS))
        for who, day in open_to
    ]
