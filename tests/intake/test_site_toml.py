"""Site files: what is read, and the sentence with its line for what is not."""

import tomllib
from decimal import Decimal

import pytest

from seasonlog.domain.register import Register, word_of
from seasonlog.intake.site_toml import MOST_BYTES, read_site_toml
from tests.intake.hostile import cases

SITE = """\
[site]
id = "N"
name = "North works"
latitude_deg = 46.310
longitude_deg = -94.9
wind_shelter = "open"
time_zone = "America/Chicago"
first_freeze = "09-24"
last_freeze = "05-12"
tighten = { bond_ohms = 0.3 }

[[tower]]
id = "N-1"
name = "Tower one"
winter = "heated_basin"
kind = "open"
pump_on_tower = false
cells = 1
drained_for_cleaning = true

[[tower.basin]]
id = "N-1-B"
area_m2 = 9.290304
material = "steel"
insulation = "none"
heat = "electric"
level_device = "float_relay"
temperature_sensor = true
makeup_heat_trace = false
makeup_valve = "float"

[[tower.circuit]]
id = "N-1-H"
basin = "N-1-B"
kw = 18
volts = 480.0
phases = 3
heaters = 1
conductor_awg = 10
control = "dial"
switching = "contactor"

[[tower.trace]]
id = "N-1-T"
protects = "make-up"
volts = 120
kind = "constant_watt"

[[tower.source]]
id = "N-1-S"
what = "heater_branch"
point = "breaker 1"

[[tower.device]]
id = "D"
position = "heater"
of = "N-1-H"
installed = 2024-10-01

[[instrument]]
id = "CL"
name = "Clamp"
kind = "clamp"
counts = 5

[[person]]
id = "p"
name = "Somebody"
roles = ["technician", "supervisor"]
qualified_energised = true
"""


def _told(text: str | bytes) -> list[str]:
    data = text.encode() if isinstance(text, str) else text
    return [str(each) for each in read_site_toml(data, "n.toml")[1]]


def _line_of(text: str, what: str) -> int:
    return text[: text.index(what)].count("\n") + 1


def test_a_site_file_holds_one_of_everything():
    records, problems = read_site_toml(SITE.encode(), "n.toml")
    assert problems == []
    found = [word_of(each) for each in records]
    assert found == ["site", "tower", "basin", "circuit", "trace", "source", "device", "instrument", "person"]
    register = Register.of(records)
    assert register.site_of("N-1").tighten == {"bond_ohms": Decimal("0.3")}
    assert [each.tower for each in (*register.basins_of("N-1"), *register.circuits_of("N-1"))] == ["N-1"] * 2
    assert register.basins["N-1-B"].area_ft2 == 100
    assert str(register.sites["N"].latitude_deg) == "46.310"
    assert register.circuits["N-1-H"].conductor_awg == "10"
    assert f"{register.devices['D'].installed}" == "2024-10-01"
    assert register.people["p"].roles == ("technician", "supervisor")


@pytest.mark.parametrize(
    ("was", "becomes", "key", "says"),
    [
        ("kw = 18", "kw = nan", "circuit N-1-H, key kw", '"nan" is not allowed: a number from 0.1 to 1000 kW'),
        ("kw = 18", "kw = -inf", "circuit N-1-H, key kw", '"-inf" is not allowed'),
        ("kw = 18", "kw = 1e999", "circuit N-1-H, key kw", '"1e999" is not allowed'),
        ("kw = 18", "kw = 1.8e1", "circuit N-1-H, key kw", '"1.8e1" is not allowed'),
        ("kw = 18", "kw = 0x12", "circuit N-1-H, key kw", '"0x12" is not allowed'),
        ("kw = 18", "kw = 1_8", "circuit N-1-H, key kw", '"1_8" is not allowed'),
        ("kw = 18", 'kw = "18 kW"', "circuit N-1-H, key kw", '"18 kW" is not allowed'),
        ("kw = 18", "kw = [18]", "circuit N-1-H, key kw", '"[18]" is not allowed'),
        ("kw = 18", "kw = 2024-10-01", "circuit N-1-H, key kw", '"2024-10-01" is not allowed'),
        ("kw = 18", "kW = 18", "circuit N-1-H, key kW", "did you mean kw?"),
        ("phases = 3", "phases = 2", "circuit N-1-H, key phases", "one of 1, 3"),
        ("area_m2 = 9", "area_m = 9", "basin N-1-B, key area_m", "did you mean area_m2?"),
        ("pump_on_tower = false", "pump_on_tower = 0", "tower N-1, key pump_on_tower", "yes or no"),
        ("installed = 2024-10-01", "installed = 2024-10-01T09:00:00", "device D, key installed", "a day from 1900"),
        ('id = "CL"', 'id = "C L"', "instrument C L, key id", "the first a letter or digit"),
        ('name = "Clamp"', "name = 1.5", "instrument CL, key name", "in quotes in a site file"),
        ('name = "Clamp"', 'name = "Cla\\u001bmp"', "instrument CL, key name", "control character"),
        ("[[tower.basin]]", "[[tower.bassin]]", "key bassin", "did you mean basin?"),
        ("[[instrument]]", "[[instruments]]", "key instruments", "did you mean instrument?"),
        ("[[person]]", "[person]", "key person", "is written as a list of tables, [[person]]"),
        ("[[tower.trace]]", "[tower.trace]", "key trace", "is written as a list of tables, [[tower.trace]]"),
        ("[site]", "[[site]]", "key site", "is written as one table, [site]"),
        ('point = "breaker 1"', 'tower = "N-2"\npoint = "b"', "key tower", 'is "N-2", but it stands under tower "N-1"'),
    ],
)  # fmt: skip
def test_what_is_wrong_is_told_with_its_line_and_key(was, becomes, key, says):
    text = SITE.replace(was, becomes, 1)
    told = [each for each in _told(text) if says in each]
    assert len(told) == 1, _told(text)
    assert told[0].startswith(f"n.toml, line {_line_of(text, becomes)}, "), told[0]
    assert key in told[0]


