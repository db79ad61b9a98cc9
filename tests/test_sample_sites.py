"""The sample sites: read without a problem, hang together, right in their arithmetic but for the planted mistakes.

The arithmetic is done here from the formulas, not by the package: line amps P / (sqrt3 V) or P / V (circuit theory),
breaker the next standard size at or above 1.25 I (NEC 240.6(A), 424.4(B)/425.4(B)), conductor by NEC Table 310.16 at
75 C with the 240.4(D) limits, gallons 7.48052 per cubic foot (NIST SP 811).
"""

import math
from datetime import date
from decimal import Decimal
from functools import cache
from zoneinfo import available_timezones

import pytest

from seasonlog import resources
from seasonlog.domain.fields import Kind
from seasonlog.domain.register import Basin, Circuit, Record, Register
from seasonlog.domain.register_links import unknown_zones, unlinked
from seasonlog.domain.register_names import look_alikes
from seasonlog.domain.register_records import SPECS
from seasonlog.domain.register_units import ALTERNATES
from seasonlog.export.register_files import to_register_csv, to_site_toml, to_team_toml
from seasonlog.export.register_format import register_format
from seasonlog.intake.register_csv import read_register_csv
from seasonlog.intake.site_toml import read_site_toml

AMPS_OF_ONE_PHASE, LOW_SUPPLY, DRY_HEATER, COLD_DIAL, LEG_UNKNOWN, OVERDUE = (
    "HOS-2-H", "ULV-1-H", "DAT-4-B", "ULV-4-H", "ULV-2-H", "VM-02",
)  # fmt: skip
"""Where the mistakes stand that were planted to be found. Nothing else may be wrong."""
STANDARD_AMPS = (15, 20, 25, 30, 35, 40, 45, 50, 60, 70, 80, 90, 100)
COPPER_75C = {"14": 20, "12": 25, "10": 35, "8": 50, "6": 65}
SMALL_WIRE_BREAKER = {"14": 15, "12": 20, "10": 30}
TODAY = date(2026, 11, 25)


@cache
def _files() -> dict[str, bytes]:
    return {each.name: each.read_bytes() for each in resources.sample_sites().iterdir() if each.name.endswith(".toml")}


@cache
def _records() -> tuple[Record, ...]:
    read = [read_site_toml(data, name) for name, data in sorted(_files().items())]
    assert [problem for _, problems in read for problem in problems] == []
    return tuple(record for records, _ in read for record in records)


@cache
def _register() -> Register:
    return Register.of(_records())


def _circuits() -> list[Circuit]:
    return list(_register().circuits.values())


def _electric() -> list[Basin]:
    return [each for each in _register().basins.values() if each.heat == "electric"]


def _amps(circuit: Circuit) -> float:
    watts_per_volt = float(circuit.kw) * 1000 / float(circuit.volts)
    return watts_per_volt / math.sqrt(3) if circuit.phases == 3 else watts_per_volt


def test_every_id_is_used_once_and_every_link_leads_somewhere():
    assert len([*_register().records()]) == len(_records())
    assert unlinked(_register(), _records()) == []
    assert unknown_zones(_records(), available_timezones()) == []
    assert look_alikes(_records()) == []


def test_there_is_one_of_everything_to_learn_from():
    register = _register()
    assert len(register.sites) == 5
    assert len(register.towers) == 22
    assert {each.winter for each in register.towers.values()} == set(SPECS["tower"]["winter"].choices)
    assert {each.kind for each in register.towers.values()} == {"open", "closed_circuit"}
    assert {each.heat for each in register.basins.values()} == set(SPECS["basin"]["heat"].choices)
    assert {each.level_device for each in register.basins.values()} == set(SPECS["basin"]["level_device"].choices)
    assert {each.phases for each in _circuits()} == {1, 3}
    assert {int(each.volts) for each in _circuits()} == {208, 240, 400, 480, 600}
    assert {int(each.control_volts or 0) for each in _circuits()} == {24, 120}
    assert {each.float_leg for each in _circuits()} == set(SPECS["circuit"]["float_leg"].choices)
    assert {each.mark for each in _circuits()} >= {"cut_in", "cut_out", "middle"}
    assert {each.kind for each in register.instruments.values()} == set(SPECS["instrument"]["kind"].choices)
    assert {role for each in register.people.values() for role in each.roles} == set(SPECS["person"]["roles"].choices)
    assert [each.id for each in _circuits() if each.switching == "scr_burst"] == ["DAT-3-H"]
    assert [each.id for each in register.basins.values() if each.equaliser_valve] == ["HOS-3-N"]
    assert len(register.circuits_of("DAT-1")) == 2


