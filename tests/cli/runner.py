"""Runs a command as a script would: no terminal, its own home, output and exit code kept apart."""

import json
import os
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any


@dataclass(frozen=True)
class Ran:
    code: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        return json.loads(self.out)


def seasonlog(*words: str | Path, stdin: str = "", home: Path | None = None, name: str | None = None) -> Ran:
    environ = {k: v for k, v in os.environ.items() if k != "SEASONLOG_NAME"}
    environ |= {"PYTHONDONTWRITEBYTECODE": "1"}
    environ |= {"SEASONLOG_HOME": str(home)} if home else {}
    environ |= {"SEASONLOG_NAME": name} if name else {}
    done = subprocess.run(
        [sys.executable, "-m", "seasonlog", *map(str, words)],
        input=stdin, capture_output=True, text=True, env=environ, timeout=120, check=False,
    )  # fmt: skip
    return Ran(done.returncode, done.stdout, done.stderr)
