"""How a report says things: states as badges, times and units as the people of a site read them."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TypeAlias
from zoneinfo import ZoneInfo

from seasonlog.domain.due_state import DueState
from seasonlog.domain.finding import Finding, FindingState
from seasonlog.domain.limits import QUANTITIES
from seasonlog.domain.plain_words import counted as counted
from seasonlog.domain.plain_words import plain as plain
from seasonlog.domain.protection import Protection
from seasonlog.domain.register_records import Site
from seasonlog.domain.severity import Severity
from seasonlog.domain.units_shown import as_recorded, in_units, is_metric, number, shown_as
from seasonlog.domain.verdict import Verdict
from seasonlog.domain.visit import Meaning, Saved, VisitState
from seasonlog.export.report_model import Badge, Tone
from seasonlog.services.days import moment

Convert: TypeAlias = Callable[[float], float]
"""From the unit a value is recorded in to the one it is read in."""
VERDICTS: Mapping[Verdict, Badge] = {
    Verdict.PASS: Badge("✓", "PASS", Tone.PASS),
    Verdict.NEAR_PASS: Badge("✓~", "NEAR PASS", Tone.PASS),
    Verdict.CANNOT_TELL: Badge("?", "CANNOT TELL", Tone.UNSURE),
    Verdict.NEAR_FAIL: Badge("✗~", "NEAR FAIL", Tone.NEAR),
    Verdict.FAIL: Badge("✗", "FAIL", Tone.BAD),
}
SKIPPED = Badge("»", "SKIPPED", Tone.NEAR)
UNANSWERED = Badge("–", "NOT ANSWERED", Tone.NEAR)
SEVERITIES: Mapping[Severity, Badge] = {
    Severity.FREEZE_RISK: Badge("◆", "FREEZE RISK", Tone.BAD),
    Severity.DRY_FIRE_RISK: Badge("▲", "DRY-FIRE RISK", Tone.BAD),
    Severity.SHOCK_RISK: Badge("↯", "SHOCK RISK", Tone.BAD),
    Severity.WATER_OR_ICE: Badge("≈", "WATER OR ICE", Tone.NEAR),
    Severity.RUNS_WHEN_IT_SHOULD_NOT: Badge("↻", "RUNS WHEN IT SHOULD NOT", Tone.NEAR),
    Severity.RECORD_GAP: Badge("○", "RECORD GAP", Tone.UNSURE),
}
PROTECTIONS: Mapping[Protection, Badge] = {
    Protection.PROVEN: Badge("✓", "PROVEN", Tone.PASS),
    Protection.PROVISIONAL: Badge("✓~", "PROVISIONALLY PROVEN", Tone.NEAR),
    Protection.NOT_PROVEN: Badge("✗", "NOT PROVEN", Tone.BAD),
}
DUE_STATES: Mapping[DueState, Badge] = {
    DueState.UPCOMING: Badge("○", "TO COME", Tone.CALM),
    DueState.OPEN: Badge("●", "DUE", Tone.NEAR),
    DueState.OVERDUE: Badge("!", "OVERDUE", Tone.BAD),
    DueState.DONE: Badge("✓", "DONE", Tone.PASS),
    DueState.DROPPED: Badge("–", "TAKEN OUT", Tone.CALM),
}
VISIT_STATES: Mapping[VisitState, Badge] = {
    VisitState.OPEN: Badge("►", "OPEN", Tone.NEAR),
    VisitState.COMPLETE: Badge("✓", "SIGNED OFF", Tone.PASS),
    VisitState.INCOMPLETE: Badge("–", "INCOMPLETE", Tone.NEAR),
    VisitState.NOT_POSSIBLE: Badge("–", "NOT POSSIBLE", Tone.CALM),
}
FINDING_STATES: Mapping[FindingState, Badge] = {
    FindingState.OPEN: Badge("✗", "OPEN", Tone.BAD),
    FindingState.ACCEPTED: Badge("–", "ACCEPTED FOR A WHILE", Tone.NEAR),
    FindingState.CLOSED: Badge("✓", "CLOSED", Tone.PASS),
    FindingState.WITHDRAWN: Badge("–", "WITHDRAWN", Tone.CALM),
}
MEANINGS: Mapping[Meaning, tuple[str, str]] = {
    Meaning.DONE_BY: ("Done by", "carried out the steps and recorded what was read"),
    Meaning.REVIEWED_BY: ("Reviewed by", "another person looked at the record; no step was repeated for it"),
    Meaning.RECEIVED_BY: ("Received by", "the customer was handed the result; no statement that it is right"),
}
"""What a signature is called, and what it means."""


def open_words(found: Sequence[Finding]) -> str:
    """How many findings are open, and how many of them are grave."""
    return f"{len(found)}; {sum(f.needs_retest for f in found)} can freeze, burn or shock" if found else "none"


def reason(words: str) -> str:
    """Why something is not proven; a step that is a question needs no colon: `No leaks? fail`."""
    return words.replace("?: ", "? ")


def joined(value: str | tuple[str, ...]) -> str:
    """A stored value of one or more lines: `18.7 / 18.9 / 18.8`."""
    return value if isinstance(value, str) else " / ".join(value)


def clock(wall_ms: int, offset_minutes: int) -> str:
    """`2026-10-06 07:42`."""
    return f"{moment(wall_ms, offset_minutes):%Y-%m-%d %H:%M}"


@dataclass(frozen=True)
class SiteWords:
    """The ways of one site: its time zone and its units."""

    site: Site

    @cached_property
    def _zone(self) -> ZoneInfo:
        return ZoneInfo(self.site.time_zone)

    @property
    def paper(self) -> str:
        """Paper people here print on."""
        return "a4" if self.site.units == "si" else "us-letter"

    def time(self, wall_ms: int) -> str:
        """Local time of the site: `2026-10-06 07:42`."""
        return f"{moment(wall_ms).astimezone(self._zone):%Y-%m-%d %H:%M}"

    def day(self, wall_ms: int) -> str:
        """Local day of the site."""
        return self.time(wall_ms)[:10]

    def text(self, words: str) -> str:
        """A sentence in the units of the site."""
        return in_units(reason(words), self.site.units)

    def recorded(self, words: str) -> str:
        """A sentence in the units of the record: arithmetic is not worked again in others."""
        return as_recorded(words)

    @property
    def arithmetic(self) -> str:
        """In which units arithmetic stands, where that is not what people here read."""
        return "Arithmetic stands as it was recorded, in °F and ft." if self.site.units == "si" else ""

    def degrees(self, degf: float) -> str:
        """A temperature: `-8 °F`, `-22 °C`."""
        unit, convert = shown_as("degF", self.site.units)
        return f"{number(round(convert(degf), 1))} {unit}"

    def value(self, value: str | tuple[str, ...], unit: str) -> str:
        """A reading with its unit; as recorded, and beside it as read here where that is another unit."""
        sign, convert = shown_as(unit, self.site.units)
        texts = (value,) if isinstance(value, str) else value
        if sign == shown_as(unit, "us")[0]:
            return f"{joined(value)} {sign}".strip()
        return f"{' / '.join(_converted(text, convert) for text in texts)} {sign}"

    def limit(self, record: Mapping[str, object]) -> str:
        """A recorded limit: `19.47 to 22.72 A, pass 20.03 to 22.08`; empty where nothing was judged."""
        unit, convert = shown_as(str(record["unit"]), self.site.units)
        places = 2 if is_metric(str(record["unit"]), self.site.units) else 9  # finer than any thermometer
        edges = {
            name: None if record[name] is None else round(convert(float(str(record[name]))), places) + 0.0
            for name in ("low", "high", "pass_low", "pass_high")
        }
        whole = span(edges["low"], edges["high"])
        inner = span(edges["pass_low"], edges["pass_high"])
        if not whole:
            return ""
        return f"{whole} {unit}".strip() + (f", pass {inner}" if inner and inner != whole else "")

    def answer(self, saved: Saved) -> str:
        """What was answered, with what was typed where that reads otherwise."""
        if saved.is_skipped:
            return f"left out: {saved.says}"
        value = self.value(saved.value, saved.unit) if saved.unit else plain(joined(saved.value))
        typed = joined(saved.raw)
        told = "" if typed in (joined(saved.value), "") else f" (typed {typed})"
        return value + told


def _converted(text: str, convert: Convert) -> str:
    try:
        return number(round(convert(float(text)), 1))
    except ValueError:
        return text


def span(low: float | None, high: float | None) -> str:
    """`19.47 to 22.72`, `from 20`, `up to 5`; empty for no edge."""
    if low is None:
        return "" if high is None else f"up to {number(high)}"
    return f"from {number(low)}" if high is None else f"{number(low)} to {number(high)}"


def quantity_words(quantity: str) -> str:
    """What is measured, for a person."""
    known = QUANTITIES.get(quantity)
    return known.says if known is not None else plain(quantity)
