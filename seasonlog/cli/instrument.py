"""`seasonlog instrument`: certificates, checks before use, and recalls with everything that rests on them."""

from typing import TYPE_CHECKING, Any

import click

from seasonlog.cli import frame
from seasonlog.cli.frame import Frame, by_option, log_option, shows

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from seasonlog.domain.register_records import Instrument
    from seasonlog.journal.audit_queries import Recall, Relied
    from seasonlog.services.logbook import Logbook
    from seasonlog.services.recall import Reliance


@click.group()
def instrument() -> None:
    """Instruments: certificates, checks before use, recalls and their reviews."""


@instrument.command("list")
@log_option
@shows
@click.pass_obj
def list_(obj: Frame, log: str | None, as_json: bool, today: str | None) -> int:
    """Every instrument with its certificate, its newest check before use, and its recalls."""
    from seasonlog.services import reports_history

    with frame.reading(obj, log) as book:
        known = _instruments(book)
        earlier = reports_history.earlier_certificates(book, known)
        rows = [_row(book, each, earlier[each.id]) for each in known]
    if as_json:
        frame.out_json(rows)
        return 0
    for row in rows:
        frame.out(f"{row['instrument']}  {row['name']}")
        frame.out(f"    certificate {row['certificate'] or 'not on record'}, due {row['calibration_due'] or 'unknown'}")
        checked = row["checked"]
        for each in row["earlier_certificates"]:
            frame.out(f"    before: certificate {each['certificate']}, due {each['calibration_due'] or 'unknown'}")
        frame.out(f"    checked before use {checked['day'] + ': ' + checked['says'] if checked else 'never on record'}")
        for each in row["recalls"]:
            state = "reviewed" if each["reviewed"] else "NOT REVIEWED"
            frame.out(f"    recall {each['recall']} since {each['since']}, {state}: {each['because']}")
    return 0


def _instruments(book: "Logbook") -> list[Any]:
    from seasonlog.services import registry

    return list(registry.shared(book.db).instruments.values())


def _row(book: "Logbook", each: Any, earlier: "Sequence[Instrument]") -> dict[str, Any]:
    from seasonlog.journal import audit_queries
    from seasonlog.services import recall as service

    checks = audit_queries.checks(book.db, each.id)
    return {
        "instrument": each.id,
        "name": each.name,
        "kind": each.kind,
        "certificate": each.certificate,
        "laboratory": each.laboratory,
        "as_found": each.as_found,
        "calibrated": None if each.calibrated is None else str(each.calibrated),
        "calibration_due": _day(each),
        "earlier_certificates": [{"certificate": c.certificate, "calibration_due": _day(c)} for c in earlier],
        "checked": {"day": checks[-1].day, "ok": checks[-1].ok, "says": checks[-1].says} if checks else None,
        "recalls": [
            _recalled(r) | {"reviewed": service.is_settled(book, r)} for r in audit_queries.recalls(book.db, each.id)
        ],
    }


def _day(each: "Instrument") -> str | None:
    return None if each.calibration_due is None else str(each.calibration_due)


def _recalled(found: "Recall") -> dict[str, Any]:
    return {
        "recall": found.id, "since": found.since, "by": found.who, "on": found.day, "because": found.because,
    }  # fmt: skip


@instrument.command()
@click.argument("ident", metavar="ID")
@click.option("--since", required=True, metavar="DATE", help="First day whose readings are doubted (YYYY-MM-DD).")
@click.option("--because", metavar="TEXT", help="Recall it, for this reason. Without it nothing is written.")
@by_option
@log_option
@shows
@click.pass_obj
def recall(
    obj: Frame, ident: str, since: str, because: str | None, by: str | None, log: str | None, as_json: bool,
    today: str | None,
) -> int:  # fmt: skip
    """List every reading, visit and tower that rests on an instrument since a day; with a reason, recall it.

    A recall turns these verdicts to cannot tell until it is reviewed, and a tower whose fall enable rests on them is
    not proven any more.
    """
    from seasonlog.services import recall as service

    first = frame.day_from(since, "--since")
    with frame.writing(obj, log, by) if because else frame.reading(obj, log) as book:
        found = service.recall(book, ident, first, because) if because else service.reliance(book, ident, first)
        units = _units(book, found)
    if as_json:
        frame.out_json(document(found))
    else:
        _say(found, units, recalled=bool(because))
    return 0


