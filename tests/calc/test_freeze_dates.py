"""First and last freezes: season by season as counted elsewhere, percentiles as computed elsewhere, gaps judged."""

import random
from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seasonlog.calc.climate import Daily
from seasonlog.calc.freeze_chances import (
    LEAST_SEASONS,
    FreezeDays,
    Side,
    chance_error,
    percentile_error,
    ranked,
)  # fmt: skip
from seasonlog.calc.freeze_dates import (
    Record,
    colder_half,
    freezes,
    lowest_of,
    observed,
    usual_seasons,
    was_read_in_whole_degf,
)  # fmt: skip
from seasonlog.calc.season_days import NORTH, SOUTH, YEAR_DAYS, MonthDay, SeasonCalendar, calendar_at
from seasonlog.calc.units import degf_from_degc
from seasonlog.errors import RatingError
from tests.calc.climate_files import PLACES, Place, published, record_of, rows

RAW_WITHIN_DAYS = 12
PLACE = pytest.mark.parametrize("place", PLACES, ids=[each.short for each in PLACES])


class TestOpenRecords:
    """Two public daily records: Albany 1938-2018, New York Central Park 1950-2020."""

    @PLACE
    @pytest.mark.parametrize("degf", [36, 32, 28, 24, 20])
    def test_every_season_is_the_one_counted_elsewhere(self, shared: Path, place: Place, degf: int) -> None:
        """first-last-by-season.csv, counted with another program: every date of every season equal."""
        first, last = observed(record_of(shared, place), degf, place.seasons)
        told = [each for each in rows(shared, "first-last-by-season.csv")
                if (each["station"], each["threshold_F"]) == (place.short, str(degf))]  # fmt: skip
        assert [int(each["season_start_year"]) for each in told] == list(place.seasons)
        assert [str(day) for day in first.dates.values()] == [each["first_fall"] for each in told]
        assert [str(day) for day in last.dates.values()] == [each["last_spring"] for each in told]
        assert (first.without, first.dropped, last.dropped) == ((), (), ())

    def test_albanys_first_freezes_one_by_one(self, shared: Path) -> None:
        """Seasons 1991 to 2016 at 32 degF, written down from another count of the same record: equal."""
        told = (
            "9-29 10-01 9-20 10-03 9-29 10-03 10-17 10-05 10-07 9-29 10-08 10-15 10-03 10-24 10-21 10-13 10-29 10-07 "
            "10-12 10-19 10-27 10-12 10-24 10-12 10-17 10-15"
        )
        first, _ = observed(record_of(shared, PLACES[0]), 32, PLACES[0].seasons)
        assert [f"{day.month}-{day.day:02d}" for day in first.dates.values()] == told.split()

    @PLACE
    def test_raw_dates_against_published_ones(self, shared: Path, place: Place) -> None:
        """NCEI normals 1991-2020 of the same station, which simulate and adjust: within 12 days, mean below 5."""
        record, errors = record_of(shared, place), []
        for told in published(shared, place):
            ours = freezes(record, told.degf, place.seasons)
            days = ours.first if told.side is Side.FIRST else ours.last
            errors.append(told.days_later(days))
            print(f"{place.short} raw {told.side} {told.degf:g} degF {told.percent:g} %: {days.date(told.percent)}, "
                  f"published {told.day}, {errors[-1]:+d} days")  # fmt: skip
        print(f"{place.short} raw: mean {sum(map(abs, errors)) / len(errors):.2f}, most {max(map(abs, errors))} days")
        assert max(map(abs, errors)) <= RAW_WITHIN_DAYS
        assert sum(map(abs, errors)) / len(errors) < 5

    RAW = {
        ("ALB", 32, Side.FIRST): "9/29 10/12 10/24", ("ALB", 32, Side.LAST): "5/15 4/29 4/22",
        ("ALB", 28, Side.FIRST): "10/05 10/24 11/08", ("ALB", 28, Side.LAST): "4/24 4/12 4/01",
        ("ALB", 24, Side.FIRST): "10/22 11/07", ("ALB", 24, Side.LAST): "4/11 4/02",
        ("NYC", 32, Side.FIRST): "11/09 11/19", ("NYC", 32, Side.LAST): "4/10 3/29",
        ("NYC", 24, Side.FIRST): "11/22 12/07", ("NYC", 24, Side.LAST): "3/26 3/13",
    }  # fmt: skip

    @pytest.mark.parametrize(("name", "told"), RAW.items(), ids=[f"{a} {b} {c}" for a, b, c in RAW])
    def test_raw_dates_as_computed_elsewhere(self, shared: Path, name: tuple[str, int, Side], told: str) -> None:
        """The same percentiles from another program: within 1 day (halves and leap days are rounded otherwise)."""
        place = next(each for each in PLACES if each.short == name[0])
        days = freezes(record_of(shared, place), name[1], place.seasons)[0 if name[2] is Side.FIRST else 1]
        for percent, text in zip((10, 50, 90), told.split(), strict=False):
            month, day = map(int, text.split("/"))
            found = days.date(percent)
            assert found is not None
            assert abs(NORTH.number(found) - NORTH.number(MonthDay(month, day))) <= 1

    @pytest.mark.parametrize(("degf", "rounded", "unrounded"), [
        (28, 1340, 1194), (24, 858, 758), (20, 507, 492), (16, 263, 249), (32, None, None), (36, None, None),
    ])  # fmt: skip
    def test_whole_degf_come_back(self, shared: Path, degf: int, rounded: int | None, unrounded: int | None) -> None:
        """New York 1991 to 2020: days at or below, counted elsewhere with and without rounding, equal; 32 and 36
        degF are not touched."""
        from seasonlog.intake.weather import read_weather

        place = PLACES[1]
        climate, _ = read_weather((shared / "climate" / place.file).read_bytes(), place.file)
        assert climate is not None
        assert was_read_in_whole_degf(climate.days)
        days = [each for each in climate.days if 1991 <= each.day.year <= 2020]
        counts = [sum(low <= degf for low in lowest_of(days, rounded=each).values()) for each in (True, False)]
        assert counts == [rounded, unrounded] if rounded else counts[0] == counts[1]