def test_one_site_is_metric_and_south_of_the_equator():
    (south,) = [each for each in _register().sites.values() if each.latitude_deg < 0]
    assert (south.units, south.id) == ("si", "ORR")
    assert south.elevation_ft == Decimal("1017.0604")  # 310 m
    assert _register().circuits["ORR-1-H"].dial_degf == Decimal("48.2")  # 9 C
    assert _register().circuits["ORR-1-H"].differential_degf == Decimal("7.2")  # 4 C
    assert _register().basins["ORR-1-B"].trip_level_in == Decimal("8.2677")  # 210 mm


def test_the_plain_case_is_18_kw_at_480_v_on_three_phases():
    circuit = _register().circuits["HOS-1-H"]
    assert (circuit.kw, circuit.volts, circuit.supply_volts, circuit.phases) == (18, 480, 480, 3)
    assert circuit.plate_amps == Decimal("21.7")
    assert _amps(circuit) == pytest.approx(21.65, abs=0.005)


def test_plate_amps_are_right_to_a_tenth_but_for_one():
    wrong = {each.id for each in _circuits() if abs(float(each.plate_amps or 0) - _amps(each)) > 0.051}
    assert wrong == {AMPS_OF_ONE_PHASE}
    assert float(_register().circuits[AMPS_OF_ONE_PHASE].plate_amps or 0) == 18000 / 480


def test_each_heater_has_the_supply_on_its_plate_but_for_one():
    assert {each.id for each in _circuits() if each.volts != each.supply_volts} == {LOW_SUPPLY}
    assert _register().circuits[LOW_SUPPLY].supply_volts == 208


def test_breakers_are_the_next_standard_size_over_125_percent():
    for each in _circuits():
        assert each.breaker_amps == next(size for size in STANDARD_AMPS if size >= 1.25 * _amps(each)), each.id


def test_conductors_carry_the_load_and_are_guarded_by_the_breaker():
    for each in _circuits():
        size, breaker = each.conductor_awg or "", float(each.breaker_amps or 0)
        if not size.endswith("mm2"):
            assert COPPER_75C[size] >= 1.25 * _amps(each), each.id
            assert COPPER_75C[size] >= breaker or size == "6", each.id
            assert breaker <= SMALL_WIRE_BREAKER.get(size, 999), each.id
            assert each.terminal_degc == 75


def test_levels_stand_in_order_but_for_one():
    """Two inches of water over the heater and one under the operating level: common practice, no source."""
    for each in _electric():
        top, trip, operating = each.heater_top_in, each.trip_level_in, each.operating_level_in
        assert top is not None
        assert trip is not None
        assert operating is not None
        assert operating - trip >= 1
        assert (trip - top >= 2) == (each.id != DRY_HEATER), each.id
        assert (trip > top) == (each.id != DRY_HEATER), each.id


def test_volumes_are_area_times_depth():
    for each in _register().basins.values():
        gallons = float(each.area_ft2 or 0) * float(each.depth_ft or 0) * 7.48052
        assert float(each.volume_gal or 0) == pytest.approx(gallons, rel=0.02), each.id
        assert float(each.operating_level_in or 0) == pytest.approx(float(each.depth_ft or 0) * 12, abs=0.01), each.id


def test_thermostats_close_well_above_freezing_but_for_one():
    """By the dial alone: 3 F of dial error, 1 F of thermometer, 2 F of margin. Common practice, no source."""
    share = {"cut_in": Decimal(0), "middle": Decimal("0.5"), "cut_out": Decimal(1)}
    for each in _circuits():
        cut_in = (each.dial_degf or 0) - share[each.mark] * (each.differential_degf or 0)
        assert (cut_in - 4 >= 34) == (each.id != COLD_DIAL), each.id
    assert _register().circuits[COLD_DIAL].dial_degf == 40


