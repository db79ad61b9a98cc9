"""Nothing a test does reaches the developer's own log, name or settings; a run may be told to fail on skips."""

import os
from pathlib import Path

import pytest
from hypothesis import settings

from tests.builders import SHARED

settings.register_profile("seasonlog", deadline=None)  # a loaded machine is slow, not wrong
settings.load_profile("seasonlog")

MEMORY = Path("/dev/shm")
if MEMORY.is_dir() and os.access(MEMORY, os.W_OK):  # a commit waits for no disk: what a test waits for is work
    os.environ.setdefault("PYTEST_DEBUG_TEMPROOT", str(MEMORY))


@pytest.fixture(autouse=True)
def _own_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SEASONLOG_HOME", str(tmp_path / "home"))
    monkeypatch.delenv("SEASONLOG_NAME", raising=False)


@pytest.fixture(scope="session")
def shared() -> Path:
    """The folder of open data beside the checkout; the test skips where it is absent."""
    if not SHARED.is_dir():
        pytest.skip(f"the open data is not beside the checkout ({SHARED.name})")
    return SHARED


@pytest.fixture(scope="session")
def winters(tmp_path_factory: pytest.TempPathFactory) -> "tuple[Path, str]":
    """A log of eight winters, closed, and the visit in it that was corrected. Nothing may write to it: copy it."""
    from tests.audit_story import corrected, story

    with story(tmp_path_factory.mktemp("winters")) as book:
        return book.places.log, corrected(book)


def pytest_sessionfinish(session: pytest.Session) -> None:
    reporter = session.config.pluginmanager.get_plugin("terminalreporter")
    if os.environ.get("SEASONLOG_NO_SKIPS") and reporter is not None and reporter.stats.get("skipped"):
        session.exitstatus = pytest.ExitCode.TESTS_FAILED