def winter(begins: date, lows: list[float], calendar: SeasonCalendar = NORTH) -> Record:
    """A record from a day on, one lowest temperature a day."""
    return Record({begins + timedelta(days=each): low for each, low in enumerate(lows)}, calendar)


def seasons_with(firsts: list[int | None], calendar: SeasonCalendar = NORTH, begins: int = 1991) -> Record:
    """Seasons at 50 degF with one day at 30 degF, on the day of the season given; none where None."""
    lowest = {}
    for season, at in enumerate(firsts, begins):
        day, end = calendar.bounds(season)
        while day <= end:
            lowest[day] = 30.0 if calendar.number(day) == at else 50.0
            day += timedelta(days=1)
    return Record(lowest, calendar)


class TestGaps:
    """Ten or more days missing before a first freeze, or after a last one, and the season is dropped for it."""

    @pytest.mark.parametrize(("missing", "is_dropped"), [(0, False), (9, False), (10, True), (40, True)])
    def test_days_missing_before_the_first(self, missing: int, is_dropped: bool) -> None:
        record = seasons_with([80])
        gone = {date(1991, 8, 5) + timedelta(days=each) for each in range(missing)}
        holed = Record({day: low for day, low in record.lowest.items() if day not in gone}, NORTH)
        first, last = observed(holed, 32, [1991])
        assert (first.dropped, bool(first.dates)) == (((1991,), False) if is_dropped else ((), True))
        assert list(last.dates.values()) == [date(1991, 10, 20)]  # the gap lies before it and hides no later one

    @pytest.mark.parametrize(("missing", "is_dropped"), [(9, False), (10, True)])
    def test_days_missing_after_the_last(self, missing: int, is_dropped: bool) -> None:
        record = seasons_with([80])
        holed = Record({day: low for day, low in record.lowest.items() if day <= date(1992, 7, 31 - missing)}, NORTH)
        first, last = observed(holed, 32, [1991])
        assert bool(last.dropped) is is_dropped
        assert not first.dropped

    @pytest.mark.parametrize(("missing", "dropped", "without"), [(9, (), (1991,)), (10, (1991,), ())])
    def test_a_season_without_a_freeze_and_with_gaps(
        self, missing: int, dropped: tuple[int, ...], without: tuple[int, ...]
    ) -> None:
        """Not known not to have frozen: it counts neither way."""
        record = seasons_with([None])
        holed = Record(dict(list(record.lowest.items())[missing:]), NORTH)
        for each in observed(holed, 32, [1991]):
            assert (each.dropped, each.without, dict(each.dates)) == (dropped, without, {})
            assert each.days.judged == len(without)

    def test_a_season_outside_the_record_is_dropped(self) -> None:
        first, last = observed(seasons_with([80]), 32, [1990, 1991])
        assert first.dropped == last.dropped == (1990,)

    def test_only_whole_seasons_are_usual(self) -> None:
        record = winter(date(1990, 9, 1), [50.0] * 1100)  # to September 1993
        assert usual_seasons(record) == range(1991, 1993)
        assert usual_seasons(record, 1) == range(1992, 1993)
        assert usual_seasons(record, since=1992) == range(1992, 1993)
        for bad in (winter(date(1990, 9, 1), [50.0] * 300), Record({}, NORTH)):
            with pytest.raises(RatingError, match="holds no whole season"):
                usual_seasons(bad)
        with pytest.raises(RatingError, match=r"no whole season from 2001 on.*1991 to 1992 are whole"):
            usual_seasons(record, since=2001)


