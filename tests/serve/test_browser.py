"""A real browser with touch (Debian's Chromium, driven by playwright-core) at the size of a tablet and of a phone.

What is on the screen is read by xterm.js' headless terminal; what was saved is read from the log.
SEASONLOG_NODE_MODULES names the folder that holds the packages; SEASONLOG_PICTURES one that keeps pictures to look at.
"""

import json
import os
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest

from seasonlog.cli.frame import surroundings
from seasonlog.journal import queries
from seasonlog.services import rounds
from seasonlog.services.logbook import Logbook
from seasonlog.services.places import Places
from tests.builders import QUALIFIED, a_book, a_visit, answered

SCRIPT = Path(__file__).with_name("tablet.mjs")
PACKAGES = ("playwright-core", "@xterm/headless")
SIZES = {"tablet": (1024, 768, 80, "HOS-1"), "phone": (390, 844, 40, "HOS-2")}
"""Width and height in CSS pixels, columns that must fit, and the tower whose visit is open."""
FINGER_PX = 44
"""Smallest target for a finger: WCAG 2.2, success criterion 2.5.5."""


class Tablet:
    """Chromium in a process of its own."""

    def __init__(self, node: str, modules: str, chromium: str) -> None:
        self.process = subprocess.Popen(
            [node, str(SCRIPT), modules, chromium], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
        )

    def __call__(self, do: str, **words: object) -> Any:
        assert self.process.stdin is not None
        assert self.process.stdout is not None
        self.process.stdin.write(json.dumps({"do": do, **words}) + "\n")
        self.process.stdin.flush()
        answer = json.loads(self.process.stdout.readline())
        assert "error" not in answer, answer["error"]
        return answer["value"]

    def end(self) -> None:
        self.process.communicate(timeout=20)


class Served:
    """`seasonlog serve` as a person starts it."""

    def __init__(self, log: Path) -> None:
        self.log = log
        self.start(0)

    def start(self, port: int) -> None:
        log, token = str(self.log), str(self.log.with_name("token"))
        words = ["--log", log, "--by", QUALIFIED, "--port", str(port), "--token", token]
        self.process = subprocess.Popen(
            [sys.executable, "-m", "seasonlog", "serve", *words], stdout=subprocess.PIPE, text=True
        )
        self.address = self.next_address()
        self.port = urlsplit(self.address).port or 0

    def next_address(self) -> str:
        assert self.process.stdout is not None
        return next(line.split()[1] for line in self.process.stdout if line.startswith("Open:"))

    def let_in(self, tablet: Tablet, width: int, height: int) -> None:
        """Open the address; it is used up, and the next one is told."""
        tablet("open", url=self.address, width=width, height=height)
        self.address = self.next_address()

    def children(self) -> list[int]:
        listed = subprocess.run(["ps", "-o", "pid=", "--ppid", str(self.process.pid)], capture_output=True, check=False)
        return [int(pid) for pid in listed.stdout.split()]

    def end(self) -> int:
        if self.process.poll() is None:
            self.process.send_signal(signal.SIGINT)
        self.process.communicate(timeout=30)
        return self.process.returncode


@pytest.fixture(scope="module")
def tablet() -> Iterator[Tablet]:
    node, chromium = shutil.which("node"), shutil.which("chromium")
    modules = os.environ.get("SEASONLOG_NODE_MODULES", "")
    if node is None or chromium is None:
        pytest.skip("Node.js or Chromium is not installed: no browser can open the app")
    if not all((Path(modules) / name / "package.json").is_file() for name in PACKAGES):
        pytest.skip(f"SEASONLOG_NODE_MODULES names no folder with the npm packages {' and '.join(PACKAGES)}")
    opened = Tablet(node, modules, chromium)
    yield opened
    opened.end()


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory, tablet: Tablet) -> Iterator[Served]:
    """The sample sites, with a fall enable at two towers answered up to the overflow."""
    folder = tmp_path_factory.mktemp("served")
    with a_book(folder, surroundings=surroundings()) as book:
        for _, _, _, tower in SIZES.values():
            answered(book, a_visit(book, tower, on=book.today()), until="overflow_clear")
    running = Served(folder / "seasonlog.db")
    yield running
    running.end()


def saved(log: Path, tower: str) -> dict[str, Any]:
    """What the log holds of the tower's visit, by step."""
    with Logbook.open(Places(log), surroundings(), "", writing=False) as book:
        (visit,) = [v for v in queries.open_visits(book.db) if v.tower == tower]
        return dict(rounds.progress(book, visit.id).answers)


def picture(tablet: Tablet, name: str) -> None:
    folder = os.environ.get("SEASONLOG_PICTURES")
    if folder:
        tablet("shot", path=str(Path(folder) / f"{name}.png"))


@pytest.mark.parametrize("size", SIZES)
def test_a_visit_goes_on_by_touch_alone(tablet: Tablet, served: Served, size: str) -> None:
    """Let in by the address, open the visit, answer two steps by tapping the app's own keys; the log has them."""
    width, height, columns, tower = SIZES[size]
    before = set(saved(served.log, tower))
    served.let_in(tablet, width, height)
    tablet("tap", text=tower)
    tablet("wait", text="Overflow and drain clear?")
    picture(tablet, f"{size}-question")
    tablet("tap", text="YES")
    tablet("wait", text="Level probe plumb")
    tablet("tap", text="I HAVE READ THE CAUTION")
    tablet("tap", text="2", beside=r"1\s+2\s+3")
    tablet("wait", text="SAVE")
    picture(tablet, f"{size}-reading")
    tablet("tap", text="SAVE")
    tablet("wait", text="Float moves freely?")
    after = saved(served.log, tower)
    assert {"overflow_clear", "probe_plumb_deg"} == set(after) - before
    _keys_work(tablet)
    _all_fits(tablet("facts"), width, height, columns)
    tablet("close")


