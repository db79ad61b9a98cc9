"""What a report says of one tower: proven or not, what is wrong, its season, its heat, its visits, its trends."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from seasonlog.domain.coverage import Coverage
from seasonlog.domain.finding import Finding
from seasonlog.domain.heat_budget import At, BasinHeat
from seasonlog.domain.plain_words import counted
from seasonlog.domain.protection import Protection
from seasonlog.domain.register import Record, Register
from seasonlog.domain.register_items import to_item
from seasonlog.domain.register_records import SPECS
from seasonlog.domain.season import season_bounds, season_of
from seasonlog.domain.season_due import mode_on
from seasonlog.domain.units_shown import unit_words
from seasonlog.domain.verdict import Verdict
from seasonlog.domain.visit import Progress, VisitState
from seasonlog.export import plots
from seasonlog.export.report_model import (
    Badge,
    Block,
    Bullets,
    Cell,
    Column,
    Facts,
    Notice,
    Para,
    Table,
    Tone,
    Voice,
)
from seasonlog.journal import queries
from seasonlog.services import board, registry, reports_visit, rounds
from seasonlog.services import reports_words as say
from seasonlog.services.figures import CAUTION, TowerFigures, worked
from seasonlog.services.findings import retest_words
from seasonlog.services.logbook import Logbook
from seasonlog.services.reports_history import Change, of_plan, of_register
from seasonlog.services.reports_stood import retired_on
from seasonlog.services.reports_told import each_told
from seasonlog.services.reports_visit import Part, Told
from seasonlog.services.reports_words import SiteWords, plain


@dataclass(frozen=True, slots=True)
class TowerRecord:
    """Everything a report needs of one tower in one season."""

    tower: str
    register: Register
    words: SiteWords
    season: int
    on: date
    """The day it is judged on: today, or the last one of a season that is over."""
    mode: str
    coverage: Coverage
    findings: Sequence[Finding]
    """All of them, oldest first."""
    visits: Sequence[Progress]
    """Of the season, oldest first."""
    figures: TowerFigures
    changes: Sequence[Change]
    """Of the register and of the plan."""
    told: Sequence[Told]
    """The same visits with what stands beside each."""
    notes: Sequence[queries.Note]
    retired: date | None = None
    """Its last day in the register, when it is there no more."""

    @property
    def gone(self) -> str:
        """That it was retired, and when; empty while it stands."""
        return f"retired on {self.retired}" if self.retired else ""

    @property
    def named(self) -> str:
        """`HOS-1, North tower`."""
        return f"{self.tower}, {self.register.towers[self.tower].name}"

    @property
    def open_findings(self) -> list[Finding]:
        """Those that still need a person, the worst first."""
        found = [f for f in self.findings if f.is_open]
        return sorted(found, key=lambda f: (not f.needs_retest, f.opened_wall_ms, f.id))


def judged_on(season: int, latitude_deg: float, today: date, retired: date | None = None) -> date:
    """The day a season is judged on: today, or its last day when it is over; of a tower that is gone, its last day."""
    first, last = season_bounds(season, latitude_deg)
    return max(min(today, last, retired or last), first)


def season_coverage(book: Logbook, register: Register, tower: str, on: date, today: date) -> Coverage:
    """Is the tower proven on a day; of a season that is over, findings that came after it are no reason.

    Args:
        book: The log.
        register: The tower's part of the register.
        tower: Its id.
        on: The day it is judged on.
        today: The day of the report.
    """
    state = board.covered(book, register, tower, on)
    if on >= today:
        return state
    words = SiteWords(register.site_of(tower))
    found = queries.findings(book.db, open_only=True, tower=tower)
    later = [f"open finding {f.id}:" for f in found if words.day(f.opened_wall_ms) > on.isoformat()]
    kept = tuple(reason for reason in state.reasons if not reason.startswith(tuple(later)))
    if kept or not state.reasons:
        return Coverage(state.protection, kept)
    year = season_of(on, register.site_of(tower).latitude_deg)
    made = [v for v in queries.visits_of(book.db, tower, year) if v.state is VisitState.COMPLETE]
    at = next(at for v in reversed(made) if (at := rounds.progress(book, v.id, register)).checklist.proves == "season")
    return Coverage(Protection.PROVEN, (f"{at.checklist.title} on {at.visit.day} by {at.visit.who}",))


def tower_record(book: Logbook, tower: str, season: int, today: date) -> TowerRecord:
    """Gather everything of one tower.

    Args:
        book: The log.
        tower: Tower id, in the register now or before.
        season: First year of the season.
        today: The day of the report.
    """
    register, retired = registry.of_tower_ever(book.db, tower), retired_on(book, tower)
    on = judged_on(season, float(register.site_of(tower).latitude_deg), today, retired)
    visits = [rounds.progress(book, v.id, register) for v in queries.visits_of(book.db, tower, season)]
    findings = queries.findings(book.db, open_only=False, tower=tower)
    mode = mode_on(register.towers[tower], registry.mode_changes(book.db, tower).get(tower, []), on)
    readings = queries.latest_readings(book.db, tower, on.isoformat())
    idents = [each.id for each in _parts_of(register)]
    return TowerRecord(
        tower=tower,
        register=register,
        words=SiteWords(register.site_of(tower)),
        season=season,
        on=on,
        mode=mode,
        coverage=season_coverage(book, register, tower, on, today),
        findings=findings,
        visits=visits,
        figures=worked(register, tower, mode, readings, [f for f in findings if f.is_open]),
        changes=[*of_register(book, tower, idents), *of_plan(book, tower)],
        told=each_told(book, visits),
        notes=queries.notes_of(book.db, tower),
        retired=retired,
    )


def _parts_of(register: Register) -> Iterator[Record]:
    for what in ("basin", "circuit", "trace", "source", "device"):
        yield from register.table(what).values()


def protection(record: TowerRecord) -> Notice:
    """Proven or not, with the reasons: the first thing to be read; of a tower gone before, nothing was asked."""
    first, _ = season_bounds(record.season, float(record.words.site.latitude_deg))
    if record.retired and record.retired < first:
        return Notice(Badge("–", "NOT ASKED", Tone.CALM, f"The tower was {record.gone}, before this season."))
    state = record.coverage
    badge = say.PROTECTIONS[state.protection]
    more = {
        Protection.PROVEN: "for this season.",
        Protection.PROVISIONAL: "by a short enable only.",
        Protection.NOT_PROVEN: "for this season.",
    }[state.protection]
    lines = tuple(record.words.text(reason) for reason in state.reasons)
    return Notice(Badge(badge.symbol, badge.word, badge.tone, more), lines)


def head(record: TowerRecord, season: str) -> Facts:
    """The head of a tower's part."""
    found = record.open_findings
    gone: list[tuple[str, Cell]] = [("Stands no more", record.gone)] if record.gone else []
    return Facts((
        ("Tower", record.named),
        ("Season", season),
        *gone,
        ("Judged on", record.on.isoformat()),
        ("Winters as", plain(record.mode)),
        ("Open findings now", say.open_words(found)),
        ("Visits this season", str(len(record.visits))),
    ))  # fmt: skip


