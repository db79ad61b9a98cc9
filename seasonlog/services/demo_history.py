"""Carries the story of the demonstration out: day by day, through the services a person uses, by an invented clock."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from operator import attrgetter

from seasonlog import resources
from seasonlog.domain.checklist import applicable
from seasonlog.domain.late import Late
from seasonlog.domain.register import Register
from seasonlog.domain.register_records import Instrument, Record, Site, Tower
from seasonlog.domain.season import (
    FALL_ENABLE,
    MID_WINTER,
    SiteFrost,
    Window,
    place,
    season_of,
    windows,
    working_day,
)
from seasonlog.domain.season_due import DRAINED
from seasonlog.domain.visit import Progress, VisitState
from seasonlog.services import checklists, climate, closing, recall, registry, rounds, season
from seasonlog.services import register as equipment
from seasonlog.services.climate_study import HowToRead
from seasonlog.services.days import moment
from seasonlog.services.demo_certificates import certified, renewals
from seasonlog.services.demo_clock import ToldClock
from seasonlog.services.demo_readings import Readings
from seasonlog.services.demo_story import Act, Join, Story, VisitTold, When
from seasonlog.services.logbook import Logbook

Told = Callable[[str, float], None]
"""Told what was just done (empty where it was as usual), and which part of all that is, 0 to 1."""
CHECKED = "read against the reference kept at the depot: within its accuracy"


@dataclass(slots=True)
class Scene:
    """What the parts of the story share."""

    clock: ToldClock
    story: Story
    today: date
    """The day the demonstration is made; nothing happens on it."""
    known: Register
    """Everything the sample files hold."""
    readings: Readings
    book: Logbook = field(init=False)
    frosts: Mapping[str, SiteFrost] = field(default_factory=dict)
    joined: dict[str, date] = field(default_factory=dict)
    """Tower to the day it came into the record."""
    retired: dict[str, date] = field(default_factory=dict)
    visit: str = ""
    """Id of the visit made last."""

    def year(self, site: Site, number: int) -> int:
        """The season that the story counts, by its first year."""
        newest = season_of(self.today, site.latitude_deg)
        enable = next(w for w in self.windows(site, newest) if w.checklist == FALL_ENABLE)
        return newest + number - (enable.due >= self.today)

    def windows(self, site: Site, year: int) -> tuple[Window, ...]:
        """The visits a season asks for."""
        return windows(site, year, frost=self.frosts.get(site.id))

    def day(self, when: When, site: Site | None = None) -> date:
        """A day of the story; by the seasons of its first site where none is named."""
        where = site or self.known.sites[self.story.joins[0].site]
        return place(when.day, self.year(where, when.season), where.latitude_deg)

    def site_of(self, tower: str) -> Site:
        """Where a tower stands, by its id: some come into the record by the story alone."""
        return self.known.sites[tower.partition("-")[0]]


@dataclass(frozen=True, slots=True)
class Event:
    """Something that happens on a day."""

    on: date
    order: int
    zone: str
    """Time zone of the place; empty: where the demonstration is made."""
    says: str
    happens: Callable[[], object]


def tell(scene: Scene, told: Told) -> None:
    """Everything the story tells, oldest first, up to the day before today."""
    _joins_first(scene)
    events = sorted(_events(scene), key=attrgetter("on", "order"))
    waiting = [event for event in events if event.on < scene.today]
    for number, event in enumerate(waiting, 1):
        scene.clock.to(event.on, event.zone)
        scene.book.who = scene.story.supervisor
        event.happens()
        told(f"{event.on.isoformat()}  {event.says}" if event.says else "", number / len(waiting))


def first_day(scene: Scene) -> date:
    """The day the record begins."""
    return min(_joined_on(scene, join) for join in scene.story.joins)


def _joined_on(scene: Scene, join: Join) -> date:
    return scene.day(When(join.season, join.day), scene.known.sites[join.site])


def _joins_first(scene: Scene) -> None:
    """People, instruments and the weather record come with the first towers: later windows rest on it."""
    scene.clock.to(first_day(scene), scene.known.sites[scene.story.joins[0].site].time_zone)
    shared = [r for r in scene.known.records() if not _place_of(scene, r)]
    _record(scene, [certified(r, first_day(scene)) if isinstance(r, Instrument) else r for r in shared])
    for join in scene.story.joins:
        if _joined_on(scene, join) == first_day(scene):
            _join(scene, join)
    for site, name in scene.story.climate.items():
        data = (resources.sample_sites() / "weather" / name).read_bytes()
        asked = climate.Import(site, climate.HandedIn(name, data), (), 32, HowToRead())
        climate.keep(scene.book, climate.look(scene.book, asked))
    scene.frosts = season.frosts(scene.book)


def _place_of(scene: Scene, record: Record) -> str:
    """Site or tower a record belongs to; empty for people, instruments and what is part of these."""
    if record.id in scene.known.sites:
        return record.id
    return next((t for t in scene.known.towers if record.id == t or record.id.startswith(f"{t}-")), "")


def _record(scene: Scene, records: list[Record], because: str = "sample sites") -> None:
    equipment.write(scene.book, equipment.preview(registry.whole(scene.book.db), records), because)


def _join(scene: Scene, join: Join) -> None:
    towers = join.towers or [t.id for t in scene.known.towers_of(join.site)]
    wanted = {join.site, *towers}
    _record(scene, [r for r in scene.known.records() if _place_of(scene, r) in wanted])
    scene.joined |= dict.fromkeys(towers, _joined_on(scene, join))


def _events(scene: Scene) -> Iterator[Event]:
    first = first_day(scene)
    for join in scene.story.joins:
        on, towers = _joined_on(scene, join), join.towers or [t.id for t in scene.known.towers_of(join.site)]
        scene.joined |= dict.fromkeys(towers, on)
        if on != first:
            says = f"{join.site}: taken on: {', '.join(towers)}"
            zone = scene.known.sites[join.site].time_zone
            yield Event(on, 0, zone, says, lambda join=join: _join(scene, join))  # type: ignore[misc]
    yield from _certificates(scene)
    yield from _acts(scene)
    yield from _visits(scene)


def _certificates(scene: Scene) -> Iterator[Event]:
    """Each year's, filed together where they come on one day."""
    by_day: dict[date, list[Record]] = {}
    for each in scene.known.instruments.values():
        for on in renewals(each, first_day(scene), scene.today):
            by_day.setdefault(on, []).append(certified(each, on))
    for on, records in by_day.items():
        says = f"{', '.join(r.id for r in records)}: calibrated for another year"
        yield Event(on, 0, "", says, lambda records=records: _record(scene, records, "calibrated, new certificate"))  # type: ignore[misc]


