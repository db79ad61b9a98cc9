"""What the fault finder says on the screen: the question, what remains, the end; as content."""

from collections.abc import Iterator, Mapping

from textual.content import Content

from seasonlog.faults.circuit import Circuit
from seasonlog.faults.observation import DEAD, DOOR, DRAINED, HAND, JUMPER, LIVE, MODES, PANEL, Check, Choice, Stop
from seasonlog.services import fault_finding_report as report
from seasonlog.services.fault_finding import BEFORE_ALL, WHO_ANSWERS, WHO_ASKED, WHO_WHY, Search
from seasonlog.tui.widgets.row import NOTHING, Row
from seasonlog.tui.wording import CALM, Look, counted, say

WAYS: Mapping[str, Look] = {
    DOOR: Look("○", "LOOK", "cold"),
    PANEL: Look("○", "LOOK INSIDE", "cold"),
    HAND: Look("●", "BY HAND", "hot"),
    DEAD: Look("■", "LOCKED OUT", "near-fail"),
    LIVE: Look("↯", "LIVE", "fail"),
    JUMPER: Look("▲", "JUMPER, THEN LIVE", "fail"),
    DRAINED: Look("▲", "LEADS LIFTED, DRAINED", "fail"),
}
"""How a test is made, by a sign and a word."""
ASKED = Look("?", "FIRST QUESTION", "hot")
FOUND = Look("✗", "THE CAUSE", "fail")
HEALTHY = Look("✓", "NO FAULT SEEN", "pass")
NOT_NAMED = Look("?", "NO CAUSE NAMED", "unsure")
WAITING = "Working out what every fault of this circuit would show in every test ..."
HEATS = Look("?", "", "hot")
BAR_CELLS, SHORT_BAR = 20, 8
BREAK = Content("\n")
AT_HAND = 3
"""Causes shown beside a question."""
_NARROW = 60


def progress(search: Search, width: int) -> Content:
    """The likeliest cause at the left, how much was asked and how many causes are left at the right."""
    suspects = search.session.suspects()
    left = sum(each.probability >= report.WORTH_NAMING for each in suspects)
    asked = search.session.asked
    count = f"{asked} asked · {left} left " if width < _NARROW else f"{asked} asked · {counted(left, 'cause')} left "
    likeliest = f" {report.percent(suspects[0].probability)} {report.named(suspects[0])}"
    first = likeliest if search.session.observations else " nothing seen yet"
    room = max(width - len(count) - 1, 0)
    title = say(first, "$tone-cold").truncate(room, ellipsis=True)
    return title.pad_right(room - title.cell_length + 1) + Content.styled(count, "bold")


def who() -> tuple[Content, Content]:
    """The first question: title, words."""
    words = [Content(WHO_ASKED), why_line(WHO_WHY), Content(BEFORE_ALL)]
    return ASKED.badge(), Content("\n\n").join(words)


def who_choices() -> Iterator[tuple[str, Content]]:
    """Its answers."""
    yield from ((key, say(f"{n}   {words}")) for n, (key, words) in enumerate(WHO_ANSWERS.items(), 1))


def who_is_there(search: Search) -> Content:
    """The button that names who is at the panel."""
    return say(f"At the panel: {search.person}" if search.person else "Somebody else is there")


def unrecorded(who: str) -> Content:
    """The person at the screen is not on record as qualified."""
    words = "is not on record as qualified for energised work. Answer for whoever stands at the panel."
    return say(f"{who} {words}", "bold $tone-near-fail")


def title(check: Check) -> Content:
    """How the test is made."""
    return WAYS[check.mode].badge() + say(f"  {MODES[check.mode]}")


def words(search: Search, check: Check) -> Content:
    """What to do."""
    return say(report.once_more(search, check) + check.do.replace("_", " "), "bold")


def caution(text: str) -> Content:
    """The caution, or nothing."""
    return Content.assemble(("! CAUTION  ", "bold $tone-near-fail"), say(text, "bold")) if text else NOTHING


def remaining(search: Search) -> Content:
    """The likeliest causes beside a question."""
    shown = report.worth_naming(search.session.suspects(), AT_HAND)
    lines = [Content.styled("What it may be", "bold $soft")]
    lines += [_bar(each.probability, SHORT_BAR) + say(report.named(each), "$soft") for each in shown]
    return Content("\n").join(lines)


