"""What a path does not need is not loaded on it: a fresh interpreter is asked what it has after each one.

A static look at imports cannot see which of them are deferred; `sys.modules` can.
"""

import subprocess
import sys
from pathlib import Path

import pytest

from tests.builders import a_book

HEAVY = [
    "textual",
    "rich",
    "sqlite_utils",
    "icalendar",
    "cryptography",
    "textual_plotext",
    "plotext",
    "vobject",
    "numpy",
    "pandas",
]


def loaded_after(code: str) -> set[str]:
    """Top-level modules loaded after running some code."""
    script = f"import sys\n{code}\nprint('MODULES', *sorted(m.partition('.')[0] for m in sys.modules))"
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, timeout=60, check=False)
    line = next((line for line in done.stdout.splitlines() if line.startswith("MODULES")), "")
    assert line, done.stderr
    return set(line.split())


def run(*words: str) -> str:
    return f"from seasonlog.cli import run\nrun({list(words)!r})"


@pytest.mark.parametrize(
    "code",
    ["import seasonlog", "import seasonlog.calc, seasonlog.domain.limits, seasonlog.domain.visit", run("--help")],
    ids=["package", "core", "help"],
)
def test_the_light_paths_are_light(code: str) -> None:
    assert loaded_after(code) & {*HEAVY, "sqlite3", "platformdirs"} == set()


@pytest.fixture
def log(tmp_path: Path) -> str:
    with a_book(tmp_path):
        return str(tmp_path / "seasonlog.db")


@pytest.mark.parametrize(
    "words", [("due",), ("limits", "HOS-1"), ("findings",), ("coverage",), ("register", "list")], ids=lambda w: w[0]
)
def test_reading_commands_load_no_screen_and_no_signatures(log: str, words: tuple[str, ...]) -> None:
    assert loaded_after(run(*words, "--log", log)) & set(HEAVY) == set()


def test_the_calendar_loads_no_screen(log: str, tmp_path: Path) -> None:
    found = loaded_after(run("calendar", "-o", str(tmp_path / "x.ics"), "--log", log))
    assert found & (set(HEAVY) - {"icalendar"}) == set()
    assert "icalendar" in found


def test_the_start_of_the_app_loads_only_what_the_first_screen_needs() -> None:
    found = loaded_after("import seasonlog.tui.app")
    assert found & (set(HEAVY) - {"textual", "rich"}) == set()
    assert {"textual", "rich"} <= found