@instrument.command()
@click.argument("recall_id", metavar="RECALL")
@click.option("--stands", "outcome", flag_value="stands", help="The readings stand.")
@click.option("--repeat", "outcome", flag_value="repeat", help="They prove nothing and are to be made again.")
@click.option("--because", required=True, metavar="TEXT", help="What you conclude, and from what.")
@click.option("--visit", "visits", multiple=True, metavar="VISIT", help="Only this visit; may be given again.")
@by_option
@log_option
@shows
@click.pass_obj
def review(
    obj: Frame, recall_id: str, outcome: str | None, because: str, visits: tuple[str, ...], by: str | None,
    log: str | None, as_json: bool, today: str | None,
) -> int:  # fmt: skip
    """Review a recall: its readings stand, or are to be made again."""
    from seasonlog.errors import UsageError
    from seasonlog.services import recall as service

    if outcome is None:
        raise UsageError("Say what the review concludes: --stands or --repeat.")
    with frame.writing(obj, log, by) as book:
        found = service.review(book, recall_id, outcome, because, visits)
        units = _units(book, found)
    if as_json:
        frame.out_json(document(found))
    else:
        _say(found, units, recalled=False)
    return 0


@instrument.command()
@click.argument("ident", metavar="ID")
@click.argument("says", metavar="WORDS")
@click.option("--bad", is_flag=True, help="It did not show what it should.")
@by_option
@log_option
@shows
@click.pass_obj
def check(
    obj: Frame, ident: str, says: str, bad: bool, by: str | None, log: str | None, as_json: bool, today: str | None
) -> int:
    """Note a check before use, of today: against what, and what it showed."""
    from seasonlog.services import recall as service

    with frame.writing(obj, log, by) as book:
        done = service.check(book, ident, says, ok=not bad)
    if as_json:
        frame.out_json(done._asdict())
    else:
        frame.out(
            f"{done.instrument} checked on {done.day}, {'good' if done.ok else 'NOT GOOD, do not use it'}: {done.says}"
        )
    return 0


def document(found: "Reliance") -> dict[str, Any]:
    """What rests on an instrument, for a script."""
    return {
        "instrument": found.instrument.id,
        "since": found.since.isoformat(),
        "towers": list(found.towers),
        "visits": list(found.visits),
        "recalls": [_recalled(each) for each in found.recalls],
        "readings": [each._asdict() for each in found.readings],
        "closed_findings": [{"finding": f.id, "tower": f.tower, "state": str(f.state)} for f in found.closed],
    }


def _units(book: "Logbook", found: "Reliance") -> "Mapping[str, str]":
    """Tower to the units that people at its site read."""
    from seasonlog.services import registry

    return {tower: registry.units_of(book.db, tower) for tower in found.towers}


def _say(found: "Reliance", units: "Mapping[str, str]", *, recalled: bool) -> None:
    from seasonlog.domain.plain_words import counted
    from seasonlog.domain.units_shown import IN_PLAIN_LETTERS, in_units
    from seasonlog.services.recall import value_words

    def read(each: "Relied") -> str:
        return in_units(value_words(each), units.get(each.tower, "us"), IN_PLAIN_LETTERS)

    frame.table(
        (r.day, r.tower, r.visit, r.step, read(r), r.judged.replace("_", " "), r.verdict.replace("_", " "))
        for r in found.readings
    )
    parts = ((found.readings, "reading"), (found.visits, "visit"), (found.towers, "tower"))
    total = ", ".join(counted(len(each), name) for each, name in parts)
    frame.out(f"{total} rest on {found.instrument.id} since {found.since}")
    for f in found.closed:
        state = "stands open again" if f.is_open else "was closed by a retest that rests on it"
        frame.out(f"finding {f.id} at {f.tower} {state}: {f.title}")
    if recalled:
        frame.out(f"recalled as {found.recalls[-1].id}: these verdicts are cannot tell until a supervisor reviews it")
