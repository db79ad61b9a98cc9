"""`seasonlog exposure` and `seasonlog today`: words, JSON with named keys, what-if, what cannot be."""

from pathlib import Path

import pytest

from tests.builders import a_book, a_visit
from tests.cli.runner import seasonlog

ON = ("--today", "2026-11-25")


@pytest.fixture(scope="module")
def log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("exposure")
    with a_book(folder) as book:
        a_visit(book, "HOS-3")
    return folder / "seasonlog.db"


def test_the_board_in_words(log: Path) -> None:
    out = seasonlog("exposure", *ON, "--log", log).out
    lines = out.splitlines()
    assert lines[0].startswith("  1. ")
    assert " min on  skin of ice at -8 degF" in lines[0]
    assert "first " in lines[1]
    assert "then  " in out
    assert "why: Fall enable not signed off yet" in out
    assert "record: last visit fall-enable 2026-09-15, open, Mirel Oduvane; newest finding none" in out
    assert "drained      ICE ICE-3: not proven drained" in out
    assert "20 exposed, 0 cannot tell, 2 drained, 0 proven with heat enough" in out
    assert "common practice, no source" in out
    assert out.count("CAUTION:") == 3
    assert "not proof" in out


def test_each_site_in_its_own_units(log: Path) -> None:
    out = seasonlog("exposure", *ON, "--log", log).out
    assert "at -8 degF, 15 mph (design)  HOS-" in out
    assert "at -7 degC, 24 km/h (design)  ORR-" in out


def test_a_metric_site_reads_its_water_and_its_notes_in_degc(log: Path) -> None:
    """40 degF is 4.4 degC; water is densest at 39.2 degF, 4 degC."""
    metric = seasonlog("exposure", *ON, "--site", "ORR", "--log", log).out
    assert "(water from 4.4 degC to 4 degC)" in metric
    assert "degF" not in metric
    mixed = seasonlog("exposure", *ON, "--log", log).out
    assert "(water from 4.4 degC to 4 degC)" in mixed
    assert "(water from 40 degF to 39.2 degF)" in mixed
    for command in (("today",), ("exposure",)):
        ours = [line for line in seasonlog(*command, *ON, "--log", log).out.splitlines() if "degC" in line]
        assert ours
        assert not [line for line in ours if "degF" in line]


def test_json_has_named_keys(log: Path) -> None:
    found = seasonlog("exposure", *ON, "--site", "HOS", "--json", "--log", log).json
    assert set(found) == {
        "on", "outdoor_degf", "wind_mph", "exposed", "not_now", "cannot_tell", "drained", "covered", "provisional",
        "cautions",
    }  # fmt: skip
    first = found["exposed"][0]
    assert set(first) == {
        "rank", "tower", "name", "site", "water_degf", "hours", "freezes_first", "weather", "reasons", "threats",
        "basins", "winter", "last_record",
    }  # fmt: skip
    assert {each["site"] for each in found["exposed"]} == {"HOS"}
    assert first["hours"] == first["threats"][0]["hours"]
    assert first["freezes_first"] == first["threats"][0]["kind"]
    assert set(first["threats"][0]) == {"kind", "what", "hours", "says", "missing"}
    assert first["basins"][0]["adequate"] in ("yes", "no", "cannot_tell")
    assert first["weather"] == {"label": "design", "outdoor_degf": -8.0, "wind_mph": 15.0}


def test_another_temperature_and_wind(log: Path) -> None:
    def hours(*words: str) -> float:
        (found,) = [
            each
            for each in seasonlog("exposure", *ON, "--site", "HOS", *words, "--json", "--log", log).json["exposed"]
            if each["tower"] == "HOS-1"
        ]
        return float(found["hours"])

    assert hours("--outdoor-degf", "-30") < hours() < hours("--outdoor-degf", "25")
    assert hours("--wind-mph", "40") < hours()