def _acts(scene: Scene) -> Iterator[Event]:
    from seasonlog.services.demo_acts import act

    for each in scene.story.acts:
        says = str(each.says.get("what", ""))
        yield Event(scene.day(each.when), 3, "", says, lambda each=each: act(scene, each))  # type: ignore[misc]


def _visits(scene: Scene) -> Iterator[Event]:
    dropped = {(d.site, d.checklist, d.season): d.because for d in scene.story.drops}
    for tower in (t for t in scene.known.towers.values() if t.id in scene.joined):
        for number, window in _asked(scene, tower):
            told = _told(scene.story, VisitTold(tower.id, window.checklist, number, window.ordinal))
            because = dropped.get((tower.site, window.checklist, number), "")
            if because:
                yield Event(window.opens, 1, "", "", _drop(scene, told, because))
            elif scene.story.routine or told in scene.story.visits:
                yield from _visit_events(scene, told, window)
    for told in scene.story.visits:
        if told.day or told.days_ago:
            yield from _visit_events(scene, told, None)


def _told(story: Story, usual: VisitTold) -> VisitTold:
    """What the story says of a visit, of this one before of all of its kind; else the visit as usual."""
    for number in (usual.number, 0):
        key = (usual.tower, usual.checklist, usual.season, number)
        for each in story.visits:
            if (each.tower, each.checklist, each.season, each.number) == key and not each.day:
                return each
    return usual


def _drop(scene: Scene, told: VisitTold, because: str) -> Callable[[], object]:
    wanted = season.DueRequest(told.tower, told.checklist, told.number)
    return lambda: season.drop(scene.book, wanted, because, scene.book.today())


def _asked(scene: Scene, tower: Tower) -> Iterator[tuple[int, Window]]:
    """What the seasons ask of a tower since it is on record, with the season as the story counts it."""
    site = scene.site_of(tower.id)
    for number in (-3, -2, -1, 0, 1):
        for window in scene.windows(site, scene.year(site, number)):
            if window.opens >= scene.joined[tower.id] and not (
                tower.winter == DRAINED and window.checklist == MID_WINTER
            ):
                yield number, window


def _visit_events(scene: Scene, told: VisitTold, window: Window | None) -> Iterator[Event]:
    if told.missed or (told.days_ago and window is not None):
        return
    on = _day_of(scene, told, window)
    words = f"{told.tower}: {told.what or told.checklist}" if told in scene.story.visits else ""
    by_id: dict[str, str] = {}

    def happens() -> None:
        by_id["visit"] = _make(scene, told, on)

    entered, zone = on + timedelta(days=told.paper_days), scene.site_of(told.tower).time_zone
    yield Event(entered, 1, zone, words, happens)
    for each in told.then:
        yield Event(entered + timedelta(days=each.when.days), 2, zone, "", _follow(scene, told, each, by_id))
    if told.checklist == FALL_ENABLE and told.ends == VisitState.COMPLETE and scene.story.routine:
        yield Event(entered + timedelta(days=5), 2, zone, "", lambda: _review(scene, by_id["visit"]))


