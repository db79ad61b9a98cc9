"""Checklist files: read, or refused whole with every problem at its line.

The form is the project's own; outside stand TOML 1.0 and SHA-256 (FIPS 180-4, whose digest of "abc" is checked).
"""

import hashlib
import re
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seasonlog.domain.checklist import Checklist, StepKind
from seasonlog.domain.severity import Severity
from seasonlog.errors import InputRefusedError
from seasonlog.intake.checklist_file import MOST_BYTES, MOST_DEPTH, read_checklist
from seasonlog.intake.toml_lines import toml_lines
from tests.intake.hostile import cases

GOOD = """\
id = "look"
title = "Look"
version = 1
purpose = "A look."
when = "winter"

[[section]]
title = "Water"
per = "basin"

[[section.step]]
id = "level"
kind = "reading"
title = "Level"
do = "Measure."
why = "It matters."
severity = "dry_fire_risk"
quantity = "level_above_heater_in"

[[section]]
title = "Power"
per = "circuit"
live = true
caution = "Qualified person only."
after = ["level"]

[[section.step]]
id = "amps"
kind = "three_lines"
title = "Amps"
do = "Clamp."
why = "It matters."
severity = "freeze_risk"
quantity = "line_amps"
only_if = ["circuit.phases = 3"]

[[section.step]]
id = "hot"
kind = "choice"
title = "Hot?"
do = "Feel."
why = "It matters."
caution = "Scald."
severity = "freeze_risk"
choices = [
  { value = "yes", says = "Hot", verdict = "pass" },
  { value = "no", says = "Cold", verdict = "fail" },
]
after_pass = ["amps"]

[[section.step]]
id = "off"
kind = "yes_no"
title = "Off?"
do = "Look."
why = "It matters."
severity = "shock_risk"
expect = "yes"
"""


def read(text: str) -> Checklist:
    return read_checklist(text.encode(), "look.toml")


def refused(text: str | bytes) -> list[str]:
    """The problems of a file that must be refused."""
    data = text if isinstance(text, bytes) else text.encode()
    with pytest.raises(InputRefusedError) as caught:
        read_checklist(data, "look.toml")
    return [str(problem) for problem in caught.value.problems]


def read_or_refused(text: str | bytes) -> Checklist | None:
    """The checklist, or None where it is refused; anything else raised fails the test."""
    try:
        return read_checklist(text if isinstance(text, bytes) else text.encode(), "look.toml")
    except InputRefusedError as error:
        problems = error.problems
    assert problems
    return None


def line_of(fragment: str, text: str = GOOD) -> int:
    return text[: text.index(fragment)].count("\n") + 1


def test_a_file_is_read_with_what_its_sections_say_for_their_steps() -> None:
    checklist = read(GOOD)
    level, amps, hot, off = checklist.steps
    assert (checklist.id, checklist.when, checklist.proves, checklist.version) == ("look", "winter", "", 1)
    assert (level.per, level.live, level.caution, level.unit, level.instrument) == ("basin", False, "", "in", "")
    assert (amps.kind, amps.per, amps.live, amps.after) == (StepKind.THREE_LINES, "circuit", True, ("level",))
    assert (amps.unit, amps.instrument, amps.severity) == ("A", "clamp", Severity.FREEZE_RISK)
    assert (hot.caution, hot.after, hot.after_pass) == ("Scald.", ("level",), ("amps",))
    assert [(c.value, c.verdict) for c in hot.choices] == [("yes", "pass"), ("no", "fail")]
    assert (off.expect, off.section, off.required) == ("yes", "Power", True)


def test_identity_is_the_sha256_of_the_bytes_and_the_text_gives_them_back() -> None:
    assert hashlib.sha256(b"abc").hexdigest().startswith("ba7816bf8f01cfea")  # FIPS 180-4 example
    for data in (GOOD.encode(), b"\xef\xbb\xbf" + GOOD.encode(), GOOD.replace("\n", "\r\n").encode()):
        checklist = read_checklist(data, "look.toml")
        assert checklist.sha256 == hashlib.sha256(data).hexdigest()
        assert checklist.text.encode() == data
    assert [s.id for s in read(GOOD.replace("\n", "\r\n")).steps] == ["level", "amps", "hot", "off"]


