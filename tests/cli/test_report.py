"""The commands `report` and `export csv`: which file comes out, which refusals, and that nothing else is written."""

import builtins
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from seasonlog import cli
from seasonlog.cli import frame
from seasonlog.errors import LogError
from seasonlog.services.reports_file import file_name
from tests.builders import a_book
from tests.cli.runner import Ran


@pytest.fixture(scope="module")
def log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("log")
    with a_book(folder):
        pass
    return folder / "seasonlog.db"


Run = Callable[..., Ran]


@pytest.fixture
def run(log: Path, capsys: pytest.CaptureFixture[str]) -> Run:
    """In this process: a new one would take longer than the report."""

    def ran(*words: str) -> Ran:
        code = cli.run([*words, "--log", str(log)])
        out, err = capsys.readouterr()
        return Ran(code, out, err)

    return ran


@pytest.mark.parametrize(
    ("words", "begins"),
    [
        (("tower", "HOS-1", "-o", "{}/a.html"), b"<!DOCTYPE html>"),
        (("site", "ICE", "-o", "{}/a.pdf", "--season", "2026"), b"%PDF-"),
        (("firm", "-o", "{}/a.htm"), b"<!DOCTYPE html>"),
        (("findings", "-o", "{}/a.txt", "--pdf"), b"%PDF-"),
        (("firm", "-o", "{}/a.json"), b'{\n "format": "seasonlog report"'),
    ],
    ids=["tower", "site", "firm", "findings", "json"],
)
def test_the_name_or_the_option_says_which_file_is_written(
    run: Run, tmp_path: Path, words: tuple[str, ...], begins: bytes
) -> None:
    named = [word.format(tmp_path) for word in words]
    ran = run("report", *named)
    assert ran.code == 0, ran.err
    assert Path(named[named.index("-o") + 1]).read_bytes().startswith(begins)


@pytest.mark.parametrize("words", [("tower", "HOS-1"), ("site", "ICE"), ("firm",), ("findings",)], ids=lambda w: w[0])
def test_a_program_reads_it_from_the_output(run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
                                            words: tuple[str, ...]) -> None:  # fmt: skip
    monkeypatch.chdir(tmp_path)
    ran = run("report", *words, "--json")
    assert (ran.code, ran.json["format"], ran.json["version"]) == (0, "seasonlog report", 1)
    assert list(tmp_path.iterdir()) == []


def test_without_a_name_it_is_named_after_what_it_is_about(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    assert run("report", "tower", "HOS-1").code == 0
    assert [p.name for p in tmp_path.glob("*.html")] == ["tower-HOS-1.html"]


@pytest.mark.parametrize("form", ["html", "pdf"])
def test_a_dash_is_the_output_and_no_pdf_goes_to_a_terminal(
    log: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capfdbinary: pytest.CaptureFixture[bytes], form: str
) -> None:
    monkeypatch.chdir(tmp_path)
    words = ["report", "tower", "HOS-1", "-o", "-", f"--{form}", "--log", str(log)]
    assert cli.run(words) == 0
    assert capfdbinary.readouterr().out.startswith({"html": b"<!DOCTYPE html>", "pdf": b"%PDF-"}[form])
    monkeypatch.setattr(frame, "_is_drawn_on", lambda stream: stream is sys.stdout)
    assert cli.run(words) == {"html": 0, "pdf": 2}[form]
    out, err = capfdbinary.readouterr()
    assert (bool(out), b"no text for a terminal" in err) == {"html": (True, False), "pdf": (False, True)}[form]
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("name", ["../../x", "tower-a/b\\c", "CON.", "\u202eab", "", "." * 99, "x" * 500])
def test_a_file_name_is_no_path(name: str) -> None:
    made = file_name(name, "pdf")
    assert Path(made).name == made
    assert not made.startswith(".")
    assert len(made) < 70
    assert made.isascii()


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (("tower", "NO-1", "-o", "x.html"), 3, "tower NO-1"),
        (("visit", "V-0", "-o", "x.html"), 3, "visit V-0"),
        (("firm", "-o", "x.docx"), 2, "ends neither in .html, .pdf nor .json"),
        (("firm", "--season", "soon"), 2, "soon"),
        (("firm", "-o", "no/such/folder/x.html"), 2, "cannot be written"),
    ],
    ids=["tower", "visit", "ending", "season", "folder"],
)
def test_what_cannot_be_is_refused_with_a_sentence(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: tuple[str, ...], code: int, says: str
) -> None:
    monkeypatch.chdir(tmp_path)
    ran = run("report", *words)
    assert ran.code == code
    assert says in ran.err
    assert list(tmp_path.glob("x*")) == []


def test_without_the_extra_pdf_one_sentence_says_what_to_install(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = builtins.__import__

    def without(name: str, *rest: Any, **more: Any) -> Any:
        if name == "typst":
            raise ImportError(name)
        return real(name, *rest, **more)

    monkeypatch.setattr(builtins, "__import__", without)
    ran = run("report", "firm", "-o", str(tmp_path / "a.pdf"))
    assert ran.code == 3
    assert "pip install 'seasonlog[pdf]'" in ran.err
    assert not (tmp_path / "a.pdf").exists()


def test_reports_write_no_entry(run: Run, tmp_path: Path) -> None:
    before = run("verify", "--json").json
    assert run("report", "firm", "-o", str(tmp_path / "a.html"), "--by", "Halden Pruskett").code == 0
    after = run("verify", "--json").json
    assert (after["ok"], after["entries"]) == (True, before["entries"])


def test_a_log_that_cannot_be_written_is_reported_on_all_the_same(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refused(*_: object, **__: object) -> None:
        raise LogError("the log is on a disk that is read only")

    monkeypatch.setattr("seasonlog.cli.frame.writing", refused)
    ran = run("report", "firm", "-o", str(tmp_path / "a.html"), "--by", "Halden Pruskett")
    assert ran.code == 0
    page = (tmp_path / "a.html").read_text("utf-8")
    assert "Halden Pruskett" in page


def test_everything_goes_out_as_tables(run: Run, tmp_path: Path) -> None:
    ran = run("export", "csv", "-o", str(tmp_path / "csv"))
    assert ran.code == 0, ran.err
    names = {p.stem for p in (tmp_path / "csv").glob("*.csv")}
    assert {"visits", "answers", "findings", "coverage", "changes", "entries", "register-tower"} <= names