def findings_table(found: Sequence[Finding], words: SiteWords, caption: str, on: date) -> Table:
    """Findings with what was found and what is done about each."""
    columns = (Column("Finding", 1.35), Column("Risk", 1.5), Column("What was found", 3.3), Column("State", 1.4),
               Column("What is done about it", 2.6))  # fmt: skip
    rows: list[tuple[Cell, ...]] = [
        (f"{f.id}\n{f.tower}", say.SEVERITIES[f.severity], words.text(_found(f, words)),
         say.FINDING_STATES[f.state_on(on)], words.text(_done(f)))
        for f in found
    ]  # fmt: skip
    return Table(caption, columns, tuple(rows))


def _found(f: Finding, words: SiteWords) -> str:
    where = f" ({f.target})" if f.target else ""
    again = f"; seen in {f.seen} visits" if f.seen > 1 else ""
    tonight = f"\nUnprotected: {f.unprotected}" if f.unprotected and f.is_open else ""
    cause = f"\nMay be: {f.causes[0]['says']}" if f.causes else ""
    return f"{f.title}{where}: {f.says}{again}{cause}{tonight}\nSince {words.day(f.opened_wall_ms)}, {f.opened_by}"


def _done(f: Finding) -> str:
    told = (
        ("With ", f"{f.assigned}, due {f.assigned_due}" if f.assigned_due else f.assigned),
        ("For now: ", "; ".join(f.measures)),
        ("Parts: ", "; ".join(f.part_stages) or ", ".join(f.parts)),
        ("Customer: ", "; ".join(f.offers)),
        ("", retest_words(f)),
        ("Reopened: ", f.doubt),
        ("", f.accepted_words),
        ("", f.closed_words),
    )
    lines = [f"{name}{text}" for name, text in told if text]
    return "\n".join(lines) or "nothing on record yet"