def test_one_float_leg_is_unknown_where_there_is_a_float():
    floats = {each.id for each in _electric() if each.level_device == "float_relay"}
    unknown = {each.id for each in _circuits() if each.basin in floats and each.float_leg == "unknown"}
    assert unknown == {LEG_UNKNOWN}


def test_one_instrument_is_overdue():
    due = {each.id: each.calibration_due for each in _register().instruments.values()}
    assert {name for name, day in due.items() if day is None or day < TODAY} == {OVERDUE}
    clamps = [each for each in _register().instruments.values() if each.kind == "clamp"]
    assert sorted(float(each.resolution or 0) for each in clamps) == [0.01, 0.1]


def test_every_heater_and_trace_has_a_source_to_lock_out():
    register = _register()
    for tower in register.towers.values():
        fed = [each.what for each in register.sources_of(tower.id)]
        assert fed.count("heater_branch") == len(register.circuits_of(tower.id)), tower.id
        assert ("heat_trace" in fed) == bool(register.traces_of(tower.id)), tower.id
        assert ("pump" in fed) == tower.pump_on_tower, tower.id
        assert {"steam", "hot_water"} & {*fed} == {each.heat for each in register.basins_of(tower.id)} & {
            "steam",
            "hot_water",
        }


def test_each_site_and_the_team_are_read_back_unchanged():
    for site in _register().sites:
        records, problems = read_site_toml(to_site_toml(_register(), site).encode(), "export.toml")
        assert problems == []
        assert _register().changes(records) == ()
    records, problems = read_site_toml(to_team_toml(_register()).encode(), "team.toml")
    assert problems == []
    assert _register().changes(records) == ()


def test_the_whole_register_is_read_back_from_a_spreadsheet_unchanged():
    records, problems = read_register_csv(to_register_csv(_register()), "export.csv")
    assert problems == []
    assert _register().changes(records) == ()
    assert len(records) == len(_records())


def test_every_file_teaches():
    for name, data in _files().items():
        text = data.decode()
        assert text.startswith("# "), name
        assert "Invented" in text, name
        assert text.count("#") >= 10 or name in {"ice-rink.toml", "team.toml"}, name
        assert text.count("A mistake to find") == {
            "hospital.toml": 1, "data-hall.toml": 1, "press-works.toml": 2, "team.toml": 1,
        }.get(name, 0), name  # fmt: skip


class TestFormat:
    """FORMAT.md is held to the field declarations.

    To refresh its tables: replace everything after the marker by what `register_format()` returns.
    """

    MARKER = "<!-- written from the field declarations; a test holds it to them -->\n\n"

    def _text(self) -> str:
        return (resources.sample_sites() / "FORMAT.md").read_text(encoding="utf-8")

    def test_its_tables_are_those_of_the_declarations(self):
        assert self._text().partition(self.MARKER)[2] == register_format().rstrip() + "\n"

    def test_every_key_is_told(self):
        tables = self._text().partition(self.MARKER)[2]
        for what, specs in SPECS.items():
            told = tables.partition(f"### {what}\n")[2].partition("###")[0]
            assert all(f"| `{name}` |" in told for name in specs)
            assert all(f"| `{name}` |" in told for name in ALTERNATES[what])
            assert all(spec.choices == () or ", ".join(spec.choices) in told for spec in specs.values())

    def test_its_example_reads_as_a_site_file(self):
        example = self._text().partition("```toml\n")[2].partition("```")[0]
        _, problems = read_site_toml(example.encode(), "example")
        assert problems
        assert {each.says.split(";")[0] for each in problems} == {"is missing"}, "it leaves keys out, and no more"

    def test_units_of_numbers_are_told(self):
        for specs in SPECS.values():
            for name, spec in specs.items():
                if spec.kind is Kind.NUMBER and spec.unit:
                    assert f"{spec.high:f} {spec.unit}, digits" in self._text(), name
