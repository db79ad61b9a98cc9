"""`calc heater` and `calc signature` as a script calls them: fixed options, fixed keys, sentences for what cannot be.

Values: circuit theory, 18 kW at 480 V (see `tests/calc/test_heater.py`, `test_network.py`).
"""

import pytest

from seasonlog.calc.signature import CAUSES
from tests.cli.runner import seasonlog

PLATE = ("--kw", "18", "--volts", "480")


def test_a_heater_at_its_rated_volts() -> None:
    found = seasonlog("calc", "heater", *PLATE, "--phases", "3", "--json").json
    assert found["line_amps"] == pytest.approx(21.65, abs=0.005)
    assert found["ohms_line_to_line"] == pytest.approx(25.6)
    assert found["power_kw"] == 18
    assert (found["amps_low"], found["amps_high"]) == pytest.approx((19.49, 22.73), abs=0.005)
    assert found["plate_note"] is None


def test_a_heater_at_other_volts_with_the_wrong_plate() -> None:
    ran = seasonlog("calc", "heater", *PLATE, "--measured-volts", "460", "--plate-amps", "37.5", "--json")
    assert ran.code == 0
    assert ran.json["line_amps"] == pytest.approx(20.75, abs=0.005)
    assert ran.json["power_kw"] == pytest.approx(16.53, abs=0.005)
    assert "single-phase arithmetic" in ran.json["plate_note"]


def test_the_words_show_working_basis_and_caution() -> None:
    out = seasonlog("calc", "heater", *PLATE).out
    assert out.startswith("21.65 A in each line")
    for words in ("working: 18000 W", "basis: circuit theory", "CAUTION"):
        assert words in out


def test_a_lost_line_is_named_first() -> None:
    found = seasonlog("calc", "signature", *PLATE, "--connection", "wye", "--amps", "0,18.7,18.8", "--json").json
    first, second = found["causes"][:2]
    assert (first["cause"], first["where"]) == ("line_open", "A")
    assert (second["cause"], second["where"]) == ("element_open", "A")
    assert all(0 < each["fit"] <= 1 and each["next_test"] and each["says"] for each in found["causes"])
    assert {each["cause"] for each in found["causes"]} <= set(CAUSES)
    assert found["unbalance_percent"] == pytest.approx(100.0, abs=0.5)


def test_ohms_with_ol_settle_it() -> None:
    amps = ("--amps", "0,18.7,18.8", "--connection", "wye")
    found = seasonlog("calc", "signature", *PLATE, *amps, "--ohms", "OL,25.5,ol", "--json").json
    assert found["causes"][0]["cause"] == "element_open"


def test_one_of_two_heaters() -> None:
    amps = ("--amps", "10.8,10.8,10.8", "--measured-volts", "480", "--heaters", "2")
    assert seasonlog("calc", "signature", *PLATE, *amps, "--json").json["causes"][0]["cause"] == "one_heater_dead"


def test_a_single_phase_heater_has_no_unbalance() -> None:
    found = seasonlog("calc", "signature", *PLATE, "--phases", "1", "--amps", "37.4", "--json").json
    assert found["causes"][0]["cause"] == "healthy"
    assert found["unbalance_percent"] is None


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("heater", "--kw", "0", "--volts", "480"), "heater power is 0 kW"),
        (("heater", "--kw", "18", "--volts", "-480"), "heater volts is -480 V"),
        (("heater", "--kw", "nan", "--volts", "480"), "heater power is nan kW"),
        (("heater", "--kw", "1e9", "--volts", "480"), "heater power is 1e+09 kW"),
        (("heater", "--kw", "eighteen", "--volts", "480"), "is not a plain number"),
        (("heater", "--kw", "18"), "--volts"),
        (("heater", *PLATE, "--phases", "2"), "--phases"),
        (("heater", *PLATE, "--measured-volts", "0"), "measured volts is 0 V"),
        (("heater", *PLATE, "--plate-amps", "-1"), "plate amps is -1 A"),
        (("signature", *PLATE, "--amps", "1,2"), "2 amps were given"),
        (("signature", *PLATE, "--amps", "1,x,2"), "plain numbers"),
        (("signature", *PLATE, "--amps", ""), "plain numbers"),
        (("signature", *PLATE, "--amps", "nan,1,1"), "line amps is nan A"),
        (("signature", *PLATE, "--amps", "1e9,1,1"), "line amps is 1e+09 A"),
        (("signature", *PLATE, "--amps", "1,1,1", "--measured-volts", "100,480,100"), "cannot be"),
        (("signature", *PLATE, "--amps", "1,1,1", "--ohms", "1,2"), "2 ohms were given"),
        (("signature", *PLATE, "--amps", "1,1,1", "--heaters", "0"), "--heaters"),
        (("signature", *PLATE, "--amps", "1,1,1", "--ohms", ""), "plain numbers"),
        (("signature", *PLATE, "--amps", "1,1,1", "--measured-volts", ""), "plain numbers"),
        (("signature", *PLATE, "--amps", "1,1,1", "--ohms", "nan,25,25"), "ohms between lines is nan"),
        (("heater", "--kw", "1_0", "--volts", "480"), "is not a plain number"),
        (("heater", "--kw", "\N{ARABIC-INDIC DIGIT ONE}", "--volts", "480"), "is not a plain number"),
        (("thermostat", "--measured-cut-in-degf", "33", "--ice-degf", "0"), "Celsius"),
        (("energy", "--weather", "/dev/zero", "--area-ft2", "1", "--wall-ft2", "1"), "a device or a pipe"),
        (("energy", "--weather", "", "--area-ft2", "1", "--wall-ft2", "1"), "its name is empty"),
        (("signature", *PLATE, "--amps", "1,1,1", "--clamp-resolution-amps", "nan"), "clamp"),
        (("signature", *PLATE, "--amps", "1,1,1", "--clamp-resolution-amps", "-1"), "clamp"),
    ],
)
def test_what_cannot_be_is_a_sentence(words: tuple[str, ...], says: str) -> None:
    ran = seasonlog("calc", *words)
    assert ran.code in (2, 3)
    assert says in ran.err
    assert ran.out == ""
    assert "Traceback" not in ran.err
    assert "should not have happened" not in ran.err


def test_the_group_lists_every_calculation() -> None:
    from seasonlog.cli.calc import CALCULATIONS

    out = seasonlog("calc", "--help").out
    assert all(name in out for name in CALCULATIONS)


@pytest.mark.parametrize(
    "name",
    ["heater", "signature", "branch", "control", "thermostat", "insulation", "basin", "freeze-time", "ice", "overflow",
     "energy"],
)  # fmt: skip
def test_every_calculation_has_help(name: str) -> None:
    ran = seasonlog("calc", name, "--help")
    assert ran.code == 0
    assert "--json" in ran.out
