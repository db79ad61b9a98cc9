"""Devices that meet now and then, by bundle: each ends with the same state as one that saw everything."""

import random
from pathlib import Path

import pytest

from tests.services.devices_year import DEVICES, a_year, all_alike, the_devices


def year(folder: Path, sites: int, weeks: int) -> None:
    *laptops, witness = the_devices(folder, sites, DEVICES + 1)  # the last one only listens

    def meet(rng: random.Random, week: int) -> None:
        for _ in range(2 if week % 4 else 0):  # every fourth week nobody meets
            one, other = rng.sample(laptops, 2)
            other.take(one.export())
        for laptop in laptops if week == weeks - 1 else rng.sample(laptops, 2):
            witness.take(laptop.export())

    a_year(laptops, weeks, [f"S{n}-1" for n in range(sites)], meet)
    for laptop in (*laptops[1:], witness):
        laptops[0].take(laptop.export())
    for laptop in (*laptops[1:], witness):
        laptop.take(laptops[0].export())
    assert all_alike([*laptops, witness]) > 0  # corrections in parallel: both answers are kept


def test_a_few_weeks_of_eight_devices(tmp_path: Path) -> None:
    year(tmp_path, sites=12, weeks=5)


@pytest.mark.long
def test_a_year_of_eight_devices(tmp_path: Path) -> None:
    year(tmp_path, sites=60, weeks=52)
