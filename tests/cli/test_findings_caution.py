"""A list of findings that proposes tests says once, at its end, what live readings are; one without them does not."""

from pathlib import Path

import pytest

from seasonlog.cli.calc_frame import LIVE_CAUTION
from tests.cli.runner import seasonlog
from tests.cli.test_commands import FIXED, LOST_LINE, log, visit

__all__ = ["log"]  # the fixture: a log with the sample sites
TOO_COLD = FIXED.replace("{amps}", '["21.5", "21.4", "21.6"]').replace('cut_in_degf = "40"', 'cut_in_degf = "33"')


@pytest.fixture
def lost(log: Path) -> Path:
    assert visit(log, LOST_LINE).code in (0, 1)
    return log


def test_next_tests_are_followed_by_one_caution(lost: Path) -> None:
    lines = seasonlog("findings", "--log", lost).out.splitlines()
    assert any("; next: " in line for line in lines)
    assert lines[-1] == LIVE_CAUTION
    assert lines.count(LIVE_CAUTION) == 1


def test_without_next_tests_there_is_no_caution(log: Path) -> None:
    assert visit(log, TOO_COLD).code in (0, 1)
    out = seasonlog("findings", "--log", log).out
    assert out
    assert "; next: " not in out
    assert LIVE_CAUTION not in out


def test_json_stays_a_list_of_findings(lost: Path) -> None:
    found = seasonlog("findings", "--log", lost, "--json").json
    assert any(each["causes"] for each in found)
