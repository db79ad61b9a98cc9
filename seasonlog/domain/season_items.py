"""What is due on which tower: the season's windows joined with what the record says was done, moved or dropped.

Decided here, and shown on every board:

- Moving a visit moves its planned day, never its last sensible day: the frost does not read the plan. A visit planned
  past that day is overdue the morning after it, and the words say so.
- A drained tower has a fall enable (proof of drained) and a spring disable, and no monthly verification. One drained
  during the season keeps the rest of its monthly visits as dropped, so that a calendar can take them back.
- A winter mode changed once the fall enable's window has opened makes the fall enable due that very day; where it was
  done before the change it is due again, under the next ordinal, and the first one stays done. Before the window
  opens a change asks nothing extra: the visit is still to come.
- Of the season before, only the spring disable is still asked for, until this season's fall enable opens. A fall
  enable or monthly visit nobody made lapses with its season: doing it late proves nothing about a winter that is over.
  That it never came stays in the record, where coverage and the yearly review read it.
- Of the season to come, a visit is listed as soon as its window opens.
- A cold snap raised from a forecast asks one check of every tower that is not drained, due the day before the first
  night. Once the last of its nights is over, a check nobody made is asked for no longer.
- A dropped fall enable is due again, under the next ordinal, when the winter mode changes after its window opened:
  the reason it was dropped for may have gone. The new one can be dropped like the first.
"""

from collections.abc import Collection, Iterable, Iterator, Sequence
from datetime import date
from itertools import chain
from typing import NamedTuple

from seasonlog.domain.due_state import DueState
from seasonlog.domain.register import Register, Site, Tower
from seasonlog.domain.season import (
    COLD_SNAP,
    FALL_ENABLE,
    MID_WINTER,
    SPRING_DISABLE,
    Window,
    WindowRules,
    freeze_dates,
    season_of,
    windows,
)
from seasonlog.domain.season_due import DRAINED, SEASONAL, SETTLED, DueHistory, DueItem, DueKey, ModeChange, mode_on


def due_items(
    register: Register, on: date, history: DueHistory | None = None, rules: WindowRules | None = None
) -> tuple[DueItem, ...]:
    """All visits worth knowing about on a day, the one due first coming first; settled ones of this season included.

    Args:
        register: Sites and towers.
        on: The day asked about.
        history: What was done, moved and dropped, and how winter modes changed.
        rules: How far around the freeze dates the windows lie.
    """
    history = history or DueHistory()
    by_site = (_of_site(register, site, on, history, rules or WindowRules()) for site in register.sites.values())
    found = list(chain.from_iterable(by_site))
    found += _added(register, on, history, {item.key for item in found})
    return tuple(sorted(found, key=lambda item: (item.due, item.site, item.key)))


def _added(register: Register, on: date, history: DueHistory, listed: Collection[DueKey]) -> Iterator[DueItem]:
    """Visits a person put into the plan; settled ones while their season lasts."""
    for key, added in history.added.items():
        tower = register.towers.get(key.tower)
        if tower is not None and key not in listed:
            window = Window(key.checklist, key.ordinal, added.opens, added.due, added.due)
            item = _item(tower, key.season, _Asked(window, added.why), on, history)
            if item.state not in SETTLED or key.season >= season_of(on, register.site_of(tower.id).latitude_deg):
                yield item


def items_of_season(
    site: Site, tower: Tower, season: int, on: date, history: DueHistory, planned: Sequence[Window]
) -> tuple[DueItem, ...]:
    """The visits of one tower in one season, settled or not.

    A visit that was made stays listed even where the site's freeze dates have changed since and its window is gone.

    Args:
        site: Where the tower stands.
        tower: The tower.
        season: First year of the season.
        on: The day the states are told for.
        history: What the record says.
        planned: The site's `windows` in that season, or those of them that are wanted.
    """
    asked = list(_asked(site, tower, season, history, planned))
    listed = {(each.window.checklist, each.window.ordinal) for each in asked}
    for key in history.done_by_season.get((tower.id, season), ()):
        if key.checklist in SEASONAL and (key.checklist, key.ordinal) not in listed:
            made = history.done[key]
            asked.append(_Asked(Window(key.checklist, key.ordinal, made, made, made)))
    return tuple(_item(tower, season, each, on, history) for each in asked)


