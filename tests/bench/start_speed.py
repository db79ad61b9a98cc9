"""How long it takes until something is seen: the app's first screen, the command line's help."""

import statistics
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

from tests.bench import floors
from tests.builders import a_book

RUNS = 9
APP = """
import sys, secrets
from pathlib import Path
from seasonlog.journal.clock import SystemClock
from seasonlog.services.logbook import Logbook, Surroundings
from seasonlog.services.places import Places
around = Surroundings(SystemClock(), secrets.token_bytes)
with Logbook.open(Places(Path(sys.argv[1])), around, "Bench", writing=True) as book:
    from seasonlog.tui import app
    class Timed(app.SeasonlogApp):
        CSS_PATH = str(Path(app.__file__).with_name("seasonlog.tcss"))
        def on_mount(self):
            self.call_after_refresh(self.exit)
    Timed(book).run(headless=True, size=(80, 24))
"""


def measure(folder: Path) -> Iterator[tuple[str, float, float, str]]:
    with a_book(folder):
        log = str(folder / "seasonlog.db")
    ours, floor = paired(floors.python_process(APP, log), floors.minimal_app)
    yield "start to first screen / minimal Textual app", ours / floor, 1.6, "ratio"
    ours, floor = paired(help_process, floors.bare_python)
    yield "seasonlog --help / bare Python", ours / floor, 10, "ratio"


def paired(ours: Callable[[], object], floor: Callable[[], object]) -> tuple[float, float]:
    """Medians of alternating runs, after one of each to warm the disk."""
    ours(), floor()
    pairs = [(floors.seconds(ours), floors.seconds(floor)) for _ in range(RUNS)]
    return statistics.median(p[0] for p in pairs), statistics.median(p[1] for p in pairs)


def help_process() -> object:
    return subprocess.run([Path(sys.executable).parent / "seasonlog", "--help"], capture_output=True, check=True)
