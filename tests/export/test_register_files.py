"""What is exported is what is held: reading it back changes nothing, for any register the field declarations allow."""

import csv
import io

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from seasonlog.domain.register import Register
from seasonlog.domain.text import as_stored
from seasonlog.export.register_files import COLUMNS, to_register_csv, to_site_toml, to_team_toml
from seasonlog.intake.register_csv import read_register_csv
from seasonlog.intake.site_toml import read_site_toml
from tests.domain.register_samples import NOTES, made, site_registers, small_register
from tests.intake.hostile import cases

_SLOW = settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large]
)


def _from_csv(register: Register) -> Register:
    records, problems = read_register_csv(to_register_csv(register), "export.csv")
    assert problems == []
    return Register.of(records)


def _from_toml(register: Register) -> Register:
    texts = [*(to_site_toml(register, site) for site in register.sites), to_team_toml(register)]
    files = [read_site_toml(text.encode(), "export.toml") for text in texts]
    assert [problem for _, problems in files for problem in problems] == []
    return Register.of(record for records, _ in files for record in records)


@_SLOW
@given(site_registers())
def test_a_spreadsheet_read_back_changes_nothing(register):
    assert register.changes(_from_csv(register).records()) == ()
    assert _from_csv(register) == register


@_SLOW
@given(site_registers())
def test_site_files_read_back_change_nothing(register):
    assert register.changes(_from_toml(register).records()) == ()
    assert _from_toml(register) == register


@settings(max_examples=1000, deadline=None)
@given(st.one_of(NOTES, st.text(st.sampled_from("'=+-@\t\r\n\0\",; a\u2028\ufeff"), min_size=1).filter(str.strip)))
def test_any_note_comes_back_byte_for_byte(text):
    register = Register.of([made("site"), made("tower", note=text)])
    assert _from_csv(register).towers["N-1"].note == as_stored(text)
    assert _from_toml(register).towers["N-1"].note == as_stored(text)


@pytest.mark.parametrize("given", cases("csv_export", "terminal", "markup", "unicode", "html_report", "voice"))
def test_hostile_notes_come_back_and_no_cell_is_a_formula(given):
    if isinstance(given, bytes) or not given.strip() or len(given) > 4000:
        return
    register = Register.of([made("site"), made("tower", note=given)])
    assert _from_csv(register) == register
    assert _from_toml(register) == register
    for row in csv.reader(io.StringIO(to_register_csv(register).decode("utf-8-sig"), newline="")):
        for column, cell in zip(COLUMNS, row, strict=True):
            if column not in {"latitude_deg", "longitude_deg"}:
                assert not cell.startswith(("=", "+", "-", "@", "\t", "\r", "\n", "\0", "\uff1d"))


def test_numbers_stay_numbers_and_text_is_quoted():
    text = to_register_csv(Register.of([made("site", name="-1+1", longitude_deg="-94.90")])).decode("utf-8-sig")
    row = text.splitlines()[1]
    assert ",-94.90," in row
    assert ',"\'-1+1",' in row


def test_a_spreadsheet_program_is_told_that_it_is_utf8():
    assert to_register_csv(Register()).startswith(b"\xef\xbb\xbfrecord,id,name,")
    assert to_register_csv(Register()).endswith(b"reason\r\n")


def test_a_site_file_shows_what_cannot_be_seen():
    """No reversing mark, escape or line separator stands raw in a file that people read and edit."""
    text = to_site_toml(Register.of([made("site", access="a\u202e\x1b\u2028\x9b\x7f\U000e0041\nb")]), "N")
    assert 'access = "a\\u202e\\u001b\\u2028\\u009b\\u007f\\U000e0041\\nb"' in text
    assert all(line.isprintable() for line in text.split("\n"))


def test_a_site_file_is_nested_and_says_no_parent_twice():
    text = to_site_toml(small_register(), "N")
    headings = [line for line in text.splitlines() if line.startswith("[")]
    assert headings == [
        "[site]", "[[tower]]", "[[tower.basin]]", "[[tower.circuit]]", "[[tower.trace]]", "[[tower.source]]",
        "[[tower.device]]",
    ]  # fmt: skip
    assert "\nsite = " not in text
    assert "\ntower = " not in text


def test_the_team_file_holds_people_instruments_and_their_parts():
    register, _ = small_register().merged([made("device", id="D2", position="instrument", of="C")])
    text = to_team_toml(register)
    assert [line for line in text.splitlines() if line.startswith("[")] == [
        "[[person]]",
        "[[instrument]]",
        "[[device]]",
    ]
    assert _from_toml(register) == register


def test_a_site_that_is_not_registered_cannot_be_written():
    with pytest.raises(KeyError):
        to_site_toml(Register(), "N")
