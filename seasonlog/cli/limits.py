"""`seasonlog limits TOWER`: the bands readings are judged by, with their arithmetic."""

import re
from typing import TYPE_CHECKING

import click

from seasonlog.cli import frame
from seasonlog.cli.frame import Frame, log_option, shows
from seasonlog.errors import UsageError

if TYPE_CHECKING:
    from seasonlog.services.limits import TowerLimit

_VOLTS = re.compile(r"\d{1,4}(\.\d{1,2})?", re.ASCII)


@click.command()
@click.argument("tower")
@click.option("--volts", metavar="V", help="Volts measured at the heater; its rated volts when not given.")
@click.option("--checklist", default="fall-enable", help="Whose readings; the fall enable when not given.")
@log_option
@shows
@click.pass_obj
def limits(
    obj: Frame, tower: str, volts: str | None, checklist: str, log: str | None, as_json: bool, today: str | None
) -> int:
    """The pass and fail limits of a tower, computed from its heaters' ratings."""
    from seasonlog.services import checklists, registry
    from seasonlog.services import limits as service

    with frame.reading(obj, log) as book:
        day = frame.day_or(today, book)
        register = registry.of_known_tower(book.db, tower, day)
        chosen = checklists.named(checklist, book.places.checklists)
        found = service.limits_of(register, tower, chosen, day, _volts(volts))
    if as_json:
        frame.out_json([_document(each) for each in found])
    else:
        for each in found:
            _words(each, register.site_of(tower).units)
    return 0


def _volts(text: str | None) -> float | None:
    if text is None:
        return None
    if not _VOLTS.fullmatch(text) or not 1 <= float(text) <= 1000:
        raise UsageError(f'--volts "{text}" is not a number of volts from 1 to 1000.')
    return float(text)


def _document(each: "TowerLimit") -> dict[str, object]:
    limit = each.limit
    numbers = ("low", "high", "pass_low", "pass_high")
    return {
        "quantity": limit.quantity,
        "step": each.step,
        "target": each.target,
        **{name: _rounded(getattr(limit, name)) for name in numbers},
        "unit": limit.unit,
        "basis": limit.missing or limit.basis,
        "source": limit.source,
        "decides": limit.decides and not limit.missing,
    }


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 4)


def _words(each: "TowerLimit", units: str) -> None:
    from seasonlog.domain.judging import band_words
    from seasonlog.domain.units_shown import IN_PLAIN_LETTERS, basis_in_units, in_units

    limit = each.limit
    about = f"{each.step}{' @ ' + each.target if each.target else ''}"
    frame.out(f"{about}: {in_units(limit.missing or band_words(limit), units, IN_PLAIN_LETTERS)}")
    if not limit.missing:
        frame.out(f"    {basis_in_units(limit.basis, limit.unit, units, IN_PLAIN_LETTERS)}")
        frame.out(f"    source: {limit.source}")
