"""The draft of a plan: one small file beside the log, kept until it is published. It is no record, and may be lost."""

import json
from collections.abc import Mapping
from datetime import date
from typing import Any

from seasonlog.domain.due_state import DueState
from seasonlog.domain.plan_record import AwaySpan, PlanBasis
from seasonlog.domain.season_due import DueItem, DueKey
from seasonlog.errors import InputRefusedError
from seasonlog.planning.model import Assignment, LeftOut, Plan
from seasonlog.services.logbook import Logbook
from seasonlog.services.places import Places
from seasonlog.services.plan import Workplan, as_of_now
from seasonlog.services.plan_inputs import Span, gather
from seasonlog.services.reasons import refuse

NAME = "plan-draft.json"
FORMAT = "seasonlog plan draft 1"
UNREADABLE = "the draft beside the log cannot be read; `seasonlog plan` makes a new one"


def keep(book: Logbook, work: Workplan) -> None:
    """Keep a draft; the one before it is gone.

    Raises:
        InputRefusedError: the folder of the log cannot be written.
    """
    path = book.places.home / NAME
    new = path.with_name(f"{NAME}.new")
    try:
        new.write_text(json.dumps(_document(book, work)), "utf-8")
        new.replace(path)
    except OSError as error:
        raise refuse(str(path), f"the draft cannot be kept: {error.strerror or error}") from None


def forget(places: Places) -> None:
    """No draft any more."""
    (places.home / NAME).unlink(missing_ok=True)


def kept(book: Logbook, today: date) -> Workplan | None:
    """The draft, on the log as it is now; None when there is none, or it is of another log.

    Raises:
        InputRefusedError: it cannot be read, or does not go with the register any more.
    """
    try:
        data = json.loads((book.places.home / NAME).read_text("utf-8"))
        if not isinstance(data, dict) or data["format"] != FORMAT:
            raise refuse("plan", UNREADABLE)
        return _read(book, data, today) if data["log"] == book.journal.log_id else None
    except FileNotFoundError:
        return None
    except (OSError, LookupError, TypeError, ValueError, AttributeError):
        raise refuse("plan", UNREADABLE) from None


def _document(book: Logbook, work: Workplan) -> dict[str, Any]:
    span = work.inputs.span
    return {
        "format": FORMAT,
        "log": book.journal.log_id,
        "basis": work.inputs.basis.body(),
        "first": span.first.isoformat(),
        "last": span.last.isoformat(),
        "since": span.since.isoformat(),
        "added": [_added(item) for item in work.inputs.added.values()],
        "by": work.by,
        "says": work.says,
        "assignments": [
            [m.job, m.worker, m.day.isoformat(), m.order, m.start_minute, m.finish_minute]
            for m in work.plan.assignments
        ],
        "left_out": [[left.job, left.reason] for left in work.plan.left_out],
    }


def _added(item: DueItem) -> list[object]:
    return [*item.key, item.site, item.opens.isoformat(), item.due.isoformat(), item.why]


def _item(tower: str, checklist: str, season: int, ordinal: int, site: str, first: str, last: str, why: str) -> DueItem:
    days = date.fromisoformat(first), date.fromisoformat(last)
    return DueItem(tower, site, checklist, season, ordinal, *days, days[1], DueState.OPEN, why)


def _read(book: Logbook, data: Mapping[str, Any], today: date) -> Workplan:
    basis = PlanBasis(data["basis"]["text"], tuple(map(AwaySpan.read, data["basis"]["away"])))
    first = max(today, date.fromisoformat(data["first"]))
    span = Span(today, first, max(first, date.fromisoformat(data["last"])), date.fromisoformat(data["since"]))
    added = [_item(*each) for each in data["added"]]
    made = (Assignment(job, who, date.fromisoformat(on), *rest) for job, who, on, *rest in data["assignments"])
    left = (LeftOut(job, reason) for job, reason in data["left_out"])
    plan = Plan(tuple(made), tuple(left))
    inputs = gather(book, basis, span, {DueKey(*item.key): item for item in added})
    return as_of_now(book, Workplan(inputs, plan, is_draft=True, by=data["by"], says=data["says"]))


def standing(book: Logbook, today: date) -> Workplan | None:
    """The draft where there is a readable one, else None."""
    try:
        return kept(book, today)
    except InputRefusedError:
        return None