def parts(record: TowerRecord, strips: Sequence[Block]) -> list[Part]:
    """Everything about one tower after its head, in the order it is read.

    Args:
        record: What was gathered.
        strips: The season drawn, with what is due.
    """
    found = record.open_findings
    closed = [f for f in record.findings if not f.is_open]
    made: list[tuple[str, Sequence[Block]]] = [
        ("Open findings", [findings_table(found, record.words, "What is wrong and needs a person", record.on)] if found
         else [Para("No finding is open.")]),
        ("The season", [*strips, *_visits(record)]),
        ("Heat, and hours to freeze", [*heat(record)]),
        *((f"{each.at.checklist.title}, {each.at.visit.day}", [*_visit(each, record.words)]) for each in record.told),
        ("Closed findings", [findings_table(closed, record.words, "Closed or withdrawn", record.on)] if closed else []),
        ("Changes of register and plan", [*reports_visit.changed(record.changes, record.words)]),
        ("What is installed", [*_installed(record)]),
        ("Notes", [*_notes(record)]),
    ]  # fmt: skip
    return [(title, tuple(blocks)) for title, blocks in made if blocks]


def _visits(record: TowerRecord) -> Iterator[Block]:
    rows: list[tuple[Cell, ...]] = []
    for at in record.visits:
        asked = len(at.instances)
        weak = sum(s.verdict is Verdict.CANNOT_TELL for s in at.answers.values())
        told = f"{len(at.answers)} of {counted(asked, 'step')}, {len(at.bad)} failed, {weak} cannot tell"
        signed = "; ".join(f"{say.MEANINGS[s.meaning][0].casefold()} {s.name}" for s in at.visit.signatures)
        rows.append((at.visit.day, at.checklist.title, say.VISIT_STATES[at.visit.state], told, signed or "nobody"))
    if rows:
        columns = (Column("Day", 1.3), Column("Checklist", 1.8), Column("State", 1.4), Column("Steps", 2.4),
                   Column("Signed", 3))  # fmt: skip
        yield Table("Visits of the season", columns, tuple(rows))
    else:
        yield Para("No visit was made in this season.")


def heat(record: TowerRecord) -> Iterator[Block]:
    """Is the heat enough, and how long does the water last without it."""
    basins = record.figures.basins
    if not basins:
        yield Para("Drained for the winter: nothing is heated.")
        return
    bars = [bar for basin in basins for at in basin.at for bar in (_bar(basin, at, record.words),)]
    if bars:
        yield plots.freeze_hours(bars, "Hours from the loss of all heat until the mixed water is at freezing: fewest "
                                 "(light) to most (dark). Still water skins over before.")  # fmt: skip
    rows = [row for basin in basins for row in _heat_rows(basin, record.words)]
    columns = (Column("Basin", 1.2), Column("Outdoor air", 1.7), Column("Heat lost", 1.5), Column("Heat there", 1.9),
               Column("Enough?", 1.4), Column("Freezes first", 2.8))  # fmt: skip
    yield Table("Heat of each basin against its loss, fans and pump off", columns, tuple(rows))
    yield Bullets(tuple(record.words.text(d.says) + f" ({d.circuit})" for b in basins for d in b.delivered))
    yield Para(CAUTION, Voice.CAUTION)


