"""Values given in metric units: exact factors, one of the two keys, bounds in the unit typed.

Factors: NIST SP 811 (2008), appendix B: 1 ft = 0.3048 m, 1 in = 25.4 mm, 1 gal (US liquid) = 3.785411784 L, all exact;
degrees by t(degF) = 1.8 t(degC) + 32.
"""

from decimal import Decimal

import pytest

from seasonlog.domain.register_units import ALTERNATES
from tests.domain.register_samples import made, says


@pytest.mark.parametrize(
    ("what", "key", "given", "field", "held"),
    [
        ("site", "elevation_m", "304.8", "elevation_ft", "1000"),
        ("site", "design_degc", "-40", "design_degf", "-40"),
        ("site", "design_degc", "0", "design_degf", "32"),
        ("site", "record_low_degc", "-17.5", "record_low_degf", "0.5"),
        ("basin", "area_m2", "9.290304", "area_ft2", "100"),
        ("basin", "wall_m2", "1", "wall_ft2", "10.7639"),
        ("basin", "depth_m", "0.3", "depth_ft", "0.9843"),
        ("basin", "volume_l", "3785.411784", "volume_gal", "1000"),
        ("basin", "trip_level_mm", "254", "trip_level_in", "10"),
        ("circuit", "control_run_m", "20", "control_run_ft", "65.6168"),
        ("circuit", "dial_degc", "100", "dial_degf", "212"),
        ("circuit", "differential_degc", "5", "differential_degf", "9"),
        ("trace", "length_m", "3.048", "length_ft", "10"),
        ("trace", "w_per_m", "10", "w_per_ft", "3.048"),
    ],
)
def test_metric_is_converted_exactly(what, key, given, field, held):
    assert getattr(made(what, **{key: given}), field) == Decimal(held)


def test_a_conductor_in_mm2_is_kept_as_printed():
    assert made("circuit", conductor_mm2="2.5", control_mm2=4).conductor_awg == "2.5 mm2"
    assert "from 0.5 to 500 mm2" in says("circuit", conductor_mm2="6 mm2")[0]


def test_both_keys_at_once_are_refused():
    assert says("basin", depth_ft="1", depth_m="0.3") == [
        "f, key depth_m: depth_ft is given twice, in two units; keep one of them"
    ]


def test_bounds_are_told_in_the_unit_typed():
    assert says("basin", depth_m="19")[0].endswith("a number from 0.003048 to 18.28 m, digits with a point")


@pytest.mark.parametrize("what", ALTERNATES)
def test_whatever_metric_takes_the_own_unit_takes_too(what):
    """So that an export, in US units, can always be read back."""
    for name, other in ALTERNATES[what].items():
        for bound in (other.spec.low, other.spec.high):
            held = other.held(bound)
            if isinstance(held, Decimal):
                assert getattr(made(what, **{name: f"{bound:f}"}), other.field) == held
                made(what, **{other.field: f"{held:f}"})
