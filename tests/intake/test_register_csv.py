"""The spreadsheet: a sentence for every bad cell, with row and column."""

import csv
import io

import pytest

from seasonlog.domain.register import Register
from seasonlog.intake import register_csv
from seasonlog.intake.register_csv import COLUMNS, read_register_csv
from tests.domain.register_samples import ITEMS, small_register
from tests.intake.hostile import cases

HEADING = "record,id,tower,what,panel,point,note"
GOOD = f"{HEADING}\nsource,S1,T1,fan,MCC,bucket 1,\nsource,S2,T1,pump,,valve,\n"


def _told(text: str | bytes) -> list[str]:
    data = text if isinstance(text, bytes) else text.encode()
    return [str(each) for each in read_register_csv(data, "r.csv")[1]]


def _sheet(*items: dict[str, object]) -> str:
    """A spreadsheet with one row for each of these, written by the standard library."""
    names = list(dict.fromkeys(name for item in items for name in item))
    out = io.StringIO()
    writer = csv.DictWriter(out, names)
    writer.writeheader()
    writer.writerows(items)
    return out.getvalue()


def test_every_type_of_record_is_read_from_one_sheet():
    items = [
        {"record": what, **{key: ";".join(value) if isinstance(value, list) else value for key, value in item.items()}}
        for what, item in ITEMS.items()
    ]
    records, problems = read_register_csv(_sheet(*items).encode(), "r.csv")
    assert problems == []
    assert Register.of(records) == small_register()


@pytest.mark.parametrize(
    "change",
    [lambda text: text, lambda text: "\ufeff" + text, lambda text: text.replace("\n", "\r\n"),
     lambda text: text + "\n\n",
     lambda text: text.replace("\n", "\r"), lambda text: text + ",,,,,,\n", lambda text: text.rstrip("\n"),
     lambda text: text.replace("fan", '"fan"'), lambda text: text.replace("S2", " S2 ")],
    ids=["plain", "mark", "crlf", "blank-lines", "cr", "empty-row", "no-last-break", "quoted", "spaces"],
)  # fmt: skip
def test_what_spreadsheet_programs_make_of_a_file_is_the_same_file(change):
    records, problems = read_register_csv(change(GOOD).encode(), "r.csv")
    assert problems == []
    assert [each.id for each in records] == ["S1", "S2"]


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ("source,S3,T1,fun,,x,", 'r.csv, row 4, column what: "fun" is not allowed: one of heater_branch'),
        ("source,S 3,T1,fan,,x,", 'r.csv, row 4, column id: "S 3" is not allowed'),
        ("source,,T1,fan,,x,", "r.csv, row 4, column id: is missing; 1 to 32 of"),
        ("source,S1,T1,fan,,x,", 'r.csv, row 4, column id: "S1" is given twice; the first source with'),
        ("sauce,S3,T1,fan,,x,", 'r.csv, row 4, column record: "sauce" is no kind of record; allowed is site, tower'),
        (",S3,T1,fan,,x,", 'r.csv, row 4, column record: "" is no kind of record'),
        ("source,S3,T1", "r.csv, row 4: has 3 cells where row 1 names 7; the first without one is what"),
        ("source,S3,T1,fan,,x,,more", 'r.csv, row 4: has "more" in a column without a name'),
        ('source,S3,T1,"fan,,x,', "r.csv, row 4: a quotation mark is opened and never closed; nothing after"),
        ('source,S3,T1,"fan"x,,x,', "r.csv, row 4: a quotation mark inside a quoted cell is not doubled"),
        (f"source,S3,T1,fan,,{'x' * 140_000},", "r.csv, row 4: a cell has more than 131072 characters"),
        ("source,S3,T1,fan,,a\0b,", "r.csv, row 4, column point: \"a\u2400b\" contains the control character \u2400"),
        ("site,S3,T1,fan,,x,", 'r.csv, row 4, column tower: is "T1", but a site has no such column'),
        ('source,S3,T1,fan,,"a\nb",', 'r.csv, row 4, column point: "a\u240ab" contains the control character \u240a'),
    ],
)  # fmt: skip
def test_a_bad_cell_is_told_with_row_and_column(row, says):
    told = _told(GOOD + row + "\n")
    assert told[0].startswith(says), told
    assert all(each.isprintable() for each in told)


def test_rows_are_counted_as_a_spreadsheet_does_and_the_line_is_told_beside():
    text = f'{HEADING}\nsource,S1,T1,fan,MCC,x,"two\r\nlines"\nsource,S2,T1,fun,,x,\n'
    assert _told(text)[0].startswith("r.csv, row 3 (line 4), column what:")


def test_the_rows_after_a_bad_one_are_read_too():
    text = GOOD.replace("fan", "fun").replace("pump", "pomp")
    assert [each.split(":")[0] for each in _told(text)] == ["r.csv, row 2, column what", "r.csv, row 3, column what"]


@pytest.mark.parametrize(
    ("heading", "says"),
    [
        ("", "r.csv: is empty; its first row must name the columns"),
        ("record,id,twer", 'r.csv, row 1, column 3: "twer" is no column of a register; did you mean tower?'),
        ("record,id,tower,tower", 'r.csv, row 1, column 4: "tower" names two columns; keep one of them'),
        ("id,tower", "r.csv, row 1: has no column record; every row needs one"),
        ("record,tower", "r.csv, row 1: has no column id; every row needs one"),
        ("record;id;tower", "r.csv, row 1: has its columns parted by semicolons; save the file with commas"),
    ],
)
def test_the_heading_is_checked_before_any_row(heading, says):
    assert _told(f"{heading}\nx,y,z\n" if heading else "")[0] == says