def _bar(share: float, cells: int) -> Content:
    """A share as a bar and as a number."""
    full = min(cells, round(share * cells))
    return Content.assemble(
        ("█" * full, "$tone-hot"), ("░" * (cells - full), "$soft"), (f" {report.percent(share):>5}  ", "bold")
    )


def causes(search: Search) -> list[Row]:
    """Every cause that is still worth naming, with its share as a bar and a number, and the rest in one line."""
    suspects = search.session.suspects()
    shown = report.worth_naming(suspects, len(suspects))
    rows = [
        Row("", say(report.named(each)), _bar(each.probability, BAR_CELLS), look=HEATS if n == 0 else CALM)
        for n, each in enumerate(shown)
    ]
    rest = len(suspects) - len(shown)
    return [*rows, Row("", say(f"and {counted(rest, 'other')}, each under 1 %"))] if rest else rows


def causes_words(search: Search) -> Content:
    """The same as a page to read."""
    lines = []
    for row in causes(search):
        lines += [row.title.stylize("bold"), *([row.words] if row.words else [])]
    seen = [Content.styled("\nWhat was seen", "bold $tone-cold"), *(say(each) for each in report.evidence(search))]
    assumed = [say(f"Assumed: {each}", "$soft") for each in search.circuit.assumed]
    return Content("\n").join([*lines, *(seen if search.session.observations else []), *assumed])


def why_line(text: str) -> Content:
    """A reason."""
    return Content.assemble(("Why: ", "bold $soft"), say(text.replace("_", " "), "$soft"))


def why_words(found: Choice) -> Content:
    """Why this test, and what each answer would leave."""
    parts = [say(found.why.replace("_", " ")), Content.styled("What each answer would leave", "bold $tone-cold")]
    for each in found.outcomes:
        answer = each.answer.replace("_", " ")
        parts.append(say(f"{answer}, {report.percent(each.probability)} likely", "bold") + BREAK + say(each.means))
    return Content("\n\n").join(parts)


def last(search: Search) -> Content:
    """What was noted last."""
    made = [each for each in search.session.observations if not each.given]
    if not made:
        given = len(search.session.observations)
        return say(f"{counted(given, 'answer')} of the visit taken over as evidence") if given else NOTHING
    check = search.session.test(made[-1].test)
    return say(f"✓ noted  {report.test_words(check)}: {report.answer_words(check, made[-1].answer)}")


def end_look(stop: Stop) -> Look:
    """What kind of end it is."""
    if report.sees_no_fault(stop):
        return HEALTHY
    return FOUND if report.names_a_cause(stop) else NOT_NAMED


def end_words(search: Search, stop: Stop) -> Content:
    """Why it ends, the repair, the steps that prove it, the evidence."""
    parts = [say(stop.says, "bold")]
    if report.names_a_cause(stop):
        proofs = [f"• {each}" for each in report.proof_lines(search, stop)]
        parts.append(_part(report.repair_head(search).upper(), [stop.repair]))
        parts.append(_part('PROVED BY, IN THE VISIT "REPAIR RETEST"', proofs))
    elif search.session.observations and not report.sees_no_fault(stop):
        parts.append(remaining(search))
    parts.append(_part("WHAT WAS SEEN", [f"• {each}" for each in report.evidence(search)]))
    return Content("\n\n").join(parts)


def _part(name: str, lines: list[str]) -> Content:
    return Content.styled(f"{name}\n", "bold $tone-cold") + Content("\n").join(say(each) for each in lines)


def dry_fire_words(circuit: Circuit) -> Content:
    """Which single faults let this heater run dry."""
    found = report.dry_fire_of(circuit)
    parts = [say(found.intro)]
    for each in found.faults:
        name = say(f"▲ {each.fault.code} {each.fault.name}", "bold $tone-fail")
        parts.append(name + BREAK + say(f"  {report.dry_fire_says(each)}"))
    return Content("\n").join([parts[0], NOTHING, *parts[1:], NOTHING, say(found.caution, "bold")])
