"""Plan files for the sample sites, and short ways to plan on them."""

from datetime import date

from seasonlog.planning.checker import broken_rules
from seasonlog.services import plan
from seasonlog.services.logbook import Logbook
from seasonlog.services.plan import Request, Workplan

FROM = date(2026, 8, 20)
"""A Thursday: every northern fall enable is open, none is overdue; a southern month is."""

PLAN = """
[[base]]
id = "lake"
latitude_deg = 46.20
longitude_deg = -94.60
[[base]]
id = "basin"
latitude_deg = 42.61
longitude_deg = -108.55
[[base]]
id = "south"
latitude_deg = -45.03
longitude_deg = 169.20
[[person]]
id = "mirel"
base = "lake"
[[person]]
id = "halden"
base = "lake"
[[person]]
id = "jessa"
base = "lake"
[[person]]
id = "tobrin"
base = "south"
[minutes]
fall-enable = 120
other = 60
[minutes.drained]
fall-enable = 45
"""


def request(on: date = FROM, file: str | None = PLAN, **more: object) -> Request:
    return Request(on, on, file=file, **more)  # type: ignore[arg-type]


def published(book: Logbook, on: date = FROM, file: str = PLAN) -> Workplan:
    """A plan drafted and published; as it stands in the log."""
    plan.publish(book, plan.draft(book, request(on, file)))
    return as_published(book, on)


def as_published(book: Logbook, on: date = FROM) -> Workplan:
    found = plan.published(book, on)
    assert found is not None
    return found


def is_legal(work: Workplan) -> bool:
    """No hard rule is broken, by the checker that trusts no planner, and by the windows themselves."""
    inputs = work.inputs
    ahead = [m for m in work.plan.assignments if m not in work.missed]
    late = [m for m in ahead if m.day > inputs.items[m.job].due and inputs.items[m.job].due >= inputs.span.first]
    return not late and not work.broken and (work.missed or not broken_rules(inputs.instance, work.plan, inputs.done))


def made(work: Workplan, tower: str, checklist: str = "fall-enable") -> tuple[str, date, int]:
    """Who goes to a tower, when."""
    (found,) = [
        m for m in work.plan.assignments
        if (work.inputs.items[m.job].tower, work.inputs.items[m.job].checklist) == (tower, checklist)
    ]  # fmt: skip
    return found.worker, found.day, found.start_minute