def test_metric_columns_are_taken():
    item = {"record": "basin", **ITEMS["basin"], "depth_m": "0.3048"}
    records, problems = read_register_csv(_sheet(item).encode(), "r.csv")
    assert problems == []
    assert records[0].depth_ft == 1


@pytest.mark.parametrize("cell", ["nan", "1e999", "0x1F", "1_000", "\uff11\uff12.\uff15", "12,5", "=18", "'18"])
def test_a_number_cell_is_a_plain_number(cell):
    item = {"record": "circuit", **ITEMS["circuit"], "kw": cell}
    (sentence,) = _told(_sheet(item))
    assert sentence.startswith("r.csv, row 2, column kw: ")
    assert sentence.endswith("is not allowed: a number from 0.1 to 1000 kW, digits with a point")


@pytest.mark.parametrize("cell", ["02/11/2026", "2026-02-30", "11.02.2026", "46000"])
def test_a_day_cell_is_never_guessed(cell):
    item = {"record": "instrument", **ITEMS["instrument"], "calibration_due": cell}
    assert _told(_sheet(item))[0].endswith("is not allowed: a day from 1900 to 2199 as YYYY-MM-DD")


def test_several_words_and_named_numbers_are_parted_by_semicolons():
    person = {"record": "person", **ITEMS["person"], "roles": "technician; auditor"}
    site = {"record": "site", **ITEMS["site"], "tighten": "bond_ohms=0.3; plumb_deg = 4"}
    records, problems = read_register_csv(_sheet(person, site).encode(), "r.csv")
    assert problems == []
    assert records[0].roles == ("technician", "auditor")
    assert sorted(records[1].tighten) == ["bond_ohms", "plumb_deg"]


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (GOOD.encode("utf-16"), "r.csv, byte 0: is UTF-16 text; save it as UTF-8"),
        (GOOD.encode() + b"source,S3,T1,fan,,caf\xe9,\n", "r.csv, line 4, byte "),
    ],
    ids=["utf-16", "latin-1"],
)
def test_bytes_that_are_not_utf8_are_named(data, says):
    (sentence,) = _told(data)
    assert sentence.startswith(says)
    if b"\xe9" in data:
        assert f"byte {data.index(0xE9)}: byte 0xe9" in sentence


def test_progress_is_told_and_may_stop_the_reading():
    ticks = []
    rows = f"{HEADING}\n" + "".join(f"source,S{number},T1,fan,,x,\n" for number in range(4000))
    read_register_csv(rows.encode(), "r.csv", lambda row, part: ticks.append((row, part)))
    assert [row for row, _ in ticks] == [1000, 2000, 3000, 4000]
    assert ticks == sorted(ticks)
    assert 0 < ticks[0][1] <= ticks[-1][1] <= 1
    with pytest.raises(KeyboardInterrupt):
        read_register_csv(rows.encode(), "r.csv", _stop)


def _stop(row: int, part: float) -> None:
    raise KeyboardInterrupt


def test_more_records_than_one_file_may_hold_are_refused(monkeypatch):
    monkeypatch.setattr(register_csv, "MOST_RECORDS", 1)
    records, problems = read_register_csv(GOOD.encode(), "r.csv")
    assert records == []
    assert str(problems[0]) == "r.csv: holds more than 1 records; hand it in as several files"


def test_a_thousand_problems_are_told_and_the_rest_counted():
    told = _told(f"{HEADING}\n" + "source,S1,T1,fun,,x,\n" * 1500)
    assert len(told) == 1001
    assert told[-1] == "r.csv: has 500 more problems; correct the ones above and try again"


@pytest.mark.parametrize("given", cases("csv_import", "toml_config", "unicode", "identifier"))
def test_hostile_files_are_refused_in_plain_sentences(given):
    records, problems = read_register_csv(given if isinstance(given, bytes) else given.encode(), "r.csv")
    assert records == []
    assert problems
    for each in problems:
        assert str(each).startswith("r.csv")
        assert str(each).isprintable()
        assert len(str(each)) < 1500


@pytest.mark.parametrize("given", cases("csv_import"))
def test_hostile_rows_under_a_good_heading_are_told(given):
    """The same rows where their columns are ours: day, tower and a number of an instrument."""
    heading, *rows = given.rstrip("\n").replace("date,tower,amps", "calibration_due,id,range_high").split("\n")
    text = "\n".join([f"record,kind,name,{heading}", *(f"instrument,clamp,Clamp,{row}" for row in rows)])
    told = _told(text)
    assert told, text
    assert all("row 2" in each or "row 3" in each for each in told), told


@pytest.mark.parametrize("given", cases("identifier"))
def test_hostile_ids_are_refused_or_plain(given):
    told = _told(_sheet({"record": "source", **ITEMS["source"], "id": given}))
    assert bool(told) == (given != "NULL")
    assert all(each.isprintable() for each in told)


def test_columns_are_those_of_the_records():
    assert COLUMNS[:3] == ("record", "id", "name")
    assert {"depth_ft", "depth_m", "conductor_mm2", "warranty_end"} < set(COLUMNS)
