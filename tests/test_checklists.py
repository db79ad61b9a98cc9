"""The shipped checklists as files: each loads, fits a phone, runs over every sample tower, and is told in FORMAT.md.

What a list must hold is common practice of the trade, no source, where no rule is named beside the check.
"""

import re
import tomllib
from itertools import chain
from pathlib import Path

import pytest

from seasonlog import resources
from seasonlog.domain.answers import Parsed, parse_answer
from seasonlog.domain.checklist import MEASURED, StepInstance, StepKind, applicable, gate_keys
from seasonlog.domain.checklist_parse import (
    CHECKLIST_KEYS,
    CHOICE_KEYS,
    PROVES,
    SECTION_KEYS,
    STEP_KEYS,
    WHEN,
    can_fail,
)
from seasonlog.domain.finding import RETEST_ONLY
from seasonlog.domain.judging import judged
from seasonlog.domain.limits import QUANTITIES, LimitContext, Verdict, limit_for
from seasonlog.domain.register import Register
from seasonlog.domain.severity import Severity
from seasonlog.domain.visit import Progress, Visit, VisitState
from seasonlog.errors import InputRefusedError
from seasonlog.intake.checklist_file import read_checklist
from seasonlog.services import checklists
from seasonlog.services.demo import healthy
from seasonlog.services.limits import context_for, practice_table
from tests.builders import TODAY, sample_register
from tests.checklist_kinds import SHIPPED, steps_of

TOWERS = sorted(sample_register().towers)
FORMAT = (Path(str(resources.checklists())) / "FORMAT.md").read_text("utf-8")


# What every file keeps to


def test_the_lists_of_the_year_are_all_there() -> None:
    when = {name: SHIPPED[name].when for name in SHIPPED}
    assert when.items() >= {
        "commissioning": "commissioning", "fall-enable": "fall", "mid-winter": "winter", "spring-disable": "spring",
        "cold-snap": "cold_snap", "repair-retest": "repair", "frozen-or-overflowing": "emergency",
        "short-enable": "short",
    }.items()  # fmt: skip
    proving = {name: c.proves for name, c in SHIPPED.items() if c.proves}
    assert proving == {"fall-enable": "season", "short-enable": "provisional", "spring-disable": "off"}


def test_each_file_is_named_after_its_id() -> None:
    for file in resources.checklists().iterdir():
        if file.name.endswith(".toml"):
            assert f"{read_checklist(file.read_bytes(), file.name).id}.toml" == file.name


@pytest.mark.parametrize("name", SHIPPED)
def test_texts_fit_a_phone_and_a_cold_thumb(name: str) -> None:
    assert len(SHIPPED[name].purpose) <= 140
    for _, step in steps_of(name):
        assert len(step.title) <= 40, step.id
        assert len(step.do) <= 200, step.id
        assert len(step.why) <= 120, step.id
        assert all(len(choice.says) <= 100 for choice in step.choices), step.id


@pytest.mark.parametrize("name", SHIPPED)
def test_what_can_hurt_carries_a_caution_and_what_can_fail_a_severity(name: str) -> None:
    for _, step in steps_of(name):
        assert step.caution or not step.live, step.id
        assert step.caution or step.kind is not StepKind.CAUTION, step.id
        assert step.severity or not can_fail(step), step.id
        assert not (step.unprotected and not can_fail(step)), step.id


def test_what_is_read_on_live_parts_is_marked_as_energised_work() -> None:
    live = {
        "line_amps", "off_amps", "trace_amps", "supply_volts", "control_volts", "float_lead_volts", "electrode_volts",
        "off_terminal_volts", "trace_volts",
    }  # fmt: skip
    read = [(name, step.id, step.live) for name, step in steps_of() if step.quantity in live]
    assert len(read) > 20
    assert [found for found in read if not found[2]] == []