class TestSeasonDays:
    @pytest.mark.parametrize(("calendar", "on", "number"), [
        (NORTH, MonthDay(8, 1), 0), (NORTH, MonthDay(7, 31), 364), (NORTH, MonthDay(1, 1), 153),
        (SOUTH, MonthDay(2, 1), 0), (SOUTH, MonthDay(1, 31), 364), (SOUTH, MonthDay(7, 1), 150),
    ])  # fmt: skip
    def test_days_are_counted_from_the_first_of_the_season(
        self, calendar: SeasonCalendar, on: MonthDay, number: int
    ) -> None:
        """Against the calendar: days between two dates of a season without leap day."""
        assert calendar.number(on) == number
        begins = calendar.bounds(2001)[0]
        assert begins + timedelta(days=number) == date(2001 + (on.month < begins.month), on.month, on.day)

    @pytest.mark.parametrize("calendar", [NORTH, SOUTH], ids=["north", "south"])
    def test_every_day_comes_back(self, calendar: SeasonCalendar) -> None:
        days = [calendar.month_day(each) for each in range(YEAR_DAYS)]
        assert [calendar.number(each) for each in days] == list(range(YEAR_DAYS))
        assert len(set(days)) == YEAR_DAYS
        assert calendar.month_day(-1) == days[-1]
        assert calendar.month_day(YEAR_DAYS) == days[0]

    def test_29_february_is_the_28th(self) -> None:
        assert NORTH.number(date(2024, 2, 29)) == NORTH.number(date(2024, 2, 28)) == NORTH.number(MonthDay(2, 29))
        assert NORTH.number(date(2024, 3, 1)) == NORTH.number(date(2023, 3, 1))
        leap = winter(date(2023, 8, 1), [50.0] * 366)
        record = Record({**leap.lowest, date(2024, 2, 29): 20.0}, NORTH)
        first, _ = observed(record, 32, [2023])
        assert first.dates == {2023: date(2024, 2, 29)}  # the day itself is kept
        assert NORTH.month_day(first.days.numbers[0]) == MonthDay(2, 28)

    def test_fractions_go_to_the_nearest_day(self) -> None:
        assert [str(NORTH.month_day(each)) for each in (75.4, 75.5, 364.6)] == ["10-15", "10-16", "08-01"]

    @pytest.mark.parametrize(("latitude", "calendar"), [(42.7, NORTH), (0, NORTH), (-0.1, SOUTH), (-45, SOUTH)])
    def test_which_half_of_the_earth(self, latitude: float, calendar: SeasonCalendar) -> None:
        assert calendar_at(latitude) is calendar

    @pytest.mark.parametrize("bad", [MonthDay(2, 30), MonthDay(13, 1), MonthDay(0, 1), MonthDay(4, 31), MonthDay(1, 0)])
    def test_days_that_are_none(self, bad: MonthDay) -> None:
        with pytest.raises(RatingError, match="there is no day"):
            NORTH.number(bad)

    @pytest.mark.parametrize("bad", [91, -91, float("nan"), float("inf"), 1e9])
    def test_latitudes_that_are_none(self, bad: float) -> None:
        with pytest.raises(RatingError, match="latitude"):
            calendar_at(bad)


