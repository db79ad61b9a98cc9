"""Trends as rows: on a metric site in degC, a change of temperature without the 32 between the zeros."""

from datetime import date

import pytest

from seasonlog.domain.trend import Trend, TrendPoint
from seasonlog.domain.trend_rules import Followed, runs
from seasonlog.services.limits import practice_table
from seasonlog.tui import trend_page as page

SAYS = "Water temperature when the heater comes on"


def trend(units: str) -> Trend:
    """41 to 49 degF in five years: 5 to 9.4 degC, 2 degF or 1.11 degC a year (NIST SP 811, B.8)."""
    points = tuple(
        TrendPoint(date(2021 + n, 9, 1), 0, (41.0 + 2 * n,), 41.0 + 2 * n, "pass", 34.0, 50.0, f"E-{n}", "Mirel", "")
        for n in range(5)
    )
    found = runs(points, (), Followed(f"{SAYS} at A-1-H", "degf", practice_table(), units))
    return Trend("A-1", "A-1-H", "cut_in_degf", SAYS, "degf", points, (), found, units).as_read()


@pytest.mark.parametrize(("units", "sign", "slope"), [("si", "°C", "+1.11"), ("us", "°F", "+2")])
def test_a_trend_is_told_in_the_units_of_the_site(units: str, sign: str, slope: str) -> None:
    found = trend(units)
    assert f"[{sign}]" in page.title(found).plain
    assert f"{slope} {sign} a year" in page.told(found).plain
    assert f"{slope} {sign} a year" in page.series(found).words.plain
    assert found.points[0].values[0] == (5.0 if units == "si" else 41.0)
