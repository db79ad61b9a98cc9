"""The record of one visit as parts of a report: what was proven, every step with its limit, instruments, signatures."""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import groupby

from seasonlog.domain.checklist import StepInstance, StepKind
from seasonlog.domain.coverage import shortfalls
from seasonlog.domain.finding import Finding
from seasonlog.domain.register_records import Instrument
from seasonlog.domain.units_shown import unit_words
from seasonlog.domain.verdict import Verdict
from seasonlog.domain.visit import Progress, Saved, VisitState
from seasonlog.export import plots
from seasonlog.export.report_model import (
    Badge,
    Block,
    Bullets,
    Cell,
    Column,
    Facts,
    Figure,
    Notice,
    Para,
    Table,
    Tone,
    Voice,
)
from seasonlog.services import attachments
from seasonlog.services import reports_words as say
from seasonlog.services.logbook import Logbook
from seasonlog.services.reports_history import LEFT_OUT, Change
from seasonlog.services.reports_words import SiteWords, plain
from seasonlog.services.signing import doubts

Part = tuple[str, tuple[Block, ...]]
"""A heading and what stands under it; who puts the report together decides its level."""
PROOF = {
    "season": "protected for the season", "provisional": "provisionally protected, for 14 days",
    "off": "switched off for the summer",
}  # fmt: skip
"""What a visit can prove a tower to be."""
MOST_BANDS = 6
"""Readings in one picture, so that no page stays half empty for its sake."""
_NOT_JUDGED = {StepKind.CAUTION: Badge("·", "READ", Tone.CALM), StepKind.TEXT: Badge("·", "NOTED", Tone.CALM)}
_STEPS = (
    Column("Step", 2.6),
    Column("Answer", 2.1),
    Column("Verdict", 1.35),
    Column("Limit", 2.3),
    Column("Read", 1.7),
)


@dataclass(frozen=True, slots=True)
class Told:
    """A visit with what a report tells beside it."""

    at: Progress
    changes: Sequence[Change]
    """What replaced what in it."""
    instruments: Mapping[str, Instrument]
    """By id, as they were on record when it began."""
    beside: Sequence[Part]
    """Photos, rules, times: what comes last."""


def outcome(at: Progress, found: Sequence[Finding]) -> Notice:
    """What the visit proves, or why it does not: said first.

    Args:
        at: The visit.
        found: Findings of the tower that are open.
    """
    if at.visit.state in (VisitState.INCOMPLETE, VisitState.NOT_POSSIBLE):
        state = say.VISIT_STATES[at.visit.state]
        return Notice(Badge(state.symbol, state.word, Tone.NEAR, "This visit proves nothing and is due again."),
                      (at.visit.closed_words,))  # fmt: skip
    hazards = [f.reason for f in found if f.needs_retest]
    missing = [*shortfalls(at), *hazards]
    if missing:
        return Notice(Badge("✗", "NOT PROVEN BY THIS VISIT", Tone.BAD), tuple(map(say.reason, missing)))
    proof = PROOF.get(at.checklist.proves)
    if proof is None:
        return Notice(Badge("✓", "ALL STEPS PASSED", Tone.PASS, "This visit alone does not prove the season."))
    return Notice(Badge("✓", "PROVEN", Tone.PASS, f"Every step that applies passed: {proof}."))


def facts(at: Progress, words: SiteWords) -> Facts:
    """The head of a visit's record."""
    visit = at.visit
    tower, site = at.register.towers[visit.tower], at.register.site_of(visit.tower)
    qualified = "on record as qualified for energised work" if visit.qualified else "not on record as qualified"
    items: list[tuple[str, Cell]] = [
        ("Tower", f"{tower.id}, {tower.name}"),
        ("Site", f"{site.name} ({site.id})"),
        ("Checklist", f"{at.checklist.title}, version {at.checklist.version}"),
        ("State", say.VISIT_STATES[visit.state]),
        ("Day", visit.day),
        ("By", f"{visit.who}, {qualified}"),
        ("Started", words.time(visit.started_wall_ms)),
        ("Closed", words.time(visit.closed_wall_ms) if visit.closed_wall_ms else "not yet"),
        ("Visit", visit.id),
    ]
    return Facts(tuple(items))


