"""The documents keep step with the program."""

import re
from pathlib import Path

import pytest

from seasonlog.cli.group import COMMANDS

TOP = Path(__file__).parent.parent
README = (TOP / "README.md").read_text("utf-8")


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_is_in_the_readme(command: str) -> None:
    assert f"`{command}" in README or f", `{command}" in README
    assert f"seasonlog {command}" in README or f"| `{command}" in README or f", `{command}" in README


def test_the_readme_says_of_every_command_that_may_end_with_1_when_it_does() -> None:
    """Held against the commands' own code: a 1 that `return` hands out, plain or by a condition."""
    table = README.partition("| Command | ends with 1 when |")[2].partition("\n\n")[0]
    told = {name for row in table.splitlines()[2:] for name in re.findall(r"`([a-z]+)", row.split("|")[1])}
    code = {each: (TOP / "seasonlog" / "cli" / f"{each}.py").read_text("utf-8") for each in COMMANDS}
    assert told == {each for each, text in code.items() if re.search(r"return (1\b|.* else 1\b)", text)}


def test_the_top_level_holds_only_what_belongs_there() -> None:
    """README, contributor guide, project file, package, checklists, tests, sample sites and dot-files."""
    allowed = {"README.md", "DEVELOPERS.md", "pyproject.toml", "seasonlog", "checklists", "tests", "sample_sites"}
    tracked = {p.name for p in TOP.iterdir() if not p.name.startswith(".") and not p.name.endswith(".egg-info")}
    assert tracked - {"build", "dist", "venv"} <= allowed


def test_every_kind_of_entry_says_what_its_body_holds() -> None:
    from seasonlog.domain.records import FIELDS, Kind

    assert set(FIELDS) == set(Kind)


def test_no_file_of_the_package_is_over_four_hundred_lines() -> None:
    long = {p.name: n for p in (TOP / "seasonlog").rglob("*.py") if (n := len(p.read_text("utf-8").splitlines())) > 400}
    assert long == {}
