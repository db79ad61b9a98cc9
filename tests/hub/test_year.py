"""The season of eight devices once more, by a hub that each reaches now and then."""

import random
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from seasonlog.services import sync
from tests.hub.conftest import Hub
from tests.hub.test_sync import invited
from tests.journal.laptops import Laptop
from tests.services.devices_year import a_year, all_alike, the_devices


@contextmanager
def year(folder: Path, hub: Hub, sites: int, weeks: int) -> Iterator[list[Laptop]]:
    laptops = the_devices(folder, sites)
    with laptops[0].book() as book:
        log = book.journal.log_id
    ways = {each.name: invited(hub, each.name, "supervisor" if each is laptops[0] else "technician", log)
            for each in laptops}  # fmt: skip

    def exchange(laptop: Laptop) -> None:
        with laptop.book() as book:
            assert sync.sync(book, ways[laptop.name]).complaints == ()

    exchange(laptops[0])

    def meet(rng: random.Random, week: int) -> None:
        for laptop in rng.sample(laptops, 3 if week % 4 else 0):
            exchange(laptop)

    a_year(laptops, weeks, [f"S{n}-1" for n in range(sites)], meet)
    for laptop in (*laptops, *laptops):
        exchange(laptop)
    yield laptops


def test_a_few_weeks_of_eight_devices_and_a_hub(tmp_path: Path, hub: Hub) -> None:
    with year(tmp_path, hub, sites=12, weeks=5) as laptops:
        assert all_alike(laptops) > 0
        assert len(hub.rows()) == laptops[0].count()


@pytest.mark.long
def test_a_year_of_eight_devices_and_a_hub(tmp_path: Path, hub: Hub) -> None:
    with year(tmp_path, hub, sites=60, weeks=52) as laptops:
        assert all_alike(laptops) > 0