CHOICES = GOOD[GOOD.index("choices = [") : GOOD.index("after_pass")]
MORE = 'quantity = "line_amps"\n'
BROKEN: list[tuple[str, str, str, str, str]] = [
    # what is wrong, old text, new text, fragment whose line is named, words of the problem
    ("unknown key", 'do = "Clamp."', 'doo = "Clamp."', "doo =", "did you mean do?"),
    ("unknown top key", "version = 1", 'version = 1\nwehn = "x"', "wehn", "did you mean when?"),
    ("unknown section key", 'per = "basin"', 'pre = "basin"', "pre =", "did you mean per?"),
    ("missing why", 'why = "It matters."\nseverity = "dry', 'severity = "dry', "[[section.step]]", "why is missing"),
    ("missing do", 'do = "Measure."\n', "", "[[section.step]]", "do is missing"),
    ("empty title", 'title = "Level"', 'title = " "', 'title = " "', "title is missing or empty"),
    ("long title", 'title = "Level"', f'title = "{"x" * 41}"', 'title = "xx', "at most 40"),
    ("two lines", 'do = "Measure."', 'do = "Measure.\\nTwice."', "Twice", "must be one line"),
    ("escape", 'do = "Measure."', 'do = "Mea\\u001bsure."', "u001b", "must be one line"),
    ("unknown quantity", '"line_amps"', '"line_amp"', '"line_amp"', "did you mean line_amps?"),
    ("other unit", MORE, MORE + 'unit = "V"\n', "unit =", "judged in A"),
    ("no quantity", 'quantity = "line_amps"\n', "", "[[section.step]]\nid = \"amps\"", "quantity is missing"),
    ("unknown kind", 'kind = "reading"', 'kind = "reeding"', "reeding", "did you mean reading?"),
    ("unknown severity", '"dry_fire_risk"', '"dry_fire"', '"dry_fire"', "did you mean dry_fire_risk?"),
    ("no severity", 'severity = "dry_fire_risk"\n', "", "[[section.step]]", "severity is missing"),
    ("unknown when", '"winter"', '"wintre"', "wintre", "did you mean winter?"),
    ("unknown per", 'per = "basin"', 'per = "bassin"', "bassin", "did you mean basin?"),
    ("no expect", 'expect = "yes"\n', "", '[[section.step]]\nid = "off"', "expect is missing"),
    ("bad expect", 'expect = "yes"', 'expect = "maybe"', "maybe", "is not allowed"),
    ("expect elsewhere", MORE, MORE + 'expect = "yes"\n', 'expect = "yes"', "has no expect"),
    ("no choices", CHOICES, "", '[[section.step]]\nid = "hot"', "two choices or more"),
    ("no verdict", ', verdict = "fail"', "", 'value = "no"', "verdict is missing"),
    ("bad verdict", 'verdict = "fail"', 'verdict = "failed"', '"failed"', "did you mean fail?"),
    ("choice twice", 'value = "no"', 'value = "yes"', "choices", "there twice"),
    ("unknown choice key", 'says = "Cold"', 'say = "Cold"', "say =", "did you mean says?"),
    ("live without caution", 'caution = "Qualified person only."\n', "", '[[section.step]]\nid = "amps"', "no caution"),
    ("gate to nowhere", 'after_pass = ["amps"]', 'after_pass = ["amp"]', 'id = "hot"', "did you mean amps?"),
    ("section gate to nowhere", 'after = ["level"]', 'after = ["levle"]', 'id = "amps"', "did you mean level?"),
    ("bad id", 'id = "amps"', 'id = "Amps!"', "Amps!", "id must be small letters"),
    ("no version", "version = 1\n", "", 'id = "look"', "version must be a whole number"),
    ("version as text", "version = 1", 'version = "1"', "version", "version must be a whole number"),
    ("text as number", 'do = "Clamp."', "do = 5", "do = 5", "must be text"),
    ("flag as text", "live = true", 'live = "true"', "live", "true or false"),
    ("list as text", 'only_if = ["circuit.phases = 3"]', 'only_if = "circuit.phases = 3"', "only_if", "list of texts"),
    ("condition without sense", '"circuit.phases = 3"', '"three phases"', "three phases", "is not a condition"),
    ("unknown fact", "circuit.phases = 3", "circuit.phase = 3", "circuit.phase ", "did you mean phases?"),
    ("unknown record", "circuit.phases = 3", "heater.phases = 3", "heater.phases", "sees circuit, basin, tower, site"),
    ("impossible value", "circuit.phases = 3", "circuit.phases = 2", "phases = 2", "allowed: 1, 3"),
    ("record not seen", "circuit.phases = 3", "trace.kind = constant_watt", "trace.kind", "any, every or no"),
    ("counted too high", "circuit.phases = 3", "any site.units = si", "any site", "without it"),
    ("key twice", 'do = "Clamp."', 'do = "Clamp."\ndo = "Clamp more."', 'do = "Clamp more', "given twice"),
    ("id twice", 'id = "off"', 'id = "hot"', 'id = "hot"\nkind = "yes_no"', "stands on line"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "at", "words"), [b[1:] for b in BROKEN], ids=[b[0] for b in BROKEN])
