"""A plan in words, for a terminal."""

from seasonlog.cli import frame
from seasonlog.planning.reasons import clock
from seasonlog.services.plan import Workplan
from seasonlog.services.plan_rows import PersonDay, Unplaced, cover, move_words, person_days, told_moves, unplaced

MOST_MOVES = 40


def tell(work: Workplan) -> None:
    """All of it: days, what moved, what has nobody, how the windows are covered."""
    for each in person_days(work):
        _day(each)
    tell_moves(work)
    _unplaced(unplaced(work))
    frame.table([("SITE", "DUE", "DONE", "IN TIME", "LATE", "CAN WAIT", "NOBODY"), *_cover_rows(work)])
    for sentence in (*work.broken, *work.inputs.notes, work.says):
        if sentence:
            frame.say(sentence)


def _day(each: PersonDay) -> None:
    way = f"leaves {each.base} {clock(each.leaves_minute)}, back {clock(each.home_minute)}"
    frame.out(f"{each.day} {each.day:%a}  {each.name}: {way}, {each.travel_minutes} min on the road")
    site = ""
    for stop in each.stops:
        item = stop.item
        marks = [*(["done"] if stop.is_done else []), *(["OVERDUE"] if stop.is_late else [])]
        due = f"due by {item.due}" + "".join(f", {mark}" for mark in marks)
        frame.out(f"    {stop.times}  {item.tower}  {item.checklist}  {stop.tower_name}, {stop.site_name}; {due}")
        if item.why:
            frame.out(f"        why: {item.why}")
        if item.site != site:
            for label, words in (("access", stop.access), ("permits", stop.permits)):
                if words:
                    frame.out(f"        {label}: {words}")
        site = item.site


def tell_moves(work: Workplan) -> None:
    """Every visit that has another person, day or time than published: before and after."""
    moves = told_moves(work)
    if moves:
        frame.out("Different from the published plan:")
        for move in moves[:MOST_MOVES]:
            frame.out(f"    {move_words(work, move)}")
        if len(moves) > MOST_MOVES:
            frame.out(f"    ... and {len(moves) - MOST_MOVES} more; --json lists all")


def _unplaced(found: list[Unplaced]) -> None:
    pressing, waiting = [each for each in found if not each.can_wait], [each for each in found if each.can_wait]
    for title, ours in (("NOBODY HAS", pressing), ("Not planned yet, can wait", waiting)):
        if ours:
            frame.out(f"{title}: {len(ours)}")
        for each in ours:
            why = f" ({each.item.why})" if each.item.why else ""
            where = f"{each.item.tower}  {each.item.checklist}  {each.tower_name}, {each.site_name}"
            frame.out(f"    {where}; due by {each.item.due}{why}: {each.reason}")


def _cover_rows(work: Workplan) -> list[tuple[str, ...]]:
    return [
        (c.site, str(c.due), str(c.done), str(c.in_time), str(c.late), str(c.waiting), str(c.unplaced))
        for c in cover(work)
    ]