def test_one_id_means_one_thing_in_every_list() -> None:
    """A finding closes when the same id on the same target passes, in whichever list: so nothing may differ there."""
    meaning: dict[str, tuple[object, ...]] = {}
    for name, step in steps_of():
        if step.kind in MEASURED or step.kind is StepKind.YES_NO:
            this = (step.kind, step.per, step.quantity, step.unit, step.expect)
            assert meaning.setdefault(step.id, this) == this, (name, step.id)
    pers: dict[str, set[str]] = {}
    for _, step in steps_of():
        pers.setdefault(step.id, set()).add(step.per)
    assert {ident: per for ident, per in pers.items() if len(per) > 1} == {}


ONE_NIGHT = {"ice_seen", "pump_state", "tonight_measure"}
"""Findings about one night: looked at again by the next cold-snap check, not by a retest."""


@pytest.mark.parametrize("name", [n for n in SHIPPED if n not in ("commissioning", "lockout-inspection")])
def test_every_hazard_a_list_can_find_can_be_retested(name: str) -> None:
    """Freeze, dry-fire and shock findings close only by retest; commissioning's own are commissioned again."""
    retested = {step.id for _, step in steps_of("repair-retest")}
    hazards = {step.id for _, step in steps_of(name) if step.severity in RETEST_ONLY}
    assert hazards - retested - ONE_NIGHT == set()


@pytest.mark.parametrize("name", SHIPPED)
@pytest.mark.parametrize("where", TOWERS)
def test_every_list_runs_over_every_sample_tower(name: str, where: str) -> None:
    """Keys are unique, every gate opens in some order, and nothing required is judged by a limit that cannot apply."""
    found = applicable(SHIPPED[name], sample_register(), where)
    keys = [i.key for i in found]
    assert found, "asks nothing of this tower"
    assert len(keys) == len(set(keys))
    open_now, before = set[str](), -1
    while len(open_now) > before:
        before = len(open_now)
        open_now |= {i.key for i in found if set(chain(*gate_keys(i, found))) <= open_now}
    assert set(keys) - open_now == set()


@pytest.mark.parametrize("name", SHIPPED)
@pytest.mark.parametrize("where", TOWERS)
def test_every_step_takes_a_good_answer_and_judges_it(name: str, where: str) -> None:
    """The wanted word, or the middle of the computed band: never refused, never a finding."""
    register, checklist = sample_register(), SHIPPED[name]
    visit = Visit("V", where, name, checklist.sha256, 2026, 1, VisitState.OPEN, "Ada", 0, qualified=True)
    at = Progress(visit, checklist, register, applicable(checklist, register, where), {})
    for instance in at.instances:
        parsed = parse_answer(instance.step, healthy(at, instance, TODAY))
        assert isinstance(parsed, Parsed), instance.key
        verdict = judged(instance.step, parsed, context_for(at, instance, TODAY)).verdict
        assert verdict in (Verdict.PASS, Verdict.NEAR_PASS, Verdict.CANNOT_TELL), instance.key


NEVER_APPLIES = (
    "no stem", "no angle applies", "carries volts by design", "has no level device", "no unbalance", "belongs to",
    "unswitched poles", "its amps alone",
)  # fmt: skip
"""Words of a limit that says that it is about another kind of equipment."""


@pytest.mark.parametrize("where", TOWERS)
def test_no_required_reading_is_judged_by_a_limit_of_other_equipment(where: str) -> None:
    register = sample_register()
    for checklist in SHIPPED.values():
        for instance in applicable(checklist, register, where):
            if instance.step.quantity and instance.step.required:
                says = limit_for(instance.step.quantity, _context(register, where, instance)).missing
                assert not [words for words in NEVER_APPLIES if words in says], (instance.key, says)


def _context(register: Register, where: str, instance: StepInstance) -> LimitContext:
    target = instance.target or ""
    return LimitContext(
        register, register.towers[where], register.circuits.get(target), register.basins.get(target),
        register.traces.get(target), TODAY, 480.0, {}, practice_table(), {"full_output_proven": "yes"},
    )  # fmt: skip


