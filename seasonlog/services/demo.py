"""The demonstration: the sample sites in a log of their own, with invented history.

The history is made through the same services a person uses, with a clock that is told the time, in a log whose first
entry says `demonstration`. What happened is told in `sample_sites/history`; readings follow from each heater's rating.
"""

from collections.abc import Callable
from datetime import date, timedelta

from seasonlog import resources
from seasonlog.domain.due_state import DueState
from seasonlog.domain.register import Register
from seasonlog.errors import InputRefusedError, Problem
from seasonlog.journal.copying import clear, put
from seasonlog.journal.hurry import hurried
from seasonlog.journal.store import Journal
from seasonlog.services import plan, registry, season
from seasonlog.services import register as equipment
from seasonlog.services.days import day_of
from seasonlog.services.demo_clock import ToldClock
from seasonlog.services.demo_history import Scene, first_day, tell
from seasonlog.services.demo_readings import Readings
from seasonlog.services.demo_readings import healthy as healthy
from seasonlog.services.demo_story import BRIEF, WHOLE, Story, story
from seasonlog.services.logbook import Logbook, Surroundings, make_log
from seasonlog.services.places import Places

TECHNICIAN = "Mirel Oduvane"
"""Invented, like all of the sample team: who has the log in hand when it is ready."""
Told = Callable[[str], None]
"""Told what was just built."""
Part = Callable[[int, float], None]
"""Told how many entries there are and which part of all that is, 0 to 1."""


def build(
    at: Places, around: Surroundings, told: Told, *, history: bool = True, progress: Part | None = None
) -> Logbook:
    """The demonstration log: the one already there, or a new one.

    It is made under a working name: one that was interrupted leaves nothing that looks finished.

    Args:
        at: Where; a log that is no demonstration is never touched.
        around: The real clock and randomness; only keys, ids and the present day come from them.
        told: Called with a sentence after each part.
        history: With all winters of the story; else one fall.
        progress: Told how far it is.

    Raises:
        InputRefusedError: a log is there that the demo did not make.
    """
    if at.log.exists():
        return _again(at, around, told)
    working = Places(at.log.with_name(f"{at.log.name}.making"))
    clear(working.log)
    clock = ToldClock(0, around.clock.offset_minutes(), around.clock.wall_ms())
    scene = _scene(story(WHOLE if history else BRIEF), clock, day_of(clock.present_ms, clock.home_minutes))
    clock.to(first_day(scene))
    by_then = Surroundings(clock, around.random_bytes, around.salts)
    journal = make_log(working, by_then, scene.story.supervisor, demonstration=True)
    with Logbook(journal, working, by_then, scene.story.supervisor) as book, hurried(journal):
        scene.book = book
        _history(scene, told, progress)
    put(working.log, at.log)
    working.log.with_name(f"{working.log.name}.lock").unlink(missing_ok=True)
    return Logbook.open(at, around, TECHNICIAN, writing=True)


def _again(at: Places, around: Surroundings, told: Told) -> Logbook:
    with Journal.open_read_only(at.log) as journal:
        if not journal.is_demonstration:
            words = "holds a log that the demo did not make; name another folder with --dir"
            raise InputRefusedError([Problem(str(at.home), words)])
    told("The demonstration is there already; it is used as it is.")
    return Logbook.open(at, around, TECHNICIAN, writing=True)


def _scene(told: Story, clock: ToldClock, today: date) -> Scene:
    courses = {(c.tower, c.step): c for c in told.courses}
    return Scene(clock, told, today, _known(), Readings(told.seed, told.typical, courses))


def _known() -> Register:
    """Everything the sample files hold."""
    files = sorted((f for f in resources.sample_sites().iterdir() if f.name.endswith(".toml")), key=lambda f: f.name)
    return Register.of(equipment.read(equipment.HandedIn(f.name, f.read_bytes()) for f in files))


def _history(scene: Scene, told: Told, progress: Part | None) -> None:
    def happened(says: str, part: float) -> None:
        if progress is not None:
            progress(scene.book.journal.count(), part)
        elif says:
            told(says)

    tell(scene, happened)
    scene.clock.to(scene.today - timedelta(days=1))
    register = registry.whole(scene.book.db)
    told(f"{len(register.sites)} sites with {len(register.towers)} towers, all invented, since {first_day(scene)}")
    _move_one(scene)
    _plan(scene, told)


def _move_one(scene: Scene) -> None:
    """One visit of the season is planned for another day, if there is one to move."""
    coming = [i for i in season.items(scene.book, scene.today) if i.state in (DueState.UPCOMING, DueState.OPEN)]
    if coming:
        scene.book.who = scene.story.supervisor
        wanted = season.DueRequest(coming[0].tower, coming[0].checklist, coming[0].ordinal)
        season.move(
            scene.book, wanted, coming[0].planned + timedelta(days=1), "crane on the roof that day", scene.today
        )


def _plan(scene: Scene, told: Told) -> None:
    """The next weeks are planned with the sample team's plan file, and published the day before."""
    scene.book.who = scene.story.supervisor
    text = (resources.sample_sites() / "plan" / "plan.toml").read_text("utf-8")
    work = plan.draft(scene.book, plan.Request(scene.today, scene.today, file=text))
    plan.publish(scene.book, work, "four weeks ahead")
    people = len({made.worker for made in work.plan.assignments})
    told(f"yesterday   a plan published: {len(work.plan.assignments)} visits for {people} people in four weeks")
