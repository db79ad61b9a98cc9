"""The plan file: every value as written, and every mistake told with its line, the whole file refused."""

import re
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seasonlog import resources
from seasonlog.errors import InputRefusedError, Problem
from seasonlog.intake.plan_file import LARGEST_BYTES, MOST_ENTRIES, PlanFile, read_plan_file
from seasonlog.intake.plan_values import Hours
from tests.builders import hostile, sample_register

WHOLE = """
[hours]
work_days = ["mon", "sat"]
closed = [2026-12-25, "2026-12-28..2026-12-30"]
shift = "06:00-14:00"
[[base]]
id = "north"
latitude_deg = 41.9
longitude_deg = -87.65
[[person]]
id = "ann"
base = "north"
[[person]]
id = "bo"
base = "north"
shift = "16:00-24:00"
leave = ["2026-10-05", 2026-10-07]
[minutes]
fall-enable = 120
other = 45
[minutes.closed_circuit]
fall-enable = 150
[minutes.drained]
fall-enable = 30
[[appointment]]
tower = "T-1"
checklist = "fall-enable"
day = 2026-09-22
from = "09:00"
to = "10:30"
[roads]
factor = 1.5
speed_mph = 50
[travel.north]
S-1 = 35
"""


def read(text: str | bytes) -> PlanFile:
    return read_plan_file(text.encode() if isinstance(text, str) else text, "plan.toml")


def refused(text: str | bytes) -> str:
    with pytest.raises(InputRefusedError) as error:
        read(text)
    return "\n".join(map(str, error.value.problems))


def test_every_value_is_as_written() -> None:
    file = read(WHOLE)
    assert file.text == WHOLE
    assert [file.works_on(date(2026, 12, day)) for day in (5, 6, 7, 8, 28)] == [True, False, True, False, False]
    assert (file.bases["north"].lat_deg, file.bases["north"].lon_deg) == (41.9, -87.65)
    assert [(p.id, p.base, p.hours) for p in file.people] == [
        ("ann", "north", Hours(360, 840)),
        ("bo", "north", Hours(960, 1440)),
    ]
    assert file.people[1].leave == {date(2026, 10, 5), date(2026, 10, 7)}
    agreed = file.appointments[0]
    assert (agreed.tower, agreed.day, agreed.from_minute, agreed.to_minute) == ("T-1", date(2026, 9, 22), 540, 630)
    assert file.factor == 1.5
    assert file.speed_kmh == pytest.approx(80.4672)  # 50 international miles of 1.609344 km
    assert file.ways == {("north", "S-1"): 35.0}


@pytest.mark.parametrize(
    ("checklist", "kind", "is_drained", "minutes"),
    [
        ("fall-enable", "open", False, 120),
        ("fall-enable", "closed_circuit", False, 150),
        ("fall-enable", "closed_circuit", True, 30),
        ("mid-winter", "open", True, 45),
    ],
)
def test_minutes_by_checklist_and_kind_of_tower(checklist: str, kind: str, is_drained: bool, minutes: int) -> None:
    assert read(WHOLE).minutes_for(checklist, kind, is_drained=is_drained) == minutes
    assert read(WHOLE.replace("other = 45\n", "")).minutes_for("mid-winter", "open", is_drained=False) is None


def test_the_sample_file_goes_with_the_sample_sites() -> None:
    """Every person, place and tower it names is in the sample register."""
    data = (resources.sample_sites() / "plan" / "plan.toml").read_bytes()
    file, register = read(data), sample_register()
    assert {p.id for p in file.people} <= register.people.keys()
    assert set(file.ways_where) <= register.sites.keys() | file.bases.keys()
    assert {a.tower for a in file.appointments} <= register.towers.keys()


