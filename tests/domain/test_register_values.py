"""One value of a field: what is taken, what is refused, and what the sentence says."""

from datetime import date, datetime
from decimal import Decimal

import pytest

from seasonlog.domain.register_items import from_item
from tests.domain.register_samples import ITEMS, made, says


@pytest.mark.parametrize(
    "given", ["nan", "inf", "-inf", "1e3", "1e999", "0x1F", "1_000", "1,5", "18 kW", "", " ", "+5", ".5", "5.",
              "\uff11\uff18", "\u0661\u0662", "\u00bd", "1.1234567", "12345678", "0", "1001", "-18"],
)  # fmt: skip
def test_a_number_is_plain_digits_inside_its_bounds(given):
    (sentence,) = says("circuit", kw=given)
    assert sentence.startswith("f, key kw: ")
    assert sentence.endswith("is not allowed: a number from 0.1 to 1000 kW, digits with a point")


@pytest.mark.parametrize(
    ("given", "held"), [("18", "18"), ("0.1", "0.1"), (20, "20"), (" 7.50 ", "7.50"), ("1000", "1000")]
)
def test_a_number_keeps_its_digits(given, held):
    assert str(made("circuit", kw=given).kw) == held


@pytest.mark.parametrize("given", [True, None, [], {}, ["18"], date(2026, 1, 1), pytest.param(10**5000, id="huge")])
def test_what_is_not_a_number_is_refused_as_one(given):
    record, problems = from_item("circuit", ITEMS["circuit"] | {"kw": given}, "f")
    assert record is None
    assert len(problems) == 1
    assert len(str(problems[0])) < 200


@pytest.mark.parametrize(
    ("given", "held"), [("yes", True), ("NO", False), ("true", True), ("FALSE", False), (True, True)]
)
def test_yes_and_no_are_words(given, held):
    assert made("tower", pump_on_tower=given).pump_on_tower is held


@pytest.mark.parametrize("given", ["1", "0", "y", "ja", 2, "yes!"])
def test_nothing_else_is_yes_or_no(given):
    assert says("tower", pump_on_tower=given)[0].endswith("is not allowed: yes or no")


@pytest.mark.parametrize("given", ["2026-02-30", "02/11/2026", "2026-2-1", "20260201", "1899-12-31", "2026-W01-1",
                                   "2026-02-01T00:00", datetime(2026, 2, 1)])  # fmt: skip  # noqa: DTZ001
def test_a_day_is_one_of_the_calendar_in_iso_form(given):
    assert says("instrument", calibration_due=given)[0].endswith("a day from 1900 to 2199 as YYYY-MM-DD")


def test_a_day_is_taken_as_text_or_as_a_day():
    for given in ("2026-02-28", date(2026, 2, 28)):
        assert made("instrument", calibration_due=given).calibration_due == date(2026, 2, 28)


@pytest.mark.parametrize("given", ["02-29", "2-9", "13-01", "09/24", "04-31"])
def test_a_day_of_any_year_exists_in_every_year(given):
    assert says("site", first_freeze=given)[0].endswith("is not allowed: a day of any year as MM-DD")


@pytest.mark.parametrize("given", ["10", 8, "1/0", "250 kcmil", "2.5 mm2", "500kcmil"])
def test_a_conductor_is_text_as_printed(given):
    assert made("circuit", conductor_awg=given).conductor_awg == str(given)


@pytest.mark.parametrize("given", ["ten", "5/0", "10 AWG", "-10", "10.5", ""])
def test_a_conductor_is_one_of_the_usual_forms(given):
    assert '"6 mm2"' in says("circuit", conductor_awg=given)[0]


def test_a_choice_lists_what_may_be_chosen():
    (sentence,) = says("tower", winter="Heated")
    assert sentence == 'f, key winter: "Heated" is not allowed: one of heated_basin, remote_sump, run_wet, drained'
    assert says("circuit", phases="2")[0].endswith("one of 1, 3")


@pytest.mark.parametrize("given", [[], ["boss"], ["technician", "technician"], "technician", [["technician"]]])
def test_roles_are_a_list_of_known_ones_each_once(given):
    assert "one or more of technician, supervisor, auditor, each once" in says("person", roles=given)[0]


def test_named_numbers_are_read_exactly():
    assert made("site", tighten={"bond_ohms": "0.30"}).tighten == {"bond_ohms": Decimal("0.3")}
    for bad in ({"Bond": "1"}, {"bond_ohms": "1e1"}, {"bond_ohms": {}}, ["bond_ohms"], {"bond\n": "1"}):
        assert "names of constants" in says("site", tighten=bad)[0]


@pytest.mark.parametrize("given", ["America/Chicago", "UTC", "America/Argentina/Buenos_Aires", "Etc/GMT+3"])
def test_a_time_zone_has_the_form_of_an_iana_name(given):
    assert made("site", time_zone=given).time_zone == given


@pytest.mark.parametrize("given", ["../etc/passwd", "/UTC", "America//Chicago", "-05:00", "", "a" * 40 + "\n"])
def test_a_time_zone_is_never_a_path(given):
    assert "IANA" in says("site", time_zone=given)[0]


class TestText:
    def test_names_are_one_line_without_control_characters(self):
        for char in "\x00\x1b\n\r\t\x7f\x9b\u2028\u2029\x85":
            (sentence,) = says("tower", name=f"To{char}wer")
            assert "contains the control character" in sentence
            assert char not in sentence

    def test_names_are_composed_and_trimmed_of_spaces(self):
        assert made("tower", name="  cafe\u0301 ").name == "caf\u00e9"
        assert made("tower", name="cafe\u0301") == made("tower", name="caf\u00e9")

    def test_notes_are_kept_as_typed(self):
        typed = " =1+1\r\n\x1b[31mred\x00 \u202e "
        assert made("tower", note=typed).note == typed

    @pytest.mark.parametrize("given", ["", " ", "\n \t", "\u3000"])
    def test_a_text_says_something_or_is_left_out(self, given):
        assert "says nothing" in says("tower", note=given)[0]

    def test_length_is_held_and_the_sentence_stays_short(self):
        assert made("tower", name="x" * 120).name == "x" * 120
        (sentence,) = says("tower", name="x" * 121)
        assert "has 121 characters" in sentence
        assert len(sentence) < 300

    def test_a_lone_surrogate_cannot_be_stored(self):
        assert says("tower", name="a\ud800")[0].isprintable()
        assert says("tower", note="a\ud800")

    def test_a_number_is_no_name(self):
        assert "in quotes" in says("tower", name=12)[0]