def test_ice_is_given_its_real_weight() -> None:
    """What the shipped files say of ice is its real weight: solid ice is 57.25 lb/ft3 (917 kg/m3), 14.3 psf in 3 in."""
    assert pytest.approx(14.3, abs=0.05) == 57.25 * 3 / 12
    text = " ".join(chain(FORMAT.split(), *(c.text.split() for c in SHIPPED.values())))
    assert not re.search(r"\b100 (psf|pounds)", text)
    stated = re.search(r"Solid ice is ([\d.]+) psf an inch: ([\d.]+) in make the 20 psf", text)
    assert stated is not None
    assert float(stated[1]) == pytest.approx(57.25 / 12, abs=0.05)
    assert float(stated[2]) == pytest.approx(20 / (57.25 / 12), abs=0.05)
    ponded = re.search(r"Ponded water weighs ([\d.]+) psf an inch", text)  # 62.43 lb/ft3, ASCE 7 uses 5.2
    assert ponded is not None
    assert float(ponded[1]) == pytest.approx(62.43 / 12, abs=0.05)


# The format, and checklists of one's own


def _rows(heading: str) -> set[str]:
    part = FORMAT.split(f"## {heading}\n", 1)[1].split("\n## ", 1)[0]
    return set(re.findall(r"^\| `([a-z_-]+)` \|", part, re.MULTILINE))


@pytest.mark.parametrize(
    ("heading", "known"),
    [
        ("Keys of the file", set(CHECKLIST_KEYS)),
        ("Keys of a section", set(SECTION_KEYS)),
        ("Keys of a step", set(STEP_KEYS)),
        ("Kinds", {str(kind) for kind in StepKind}),
        ("Quantities", set(QUANTITIES)),
    ],
)
def test_the_format_page_tells_every_key_and_no_other(heading: str, known: set[str]) -> None:
    assert _rows(heading) == known


def test_the_format_page_tells_every_word() -> None:
    words = {*WHEN, *(p for p in PROVES if p), *map(str, Severity), *CHOICE_KEYS, "tower.emptied",
             "circuit.all_poles_switched"}  # fmt: skip
    assert {word for word in words if f"`{word}`" not in FORMAT} == set()
    assert {f"{name}.toml" for name in SHIPPED if f"`{name}.toml`" not in FORMAT} == set()


def test_the_example_of_the_format_page_is_a_checklist() -> None:
    example = re.search(r"```toml\n(.*?)```", FORMAT, re.DOTALL)
    assert example is not None
    found = read_checklist(example[1].encode(), "example")
    assert [step.id for step in found.steps] == ["louvers_free", "supply_volts", "line_amps"]
    assert found.id not in SHIPPED


OWN = FORMAT.split("```toml\n", 1)[1].split("```", 1)[0]


def test_a_checklist_of_ones_own_stands_beside_the_shipped_ones(tmp_path: Path) -> None:
    (tmp_path / "mine.toml").write_text(OWN, "utf-8")
    assert set(checklists.available(tmp_path)) == {*SHIPPED, "louver-check"}
    assert checklists.named("louver-check", tmp_path).title == "Louver check"


def test_a_shipped_id_cannot_be_taken_and_an_own_one_only_once(tmp_path: Path) -> None:
    (tmp_path / "mine.toml").write_text(OWN.replace("louver-check", "fall-enable"), "utf-8")
    with pytest.raises(InputRefusedError, match=r"mine\.toml, line 1, key id: .*fall-enable.* shipped"):
        checklists.available(tmp_path)
    (tmp_path / "mine.toml").write_text(OWN, "utf-8")
    (tmp_path / "same.toml").write_text(OWN, "utf-8")
    with pytest.raises(InputRefusedError, match="used by another file"):
        checklists.available(tmp_path)


def test_every_file_is_plain_toml_with_the_keys_in_one_order() -> None:
    """id and kind first, so that a person who edits the file finds them at one place."""
    for checklist in SHIPPED.values():
        for section in tomllib.loads(checklist.text)["section"]:
            for step in section["step"]:
                assert list(step)[:5] == ["id", "kind", "title", "do", "why"], (checklist.id, step["id"])
