"""Hostile text as note, name and answer: kept as typed, shown as what it is, and able to do nothing.

Pass conditions and sources stand in the data file itself (OWASP ASVS 5.0, CWE-150, CWE-1236, ECMA-48, Unicode TR 36).
"""

import json
import unicodedata
from pathlib import Path

import pytest

from seasonlog.cli import run
from seasonlog.domain.text import as_stored
from tests.builders import a_book, hostile

AREAS = ("markup", "terminal", "unicode", "identifier", "ics_export", "csv_export")


def toml_text(text: str) -> str:
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def unseen(text: str) -> list[str]:
    """Characters that act or hide instead of being seen."""
    return [c for c in text if c != "\n" and unicodedata.category(c) in ("Cc", "Cf", "Zl", "Zp")]


def test_hostile_text_is_kept_and_shown_as_what_it_is(
    shared: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], subtests: pytest.Subtests
) -> None:
    with a_book(tmp_path):
        pass
    log = ["--log", str(tmp_path / "seasonlog.db")]
    cases = [c["input"] for c in hostile(shared, *AREAS) if isinstance(c.get("input"), str) and c["input"].strip()]
    assert len(cases) > 40
    for number, text in enumerate(cases):
        with subtests.test(text=ascii(text)[:60]):
            file = tmp_path / "answers.toml"
            answers = f"[answers]\ntreatment_plan = {{value = {toml_text(text)}, note = {toml_text(text)}}}\n"
            file.write_text(f'{answers}probe_plumb_deg = {{value = "22", note = {toml_text(text)}}}\n', "utf-8")
            tower = ("HOS-1", "HOS-2", "DAT-1", "DAT-2")[number % 4]
            words = ["visit", "--tower", tower, "--checklist", "fall-enable", "--answers", str(file), "--by", text]
            code = run([*words, *log])
            shown = capsys.readouterr()
            assert code in (0, 1, 3)
            assert unseen(shown.out + shown.err) == []
            assert "Traceback" not in shown.err
            if code != 3:
                assert run([*words, "--json", *log]) in (0, 1, 3)
                step = {s["step"]: s for s in json.loads(capsys.readouterr().out)["steps"]}
                assert step["treatment_plan"]["value"] == as_stored(text.strip())
            close(tower, tmp_path, log)
            capsys.readouterr()
    for words in (["findings", "--all"], ["coverage"], ["due"], ["verify"]):
        run([*words, *log])
        shown = capsys.readouterr()
        assert unseen(shown.out + shown.err) == []


def close(tower: str, folder: Path, log: list[str]) -> None:
    """End the visit, so that the next text gets one of its own."""
    file = folder / "close.toml"
    file.write_text('[close]\nas = "incomplete"\nbecause = "next text"\n')
    run(["visit", "--tower", tower, "--checklist", "fall-enable", "--answers", str(file), "--by", "Ada", *log])


def test_hostile_identifiers_are_refused_in_words(
    shared: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], subtests: pytest.Subtests
) -> None:
    with a_book(tmp_path):
        pass
    log = ["--log", str(tmp_path / "seasonlog.db")]
    for case in hostile(shared, "identifier"):
        text = case.get("input")
        if not isinstance(text, str):
            continue
        with subtests.test(case=case["id"]):
            for words in (["limits", "--", text], ["copy", "--", text], ["checklist", "show", "--", text]):
                code = run([words[0], *log, *words[1:]])
                shown = capsys.readouterr()
                assert code in (2, 3)
                assert unseen(shown.out + shown.err) == []
                assert "Traceback" not in shown.err