def test_every_key_is_in_the_documentation() -> None:
    told = (
        (resources.sample_sites() / "FORMAT.md")
        .read_text(encoding="utf-8")
        .split("## Plan files")[1]
        .split("## Keys")[0]
    )
    for key in ("work_days", "closed", "shift", "base", "latitude_deg", "longitude_deg", "leave", "minutes", "other",
                "tower", "checklist", "day", "from", "to", "factor", "speed_kmh", "speed_mph", "travel"):  # fmt: skip
        assert key in told


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('"06:00-14:00"', '"14:00-06:00"', "line 5, hours.shift: .*ends before it begins"),
        ('"06:00-14:00"', '"6-14"', "not a time of day"),
        ('"06:00-14:00"', "7", "not a shift"),
        ('"06:00-14:00"', '"06:00-24:30"', "not a time of day"),
        ('["mon", "sat"]', '["Monday"]', "list of mon, tue"),
        ('["mon", "sat"]', "[]", "list of mon, tue"),
        ("2026-12-25,", '"2026-02-30",', "not a day"),
        ("2026-12-25,", '"0001-01-01",', "too far away"),
        ("2026-12-25,", "2026-12-25T10:00:00,", "not a day"),
        ("2026-12-28..2026-12-30", "2026-12-30..2026-12-28", "must go forward"),
        ("2026-12-28..2026-12-30", "2026-12-28..2099-12-30", "400 days at most"),
        ("41.9", "91", "from -90 to 90"),
        ("41.9", "nan", "from -90 to 90"),
        ("41.9", "4.19e1", "digits with a point"),
        ("41.9", '"41,9"', "from -90 to 90"),
        ("-87.65", "true", "from -180 to 180"),
        ('base = "north"\n[[person]]', 'base = "south"\n[[person]]', r"no \[\[base\]\] of this file"),
        ('id = "bo"', 'id = "ann"', "is given twice"),
        ('id = "bo"', 'id = "../../bo"', "not an id"),
        ('id = "bo"', "id = 7", "not an id"),
        ("fall-enable = 120", "fall-enable = 0", "from 1 to 720"),
        ("fall-enable = 120", "fall-enable = 120.5", "from 1 to 720"),
        ("fall-enable = 120", "fall-enable = true", "from 1 to 720"),
        ("[minutes.drained]", "[minutes.dry]", "no kind of tower"),
        ('to = "10:30"', 'to = "08:30"', "is before from"),
        ("day = 2026-09-22\n", "", "needs the key day"),
        ("speed_mph = 50", "speed_mph = 50\nspeed_kmh = 80", "give one of the two"),
        ("factor = 1.5", "factor = 0.2", "from 1 to 10"),
        ("S-1 = 35", "S-1 = -1", "from 0 to 1440"),
        ("[travel.north]\nS-1 = 35", "[travel]\nnorth = 3", "must be a table"),
        ("[roads]", "[roads]\nlimit = 3", "is not known here"),
        ("[roads]", "[rods]", "the file takes hours, base"),
        ("[roads]", "[roads]\nfactor = 2", "not TOML|is given twice"),
    ],
)
def test_a_mistake_is_told_and_the_file_refused(old: str, new: str, says: str) -> None:
    assert old in WHOLE
    assert re.search(says, refused(WHOLE.replace(old, new, 1)))


def test_every_mistake_is_told_at_once() -> None:
    told = refused(WHOLE.replace("41.9", "91").replace("120", "0").replace('"09:00"', '"9"'))
    assert len(told.splitlines()) == 3
    assert all(line.startswith("plan.toml, line ") for line in told.splitlines())


def test_what_a_plan_cannot_do_without_is_asked_for() -> None:
    told = refused("")
    assert all(words in told for words in ("no [[base]]", "no [[person]]", "no [minutes]"))


def test_too_much_is_refused() -> None:
    assert "at most" in refused(b"#" * (LARGEST_BYTES + 1))
    people = '[[person]]\nid = "p"\nbase = "north"\n' * (MOST_ENTRIES + 1)
    assert "at most" in refused(WHOLE + people)
    assert "brackets" in refused("[minutes]\na = " + "[" * 60)
    assert refused(b"\xff\xfe[\x00")
    assert "UTF-8" in refused(b'[minutes]\na = "\xff"')
    assert "byte order mark" in refused("\ufeff" + WHOLE)


def problems_of(data: bytes) -> tuple[Problem, ...] | None:
    """None when it was read."""
    try:
        read(data)
    except InputRefusedError as error:
        return error.problems
    return None


@given(st.binary(max_size=200) | st.text(max_size=200).map(str.encode))
def test_any_bytes_are_refused_in_sentences(data: bytes) -> None:
    found = problems_of(data)
    assert found
    assert all(p.says and "\n" not in p.where for p in found)


@given(st.integers(0, len(WHOLE)), st.integers(0, len(WHOLE)))
def test_a_cut_or_doubled_file_is_refused_with_sentences_or_read(start: int, end: int) -> None:
    assert problems_of((WHOLE[:start] + WHOLE[end:]).encode()) != ()


def test_hostile_texts_as_ids_and_as_files_are_refused(shared: Path) -> None:
    for case in hostile(shared, "identifier", "unicode", "terminal", "markup"):
        text = str(case.get("input", ""))
        quoted = '"' + "".join(f"\\U{ord(c):08X}" for c in text if not 0xD800 <= ord(c) < 0xE000) + '"'
        if not re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9._-]{0,63}", text, re.ASCII):
            assert problems_of(WHOLE.replace('id = "bo"', f"id = {quoted}").encode()), case["id"]
    for case in hostile(shared, "toml_config"):
        if "input" in case:
            assert problems_of(str(case["input"]).encode("utf-8", "replace")), case["id"]