def _keys_work(tablet: Tablet) -> None:
    """The page's own keys: the menu comes and goes, letters go to it, a page is left."""
    tablet("key", name="menu")
    tablet("wait", text="Search")
    tablet("press", selector="#letters")
    assert tablet("run", code="document.activeElement.inputMode") == "text"
    tablet("type", text="instr")
    tablet("wait", text="instr")
    tablet("key", name="delete")
    tablet("gone", text="instr")
    tablet("press", selector="#letters")
    assert tablet("run", code="document.activeElement.inputMode") == "none"  # a tap brings no keyboard
    tablet("key", name="esc")
    tablet("wait", text="Float moves freely?")


def _all_fits(facts: dict[str, Any], width: int, height: int, columns: int) -> None:
    assert facts["troubles"] == []
    assert {urlsplit(url).hostname for url in facts["requests"]} == {"127.0.0.1"}
    assert columns <= facts["columns"] <= columns * 1.1
    assert facts["px"] >= 15
    assert facts["screen"]["height"] > height * 0.75
    _keys_fit(facts, width, height)


def _keys_fit(facts: dict[str, Any], width: int, height: int) -> None:
    """Keys as large as a finger with their whole name, below the screen, inside the window."""
    screen, keys = facts["screen"], facts["boxes"]
    assert 0 <= screen["x"] <= screen["x"] + screen["width"] <= width
    assert screen["y"] + screen["height"] <= min(box["y"] for box in keys)
    assert len(keys) == 12
    assert [k["words"] for k in keys if k["width"] < FINGER_PX or k["height"] < FINGER_PX or k["spills"]] == []
    assert max(box["x"] + box["width"] for box in keys) <= width
    assert max(box["y"] + box["height"] for box in keys) <= height


def test_a_finger_scrolls_and_a_turned_tablet_is_filled_again(tablet: Tablet, served: Served) -> None:
    served.let_in(tablet, 390, 600)
    tablet("wait", text="GO ON WITH")
    tablet("swipe", **{"from": 0.8, "to": 0.1})
    tablet("gone", text="GO ON WITH")
    rows = tablet("facts")["rows"]
    tablet("size", width=600, height=390)
    tablet("wait", text="GO ON WITH")
    facts = tablet("facts")
    assert facts["rows"] < rows
    assert facts["columns"] >= 60
    _keys_fit(facts, 600, 390)
    picture(tablet, "turned")
    tablet("close")


def test_a_broken_link_is_told_and_what_was_saved_is_there_again(tablet: Tablet, served: Served) -> None:
    """The server goes away in the middle of a reading; it comes back at the same place with the secret it kept."""
    served.let_in(tablet, 390, 844)
    tablet("tap", text="HOS-1")
    tablet("wait", text="Float moves freely?")
    held = set(saved(served.log, "HOS-1"))
    code = served.end()
    assert code in (0, 130)
    tablet("words", text="The link is broken")
    tablet("words", text="Every answer that was shown as saved is in the log.")
    picture(tablet, "phone-broken")
    tablet("press", selector="#again")
    tablet("words", text="Still no link.")
    served.start(served.port)
    tablet("press", selector="#again")
    tablet("wait", text="GO ON WITH")
    assert set(saved(served.log, "HOS-1")) == held
    tablet("close")


def test_a_server_that_was_killed_leaves_no_session_behind(tablet: Tablet, served: Served) -> None:
    served.let_in(tablet, 390, 844)
    tablet("wait", text="GO ON WITH")
    sessions = served.children()
    assert sessions
    served.process.kill()
    served.process.communicate(timeout=10)
    for _ in range(100):
        left = [pid for pid in sessions if Path(f"/proc/{pid}").exists() and not _is_dead(pid)]
        if not left:
            break
        time.sleep(0.1)
    assert left == []
    served.start(served.port)
    tablet("close")


def _is_dead(pid: int) -> bool:
    """Ended, though nobody has asked for its exit code: a container's first process may not."""
    return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] == "Z"


@pytest.mark.long
def test_a_link_that_is_cut_without_a_word_is_noticed(tablet: Tablet, served: Served) -> None:
    """The server stands still, as a radio link that is gone: no end of the connection reaches the browser."""
    served.let_in(tablet, 390, 844)
    tablet("wait", text="GO ON WITH")
    served.process.send_signal(signal.SIGSTOP)
    began = time.monotonic()
    try:
        tablet("words", text="The link is broken")
        assert 8 < time.monotonic() - began < 25
    finally:
        served.process.send_signal(signal.SIGCONT)
    tablet("press", selector="#again")
    tablet("wait", text="GO ON WITH")
    tablet("close")


def test_a_session_that_was_left_leaves_no_process_and_says_so(tablet: Tablet, served: Served) -> None:
    served.let_in(tablet, 1024, 768)
    tablet("wait", text="GO ON WITH")
    tablet("key", name="enter")  # no tap came before: the page's keys work from the first screen on
    tablet("wait", text="Leave")
    tablet("key", name="esc")
    tablet("wait", text="GO ON WITH")
    assert len(served.children()) >= 1
    tablet("run", code="window.seasonlogLink.type('\\x11')")  # ctrl+q
    tablet("words", text="seasonlog was closed")
    for _ in range(100):
        if not served.children():
            break
        time.sleep(0.05)
    assert served.children() == []
    picture(tablet, "tablet-closed")
    tablet("close")