def _bar(basin: BasinHeat, at: At, words: SiteWords) -> plots.FreezeBar:
    low, high = at.off_hours
    told = "does not freeze" if low is None else _hours(low, high)
    return plots.FreezeBar(basin.basin, f"{at.label}, {words.degrees(at.outdoor_degf)}", low, high, told)


def _hours(low: float, high: float | None) -> str:
    return f"{low:.2g} h or more" if high is None else f"{low:.2g} to {high:.2g} h"


_ENOUGH = {
    "yes": Badge("✓", "YES", Tone.PASS), "no": Badge("✗", "NO", Tone.BAD),
    "cannot_tell": Badge("?", "CANNOT TELL", Tone.UNSURE),
}  # fmt: skip


def _heat_rows(basin: BasinHeat, words: SiteWords) -> Iterator[tuple[Cell, ...]]:
    if not basin.at:
        yield (basin.basin, "", "", words.text(basin.missing), _ENOUGH["cannot_tell"], basin.first_to_freeze)
    for at in basin.at:
        lost = f"{at.loss_low_kw:.3g} to {at.loss_high_kw:.3g} kW"
        air = f"{words.degrees(at.outdoor_degf)} ({at.label})"
        yield (basin.basin, air, lost, basin.has, _ENOUGH[at.adequate], basin.first_to_freeze)


def _visit(told: Told, words: SiteWords) -> Iterator[Block]:
    """A visit inside a tower's part: its headings become captions."""
    yield reports_visit.outcome(told.at, [])
    yield reports_visit.facts(told.at, words)
    for _, blocks in reports_visit.parts(told, words):
        yield from blocks


def _installed(record: TowerRecord) -> Iterator[Block]:
    rows: list[tuple[Cell, ...] | str] = []
    for what in ("basin", "circuit", "trace", "source", "device"):
        found = record.register.table(what)
        rows += [_HEADS[what]] if found else []
        rows += [(each.id, "; ".join(_fields(what, each, record.words))) for each in found.values()]
    if rows:
        columns = (Column("Part", 1), Column("On record", 5))
        yield Table("As the register has it; what is not named is not on record", columns, tuple(rows))


_HEADS = {
    "basin": "Basins", "circuit": "Heater circuits", "trace": "Heat trace", "source": "Energy sources, and where each "
    "is locked out", "device": "Devices",
}  # fmt: skip


def _fields(what: str, each: Record, words: SiteWords) -> Iterator[str]:
    """`area 96 ft²`: each field that says something, its unit with the number."""
    for name, value in to_item(each).items():
        if name not in ("id", "tower") and value not in ("", None, {}):
            spec = SPECS[what][name]
            named = plain(name.removesuffix(f"_{spec.unit}") if spec.unit else name)
            told = words.value(str(value), spec.unit) if spec.unit == "degf" else _told(value, spec.unit)
            yield f"{named} {words.text(told) if spec.unit == 'ft' else told}"


def _told(value: object, unit: str) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return ", ".join(map(str, value))
    return f"{value} {unit_words(unit)}" if unit else plain(str(value)) if "_" in str(value) else str(value)


def _notes(record: TowerRecord) -> Iterator[Block]:
    rows = tuple((record.words.time(n.wall_ms), n.who, n.text) for n in record.notes)
    if rows:
        yield Table("Notes, newest first", (Column("When", 1.2), Column("By", 1.4), Column("Note", 5)), rows)