def test_a_broken_file_is_refused_with_the_line(old: str, new: str, at: str, words: str) -> None:
    assert old in GOOD
    text = GOOD.replace(old, new)
    problems = refused(text)
    line = re.compile(rf"line {line_of(at, text)}[,:]")
    assert any(words in p and line.search(p) for p in problems), (line, problems)


def test_all_problems_are_told_at_once_in_the_order_of_the_file() -> None:
    text = (
        GOOD.replace('when = "winter"', 'when = "wintre"')
        .replace('do = "Measure."', 'doo = "Measure."')
        .replace('quantity = "line_amps"', 'quantity = "line_ampere"\nquantity = "line_amps"')
        .replace('verdict = "fail"', 'verdict = "bad"')
        .replace('expect = "yes"\n', "")
    )
    problems = refused(text)
    for words in ("wintre", "doo", "do is missing", "given twice", "line_ampere", '"bad"', "expect is missing"):
        assert any(words in p for p in problems), (words, problems)
    lines = [int(p.split("line ")[1].split(",")[0]) for p in problems if "given twice" not in p]
    assert all(a <= b for a, b in pairwise(lines))


def test_gates_in_a_circle_are_told_with_their_way_round() -> None:
    text = GOOD.replace('after_pass = ["amps"]', 'after_pass = ["off"]').replace(
        'expect = "yes"', 'expect = "yes"\nafter = ["hot"]'
    )
    assert any("hot waits for off waits for hot" in p for p in refused(text))
    alone = GOOD.replace('after_pass = ["amps"]', 'after_pass = ["hot"]')
    assert any("hot waits for hot" in p for p in refused(alone))
    two = text.replace('quantity = "level_above_heater_in"', 'quantity = "level_above_heater_in"\nafter = ["amps"]')
    assert sum("can never be answered" in p for p in refused(two)) == 2


def _twice(first: str, second: str, per: str = "circuit") -> str:
    base = GOOD.replace('only_if = ["circuit.phases = 3"]\n', f'only_if = ["{first}"]\n')
    return (
        base + f'\n[[section.step]]\nid = "amps"\nkind = "reading"\nper = "{per}"\ntitle = "Amps"\ndo = "Clamp."\n'
        f'why = "It matters."\nseverity = "freeze_risk"\nquantity = "line_amps"\nonly_if = ["{second}"]\n'
    )


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ("circuit.phases = 3", "circuit.phases = 1"),
        ("circuit.phases = 3", "circuit.phases != 3"),
        ("circuit.control in plc, building", "circuit.control in dial, electronic"),
        ("circuit.control not in plc, building", "circuit.control = plc"),
        ("basin.heat = electric", "basin.heat = steam"),
    ],
)
def test_one_id_may_stand_twice_where_nobody_is_asked_both(first: str, second: str) -> None:
    assert [s.id for s in read(_twice(first, second)).steps].count("amps") == 2


@pytest.mark.parametrize(
    ("first", "second", "per"),
    [
        ("circuit.phases = 3", "circuit.phases = 3", "circuit"),
        ("circuit.phases = 3", "circuit.control = dial", "circuit"),
        ("circuit.control != plc", "circuit.control != dial", "circuit"),
        ("circuit.control in plc, dial", "circuit.control in dial, building", "circuit"),
        ("any circuit.control = plc", "no circuit.control = plc", "circuit"),
        ("tower.winter = drained", "tower.winter != drained", "basin"),
    ],
)
def test_one_id_twice_is_refused_where_both_might_be_asked(first: str, second: str, per: str) -> None:
    assert any("stands on line" in p for p in refused(_twice(first, second, per)))


