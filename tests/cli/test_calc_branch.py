"""`seasonlog calc branch`: sizes by the NEC tables of the calculation, an audit, sentences for what cannot be."""

import pytest

from tests.cli.runner import seasonlog

PLATE = ("calc", "branch", "--kw", "18", "--volts", "480", "--phases", "3")


@pytest.mark.parametrize(
    ("words", "amps", "minimum", "ocpd", "awg", "subdivide"),
    [
        pytest.param(("--kw", "18", "--volts", "480"), 21.65, 27.06, 30, "10", False, id="18 kW 480 V"),
        pytest.param(("--kw", "12", "--volts", "208", "--terminal-degc", "75"), 33.31, 41.6, 45, "8", False, id="75 C"),
        pytest.param(("--kw", "12", "--volts", "208"), 33.31, 41.6, 45, "6", False, id="not marked: 60 C"),
        pytest.param(("--kw", "6", "--volts", "277", "--phases", "1"), 21.66, 27.1, 30, "10", False, id="1-phase"),
        pytest.param(("--line-amps", "49.96", "--terminal-degc", "60"), 49.96, 62.45, 70, "4", True, id="line amps"),
    ],
)
def test_sizes(words: tuple[str, ...], amps: float, minimum: float, ocpd: int, awg: str, subdivide: bool) -> None:
    """NEC tables as tests/calc/test_branch.py, amps and minimum to the tenth."""
    found = seasonlog("calc", "branch", *words, "--json").json
    assert (found["line_amps"], found["minimum_amps"]) == pytest.approx((amps, minimum), abs=0.06)
    assert (found["ocpd_amps"], found["conductor_awg"], found["subdivide"]) == (ocpd, awg, subdivide)
    assert found["edition"].startswith("NEC 2023")
    assert found["audit"] is None


def test_the_answer_comes_first_then_working_basis_and_caution() -> None:
    lines = seasonlog(*PLATE, "--awg", "12", "--ocpd-amps", "25").out.splitlines()
    assert lines[0] == "21.65 A: 27.06 A or more, so a device of 30 A and copper of 10 AWG"
    assert [line.split(":")[0] for line in lines if line.startswith("as installed")] == ["as installed"] * 3
    kinds = [line.strip().split(":")[0] for line in lines[4:]]
    assert kinds == ["working", "working", "working", "working", "basis", "CAUTION"]


@pytest.mark.parametrize(
    ("installed", "names"),
    [
        (("--awg", "10", "--ocpd-amps", "30"), []),
        (("--awg", "#10 awg",), []),
        (("--ocpd-amps", "25",), ["ocpd_too_small"]),
        (("--awg", "10", "--ocpd-amps", "40"), ["ocpd_too_large"]),
        (("--awg", "12",), ["conductor_too_small"]),
    ],
    ids=" ".join,
)  # fmt: skip
def test_the_branch_as_installed(installed: tuple[str, ...], names: list[str]) -> None:
    ran = seasonlog(*PLATE, *installed, "--json")
    assert (ran.code, [each["name"] for each in ran.json["audit"]]) == (0, names)


@pytest.mark.parametrize(
    ("ocpd", "says"),
    [
        ("33", "note: 33 A is no standard size of breaker or fuse (240.6(A)); the nearest are 30 A and 35 A: read its"),
        ("30.5", "note: 30.5 A is no standard size of breaker or fuse"),
        ("2", "note: 2 A is no standard size of breaker or fuse (240.6(A)); the nearest are 1 A and 3 A"),
        ("10", "note: 10 A is a standard size of fuse, of no breaker"),
        ("30", None),
        ("35", None),
    ],
)
def test_a_device_of_no_standard_size_is_told_and_still_audited(ocpd: str, says: str | None) -> None:
    """NEC 240.6(A): standard sizes of breakers and fuses, further ones of fuses alone. Words and JSON."""
    words, found = (seasonlog(*PLATE, "--awg", "10", "--ocpd-amps", ocpd, *more) for more in ((), ("--json",)))
    assert (words.code, found.code, isinstance(found.json["audit"], list)) == (0, 0, True)
    assert len(found.json["notes"]) == (says is not None)
    assert says is None or found.json["notes"][0].startswith(says)
    assert [line for line in words.out.splitlines() if line.startswith("note:")] == found.json["notes"]


def test_a_warm_full_run_asks_for_more_copper() -> None:
    """NEC 310.15: 90 C insulation, 6 conductors, 40 C over a sunlit roof: 73 C, x 0.50 x 0.80; exactly."""
    run = ("--insulation-degc", "90", "--ambient-degc", "40", "--conductors", "6", "--sunlit-roof")
    found = seasonlog(*PLATE, "--terminal-degc", "75", *run, "--json").json
    assert (found["correction"], found["conductor_awg"], found["corrected_amps"]) == (0.4, "6", 30)


def test_a_large_heater_is_told_into_how_many_circuits() -> None:
    """36 kW at 208 V, 99.93 A: three of 33.31 A, each 45 A and 8 AWG at 75 C."""
    words = ("calc", "branch", "--kw", "36", "--volts", "208", "--terminal-degc", "75")
    found = seasonlog(*words, "--json").json
    assert (found["circuits"], found["per_circuit"]["ocpd_amps"], found["per_circuit"]["conductor_awg"]) == (3, 45, "8")
    assert "split into 3 of 33.31 A" in seasonlog(*words).out


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (("--kw", "0", "--volts", "480"), 3, "heater power is 0 kW"),
        (("--kw", "nan", "--volts", "480"), 3, "heater power is nan kW"),
        (("--kw", "18", "--volts", "-480"), 3, "heater volts is -480 V"),
        (("--line-amps", "1e9"), 3, "line amps is 1e+09 A"),
        (("--line-amps", "300"), 3, "beyond the table"),
        (("--line-amps", "20", "--ambient-degc", "200"), 3, "ambient of the conduit is 200"),
        (("--line-amps", "20", "--conductors", "0"), 3, "conductors in the conduit is 0"),
        (("--line-amps", "20", "--awg", "6 mm2"), 3, "is not in the table"),
        (("--line-amps", "20", "--ocpd-amps", "-30"), 3, "overcurrent device is -30 A"),
        (("--line-amps", "20", "--kw", "18"), 2, "not both"),
        (("--kw", "18"), 2, "--volts"),
        (("--line-amps", "20", "--terminal-degc", "65"), 2, "--terminal-degc"),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, tuple) else None,
)
def test_what_cannot_be_is_a_sentence(words: tuple[str, ...], code: int, says: str) -> None:
    ran = seasonlog("calc", "branch", *words)
    assert (ran.code, ran.out) == (code, "")
    assert says in ran.err
    assert "Traceback" not in ran.err
