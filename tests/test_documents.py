"""The documents keep step with the program."""

from pathlib import Path

import pytest

from seasonlog.cli.group import COMMANDS

TOP = Path(__file__).parent.parent
README = (TOP / "README.md").read_text("utf-8")


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_is_in_the_readme(command: str) -> None:
    assert f"`{command}" in README or f", `{command}" in README
    assert f"seasonlog {command}" in README or f"| `{command}" in README or f", `{command}" in README


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
