"""Several workers of a test run share the cores: each recogniser then takes one, or they wait for one another."""

import os
from collections.abc import Iterator

import pytest

from seasonlog.voice.engines import whisper


@pytest.fixture(autouse=True, scope="session")
def _a_core_for_each_worker() -> Iterator[None]:
    with pytest.MonkeyPatch.context() as patch:
        if os.environ.get("PYTEST_XDIST_WORKER"):
            patch.setattr(whisper, "THREADS", 1)
        yield