class TestChances:
    """Known answers: dates drawn from a normal distribution, seasons left without a freeze on purpose."""

    def test_ranks_are_straight_between(self) -> None:
        """NCEI's own example of a quintile of 30 values: the 6.8th rank is 0.2 of the 6th and 0.8 of the 7th; exact."""
        values = [float(each * each) for each in range(1, 31)]
        assert ranked(values, 0.2) == pytest.approx(0.2 * 36 + 0.8 * 49)

    @pytest.mark.parametrize("share", [0.0, 0.03, 0.1, 0.5, 0.77, 0.9, 1.0])
    def test_ranks_as_numpy_takes_them(self, share: float) -> None:
        """numpy.quantile, method linear: within 1e-12."""
        numpy = pytest.importorskip("numpy")
        values = sorted(random.Random(5).gauss(0, 10) for _ in range(27))
        assert ranked(values, share) == pytest.approx(numpy.quantile(values, share, method="linear"), rel=1e-12)

    @pytest.mark.parametrize("side", list(Side))
    def test_a_normal_spread_of_dates(self, side: Side) -> None:
        """20,000 seasons around day 80 with 9.9 days: the quantiles within 0.5 day of rounding and 3 errors."""
        normal = pytest.importorskip("scipy.stats").norm(80, 9.9)
        numbers = sorted(round(each) for each in normal.rvs(20_000, random_state=7))
        days = FreezeDays(side, NORTH, tuple(numbers), 25_000)
        for percent in (5, 10, 25, 50, 75, 90, 95):
            share = percent / 100 if side is Side.FIRST else 1 - percent / 100
            assert days.number(percent) == pytest.approx(normal.ppf(share), abs=1.0)
        assert days.chance == 0.8
        for number in (60, 80, 95):
            part = normal.cdf(number + 0.5) if side is Side.FIRST else normal.sf(number - 0.5)
            assert days.chance_by(NORTH.month_day(number)) == pytest.approx(0.8 * part, abs=0.01)

    def test_seasons_without_a_freeze(self) -> None:
        """19 of 24 seasons: theta 0.79 with an error of 0.083 (binomial), dates of the 19 only, chances of all 24."""
        days = freezes(seasons_with([*range(60, 79), *[None] * 5]), 32, range(1991, 2015)).first
        assert (days.judged, len(days.numbers)) == (24, 19)
        assert days.chance == pytest.approx(0.79, abs=0.005)
        assert chance_error(days.chance, days.judged) == pytest.approx(0.083, abs=0.001)
        assert days.number(50) == 69
        assert days.chance_by(NORTH.month_day(69)) == pytest.approx(10 / 24)
        assert days.chance_by(MonthDay(7, 31)) == days.chance
        assert days.chance_by(MonthDay(8, 1)) == 0

    @pytest.mark.parametrize(("freezing", "seasons", "says"), [
        (9, 9, "only 9 seasons could be judged"), (2, 30, "below 10 %"), (9, 30, "only 9 seasons had one"),
    ])  # fmt: skip
    def test_no_date_where_too_little_is_known(self, freezing: int, seasons: int, says: str) -> None:
        firsts = [80] * freezing + [None] * (seasons - freezing)
        days = freezes(seasons_with(firsts), 32, range(1991, 1991 + seasons)).first
        assert days.date(50) is None
        assert says in days.missing

    def test_ten_seasons_are_enough(self) -> None:
        days = freezes(seasons_with([80] * LEAST_SEASONS), 32, range(1991, 1991 + LEAST_SEASONS)).first
        assert (days.date(10), days.missing) == (MonthDay(10, 20), "")

    @pytest.mark.parametrize(("deviation", "seasons", "percent", "error"), [
        (9.9, 30, 50, 2.3), (9.9, 30, 10, 3.1), (9.9, 30, 90, 3.1), (10, 100, 50, 1.2533), (10, 100, 10, 1.7095),
    ])  # fmt: skip
    def test_standard_error(self, deviation: float, seasons: int, percent: float, error: float) -> None:
        """1.25 s / sqrt(n) at 50 %; 9.9 days and 30 seasons give 2.3 and 3.1 days, computed elsewhere: to the digits
        told. The last two from sqrt(p (1 - p)) / pdf with tables of the normal distribution."""
        assert percentile_error(deviation, seasons, percent) == pytest.approx(error, abs=0.05 if error > 2 else 1e-4)

    @pytest.mark.parametrize("percent", [10, 50])
    def test_standard_error_by_drawing(self, percent: float) -> None:
        """2,000 draws of 30 seasons: the spread of the raw percentile within 8 % of the formula."""
        draw = random.Random(11)
        found = [ranked(sorted(draw.gauss(0, 9.9) for _ in range(30)), percent / 100) for _ in range(2000)]
        mean = sum(found) / len(found)
        spread = (sum((each - mean) ** 2 for each in found) / len(found)) ** 0.5
        assert spread == pytest.approx(percentile_error(9.9, 30, percent), rel=0.08)


