"""The table of constants: read strictly, tightened by a site only, hashed by its values."""

import copy
import tomllib
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seasonlog import resources
from seasonlog.domain.practice import UNITS, PracticeTable, Tighter, parse_practice
from seasonlog.errors import InputRefusedError
from seasonlog.services.limits import practice_table

SHIPPED = tomllib.loads(
    (resources.checklists() / "practice" / "limits.toml").read_text("utf-8"), parse_float=Decimal
)  # fmt: skip
NAMES = st.sampled_from(sorted(UNITS))


def edited(change) -> tuple[PracticeTable | None, list[str]]:
    """The shipped table after a change, as read."""
    mapping: dict[str, Any] = copy.deepcopy(SHIPPED)
    change(mapping)
    table, problems = parse_practice(mapping, "limits.toml")
    return table, [str(each) for each in problems]


def test_the_shipped_table_is_whole_and_every_constant_says_where_it_comes_from() -> None:
    table, problems = edited(lambda _: None)
    assert problems == []
    assert table is not None
    assert set(table.constants) == set(UNITS)
    for each in table.constants.values():
        sourced = ("source", "practice", "custom", "ANSI", "NEMA", "NETA", "IEC", "IEEE", "Class 2", "published")
        assert any(word in each.basis for word in (*sourced, "ASHRAE", "derived", "second hand", "textbook")), each.name


VALUES = [  # name, value: the figure published, or proposed where the basis says so
    ("watts_below_percent", 10), ("watts_above_percent", 5), ("supply_range_percent", 5),
    ("volts_unbalance_pass_percent", 1), ("volts_unbalance_percent", 3), ("control_low_percent", 85),
    ("control_high_percent", 110), ("bond_ohms", 0.5), ("insulation_pass_mohm", 20), ("insulation_mohm", 5),
    ("insulation_fail_mohm", 1), ("amps_unbalance_pass_percent", 6.3), ("amps_unbalance_percent", 7.5),
    ("freeze_margin_degf", 2), ("dial_error_degf", 3), ("plumb_deg", 5), ("plumb_fail_deg", 15), ("float_lead_mohm", 1),
    ("contact_ohms", 0.5), ("contact_fail_ohms", 1), ("ice_point_degf", 1), ("enable_lead_days", 14),
]  # fmt: skip


@pytest.mark.parametrize(("name", "value"), VALUES)
def test_the_figures_of_standards_and_custom(name: str, value: float) -> None:
    """Trade custom +5/-10 % watts; ANSI C84.1 5 % and 3 %; NEMA MG-1 1 %; IEC 60947-4-1 85/110 %; NETA 0.5 ohm;
    insulation ladder, unbalance, margins: proposed or common practice, as their basis says."""
    assert practice_table().value(name) == value


def refused(change) -> str:
    """The one problem of the shipped table after a change."""
    table, problems = edited(change)
    assert table is None
    (problem,) = problems
    return problem


@pytest.mark.parametrize(
    ("key", "value", "says"),
    [
        ("value", "0.5", "is not a number"),
        ("value", True, "is not a number"),
        ("value", float("nan"), "is not a number"),
        ("value", -1, "is not a number"),
        ("value", Decimal("1e9"), "is not a number"),
        ("unit", "mohm", "take it in ohm"),
        ("tighter", "up", "lower or higher"),
        ("basis", " ", "where the value comes from"),
        ("note", "x", "exactly the keys"),
    ],
)
def test_a_bad_constant_is_refused_in_words(key: str, value: object, says: str) -> None:
    problem = refused(lambda m: m["constants"]["bond_ohms"].update({key: value}))
    assert problem.startswith("limits.toml, key constants.bond_ohms: ")
    assert says in problem


def test_a_bad_table_is_refused_in_words() -> None:
    assert refused(lambda m: m.pop("title")) == "limits.toml, key title: a text is wanted"
    assert refused(lambda m: m.update(colour="red")) == "limits.toml, key colour: unknown key"
    assert "constants.bond_ohms: missing" in refused(lambda m: m["constants"].pop("bond_ohms"))
    assert "constants.luck: no limit uses" in refused(lambda m: m["constants"].update(luck={}))
    assert "exactly the keys" in refused(lambda m: m["constants"].update(bond_ohms=0.5))


def test_every_problem_is_told_at_once() -> None:
    table, problems = edited(lambda m: (m.pop("title"), m["constants"].clear()))
    assert table is None
    assert len(problems) == 1 + len(UNITS)


@given(NAMES, st.decimals(Decimal("0.001"), Decimal("0.9"), places=3))
def test_a_site_may_tighten_and_never_loosen(name: str, share: Decimal) -> None:
    table = practice_table()
    constant = table.constants[name]
    lower, higher = constant.value * (1 - share), constant.value * (1 + share)
    tighter, looser = (lower, higher) if constant.tighter is Tighter.LOWER else (higher, lower)
    if lower == higher:
        return
    held = table.with_site({name: tighter})
    assert held.value(name) == float(tighter)
    assert "held tighter by this site" in held.basis(name)
    assert held.sha256 != table.sha256
    with pytest.raises(InputRefusedError, match="looser than the table"):
        table.with_site({name: looser})


@given(NAMES)
def test_the_same_value_is_no_tightening_and_the_same_hash(name: str) -> None:
    table = practice_table()
    same = table.with_site({name: table.constants[name].value + Decimal("0.000")})
    assert same.tightened == ()
    assert same.sha256 == table.sha256


def test_all_that_a_site_holds_wrongly_is_told_at_once() -> None:
    wrong = {"bond_ohms": Decimal(9), "luck": Decimal(1), "plumb_deg": Decimal("NaN")}
    with pytest.raises(InputRefusedError) as refused:
        practice_table().with_site(wrong, "site N")
    assert [each.where for each in refused.value.problems] == [f"site N, key tighten.{name}" for name in wrong]


def test_the_hash_is_of_the_values_not_of_the_layout() -> None:
    def reordered(mapping: dict[str, Any]) -> None:
        mapping["constants"] = dict(reversed(mapping["constants"].items()))
        mapping["constants"]["bond_ohms"]["basis"] = "other words, common practice"

    table, _ = edited(reordered)
    changed, _ = edited(lambda m: m["constants"]["bond_ohms"].update(value=Decimal("0.4")))
    edition, _ = edited(lambda m: m.update(code_edition="NEC 2026"))
    assert table is not None
    assert changed is not None
    assert edition is not None
    assert table.sha256 == practice_table().sha256
    assert len({practice_table().sha256, changed.sha256, edition.sha256}) == 3
    assert table.sha256.startswith(table.sha12)
