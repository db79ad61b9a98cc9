"""Readings that say less than they seem to: a bound instead of a number, one line of three."""

from pathlib import Path

import pytest

from seasonlog.domain.answers import Raw
from seasonlog.errors import InputRefusedError
from seasonlog.services import rounds
from tests.builders import a_book, a_visit


@pytest.mark.parametrize(
    ("key", "raw", "verdict"),
    [
        ("insulation_mohm", ">2000", "pass"),
        ("insulation_mohm", "<500", "cannot_tell"),
        ("insulation_mohm", "<0.01", "fail"),
        ("supply_volts", ("480", "480", ">470"), "cannot_tell"),
        ("supply_volts", "480 480 >470", "cannot_tell"),
        ("supply_volts", "480 480 480", "pass"),
        ("supply_volts", (">700", "480", "480"), "fail"),
    ],
)
def test_a_bound_proves_only_what_holds_beyond_it_too(tmp_path: Path, key: str, raw: Raw, verdict: str) -> None:
    """Under `<500` Mohm lies every bad insulation; over `>2000` there is only better one (by reasoning, no source)."""
    with a_book(tmp_path) as book:
        at = a_visit(book)
        _, found = rounds.judgement(book, at, key, raw)
        assert found.verdict == verdict
        assert not isinstance(raw, str) or raw[0] not in "<>" or raw in found.says


@pytest.mark.parametrize("raw", ["21.5", ("21.5",), ("21.5", "21.4"), "21.5 21.4"])
def test_three_phases_want_three_lines(tmp_path: Path, raw: Raw) -> None:
    """A lost line is what is looked for: two lines read say nothing about the third."""
    with a_book(tmp_path) as book, pytest.raises(InputRefusedError, match="one value per line"):
        rounds.judgement(book, a_visit(book), "line_amps", raw)
