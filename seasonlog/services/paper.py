"""Paper: sheets with a tower's own limits to take to the roof, and what comes back from it, marked as late."""

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from seasonlog.domain.checklist import Checklist, StepInstance, StepKind, applicable, gate_keys
from seasonlog.domain.due_state import DueState
from seasonlog.domain.judging import limit_record
from seasonlog.domain.late import Late
from seasonlog.domain.limits import Limit
from seasonlog.domain.register import Register
from seasonlog.domain.season_due import due_words
from seasonlog.domain.text import visible
from seasonlog.domain.units_shown import shown_as
from seasonlog.export.paper_model import Part, Row, Sheet
from seasonlog.services import checklists, registry, season
from seasonlog.services.days import moment
from seasonlog.services.findings import open_findings
from seasonlog.services.instrument_doubts import doubts, untold
from seasonlog.services.limits import limits_of
from seasonlog.services.logbook import Logbook
from seasonlog.services.reasons import reason_in, refuse
from seasonlog.services.reports_words import SiteWords, plain

OLDEST_DAYS = 400
"""What was read longer ago belongs to another season. By reasoning, no source."""
CAUTIONS = (
    "Lockout is the branch disconnect, never the control switch; test before you touch. Local codes, licensed practice "
    "and the site's own procedures come first.",
    "Energised readings are for a qualified person. Stop when it is not safe: ice, edge, weather; nobody holds it "
    "against you.",
)


@dataclass(frozen=True, slots=True)
class Wish:
    """Which sheets are wanted."""

    site: str = ""
    tower: str = ""
    checklist: str = ""
    """This one on every tower; what is due when empty."""


def sheets(book: Logbook, wish: Wish, on: date) -> list[Sheet]:
    """The sheets of the towers asked for: of a checklist named, else of what is to be done on a day.

    Raises:
        InputRefusedError: no such site, tower or checklist, or nothing is due there.
    """
    registry.refuse_unknown(book.db, site=wish.site, tower=wish.tower)
    wanted = list(_wanted(book, wish, on))
    if not wanted:
        raise refuse("round print", f"nothing is to be done there on {on.isoformat()}; name a checklist (--checklist)")
    return [sheet_of(book, tower, checklist, why, on) for tower, checklist, why in wanted]


def _wanted(book: Logbook, wish: Wish, on: date) -> Iterator[tuple[str, str, str]]:
    if wish.checklist:
        for tower in [wish.tower] if wish.tower else _towers(book, wish.site):
            yield tower, wish.checklist, "asked for"
        return
    once: dict[tuple[str, str], str] = {}
    for item in season.items(book, on, tower=wish.tower, site=wish.site):
        if item.state in (DueState.OPEN, DueState.OVERDUE):
            once.setdefault((item.tower, item.checklist), due_words(item, on))
    yield from ((tower, checklist, why) for (tower, checklist), why in once.items())


def _towers(book: Logbook, site: str) -> list[str]:
    return sorted((registry.of_site(book.db, site) if site else registry.towers_and_sites(book.db)).towers)


def sheet_of(book: Logbook, tower: str, checklist: str, why: str, on: date) -> Sheet:
    """One tower's sheet, its limits computed from its own rating at rated volts."""
    register = registry.of_known_tower(book.db, tower, on)
    chosen = checklists.named(checklist, book.places.checklists)
    words = SiteWords(register.site_of(tower))
    instances = applicable(chosen, register, tower)
    at = moment(book.around.clock.wall_ms(), book.around.clock.offset_minutes())
    kinds = tuple(dict.fromkeys(i.step.instrument for i in instances if i.step.instrument))
    found = doubts(book.db, [i for i in register.instruments.values() if i.kind in kinds], on)
    return Sheet(
        site=words.site.name,
        tower=tower,
        name=register.towers[tower].name,
        checklist=chosen.id,
        title=chosen.title,
        version=chosen.version,
        why=why,
        printed=f"{at:%Y-%m-%d %H:%M}",
        cautions=CAUTIONS,
        facts=tuple(_facts(register, tower, words)),
        sources=tuple(f"{plain(s.what)}: {f'{s.panel}, ' if s.panel else ''}{s.point}"
                      for s in register.sources_of(tower)),
        findings=tuple(f"{f.id} {plain(f.severity)}: {f.title}" for f in open_findings(book, tower=tower)),
        instruments=kinds,
        doubted=untold(found, {}),
        parts=tuple(_parts(instances, _limits(register, tower, chosen, on), words)),
        is_demonstration=book.journal.is_demonstration,
        paper=words.paper,
    )  # fmt: skip