def _follow(scene: Scene, told: VisitTold, each: Act, by_id: Mapping[str, str]) -> Callable[[], None]:
    def happens() -> None:
        from seasonlog.services.demo_acts import act

        scene.visit = by_id["visit"]
        scene.book.who = each.by or _technician(scene, told)
        act(scene, each, told.tower)

    return happens


def _review(scene: Scene, visit: str) -> None:
    at = rounds.progress(scene.book, visit)
    if at.visit.who != scene.book.who:
        closing.review(scene.book, at, "read through")


def _technician(scene: Scene, told: VisitTold) -> str:
    return told.by or scene.story.technicians[scene.site_of(told.tower).id]


def _day_of(scene: Scene, told: VisitTold, window: Window | None) -> date:
    """A working day inside the window, the towers of one site on two days of the same week."""
    if told.days_ago:
        return scene.today - timedelta(days=told.days_ago)
    if window is None:
        return scene.day(When(told.season, told.day), scene.site_of(told.tower))
    if told.late_days:
        return window.due + timedelta(days=told.late_days)
    towers = [t.id for t in scene.known.towers_of(scene.site_of(told.tower).id)]
    days = (window.due - window.opens).days
    share = scene.readings.share(scene.site_of(told.tower).id, window.checklist, str(window.due))
    on = window.opens + timedelta(days=round(days * share) + 2 * towers.index(told.tower) // len(towers))
    return working_day(min(on, window.due), window.opens, window.due)


def _make(scene: Scene, told: VisitTold, on: date) -> str:
    """One visit from start to sign-off; returns its id."""
    book = scene.book
    book.who = _technician(scene, told)
    register = registry.of_known_tower(book.db, told.tower)
    instruments = usual_instruments(register, on) | dict(told.instruments)
    needed = _needed(scene, register, told)
    instruments = {kind: ident for kind, ident in instruments.items() if kind in needed}
    if told.checklist == FALL_ENABLE and scene.story.routine and not told.paper_days:
        _check_before_use(scene, instruments)
    late = _late(scene, told, on)
    if told.paper_days:
        book.who = told.entered_by
    wanted = rounds.Start(told.tower, told.checklist, instruments, late=late)
    at = rounds.start(book, wanted, on)
    if told.ends in (VisitState.NOT_POSSIBLE, VisitState.INCOMPLETE):
        closing.close_unfinished(book, at, VisitState(told.ends), told.because)
        return at.visit.id
    at = _answer(scene, at, told, on, late)
    if told.ends == VisitState.COMPLETE:
        closing.sign_off(book, at, *_received(scene, told, at))
    return at.visit.id


def _received(scene: Scene, told: VisitTold, at: Progress) -> tuple[str, str]:
    name = told.received_by or (
        closing.NOT_AVAILABLE if at.bad else scene.story.customers[scene.site_of(told.tower).id]
    )
    return name, told.words


def _late(scene: Scene, told: VisitTold, on: date) -> Late | None:
    if not told.paper_days:
        return None
    noon = moment(scene.clock.at(on), scene.clock.offset_minutes())
    return Late(noon, _technician(scene, told))


def usual_instruments(register: Register, on: date) -> dict[str, str]:
    """The finest instrument of each kind that is in calibration."""
    valid = [i for i in register.instruments.values() if i.calibration_due is not None and i.calibration_due >= on]
    by_kind = sorted(valid, key=lambda i: i.resolution or 0, reverse=True)
    return {i.kind: i.id for i in by_kind}


def _needed(scene: Scene, register: Register, told: VisitTold) -> set[str]:
    """The kinds of instrument that a checklist reads with on this tower."""
    steps = applicable(checklists.named(told.checklist, scene.book.places.checklists), register, told.tower)
    return {instance.step.instrument for instance in steps}


def _check_before_use(scene: Scene, instruments: Mapping[str, str]) -> None:
    for ident in instruments.values():
        recall.check(scene.book, ident, CHECKED, ok=True)


def _answer(scene: Scene, at: Progress, told: VisitTold, on: date, late: Late | None) -> Progress:
    keys = [i.key for i in at.instances]
    options = rounds.AnswerOptions(late=late)
    for key in keys[: len(keys) // 3] if told.ends == VisitState.OPEN else keys:
        instance = at.instance(key)
        if instance is None:
            continue
        if at.waits_for(key):
            at = rounds.skip(scene.book, at, key, f"not done: {at.waits_for(key)[0]} did not pass", options=options)
            continue
        raw = told.answers.get(key) or scene.readings.of(at, instance, on)
        at = rounds.answer(scene.book, at, key, raw, options)
    return at