class TestSouth:
    """Half a year later on the other half of the earth, and everything else the same."""

    FIRSTS = [70, 81, 77, 92, 65, 88, 79, 83, 74, 90, 71, 85, None]

    @pytest.mark.parametrize("percent", [10, 50, 90])
    def test_a_record_half_a_year_later_gives_dates_half_a_year_later(self, percent: float) -> None:
        """The same seasons counted from February instead of August: the same day of the season, exact."""
        seasons = range(1991, 1991 + len(self.FIRSTS))
        north, south = (freezes(seasons_with(self.FIRSTS, each), 32, seasons) for each in (NORTH, SOUTH))
        assert north.first.numbers == south.first.numbers
        for ours, theirs in zip(north, south, strict=True):
            a, b = ours.date(percent), theirs.date(percent)
            assert a is not None
            assert b is not None
            assert NORTH.number(a) == SOUTH.number(b)
            assert (b.month - a.month) % 12 in (5, 6, 7)
            assert ours.chance == theirs.chance < 1

    def test_a_southern_winter_is_not_cut_in_two(self) -> None:
        """Counted in northern seasons a southern winter falls apart: its last freeze comes before its first."""
        record = seasons_with([120, 125, 130], SOUTH)  # June
        assert observed(record, 32, [1992])[0].dates[1992].month == 6
        assert SOUTH.season_of(date(1992, 1, 31)) == 1991

    @pytest.mark.parametrize("calendar", [NORTH, SOUTH], ids=["north", "south"])
    def test_its_own_winter_tells_the_half(self, calendar: SeasonCalendar) -> None:
        lowest = {date(2001, month, day): 20.0 if (month == 1) is (calendar is NORTH) else 60.0
                  for month in (1, 7) for day in range(1, 29)}  # fmt: skip
        assert colder_half(lowest) is calendar
        assert colder_half(dict.fromkeys(lowest, 50.0)) is None
        assert colder_half({date(2001, 1, 1): 5.0}) is None


