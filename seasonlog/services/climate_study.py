"""A weather record looked at: how it is read, when it froze in which season, and what simulated seasons add."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from seasonlog.calc import bootstrap, freeze_dates, freeze_windows
from seasonlog.calc.climate import Climate
from seasonlog.calc.freeze_chances import FreezeDays, Freezes, Side
from seasonlog.calc.freeze_dates import Observed, Record
from seasonlog.calc.season_days import MonthDay, SeasonCalendar, calendar_at
from seasonlog.calc.units import degc_from_degf
from seasonlog.domain.plain_words import counted
from seasonlog.errors import InputRefusedError, Problem, RatingError, UsageError
from seasonlog.intake.normals import Normals, read_normals
from seasonlog.intake.weather import read_weather
from seasonlog.intake.weather_text import Asked, Unit


@dataclass(frozen=True, slots=True)
class HowToRead:
    """What the user says of a record that its file may not say."""

    unit: str | None = None
    """degf, degc or tenths."""
    station: str = ""
    rounding: str | None = None
    """whole-degf or none."""
    latitude_deg: float | None = None
    since: int | None = None
    """First season."""
    seed: int = 1


@dataclass(frozen=True, slots=True)
class Study:
    """A record, the seasons looked at, and what came out."""

    station: str
    record: Record
    seasons: Sequence[int]
    observed: Mapping[float, tuple[Observed, Observed]]
    simulated: Mapping[float, Freezes]
    published: Mapping[tuple[Side, float, float], MonthDay]
    notes: Sequence[str] = field(default_factory=list)
    shift_degf: Sequence[float] = ()
    opposite_winter: bool = False
    """The record's own winter lies in the other half of the year."""

    @property
    def title(self) -> str:
        """Whose seasons, and which."""
        named = f"{self.station}: " if self.station else ""
        count, span = counted(len(self.seasons), "season"), f"{self.seasons[0]} to {self.seasons[-1]}"
        return f"{named}{count} looked at, {span} ({self.record.calendar.words})"

    def sides(self) -> Iterator[tuple[float, Observed, FreezeDays | None]]:
        """Each threshold's first and last freezes, observed and simulated."""
        for degf, both in self.observed.items():
            for seen, made in zip(both, self.simulated.get(degf, (None, None)), strict=True):
                yield degf, seen, made

    def frost(self, degf: float, percent: float) -> freeze_windows.Frost:
        """The cautious dates: simulated, or raw where that was not possible.

        Raises:
            RatingError: the record tells none.
        """
        first, last = self.simulated.get(degf) or (each.days for each in self.observed[degf])
        early, late = first.date(percent), last.date(percent)
        if early is None or late is None:
            raise RatingError(f"no windows follow from the record at {degf:g} degF: {first.missing or last.missing}")
        return freeze_windows.Frost(self.record.calendar, degf, early, late, percent)

    def working(self) -> list[str]:
        """How the file was understood, which seasons fell out."""
        dropped = [f"{at_degf(degf)} {seen.side}: {len(seen.dropped)} ({', '.join(map(str, seen.dropped))})"
                   for degf, seen, _ in self.sides() if seen.dropped]  # fmt: skip
        return [*self.notes, f"seasons dropped for missing days: {'; '.join(dropped) or 'none'}"]


def study(told: Climate, normals: Sequence[Normals], thresholds_degf: Sequence[float], how: HowToRead) -> Study:
    """Look at a record: its freezes season by season, then simulated seasons.

    Args:
        told: As `weather_in` read it.
        normals: Published normals; the first with monthly means shifts the simulated months to them.
        thresholds_degf: At or below these it counts as a freeze [degF].
        how: Rounding, latitude, first season, seed.

    Raises:
        RatingError: something asked for is impossible, or no season is whole.
        UsageError: neither file nor user tells which half of the earth it is.
    """
    from random import Random

    notes = list(told.notes)
    lowest = _lowest(told, how.rounding, notes)
    by_winter = freeze_dates.colder_half(lowest)
    calendar = _calendar(by_winter, told.station.latitude if how.latitude_deg is None else how.latitude_deg, notes)
    record = Record(lowest, calendar)
    seasons = freeze_dates.usual_seasons(record, since=how.since)
    observed = {degf: freeze_dates.observed(record, degf, seasons) for degf in thresholds_degf}
    shift = _shift(record, seasons, normals, notes)
    simulated: dict[float, Freezes] = {}
    try:
        randomness = Random(how.seed)  # noqa: S311  (weather, no secret)
        simulated = bootstrap.simulate(record, thresholds_degf, seasons, randomness, shift_degf=shift or (0.0,) * 12)
    except RatingError as why:
        notes.append(f"no simulated dates: {why}")
    name = told.station.name or told.station.id
    opposite = by_winter not in (None, calendar)
    return Study(name, record, seasons, observed, simulated, published_in(normals), notes, shift, opposite)


