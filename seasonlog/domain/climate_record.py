"""A site's climate as the log keeps it: when it freezes, with which chance and error, and whose dates count.

Numbers are decimal text, dates `MM-DD`. What was found is kept as it was found; a later formula changes no old entry.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Any

from seasonlog.calc.freeze_chances import Side
from seasonlog.calc.freeze_windows import Frost, Stretch
from seasonlog.calc.season_days import MonthDay, SeasonCalendar
from seasonlog.domain.season import SiteFrost

FORMULA = "freeze_dates/1"
"""Name and version of how the dates are found; raised when the same file would give other dates."""
THRESHOLDS_DEGF = (36, 32, 28, 24)
"""What is kept of every record: a roof under a clear sky, freezing, and two hard frosts."""
PERCENTS = (10, 50, 90)
CAUTIOUS = "10"
"""The percent that windows are made from: the early first and the late last freeze."""


class Basis(StrEnum):
    """Whose dates count."""

    PUBLISHED = "published"
    """Normals published for a station, taken as they are."""
    SIMULATED = "simulated"
    """The site's own record, made longer by simulated seasons."""
    RAW = "raw"
    """The site's own record, by the rank of its seasons."""
    TYPED = "typed"
    """What the register says: no record, or none that serves."""


@dataclass(frozen=True, slots=True)
class SiteClimate:
    """The newest climate entry of a site, and when it was made."""

    site: str
    body: Mapping[str, Any]
    who: str
    on: date

    @property
    def basis(self) -> Basis:
        """Whose dates count."""
        return Basis(self.body["used"]["basis"])

    @property
    def because(self) -> str:
        """Why the typed dates count all the same; empty when the record's do."""
        return str(self.body["used"]["because"])

    @property
    def threshold_degf(self) -> str:
        """The freeze that counts [degF], decimal text."""
        return str(self.body["used"]["threshold_degf"])

    @property
    def source(self) -> str:
        """Whose dates they are, in words."""
        return source_words(self.body)

    def side(self, side: Side) -> Mapping[str, Any]:
        """What is known of the first or the last freeze at the threshold that counts."""
        return side_of(self.body, side)

    def frost(self, lead_days: int) -> SiteFrost | None:
        """What windows are made from; None where the typed dates count.

        Args:
            lead_days: The fall enable is due this many days before the early first freeze.
        """
        used = self.body["used"]
        if self.basis is Basis.TYPED:
            return None
        frost = frost_of(calendar_of(self.body), used["threshold_degf"], used["first"], used["last"])
        return SiteFrost(frost, stretch_of(self.body.get("coldest")), self.source, lead_days)


def calendar_of(body: Mapping[str, Any]) -> SeasonCalendar:
    """How the seasons run that the dates were counted in."""
    return SeasonCalendar(int(body["first_month"]))


def frost_of(calendar: SeasonCalendar, threshold_degf: str, first: str, last: str) -> Frost:
    """The cautious dates as the windows want them."""
    return Frost(calendar, float(threshold_degf), month_day(first), month_day(last), float(CAUTIOUS))


def stretch_of(told: Mapping[str, str] | None) -> Stretch | None:
    """The coldest days, where the entry tells them."""
    if told is None:
        return None
    return Stretch(month_day(told["begins"]), month_day(told["ends"]), float(told["mean_degf"]))


def month_day(text: str) -> MonthDay:
    """A day written `MM-DD` by ourselves."""
    month, day = text.split("-")
    return MonthDay(int(month), int(day))


def side_of(body: Mapping[str, Any], side: Side) -> Mapping[str, Any]:
    """The first or the last freeze at the threshold that counts."""
    wanted = body["used"]["threshold_degf"]
    found: Mapping[str, Any] = next(each for each in body["thresholds"] if each["threshold_degf"] == wanted)[str(side)]
    return found


def source_words(body: Mapping[str, Any]) -> str:
    """`own record of NOWHERE AP (USW00014735), 30 seasons 1987 to 2016`; a station without name by its file."""
    if body["used"]["basis"] == Basis.PUBLISHED:
        return f"published normals of {_named(body['published_station']) or body['files'][-1]['name']}"
    period = body["period"]
    seasons = f"{period['seasons']} seasons {period['first_season']} to {period['last_season']}"
    return f"own record of {_named(body['station']) or body['files'][0]['name']}, {seasons}"


def _named(station: Mapping[str, str]) -> str:
    name, ident = station["name"], station["id"]
    return f"{name} ({ident})" if name and ident else name or ident


def chances_words(side: Side, told: Mapping[str, Any], basis: Basis) -> str:
    """`first freeze: 10 % by 3 October, 50 % by 15 October, 90 % by 1 November (simulated); comes in 100 % ...`."""
    dates = told.get(str(basis)) or {}
    preposition = "by" if side is Side.FIRST else "on or after"
    parts = [f"{percent} % {preposition} {month_day(dates[percent]).words}" for percent in _percents(dates)]
    return f"{side} freeze: {', '.join(parts) or 'no date is told'} ({basis})"


def _percents(dates: Mapping[str, str]) -> Sequence[str]:
    return [str(each) for each in PERCENTS if str(each) in dates]


def chance_words(told: Mapping[str, Any], basis: Basis) -> str:
    """`comes in 100 % of the seasons`; how sure that is, where seasons were counted."""
    chance = told["published_chance_percent"] if basis is Basis.PUBLISHED else told["chance_percent"]
    counted = f" ({told['reached']} of {told['judged']} seen)" if told["judged"] else ""
    return f"comes in {chance} % of the seasons{counted}" if chance else "its chance is not told"