@pytest.mark.parametrize(("degc", "degf"), [(0, 32), (-2.2, 28.04), (-4, 24.8)])
def test_a_threshold_in_degc(degc: float, degf: float) -> None:
    """A day exactly at the threshold counts, whichever unit it was said in."""
    record = winter(date(1991, 8, 1), [50.0] * 50 + [degf] + [50.0] * 315)
    assert observed(record, degf_from_degc(degc), [1991])[0].dates == {1991: date(1991, 9, 20)}
    assert not observed(record, degf_from_degc(degc) - 0.01, [1991])[0].dates


def test_a_record_in_tenths_of_degc_is_not_taken_for_whole_degf() -> None:
    """500 values spread over tenths of a degC; the same rounded to whole degF are seen as such."""
    draw = random.Random(3)
    lows = [degf_from_degc(draw.randint(-300, 200) / 10) for _ in range(500)]
    days = [Daily(date(2001, 1, 1) + timedelta(days=each), low, None) for each, low in enumerate(lows)]
    assert not was_read_in_whole_degf(days)
    assert not was_read_in_whole_degf([])
    whole = lowest_of(days, rounded=True)
    assert was_read_in_whole_degf([Daily(day, low, None) for day, low in whole.items()])


@settings(max_examples=25)
@given(st.integers(0, 10_000), st.floats(20, 45), st.floats(0, 10), st.floats(5, 45), st.floats(1, 40))
def test_laws_of_dates(seed: int, degf: float, colder: float, percent: float, more: float) -> None:
    """A colder threshold comes later in fall and ends earlier in spring; a higher chance is a later first freeze and an
    earlier last one; the chance by a day never falls as the first freeze is waited for."""
    draw = random.Random(seed)
    lows = [45 - 25 * (1 - abs(day % 365 - 180) / 180) + draw.gauss(0, 8) for day in range(365 * 6)]
    record = winter(date(2001, 8, 1), lows)
    seasons = usual_seasons(record)
    (first, last), (later, earlier) = observed(record, degf, seasons), observed(record, degf - colder, seasons)
    for season in later.dates:
        assert first.dates[season] <= later.dates[season] <= earlier.dates[season] <= last.dates[season]
    assert later.days.chance <= first.days.chance
    if first.dates:
        assert first.days.number(percent) <= first.days.number(percent + more)
        assert last.days.number(percent) >= last.days.number(percent + more)
        chances = [first.days.chance_by(NORTH.month_day(each)) for each in range(0, 365, 7)]
        assert chances == sorted(chances)
        assert chances[-1] <= first.days.chance


BAD = [float("nan"), float("inf"), -float("inf"), 1e9, -41, 61]


@pytest.mark.parametrize("degf", BAD)
def test_impossible_thresholds(degf: float) -> None:
    with pytest.raises(RatingError, match=r"threshold is .* degF"):
        observed(seasons_with([80]), degf, [1991])


@pytest.mark.parametrize("percent", [0, 100, -1, 101, float("nan"), float("inf")])
def test_impossible_percents(percent: float) -> None:
    days = FreezeDays(Side.FIRST, NORTH, tuple(range(20)), 20)
    for call in (days.number, days.date, lambda p: percentile_error(5, 30, p)):
        with pytest.raises(RatingError, match="chance is"):
            call(percent)


def test_impossible_spreads_and_counts() -> None:
    with pytest.raises(RatingError, match="spread of the dates"):
        percentile_error(-1, 30, 50)
    with pytest.raises(RatingError, match="number of seasons"):
        percentile_error(5, 0, 50)
    with pytest.raises(RatingError, match="share of seasons"):
        chance_error(1.2, 30)
    with pytest.raises(RatingError, match="percentile of nothing"):
        ranked([], 0.5)
    with pytest.raises(RatingError, match="no season could be judged"):
        FreezeDays(Side.FIRST, NORTH, (), 0).chance_by(MonthDay(10, 1))
