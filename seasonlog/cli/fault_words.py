"""What `seasonlog fault` says of a search, line by line."""

from collections.abc import Iterable, Iterator

from seasonlog.domain.plain_words import counted
from seasonlog.faults.observation import Check, Choice, Stop
from seasonlog.services import fault_finding_report as report
from seasonlog.services.fault_finding import BEFORE_ALL, WHO_ANSWERS, WHO_ASKED, WHO_WHY, Search

BAR = 20


def now(search: Search, found: Choice | Stop) -> Iterator[str]:
    """Everything: evidence, causes, the next test or the end, and what was assumed."""
    yield f"{search.tower}, circuit {search.circuit.id}"
    yield from (f"  seen: {each}" for each in report.evidence(search))
    if search.session.observations:
        yield "causes:"
        yield from causes(search)
    if search.asks_who:
        yield from who()
    elif isinstance(found, Stop):
        yield from end(search, found)
    else:
        yield f"next test: {found.test.id}, {report.way(found.test)}"
        yield from question(search, found.test)
        yield f"  why: {found.why}"
        yield f"  answer: {report.answers(found.test)}"
    yield from (f"assumed: {each}" for each in search.circuit.assumed)


def causes(search: Search) -> Iterator[str]:
    """The likely causes, each with its share as a number and a bar."""
    suspects = search.session.suspects()
    shown = report.worth_naming(suspects)
    for each in shown:
        bar = "#" * max(1, round(BAR * each.probability))
        yield f"  {report.percent(each.probability):>9}  {bar:<{BAR}}  {report.named(each)}"
    rest = sum(each.probability for each in suspects) - sum(each.probability for each in shown)
    others = counted(len(suspects) - len(shown), "other")
    yield f"  {report.percent(max(0.0, rest)):>9}  {'':<{BAR}}  {others} together"


def who() -> Iterator[str]:
    """The very first question."""
    yield f"first question: {WHO_ASKED}"
    yield from numbered(WHO_ANSWERS.values())
    yield f"  why: {WHO_WHY}"
    yield f"  {BEFORE_ALL}"


def numbered(choices: Iterable[str]) -> Iterator[str]:
    """Choices with their numbers."""
    yield from (f"  {number}  {each}" for number, each in enumerate(choices, 1))


def question(search: Search, check: Check) -> Iterator[str]:
    """What to do, after what to mind."""
    caution = search.caution(check)
    if caution:
        yield f"  CAUTION: {caution}"
    yield f"  {check.do}"


def end(search: Search, stop: Stop) -> Iterator[str]:
    """Why it ends, the evidence for it, the repair, and the steps that prove it."""
    yield f"end: {stop.says}"
    if report.names_a_cause(stop):
        yield f"  {report.repair_head(search).lower()}: {stop.repair}"
        yield f"  then start the visit `{report.RETEST}` at {search.tower}; it is proved by:"
        yield from (f"    - {each}" for each in report.proof_lines(search, stop))
    yield from (f"  CAUTION: {each}" for each in stop.cautions)