def test_in_warm_air_nothing_freezes_and_it_says_so(log: Path) -> None:
    out = seasonlog("exposure", *ON, "--outdoor-degf", "50", "--log", log).out
    assert "not proven, but nothing freezes at 50 degF, 15 mph (asked for)  HOS-1 North tower: no fall enable" in out
    assert "  1. " not in out
    assert "0 exposed, 20 not proven but nothing freezes, 0 cannot tell" in out
    told = seasonlog("exposure", *ON, "--outdoor-degf", "50", "--json", "--log", log).json
    assert (told["exposed"], len(told["not_now"])) == ([], 20)
    assert all(each["rank"] is None and each["hours"] is None and each["reasons"] for each in told["not_now"])


def test_a_skin_of_ice_tells_what_its_hours_are_counted_from(log: Path) -> None:
    """40 degF held, 39.2 degF is where water is densest (domain.exposure_hours)."""
    out = seasonlog("exposure", *ON, "--site", "HOS", "--log", log).out
    assert "min on skin of ice possible on HOS-1-B, heater off (water from 40 degF to 39.2 degF)" in out
    told = seasonlog("exposure", *ON, "--site", "HOS", "--json", "--log", log).json
    assert {each["water_degf"] for each in told["exposed"]} == {40.0}


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (("--outdoor-degf", "nan"), 3, "outdoor air is nan degF"),
        (("--wind-mph", "1e9"), 3, "wind is 1e+09 mph"),
        (("--wind-mph", "-1"), 3, "wind is -1 mph"),
        (("--outdoor-degf", "cold"), 2, "is not a plain number"),
        (("--site", "NOWHERE"), 3, "site NOWHERE is not in the register"),
    ],
)
def test_what_cannot_be_is_a_sentence(log: Path, words: tuple[str, ...], code: int, says: str) -> None:
    ran = seasonlog("exposure", *words, "--log", log)
    assert (ran.code, ran.out) == (code, "")
    assert says in ran.err.replace(": ", " ")


def test_today_in_words(log: Path) -> None:
    out = seasonlog("today", *ON, "--log", log).out
    assert out.startswith("Mirel Oduvane\n  go on with HOS-3 Fall enable, started 2026-09-15, 0 of ")
    assert "   1. HOS-1 North tower, Wendlecroft Hospital: fall-enable overdue by" in out
    assert "access: Roof hatch" in out
    assert "permits: Roof permit" in out
    assert out.count("access: Roof hatch") == 1  # told once for neighbours on one site
    assert "NOBODY YET" in out
    mine, tonight = out.split("NOT PROVEN TONIGHT\n")
    assert "DAT-1" in mine
    assert tonight.startswith("   1. ")
    assert "drained  ICE-3: not proven drained" in tonight
    assert "CAUTION:" in tonight


def test_today_for_one_person(log: Path) -> None:
    out = seasonlog("today", *ON, "--by", "Halden Pruskett", "--log", log).out
    assert out.startswith("Halden Pruskett\nNOBODY YET")
    assert "go on with" not in out
    assert "A. Stranger is not in the register" in seasonlog("today", *ON, "--by", "A. Stranger", "--log", log).err


def test_today_as_json(log: Path) -> None:
    found = seasonlog("today", *ON, "--by", "mirel oduvane", "--json", "--log", log).json
    assert set(found) == {"on", "people", "not_known", "to_decide", "tonight", "cautions"}
    mirel, nobody = found["people"]
    assert (mirel["person"], nobody["person"]) == ("Mirel Oduvane", "")
    assert mirel["open_visits"][0]["tower"] == "HOS-3"
    assert set(mirel["stops"][0]) == {
        "tower", "name", "site", "site_name", "visits", "access", "permits", "roof_note", "parts_missing", "findings",
    }  # fmt: skip
    assert set(mirel["stops"][0]["visits"][0]) == {"checklist", "due", "words", "claimed"}
    assert found["tonight"]["exposed"][0]["rank"] == 1