def test_an_own_file_may_not_take_a_shipped_id() -> None:
    with pytest.raises(InputRefusedError, match=r"line 1, key id: .*choose another id"):
        read_checklist(GOOD.encode(), "look.toml", taken_ids={"look"})


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "id must be"),
        (b"\xff\xfei\x00d\x00", "UTF-16"),
        (GOOD.encode().replace(b"Clamp.", b"Cl\xe4mp."), "is not UTF-8"),
        (b"# " + b"x" * MOST_BYTES, "at most"),
        (GOOD.encode() + b"x = " + b"[" * (MOST_DEPTH + 1) + b"]" * (MOST_DEPTH + 1), "brackets inside each other"),
        (b"x = " + b"[" * 1900, "brackets inside each other"),
        (b'x = "' + b"y" * 2000 + b'"', "longer than"),
        (b"id = ", "is not TOML"),
        (b"[[section]]\n[section]\n", "is not TOML"),
        (b"section = 5", "must be [[section]] tables"),
        (b"section = [5]", "must be [[section]] tables"),
        (b"[[section]]\ntitle = 'a'\nstep = 'b'", "must be [[section.step]] tables"),
        (b"id = 1979-05-27", "id must be"),
        (b"version = true", "version must be"),
        (b"version = 999999999999999999999999", "version must be"),
    ],
)  # fmt: skip
def test_what_is_no_checklist_is_refused_in_words(data: bytes, words: str) -> None:
    assert any(words in problem for problem in refused(data))


def test_too_many_steps_are_refused_quickly() -> None:
    step = '\n[[section.step]]\nid = "off"\nkind = "text"\ntitle = "T"\ndo = "D"\nwhy = "W"\n'
    assert any("at most" in p and "steps" in p for p in refused(GOOD + step * 5000))


def test_nothing_in_a_problem_can_act_on_a_screen() -> None:
    for hostile in ("\u202egnp", "\u001b]52;c;\u0007", "a\u200bb"):
        quoted = hostile.encode("unicode_escape").decode().replace("\\x", "\\u00")
        for text in (GOOD.replace('"amps"]', f'"{quoted}"]'), GOOD.replace("do = ", f'"{quoted}" = ')):
            told = "\n".join(refused(text))
            assert not any(char in told for char in "\u202e\u001b\u0007\u200b")


@pytest.mark.parametrize("text", cases("toml_config", "unicode", "terminal", "markup"))
def test_hostile_text_is_read_as_it_is_or_refused(text: str | bytes) -> None:
    """Every hostile text of the data set, as a file and as an instruction: kept to the letter, or refused in words."""
    assert read_or_refused(text) is None
    if isinstance(text, str):
        quoted = "".join(f"\\U{ord(char):08X}" for char in text)
        checklist = read_or_refused(GOOD.replace('do = "Clamp."', f'do = "{quoted}"'))
        assert checklist is None or checklist.steps[1].do == text.strip()


@given(st.text(max_size=300))
def test_any_text_is_refused_or_read_and_never_a_traceback(text: str) -> None:
    read_or_refused(text)


@given(st.integers(0, len(GOOD) - 1), st.sampled_from(['"', "[", "]", "{", "=", "\n", "#", "'", '"""', "\\", "\x00"]))
def test_a_stroke_anywhere_is_refused_or_read(place: int, stroke: str) -> None:
    read_or_refused(GOOD[:place] + stroke + GOOD[place + 1 :])


def test_lines_are_counted_through_strings_lists_and_comments() -> None:
    strings = 'a = """x\n[[no]]\nb = 1\n"""\n'
    lists = 'c = [ # ]\n  "d = 2",\n  { e = 1,\n    f = "}" },\n]\n'
    text = strings + lists + "[[g.h]]\n[[g]]\ni.j = 1\ni.j = 2\n"
    found = toml_lines(text)
    lines = {path: line for path, line in found.lines.items() if path}
    assert lines[("a",)] == 1
    assert lines[("c",)] == 5
    assert lines[("c", 1, "e")] == 7
    assert lines[("c", 1, "f")] == 8
    assert lines[("g", 0, "i", "j")] == 12
    assert ("b",) not in lines
    assert [(path, line) for path, line in found.repeated] == [(("g", 0, "i", "j"), 13)]