def _of_site(register: Register, site: Site, on: date, history: DueHistory, rules: WindowRules) -> Iterator[DueItem]:
    season = season_of(on, site.latitude_deg)
    frost = history.frosts.get(site.id)
    old = [window for window in windows(site, season - 1, rules, frost) if window.checklist == SPRING_DISABLE]
    now = (*windows(site, season, rules, frost), *snap_windows(site, season, history))
    new = [window for window in windows(site, season + 1, rules, frost) if window.opens <= on]
    over = {snap.ordinal for snap in history.snaps.get(site.id, ()) if snap.season == season and on > snap.last_night}
    for tower in register.towers_of(site.id):
        this = items_of_season(site, tower, season, on, history, now)
        left_over = items_of_season(site, tower, season - 1, on, history, old)
        yield from (item for item in left_over if _carried(item, this, on))
        yield from (
            item for item in this if item.checklist != COLD_SNAP or item.state in SETTLED or item.ordinal not in over
        )
        yield from (items_of_season(site, tower, season + 1, on, history, new) if new else ())


def snap_windows(site: Site, season: int, history: DueHistory) -> Iterator[Window]:
    """The cold snaps raised in a season, as windows.

    Args:
        site: The site.
        season: First year of the season.
        history: With the cold snaps of the record.
    """
    for snap in history.snaps.get(site.id, ()):
        if snap.season == season:
            yield Window(COLD_SNAP, snap.ordinal, snap.opens, snap.due, snap.due, snap.reason)


def _carried(item: DueItem, this_season: Sequence[DueItem], on: date) -> bool:
    """A heater left on through the summer is still worth switching off, until it is wanted again."""
    if item.checklist != SPRING_DISABLE or item.state in SETTLED:
        return False
    enables = [new for new in this_season if new.checklist == FALL_ENABLE]
    return all(new.state not in SETTLED and on < new.opens for new in enables)


class _Asked(NamedTuple):
    """A window that applies to a tower."""

    window: Window
    why: str = ""
    dropped: bool = False


def _asked(site: Site, tower: Tower, season: int, history: DueHistory, planned: Sequence[Window]) -> Iterator[_Asked]:
    changes = sorted(history.mode_changes.get(tower.id, ()))
    for window in planned:
        if window.checklist == FALL_ENABLE:
            last_freeze = freeze_dates(site, season, history.frosts.get(site.id)).last
            known = [change for change in changes if change.on <= last_freeze]
            yield from _enables(DueKey(tower.id, FALL_ENABLE, season, 1), window, known, history)
        elif window.checklist not in (MID_WINTER, COLD_SNAP) or mode_on(tower, changes, window.planned) != DRAINED:
            yield _Asked(window, window.reason if window.checklist == COLD_SNAP else "")
        elif any(c.on <= window.planned and season_of(c.on, site.latitude_deg) == season for c in changes):
            yield _Asked(window, "the tower is drained", dropped=True)


def _enables(key: DueKey, window: Window, changes: Iterable[ModeChange], history: DueHistory) -> Iterator[_Asked]:
    """The season's fall enable, then one more for each change of winter mode that came after it was settled.

    A change recorded on the day of the visit counts as made before it: the visit asks what the mode demands.
    """
    why = ""
    for change in changes:
        made = history.done.get(key)
        if made is None and key not in history.dropped:
            if change.on >= window.opens:
                window, why = _at_once(window, change), _because(change)
        elif change.on > (made or window.opens):
            yield _Asked(window, why)
            key = key._replace(ordinal=key.ordinal + 1)
            window, why = Window(FALL_ENABLE, key.ordinal, change.on, change.on, change.on), _because(change)
    yield _Asked(window, why)


def _at_once(window: Window, change: ModeChange) -> Window:
    return window._replace(due=min(window.due, change.on), planned=min(window.planned, change.on))


def _because(change: ModeChange) -> str:
    return f"winter mode changed to {change.winter.replace('_', ' ')} on {change.on}"


def _item(tower: Tower, season: int, asked: _Asked, on: date, history: DueHistory) -> DueItem:
    window = asked.window
    key = DueKey(tower.id, window.checklist, season, window.ordinal)
    moved = history.moved.get(key)
    opens = min(window.opens, moved or window.opens)
    return DueItem(
        tower=tower.id,
        site=tower.site,
        checklist=window.checklist,
        season=season,
        ordinal=window.ordinal,
        opens=opens,
        due=window.due,
        planned=history.done.get(key) or moved or window.planned,
        state=_state(key, asked.dropped, opens, window.due, on, history),
        why=history.dropped.get(key, asked.why),
        planned_with=history.planned_with.get(key, ""),
        reason=window.reason,
        has_begun=opens <= on,
    )


def _state(key: DueKey, dropped: bool, opens: date, due: date, on: date, history: DueHistory) -> DueState:
    if key in history.done:
        return DueState.DONE
    if dropped or key in history.dropped:
        return DueState.DROPPED
    if on > due:
        return DueState.OVERDUE
    return DueState.OPEN if opens <= on else DueState.UPCOMING