def parts(told: Told, words: SiteWords) -> list[Part]:
    """Everything a visit recorded, in the order it is read.

    Args:
        told: The visit.
        words: The ways of its site.
    """
    at = told.at
    made: list[tuple[str, Sequence[Block]]] = [
        ("Readings against their limits", [*bands_of(at, words)]),
        ("Every step", [*_steps(at, words)]),
        ("Limits and what they rest on", [*_limits(at, words)]),
        ("Instruments", [*_instruments(told)]),
        ("Signatures", [*_signatures(at, words)]),
        ("Temporary changes", [*_temporary(at)]),
        ("Answers that were replaced", [*changed(told.changes, words)]),
    ]
    return [*((title, tuple(blocks)) for title, blocks in made if blocks), *told.beside]


def photos(book: Logbook, at: Progress) -> list[Part]:
    """Photos and sound clips by id and hash; an erased one stays named, with who gave it up and why."""
    rows: list[tuple[Cell, ...]] = []
    for each in attachments.listed(book, visit=at.visit.id):
        instance = at.instance(each.step)
        about = instance.named if instance else "the visit"
        kept = f"kept until {each.keep_until}" if each.keep_until else "kept"
        state, shows = (f"ERASED {each.erased}", "") if each.erased else (kept, each.words)
        rows.append((f"{each.kind} {each.id}", about, each.taken_at, shows, each.sha256[:16], state))
    if not rows:
        return []
    columns = (Column("What", 1.6), Column("About", 2), Column("Taken", 1.6), Column("Shows", 2), Column("Hash", 1.4),
               Column("State", 2.4))  # fmt: skip
    return [("Photos and sound clips", (Table("Kept beside the log, named by hash", columns, tuple(rows)).filled(),))]


