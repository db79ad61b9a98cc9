"""`seasonlog serve` is refused in plain words before anything listens, and lets the app open without a terminal."""

import subprocess
import sys
from pathlib import Path

import pytest
import zxingcpp
from PIL import Image

from seasonlog.cli import frame
from seasonlog.cli.serve import _address
from tests.builders import a_book
from tests.cli.runner import seasonlog


@pytest.fixture(scope="module")
def log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("log")
    a_book(folder).close()
    return folder / "seasonlog.db"


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        ([], 2, "Nobody is named: give --by NAME or set SEASONLOG_NAME"),
        (["--by", "Mirel Oduvane", "--host", "0.0.0.0"], 2, "Give --certificate FILE and --key FILE"),
        (["--by", "Mirel Oduvane", "--key", "k.pem"], 2, "belong together"),
        (["--by", "Mirel Oduvane", "--certificate", "c.pem", "--key", "k.pem"], 2, "c.pem with k.pem cannot be used"),
        (["--by", "Mirel Oduvane", "--port", "70000"], 2, "not in the range"),
        (["--by", "Mirel Oduvane", "--log", "nothing.db"], 4, "there is no log at nothing.db"),
    ],
)
def test_what_cannot_be_served_is_told(log: Path, words: list[str], code: int, says: str) -> None:
    ran = seasonlog("--log", log, "serve", *words)
    assert (ran.code, ran.out) == (code, "")
    assert says in ran.err
    assert "Traceback" not in ran.err


def test_without_the_extra_one_sentence_says_what_to_install(log: Path) -> None:
    code = (
        "import sys; sys.modules['textual_serve'] = None\n"
        f"from seasonlog.cli import run; sys.exit(run(['serve', '--log', {str(log)!r}, '--by', 'Mirel Oduvane']))"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=60, check=False)
    assert ran.returncode == 2
    assert ran.stderr == 'seasonlog: The app in a browser needs the extra: pip install "seasonlog[serve]"\n'


HALVES = {"█": (255, 255), "▀": (255, 0), "▄": (0, 255), " ": (0, 0)}


def test_the_address_on_the_terminal_is_read_by_a_camera(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Held against the reader of another project (zxing-cpp); it fits a terminal of 80 by 24."""
    monkeypatch.setattr(frame, "is_terminal", lambda: True)
    address = "https://tablet.firm.example:8023/in/" + "a_Z-9" * 8 + "xyz"
    _address(address)
    *code, last = capsys.readouterr().out.rstrip("\n").split("\n")
    rows = [line for line in code if line.strip()]
    assert last == f"Open: {address}"
    assert len(code) < 24
    assert max(map(len, code)) <= 80
    picture = Image.new("L", (len(rows[0]), 2 * len(rows)))
    for y, line in enumerate(rows):
        for x, char in enumerate(line):
            for half in (0, 1):
                picture.putpixel((x, 2 * y + half), HALVES[char][half])
    (read,) = zxingcpp.read_barcodes(picture.resize((picture.width * 4, picture.height * 4), Image.Resampling.NEAREST))
    assert read.text == address
    _address("http://127.0.0.1:8023/in/x")  # reaches no tablet: no code
    assert capsys.readouterr().out == "Open: http://127.0.0.1:8023/in/x\n"