def _facts(register: Register, tower: str, words: SiteWords) -> Iterator[tuple[str, str]]:
    """What the roof needs of the register."""
    site = words.site
    for name, text in (("Getting in", site.access), ("Permits", site.permits), ("On the roof", site.roof_note),
                       ("At night call", site.emergency_contact), ("Note", register.towers[tower].note)):  # fmt: skip
        if text:
            yield name, text
    for c in register.circuits_of(tower):
        amps = f", plate {c.plate_amps} A" if c.plate_amps is not None else ""
        branch = f", breaker {c.breaker_amps} A" if c.breaker_amps is not None else ""
        dial = f", dial {words.degrees(float(c.dial_degf))}" if c.dial_degf is not None else ""
        yield (
            f"Heater {c.id}",
            f"{c.kw} kW, {c.volts} V, {c.phases}-phase{amps}{branch}{dial}; float breaks {c.float_leg}",
        )
    for b in register.basins_of(tower):
        levels = [("operating", b.operating_level_in), ("trip", b.trip_level_in), ("heater top", b.heater_top_in)]
        told = ", ".join(f"{name} {value} in" for name, value in levels if value is not None)
        yield f"Basin {b.id}", "; ".join(part for part in (plain(b.level_device), told) if part)
    for t in register.traces_of(tower):
        yield f"Heat trace {t.id}", f"{t.protects}: {t.volts} V, {plain(t.kind)}"


def _limits(register: Register, tower: str, chosen: Checklist, on: date) -> Mapping[tuple[str, str], Limit]:
    found = limits_of(register, tower, chosen, on)
    return {(each.limit.quantity, each.target): each.limit for each in found}


def _parts(
    instances: Sequence[StepInstance], limits: Mapping[tuple[str, str], Limit], words: SiteWords
) -> Iterator[Part]:
    numbers = {instance.key: n for n, instance in enumerate(instances, 1)}
    titles = list(dict.fromkeys(i.step.section for i in instances))
    for title in titles:
        own = [i for i in instances if i.step.section == title]
        shared, _ = Counter(i.step.caution for i in own).most_common(1)[
            0
        ]  # said once; a step with another says its own
        yield Part(title, shared, tuple(_row(i, instances, numbers, limits, words, shared) for i in own))


def _row(
    instance: StepInstance, among: Iterable[StepInstance], numbers: Mapping[str, int],
    limits: Mapping[tuple[str, str], Limit], words: SiteWords, shared: str,
) -> Row:  # fmt: skip
    step = instance.step
    after, after_pass = gate_keys(instance, among)
    gates = [f"after {_numbers(after, numbers)}"] if after else []
    gates += [f"only if {_numbers(after_pass, numbers)} passed"] if after_pass else []
    limit = limits.get((step.quantity, instance.target or "")) if step.quantity else None
    return Row(
        number=numbers[instance.key],
        key=instance.key,
        title=instance.named,
        caution=step.caution if step.caution != shared else "",
        do=words.text(step.do),
        limit=_limit_words(limit, words),
        waits=", ".join(gates),
        boxes=_boxes(instance),
        blanks={StepKind.THREE_LINES: 3, StepKind.READING: 1, StepKind.TIMED: 1}.get(step.kind, 0),
        unit=shown_as(step.unit, words.site.units)[0],
        photo=step.photo,
        live=step.live,
        required=step.required,
    )


def _numbers(keys: Iterable[str], numbers: Mapping[str, int]) -> str:
    return ", ".join(str(numbers[key]) for key in keys)


def _limit_words(limit: Limit | None, words: SiteWords) -> str:
    if limit is None:
        return ""
    return words.text(limit.missing) if limit.missing else words.limit(limit_record(limit))


def _boxes(instance: StepInstance) -> tuple[str, ...]:
    kind = instance.step.kind
    if kind is StepKind.CAUTION:
        return ("understood",)
    if kind is StepKind.YES_NO:
        return ("yes", "no")
    return tuple(f"{choice.says} ({choice.value})" for choice in instance.step.choices)


_WHEN = re.compile(r"(\d{4}-\d\d-\d\d)[ T](\d\d:\d\d)", re.ASCII)


def late_from(book: Logbook, tower: str, observed: str, by: str) -> Late:
    """When and by whom something on paper was read.

    Args:
        book: The log.
        tower: The tower; its site's time zone counts.
        observed: `2026-10-03 14:30`, by the site's clock.
        by: Who filled in the paper.

    Raises:
        InputRefusedError: no such time, still to come, or too long ago.
    """
    found = _WHEN.fullmatch(observed.strip())
    register = registry.of_known_tower(book.db, tower)
    zone = ZoneInfo(register.site_of(tower).time_zone)
    try:
        at = datetime.fromisoformat(f"{found[1]}T{found[2]}").replace(tzinfo=zone) if found else None
    except ValueError:
        at = None
    if at is None:
        raise refuse("observed", f'"{visible(observed[:40])}" is not a time; write it as 2026-10-03 14:30')
    age = book.around.clock.wall_ms() - int(at.timestamp() * 1000)
    if age < 0:
        raise refuse("observed", f"{observed.strip()} is still to come by this machine's clock")
    if timedelta(milliseconds=age) > timedelta(days=OLDEST_DAYS):
        raise refuse("observed", f"{observed.strip()} is more than {OLDEST_DAYS} days ago")
    return Late(at, reason_in("paper", by).strip())