def test_a_missing_key_is_told_at_the_table_it_belongs_to():
    text = SITE.replace("heaters = 1\n", "")
    (sentence,) = _told(text)
    line = _line_of(text, "[[tower.circuit]]")
    assert sentence.startswith(f"n.toml, line {line}, circuit N-1-H, key heaters: is missing; a whole number")


def test_every_problem_of_a_file_is_told_at_once():
    text = SITE.replace("kw = 18", "kw = nan").replace("cells = 1", "cells = 0").replace('"Clamp"', '""')
    assert [each.split(",")[1] for each in _told(text)] == [
        f" line {_line_of(text, what)}" for what in ("cells = 0", "kw = nan", 'name = ""')
    ]


def test_an_id_used_twice_is_told_with_the_first_place():
    text = SITE + '\n[[person]]\nid = "p"\nname = "Another"\nroles = ["auditor"]\nqualified_energised = false\n'
    (sentence,) = _told(text)
    first = _line_of(SITE, "[[person]]")
    assert sentence.endswith(f'person p, key id: "p" is given twice; the first person with this id stands at {first}')


def test_a_tower_may_be_added_to_a_site_that_is_registered():
    text = SITE[SITE.index("[[tower]]") :].replace('name = "Tower one"', 'name = "Tower one"\nsite = "N"')
    assert _told(text) == []
    assert "key site: is missing" in _told(SITE[SITE.index("[[tower]]") :])[0]


def test_a_key_given_twice_is_told_with_both_lines():
    (sentence,) = _told(SITE.replace("volts = 480.0", "volts = 480.0\nkw = 20"))
    assert sentence.endswith(f"key kw: is given twice, first on line {_line_of(SITE, 'kw = 18')}")


class TestNotEvenText:
    @pytest.mark.parametrize(
        ("data", "says"),
        [
            (b"\xef\xbb\xbf[site]", "n.toml, byte 0: begins with a byte order mark; save it as UTF-8 without one"),
            ("[site]".encode("utf-16"), "n.toml, byte 0: is UTF-16 text; save it as UTF-8"),
            ("[site]".encode("utf-32"), "n.toml, byte 0: is UTF-32 text; save it as UTF-8"),
            (b"# a\nid = \"caf\xe9\"", "n.toml, line 2, byte 13: byte 0xe9 is not UTF-8 text; save the file as UTF-8"),
            (b"\xc0\xaf", "n.toml, line 1, byte 0: byte 0xc0 is not UTF-8 text; save the file as UTF-8"),
        ],
    )  # fmt: skip
    def test_bytes_that_are_not_utf8_are_named(self, data, says):
        assert _told(data) == [says]

    def test_a_syntax_error_has_its_line(self):
        (sentence,) = _told(SITE.replace("cells = 1", "cells = "))
        assert sentence.startswith("n.toml")
        assert f"line {_line_of(SITE, 'cells = 1')}" in sentence

    def test_depth_and_size_are_held_before_the_reader_recurses(self):
        assert "brackets inside each other" in _told("a = " + "[" * 100_000)[0]
        assert _told("a" + ".a" * 5000 + " = 1")
        assert f"at most {MOST_BYTES} are taken" in _told(b"#" * (MOST_BYTES + 1))[0]

    def test_a_number_too_long_to_read_is_one_sentence(self):
        (sentence,) = _told("a = " + "9" * 5000)
        assert len(sentence) < 200

    def test_an_empty_file_holds_nothing(self):
        assert read_site_toml(b"", "n.toml") == ([], [])


@pytest.mark.parametrize("given", cases("toml_config", "csv_import", "unicode", "identifier"))
def test_hostile_files_are_refused_in_plain_sentences(given):
    data = given if isinstance(given, bytes) else given.encode()
    records, problems = read_site_toml(data, "n.toml")
    assert records == []
    if data.strip():
        assert problems
    for each in problems:
        assert str(each).startswith("n.toml")
        assert str(each).isprintable()
        assert len(str(each)) < 500


@pytest.mark.parametrize("given", cases("toml_config"))
def test_hostile_toml_inside_a_good_file_spares_nothing(given):
    """A file of which one part is bad is told to be bad, wherever the bad part stands."""
    assert _told(SITE + "\n" + given)
    assert _told(given + "\n" + SITE)


@pytest.mark.parametrize("given", cases("identifier"))
def test_hostile_ids_are_refused_or_plain(given):
    text = SITE.replace('id = "N-1"', f"id = {_basic_string(given)}")
    told = _told(text)
    assert bool(told) == (given != "NULL")
    assert all(each.isprintable() for each in told)


@pytest.mark.parametrize("given", cases("unicode", "terminal", "markup", "csv_export", "identifier"))
def test_hostile_text_is_a_note_as_typed_or_told(given):
    if isinstance(given, bytes) or not given.strip():
        return
    text = SITE.replace("cells = 1", f"cells = 1\nnote = {_basic_string(given)}")
    records, problems = read_site_toml(text.encode(), "n.toml")
    if len(given) > 4000:
        assert "characters" in str(problems[0])
    else:
        assert problems == []
        assert tomllib.loads(f"x = {_basic_string(given)}")["x"] == given
        assert Register.of(records).towers["N-1"].note is not None


def _basic_string(text: str) -> str:
    return '"' + "".join(f"\\U{ord(char):08x}" for char in text) + '"'