def published_in(normals: Sequence[Normals]) -> dict[tuple[Side, float, float], MonthDay]:
    """The published dates by side, threshold [degF] and percent; of two files the later one counts."""
    return {(key.side, float(key.threshold_degf), float(key.percent)): day
            for each in normals for key, day in each.dates.items()}  # fmt: skip


def weather_in(data: bytes, name: str, how: HowToRead) -> Climate:
    """The daily record a file holds.

    Raises:
        InputRefusedError: it holds none, or something in it is wrong.
    """
    found = any_weather_in(data, name, how)
    if not found.days:
        says = (
            "holds single hours; freeze dates need the daily record of many years. `climate dates` tells those of a "
            "typical year. Hours serve `seasonlog calc energy --weather`"
        )
        raise InputRefusedError([Problem(name, says)])
    return found


def any_weather_in(data: bytes, name: str, how: HowToRead) -> Climate:
    """The weather a file holds, days or hours.

    Raises:
        InputRefusedError: something in it is wrong.
    """
    found, problems = read_weather(data, name, Asked(None if how.unit is None else Unit(how.unit), how.station))
    if found is None:
        raise InputRefusedError(problems)
    return found


def normals_in(data: bytes, name: str) -> Normals:
    """The normals a file holds.

    Raises:
        InputRefusedError: it holds none, or something in it is wrong.
    """
    found, problems = read_normals(data, name)
    if found is None:
        raise InputRefusedError(problems)
    return found


def at_degf(degf: float) -> str:
    """`32 degF (0.0 C)`."""
    return f"{degf:g} degF ({degc_from_degf(degf):.1f} C)"


def _lowest(told: Climate, rounding: str | None, notes: list[str]) -> freeze_dates.Lowest:
    in_whole = freeze_dates.was_read_in_whole_degf(told.days)
    rounded = in_whole if rounding is None else rounding == "whole-degf"
    seen = "nearly all of them lie on whole degF" if in_whole else "they do not lie on whole degF"
    notes.append(f"lowest temperatures {'rounded to whole degF first' if rounded else 'taken as they are'}; {seen}")
    return freeze_dates.lowest_of(told.days, rounded=rounded)


def _calendar(by_winter: SeasonCalendar | None, latitude_deg: float | None, notes: list[str]) -> SeasonCalendar:
    if latitude_deg is None:
        if by_winter is None:
            raise UsageError("The file tells no latitude and its winter does not show: give --latitude-deg.")
        notes.append(f"seasons {by_winter.words}, inferred: {'July' if by_winter.is_southern else 'January'} is colder")
        return by_winter
    found = calendar_at(latitude_deg)
    notes.append(f"seasons {found.words}, by latitude {latitude_deg:g}")
    if by_winter not in (None, found):
        notes.append("WARNING: the record's own winter is in the other half of the year; is the latitude's sign right?")
    return found


def _shift(record: Record, seasons: Sequence[int], normals: Sequence[Normals], notes: list[str]) -> Sequence[float]:
    monthly = next((each.monthly_tmin_degf for each in normals if each.monthly_tmin_degf), ())
    if not monthly:
        return ()
    found = bootstrap.shift(record, seasons, monthly)
    notes.append(f"simulated months shifted to the published normals: {min(found):+.2f} to {max(found):+.2f} degF")
    return found
