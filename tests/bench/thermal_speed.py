"""The thermal part: a basin's year against the plainest closed form, many towers judged, a small question asked."""

import math
import subprocess
import sys
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path

from seasonlog.calc.basin import WALLS, Basin, Weather, adequate, loss_range
from seasonlog.calc.cycling import HeldBasin
from seasonlog.calc.held_year import held_year
from tests.bench import floors
from tests.bench.start_speed import paired

HELD = HeldBasin(water_lb=6243, ua_btuh_per_degf=500, kw=12, cut_in_degf=40, cut_out_degf=48)
"""100 ft2 by 1 ft of water."""
TOWERS = 500
DESIGN_DEGF, RECORD_DEGF, HELD_DEGF = -4.0, -27.0, 40.0


def measure(folder: Path) -> Iterator[tuple[str, float, float, str]]:
    air = invented_year()
    kwh, bare = held_year(HELD, air).kwh, bare_year(air)
    if not math.isclose(kwh, bare, rel_tol=1e-4):
        raise ValueError(f"a year takes {kwh} kWh here and {bare} kWh by the floor: nothing to compare")
    ours, floor = paired(lambda: held_year(HELD, air), lambda: bare_year(air))
    yield "a year of one basin / closed form in a bare loop", ours / floor, 4, "ratio"
    ours, _ = paired(judge_all, floors.bare_python)
    yield f"{TOWERS} towers judged at design and record low", ours, 2, "s"
    ours, floor = paired(heater_process, floors.bare_python)
    yield "seasonlog calc heater --json / bare Python", ours / floor, 12, "ratio"
    file = folder / "invented.epw"
    file.write_text(invented_epw())
    ours, floor = paired(lambda: energy_process(file), floors.bare_python)
    yield "seasonlog calc energy on a year of hours / bare Python", ours / floor, 12, "ratio"


def invented_epw() -> str:
    """The invented year as a weather file of 8,760 hours, each with its own wind, humidity and cloud."""
    heading = ["LOCATION,Invented,XX,USA,none,000000,43.00,-79.00,-5.0,100.0", *["COMMENTS"] * 7]
    first = datetime(2001, 1, 1)  # noqa: DTZ001  (local standard time)
    return (
        "\n".join(heading + [epw_row(first + timedelta(hours=h), h, f) for h, f in enumerate(invented_year())]) + "\n"
    )


def epw_row(at: datetime, hour: int, degf: float) -> str:
    wind, humidity, cloud = hour * 7 % 113 / 10, 40 + hour * 11 % 60, hour * 3 % 11
    sun, rest = ",".join(["0"] * 10), f"{cloud},24.1,2740,9,999999999,40,0.0000,0,88,0.200,0.0,1.0"
    air = (degf - 32) / 1.8
    return (
        f"2001,{at.month},{at.day},{at.hour + 1},0,?9?9?9,{air:.1f},{air - 4:.1f},{humidity},99500,{sun},270,{wind},"
        f"{cloud},{rest}"
    )


def energy_process(file: Path) -> object:
    words = ["calc", "energy", "--weather", file, "--area-ft2", "100", "--wall-ft2", "140", "--json"]
    return subprocess.run([Path(sys.executable).parent / "seasonlog", *words], capture_output=True, check=True)


def invented_year() -> list[float]:
    """8,760 hours of an invented northern place: a wave a year, a wave a day, and cold spells between [degF]."""
    turn = 2 * math.pi
    return [
        48 - 26 * math.cos(turn * h / 8760) - 8 * math.cos(turn * (h - 3) / 24) + 9 * math.sin(turn * h / 171)
        for h in range(8760)
    ]


def bare_year(air: list[float]) -> float:
    return floors.tower_year(
        HELD.water_lb, HELD.ua_btuh_per_degf, HELD.kw, HELD.cut_in_degf, HELD.cut_out_degf, air
    )  # fmt: skip


def judge_all() -> list[tuple[str, str]]:
    """Every tower's heater held against its loss on the design day and at the record low."""
    walls = list(WALLS)
    return [judged(Basin(60 + n, 1, 90 + n, walls[n % len(walls)]), 6.0 + n / 20) for n in range(TOWERS)]


def judged(basin: Basin, kw: float) -> tuple[str, str]:
    design, record = (loss_range(basin, HELD_DEGF, Weather(air)) for air in (DESIGN_DEGF, RECORD_DEGF))
    return adequate(kw, design.low_kw, design.high_kw), adequate(kw, record.low_kw, record.high_kw)


def heater_process() -> object:
    words = ["calc", "heater", "--kw", "18", "--volts", "480", "--json"]
    return subprocess.run([Path(sys.executable).parent / "seasonlog", *words], capture_output=True, check=True)
