"""`seasonlog calc control`: volts at the coil, longest runs, fuses; sentences for what cannot be."""

import pytest

from tests.cli.runner import seasonlog

RUN = ("calc", "control", "--control-volts", "24", "--coil-va", "70", "--awg", "14", "--run-ft", "300")


def test_300_ft_of_14_awg_at_24_v_is_too_far_for_70_va() -> None:
    """Loop budget from 95 %, circuit theory: 270 ft at most in 14 AWG, 106, 170, 429 in 18, 16, 12; whole feet."""
    found = seasonlog(*RUN, "--json").json
    assert found["picks_up"] is False
    assert found["coil_volts"] == pytest.approx(20.14, abs=0.005)
    assert int(found["max_run_ft"]) == 270
    assert {awg: int(feet) for awg, feet in found["max_run_ft_by_awg"].items() if awg != "10"} == {
        "18": 106, "16": 170, "14": 270, "12": 429,
    }  # fmt: skip


@pytest.mark.parametrize(
    ("more", "picks_up"),
    [(("--wire-degc", "0"), True), (("--source-volts", "24"), True), (("--power-factor", "0.3"), True),
     (("--source-volts", "14"), False), (("--sealed-va", "8"), False)],
    ids=lambda value: " ".join(value) if isinstance(value, tuple) else None,
)  # fmt: skip
def test_what_changes_the_volts(more: tuple[str, ...], picks_up: bool) -> None:
    assert seasonlog(*RUN, *more, "--json").json["picks_up"] is picks_up


def test_the_answer_comes_first_then_working_basis_and_caution() -> None:
    lines = seasonlog(*RUN).out.splitlines()
    assert "V at the coil while it pulls in, 84 % of 24 V: it may NOT pull in, 20.4 V is wanted" in lines[0]
    assert lines[1].startswith("longest run of 14 AWG: 270 ft (82 m)")
    kinds = [line.strip().split(":")[0] for line in lines[2:6]]
    assert kinds == ["working", "working", "working", "basis"]
    assert lines[-2].startswith("CAUTION")


def test_a_source_too_low_or_too_high_and_a_very_long_run_are_told() -> None:
    assert "is below 20.4 V: no wire helps" in seasonlog(*RUN, "--source-volts", "14").out
    assert "it burns out" in seasonlog(*RUN[:-1], "0", "--source-volts", "27").out
    assert "capacitance" in seasonlog(*RUN[:-1], "1500").out


def test_the_fuses_of_the_transformer() -> None:
    """NEC Table 450.3(B), 100 VA 480-24 V: 0.625 A, 0.521 A, 6.96 A; below 1 A the standard list ends."""
    ran = seasonlog(*RUN, "--transformer-va", "100", "--supply-volts", "480", "--json")
    fuses = ran.json["fuses"]
    found = [(round(fuses[side]["max_amps"], 3), fuses[side]["standard_amps"]) for side in ("primary_only", "primary")]
    assert found == [(0.625, None), (0.521, None)]
    assert (round(fuses["secondary"]["max_amps"], 2), fuses["secondary"]["standard_amps"]) == (6.96, 6)
    assert any(line.startswith("doubtful: 430.72(C)(4)") for line in ran.json["working"])
    assert any("primary device of 15 x 24/480 = 0.75 A or less, 240.4(F)" in line for line in ran.json["working"])


@pytest.mark.parametrize(
    ("option", "value", "code"),
    [("--control-volts", "0", 3), ("--coil-va", "-70", 3), ("--awg", "2.5 mm2", 3), ("--run-ft", "nan", 3),
     ("--run-ft", "1e9", 3), ("--power-factor", "1.5", 3), ("--wire-degc", "inf", 3), ("--sealed-va", "0", 3),
     ("--transformer-va", "100", 2), ("--coil-va", "much", 2)],
)  # fmt: skip
def test_what_cannot_be_is_a_sentence(option: str, value: str, code: int) -> None:
    ran = seasonlog(*RUN, option, value)
    assert (ran.code, ran.out) == (code, "")
    assert ran.err.strip()
    assert "Traceback" not in ran.err
    assert "should not have happened" not in ran.err