def bands_of(at: Progress, words: SiteWords) -> Iterator[Figure]:
    """Every reading that was judged, on its own limit."""
    judged = ((i, at.answers.get(i.key)) for i in at.instances)
    rows = [row for i, saved in judged if saved is not None and (row := _band(i, saved, words)) is not None]
    caption = f"{at.checklist.title} of {at.visit.day}: what was read, on the limit it was judged by"
    count = -(-len(rows) // MOST_BANDS)
    for part in range(count):
        some = rows[part * len(rows) // count : (part + 1) * len(rows) // count]
        yield plots.bands(some, f"{caption}{f', part {part + 1} of {count}' if count > 1 else ''}.")


def measured(at: Progress, words: SiteWords) -> Iterator[Table]:
    """The judged readings in few words, for the customer; of one that is not good all that was said of it."""
    judged = ((i, at.answers.get(i.key)) for i in at.instances)
    rows = tuple(
        (i.named, words.answer(saved) if saved.is_good else words.text(saved.says),
         "; ".join(text for limit in saved.limits if (text := words.limit(limit))), _corrected(i, saved))
        for i, saved in judged if saved is not None and saved.limits
    )  # fmt: skip
    if rows:
        columns = (Column("Reading of", 2.8), Column("Read", 2.3), Column("Limit", 3.3), Column("Verdict", 1.3))
        yield Table("What was read, and the limit it was judged by", columns, rows)


def _corrected(instance: StepInstance, saved: Saved) -> Badge:
    found = _verdict(instance, saved)
    return replace(found, more="corrected since first read") if saved.corrects else found


def _band(instance: StepInstance, saved: Saved, words: SiteWords) -> plots.Band | None:
    if saved.is_skipped or not saved.limits or saved.verdict is None:
        return None
    limit = saved.limits[0]
    edges = {name: _edge(limit[name]) for name in ("low", "high", "pass_low", "pass_high")}
    if edges["low"] is None and edges["high"] is None:
        return None
    texts = (saved.value,) if isinstance(saved.value, str) else saved.value
    badge = say.VERDICTS[saved.verdict]
    return plots.Band(
        instance.named, tuple(number_or_over(text) for text in texts), edges["low"], edges["high"], edges["pass_low"],
        edges["pass_high"], words.value(saved.value, saved.unit), words.limit(limit), badge.word, badge.tone,
    )  # fmt: skip


def _edge(text: str | None) -> float | None:
    return None if text is None else float(text)


def number_or_over(text: str) -> float:
    """The number behind a recorded value; infinite for what is over range or no number."""
    try:
        return float(text)
    except ValueError:
        return math.inf


def _steps(at: Progress, words: SiteWords) -> Iterator[Block]:
    rows: list[tuple[Cell, ...] | str] = []
    for section, instances in groupby(at.instances, key=lambda i: i.step.section):
        rows.append(section)
        rows += (_step(at, i, words) for i in instances)
    by = f"Read by {at.visit.who} on {at.visit.day}, by the site's clock, unless something else stands beside it."
    yield Table("Every step, in the order it is asked", _STEPS, tuple(rows))
    yield Para(by, Voice.SMALL)


def _step(at: Progress, instance: StepInstance, words: SiteWords) -> tuple[Cell, ...]:
    saved = at.answers.get(instance.key)
    if saved is None:
        return (instance.named, "", say.UNANSWERED, "", "")
    verdict = _verdict(instance, saved)
    limits = "\n".join(text for limit in saved.limits if (text := words.limit(limit)))
    note = f"\nNote: {saved.note}" if saved.note else ""
    return (instance.named, _answer(instance, saved, words) + note, verdict, limits, _read(at, saved, words))


def _answer(instance: StepInstance, saved: Saved, words: SiteWords) -> str:
    """A choice in the words it was chosen by; a yes or no with what is wanted where it is not that."""
    said = instance.step.kind is StepKind.CHOICE or (instance.step.kind is StepKind.YES_NO and not saved.is_good)
    return words.text(saved.says) if said and not saved.is_skipped else words.answer(saved)


def _read(at: Progress, saved: Saved, words: SiteWords) -> str:
    """When, and whatever is not as the caption says: another day, another person, from paper."""
    when = words.time(saved.wall_ms)
    when = when[-5:] if when.startswith(at.visit.day) else when
    told = [f"corrected {when}" if saved.corrects else when, saved.instrument]
    told.append(saved.who if saved.who != at.visit.who else "")
    told.append("" if saved.qualified else "not on record as qualified")
    told.append(f"read {saved.observed_at}, on paper by {saved.from_paper}, entered late" if saved.observed_at else "")
    return ", ".join(text for text in told if text)


def _verdict(instance: StepInstance, saved: Saved) -> Badge:
    """A caution that was read and words that were noted pass no judgement."""
    if saved.verdict is None:
        return say.SKIPPED
    if saved.verdict is Verdict.PASS and instance.step.kind in _NOT_JUDGED:
        return _NOT_JUDGED[instance.step.kind]
    return say.VERDICTS[saved.verdict]


def _limits(at: Progress, words: SiteWords) -> Iterator[Block]:
    seen: dict[tuple[str, str], tuple[Cell, ...]] = {}
    for instance in at.instances:
        saved = at.answers.get(instance.key)
        for limit in () if saved is None else saved.limits:
            key = (limit["quantity"], limit["basis"])
            where = f" ({saved.target})" if saved is not None and "@" in saved.step else ""
            name = say.quantity_words(limit["quantity"]) + where
            seen.setdefault(key, (name, words.limit(limit) or "nothing was judged", words.recorded(limit["basis"]),
                                  words.recorded(f"{limit['source']} [{limit['formula']}]")))  # fmt: skip
    if seen:
        columns = (
            Column("Quantity", 1.7),
            Column("Limit", 1.7),
            Column("Arithmetic", 3.4),
            Column("Source [rule]", 2.6),
        )
        yield Table("Each limit as it was computed when the reading was made", columns, tuple(seen.values()))
        yield Para(
            "Pass is inside the limit by at least the uncertainty of the instrument; between there and the limit the "
            f"verdict is near. Cannot tell never counts as proof. {words.arithmetic}".rstrip(),
            Voice.SMALL,
        )


def _instruments(told: Told) -> Iterator[Table]:
    at = told.at
    read = {(i.step.instrument, at.answers[i.key].instrument) for i in at.instances if i.key in at.answers}
    used = {*at.visit.instruments.items(), *((kind, ident) for kind, ident in read if kind and ident)}
    rows = [_instrument(told, kind, ident) for kind, ident in sorted(used)]
    if rows:
        columns = (Column("Instrument", 1.2), Column("What it is", 1.6), Column("For", 1.2), Column("Accuracy", 1.4),
                   Column("Certificate", 1.9), Column("Calibrated until", 1.2), Column("On the day", 2.1))  # fmt: skip
        yield Table("Instruments used, as they were on record on the day of the visit", columns, tuple(rows)).filled()


def _certificate(known: Instrument) -> str:
    """Number, laboratory, day, and how it was found; empty where nothing of it is on record."""
    found = plain(known.as_found) if known.as_found not in (None, "not_told") else ""
    on = known.calibrated.isoformat() if known.calibrated else ""
    told = (("", known.certificate), ("", known.laboratory), ("of ", on), ("found ", found))
    return ", ".join(f"{word}{text}" for word, text in told if text)


def _instrument(told: Told, kind: str, ident: str) -> tuple[Cell, ...]:
    known = told.instruments.get(ident) or told.at.register.instruments.get(ident)
    state = _calibration(told.at, ident, known)
    if known is None:
        return (ident, "no longer in the register", kind, "", "", "", state)
    share = f"{known.percent} %" if known.percent else ""
    digit = f"of {known.resolution} {unit_words(known.unit or '')}".rstrip()
    counts = f"{say.counted(known.counts, 'count')} {digit}" if known.counts else ""
    accuracy = " + ".join(part for part in (share, counts) if part) or "not on record"
    due = known.calibration_due.isoformat() if known.calibration_due else "not on record"
    return (ident, known.name, kind, accuracy, _certificate(known), due, state)


def _calibration(at: Progress, ident: str, known: Instrument | None) -> Badge:
    """What the instrument was worth; a recall that no review settled goes before what its sticker said."""
    if any(saved.recalled_instrument == ident for saved in at.answers.values()):
        return Badge("✗", "RECALLED", Tone.BAD)
    if known is not None and known.calibration_due is None:
        return Badge("?", "NOT ON RECORD", Tone.UNSURE)
    if ident in at.visit.uncalibrated:
        return Badge("✗", "OUT OF CALIBRATION", Tone.BAD)
    return Badge("✓", "IN CALIBRATION", Tone.PASS)


def _signatures(at: Progress, words: SiteWords) -> Iterator[Block]:
    rows = []
    for signature in at.visit.signatures:
        name, means = say.MEANINGS[signature.meaning]
        doubt = doubts(at, signature)
        means = f"{means}; but: {doubt}" if doubt else means
        rows.append((name, signature.name, words.time(signature.wall_ms), means, signature.words, signature.signs[:16]))
    if not rows:
        yield Para("Not signed off.")
        return
    columns = (Column("Signature", 1.2), Column("Name", 1.7), Column("When", 1.4), Column("What it states", 2.6),
               Column("Words", 1.6), Column("Signs", 1.4))  # fmt: skip
    yield Table("Who signed, and what each signature states", columns, tuple(rows)).filled()
    yield Para(
        "Every entry of the log is signed by the device it was written on; the person is as declared on that device.",
        Voice.SMALL,
    )


def _temporary(at: Progress) -> Iterator[Table]:
    rows = tuple(
        (c.id, c.what, c.where, c.who,
         Badge("✓", "UNDONE", Tone.PASS) if c.restored else Badge("✗", "STILL IN PLACE", Tone.BAD))
        for c in at.changes
    )  # fmt: skip
    if rows:
        columns = (Column("No.", 0.6), Column("What", 1.6), Column("Where", 3), Column("By", 1.6), Column("State", 1.4))
        yield Table("Jumpers, lifted wires, locks and the like", columns, rows)


def changed(changes: Sequence[Change], words: SiteWords, *, with_tower: bool = False) -> Iterator[Block]:
    """Old value, new value, who, when and why.

    Args:
        changes: What replaced what.
        words: The ways of the site.
        with_tower: Say of each which tower it is of.
    """
    rows = tuple(
        (*_replaced(c, words, with_tower=with_tower), c.who, words.time(c.wall_ms), c.why or "no reason recorded")
        for c in changes
    )
    if rows:
        columns = (Column("What", 1.8), Column("Old value", 1.8), Column("New value", 1.8), Column("By", 1.3),
                   Column("When", 1.2), Column("Why", 2.1))  # fmt: skip
        yield Table("What took the place of what; the older value stays in the log", columns, rows)


def _replaced(change: Change, words: SiteWords, *, with_tower: bool) -> tuple[str, str, str]:
    """What it was, old and new; answers as they are read at the site."""
    old, new = (
        words.text(text) if change.unit and not text.startswith(LEFT_OUT) else text for text in (change.old, change.new)
    )
    what = change.what.replace(" degf", "") if change.unit else change.what  # the values name it
    return f"{change.tower}: {what}" if with_tower else what, old or "as before", new


def failed(at: Progress, words: SiteWords) -> list[Part]:
    """The answers that opened a finding, in words; nothing when there is none."""
    named = {i.key: i.named for i in at.instances}
    lines = tuple(words.text(f"{named.get(s.step, plain(s.step))}: {s.says}") for s in at.bad)
    return [("Answers that opened a finding", (Bullets(lines),))] if lines else []
