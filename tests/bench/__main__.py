"""Speed held against floors measured in the same run; prints a table, exits 1 when a target is missed.

python -m tests.bench            everything (some four minutes)
python -m tests.bench start      only the rows whose name holds the word
"""

import sys
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from tests.bench import (
    app_speed,
    bundle_speed,
    calendar_speed,
    coverage_speed,
    exposure_speed,
    fault_speed,
    hub_speed,
    log_speed,
    phrase_speed,
    plan_speed,
    report_speed,
    start_speed,
    thermal_speed,
)


@dataclass(frozen=True)
class Row:
    """One measured promise."""

    name: str
    measured: float
    target: float
    unit: str

    @property
    def is_met(self) -> bool:
        return self.measured <= self.target


Measure = Callable[[Path], Iterator[tuple[str, float, float, str]]]
MEASURES: tuple[Measure, ...] = (
    start_speed.measure, log_speed.saved_answer, log_speed.verified, bundle_speed.measure, app_speed.measure,
    thermal_speed.measure, fault_speed.measure, phrase_speed.measure,
    plan_speed.measure, exposure_speed.measure, coverage_speed.measure, report_speed.measure, calendar_speed.measure,
    hub_speed.pushed, hub_speed.merged,
)  # fmt: skip


def main(word: str = "") -> int:
    rows = []
    with tempfile.TemporaryDirectory() as folder:
        for number, measure in enumerate(MEASURES):
            if word and word not in measure.__module__ + measure.__name__:
                continue
            place = Path(folder) / str(number)
            place.mkdir()
            for found in measure(place):
                row = Row(*found)
                rows.append(row)
                mark = "ok  " if row.is_met else "MISS"
                print(f"{mark} {row.name:58} {row.measured:9.2f} {row.unit:8} target <= {row.target:g}", flush=True)
    missed = [row for row in rows if not row.is_met]
    print(f"{len(rows) - len(missed)} of {len(rows)} targets met")
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:2]))
