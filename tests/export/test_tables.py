"""Tables as CSV: harmless in a spreadsheet, exact on the way back, numbers numbers."""

import csv
import io
from base64 import b64decode
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from seasonlog.errors import InputRefusedError
from seasonlog.export.tables import CsvTable, Field, Holds, from_csv, to_csv
from tests.builders import hostile

FIELDS = (Field("words"), Field("amps", Holds.NUMBER), Field("more"))
RUNS = ("=", "+", "-", "@", "\t", "\r", "\0", "\uff1d", "\uff0b", "\uff0d", "\uff20")
"""What a spreadsheet program takes for the start of a formula: OWASP, CSV injection; ASVS 5.0, 1.2.10."""


def written(*rows: tuple[str | None, str | None, str | None]) -> bytes:
    return b"".join(to_csv(CsvTable("t", FIELDS, rows)))


@given(st.text(), st.text())
@settings(max_examples=1000)
@example("=1+1", "'=1+1")
@example("'", "''=")
@example("\r\n", "\r")
@example("\ufeff", "\x00")
def test_a_text_comes_back_exactly(one: str, other: str) -> None:
    """A thousand texts that hypothesis draws, and the csv module reads the same cells."""
    data = written((one, "-5.0", other), (other, None, one))
    assert list(from_csv(data, FIELDS)) == [(one, "-5.0", other), (other, "", one)]
    read = list(csv.reader(io.StringIO(data.decode("utf-8-sig"), newline=""), strict=True))
    assert [len(row) for row in read] == [3, 3, 3]
    assert read[1][1] == "-5.0"
    for row in read[1:]:
        assert not row[0].startswith(RUNS)
        assert not row[2].startswith(RUNS)


def test_known_attacks_are_harmless_and_come_back(shared: Path) -> None:
    """Open hostile inputs (OWASP CSV injection, CWE-1236), read by the csv module as a spreadsheet would."""
    cases = hostile(shared, "csv_export")
    texts = [case.get("input") or b64decode(case["input_b64"]).decode() for case in cases if "build" not in case]
    assert len(texts) >= 10
    data = written(*((text, "1", "") for text in texts))
    assert [row[0] for row in from_csv(data, FIELDS)] == texts
    read = list(csv.reader(io.StringIO(data.decode("utf-8-sig"), newline=""), strict=True))[1:]
    assert not any(row[0].startswith(RUNS) for row in read)


def test_a_number_column_takes_numbers_alone() -> None:
    """Bare digits, which RFC 4180 lets stand without quotes: a spreadsheet sums them."""
    assert written(("a", "-5.0", "b")).decode("utf-8-sig").splitlines()[1] == '"a",-5.0,"b"'
    for text in ("=1", "1e5", "1 2", "", "yes", "\u0661", "+1", "0x1"):
        with pytest.raises(ValueError, match="number column"):
            written(("a", text, "b"))


def test_lines_end_as_rfc_4180_wants_them() -> None:
    data = written(("a", "1", "b"), ('c"d', None, "e,f"))
    assert data.startswith(b"\xef\xbb\xbfwords,amps,more\r\n")
    assert data.endswith(b'"c""d",,"e,f"\r\n')


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"\xff\xfe", "is not UTF-8"),
        (b"a,b\r\n", "the columns are not words, amps, more"),
        (b"words,amps,more\r\n1,2\r\n", "has 2 cells, not 3"),
    ],
)
def test_another_file_is_refused_with_a_sentence(data: bytes, says: str) -> None:
    with pytest.raises(InputRefusedError) as refused:
        list(from_csv(data, FIELDS))
    assert says in str(refused.value.problems[0])
