"""Certificates of the demonstration's instruments: the sample files know the newest, the story every year's."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta

from seasonlog.domain.register_records import Instrument

BACK_DAYS = 2
"""From the laboratory's date to the day the certificate is filed."""
DUE_DAYS = 31
"""Calibrated each year a month before it is due, so that there is always one to work with."""


def certified(sampled: Instrument, on: date) -> Instrument:
    """An instrument with the certificate that was on file on a day; as sampled where it has none.

    Args:
        sampled: As in the sample files, with one certificate.
        on: The day.
    """
    if sampled.calibrated is None:
        return sampled
    year = on.year if filed(sampled.calibrated, on.year) <= on else on.year - 1
    at = sampled.calibrated.replace(year=year)
    number = (sampled.certificate or "").replace(f"-{sampled.calibrated:%y}-", f"-{at:%y}-")
    due = at.replace(year=year + 1) + timedelta(days=DUE_DAYS)
    return replace(sampled, calibrated=at, certificate=number or None, calibration_due=due)


def filed(calibrated: date, year: int) -> date:
    """The day on which the certificate of a year is filed."""
    return calibrated.replace(year=year) + timedelta(days=BACK_DAYS)


def renewals(sampled: Instrument, first: date, until: date) -> Iterator[date]:
    """The days after the first, before the last, on which a new certificate is filed."""
    years = range(first.year, until.year + 1)
    days = [] if sampled.calibrated is None else [filed(sampled.calibrated, year) for year in years]
    yield from (on for on in days if first < on < until)
