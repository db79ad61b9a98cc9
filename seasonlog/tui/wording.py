"""What a state is called on the screen: a symbol, a word and a tone, never a colour alone.

Also the only door for text that people, files and voices handed in: `say`. It makes control characters visible and
hands back plain content, which no widget reads as markup.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from textual.content import Content

from seasonlog.domain.due_state import DueState
from seasonlog.domain.finding import FindingState
from seasonlog.domain.plain_words import counted as counted
from seasonlog.domain.plain_words import plain as plain
from seasonlog.domain.protection import Protection
from seasonlog.domain.severity import Severity
from seasonlog.domain.text import visible
from seasonlog.domain.verdict import Verdict
from seasonlog.domain.visit import VisitState
from seasonlog.errors import InputRefusedError, SeasonlogError


@dataclass(frozen=True, slots=True)
class Look:
    """How a state is shown."""

    symbol: str
    """One or two cells."""
    word: str
    tone: str
    """Colour by name: `pass` means `$tone-pass`."""

    @property
    def ink(self) -> str:
        """The tone as a text style."""
        return f"$tone-{self.tone}"

    def badge(self, more: str = "") -> Content:
        """Symbol and word in the tone; `more` is our own text, such as a count."""
        return Content.styled(f"{self.symbol} {self.word}{more}", f"bold {self.ink}")


CALM = Look("·", "", "calm")
"""Nothing to be said about it."""

VERDICTS: Mapping[Verdict, Look] = {
    Verdict.PASS: Look("✓", "PASS", "pass"),
    Verdict.NEAR_PASS: Look("✓~", "NEAR PASS", "near-pass"),
    Verdict.CANNOT_TELL: Look("?", "CANNOT TELL", "unsure"),
    Verdict.NEAR_FAIL: Look("✗~", "NEAR FAIL", "near-fail"),
    Verdict.FAIL: Look("✗", "FAIL", "fail"),
}
SKIPPED = Look("»", "SKIPPED", "near-fail")
"""A step left out with a reason."""

VERDICT_MEANS: Mapping[Verdict, str] = {
    Verdict.PASS: "Inside the limit. Counts as proof.",
    Verdict.NEAR_PASS: "Inside the limit, but close to its edge. Counts as proof; watch it.",
    Verdict.CANNOT_TELL: "Nothing is proven by this. It says above what is missing.",
    Verdict.NEAR_FAIL: "Outside the limit, short of a plain fail. A finding is open: repair, or read it better.",
    Verdict.FAIL: "Outside the limit. A finding is open until a retest passes.",
}
LOOK_MEANS: Mapping[Verdict, str] = {
    Verdict.PASS: "As wanted. Counts as proof.",
    Verdict.NEAR_PASS: "Nearly as wanted. Counts as proof; watch it.",
    Verdict.CANNOT_TELL: "Nothing is proven by this.",
    Verdict.NEAR_FAIL: "Not quite as wanted. A finding is open until a retest passes.",
    Verdict.FAIL: "Not as wanted. A finding is open until a retest passes.",
}
"""The same of what was looked at, where no number has a limit."""

SEVERITIES: Mapping[Severity, Look] = {
    Severity.FREEZE_RISK: Look("◆", "FREEZE RISK", "fail"),
    Severity.DRY_FIRE_RISK: Look("▲", "DRY-FIRE RISK", "fail"),
    Severity.SHOCK_RISK: Look("↯", "SHOCK RISK", "fail"),
    Severity.WATER_OR_ICE: Look("≈", "WATER OR ICE", "near-fail"),
    Severity.RUNS_WHEN_IT_SHOULD_NOT: Look("↻", "RUNS WHEN IT SHOULD NOT", "near-fail"),
    Severity.RECORD_GAP: Look("○", "RECORD GAP", "unsure"),
}

PROTECTIONS: Mapping[Protection, Look] = {
    Protection.PROVEN: Look("✓", "PROVEN", "pass"),
    Protection.PROVISIONAL: Look("✓~", "PROVISIONAL", "near-pass"),
    Protection.NOT_PROVEN: Look("✗", "NOT PROVEN", "near-fail"),
}

DUE_STATES: Mapping[DueState, Look] = {
    DueState.UPCOMING: Look("○", "UPCOMING", "calm"),
    DueState.OPEN: Look("●", "DUE", "hot"),
    DueState.OVERDUE: Look("!", "OVERDUE", "fail"),
    DueState.DONE: Look("✓", "DONE", "pass"),
    DueState.DROPPED: Look("–", "DROPPED", "calm"),
}

VISIT_STATES: Mapping[VisitState, Look] = {
    VisitState.OPEN: Look("►", "OPEN", "hot"),
    VisitState.COMPLETE: Look("✓", "SIGNED OFF", "pass"),
    VisitState.INCOMPLETE: Look("–", "INCOMPLETE", "near-fail"),
    VisitState.NOT_POSSIBLE: Look("–", "NOT POSSIBLE", "calm"),
}

FINDING_STATES: Mapping[FindingState, Look] = {
    FindingState.OPEN: Look("✗", "OPEN", "fail"),
    FindingState.ACCEPTED: Look("–", "ACCEPTED FOR A WHILE", "near-fail"),
    FindingState.CLOSED: Look("✓", "CLOSED", "pass"),
    FindingState.WITHDRAWN: Look("–", "WITHDRAWN", "calm"),
}


def say(text: object, style: str = "") -> Content:
    """Text from outside as plain content: shown as typed, control characters by their stand-ins."""
    return Content.styled(visible(str(text)), style) if style else Content(visible(str(text)))


def say_lines(text: str, style: str = "") -> Content:
    """The same for a text of several lines."""
    shown = visible(text, keep_newlines=True)
    return Content.styled(shown, style) if style else Content(shown)


def sentence(error: SeasonlogError, about: str = "") -> str:
    """What went wrong, as one sentence; the name of the step it is about is left out, since it stands on the screen."""
    if isinstance(error, InputRefusedError):
        return "; ".join(p.says if p.where in (about, f"step {about}") else str(p) for p in error.problems)
    return str(error)
