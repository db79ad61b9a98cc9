"""The hostile inputs lying beside the checkout, as pytest parameters; one skipped parameter where they are absent."""

import base64
import json
from pathlib import Path
from typing import Any

import pytest

_FILE = Path(__file__).parents[3] / "shared" / "data" / "hostile_inputs.json"


def cases(*areas: str) -> list[Any]:
    """The texts or bytes of these areas by their id. Recipes to build large inputs are left to the tests."""
    if not _FILE.is_file():
        return [pytest.param(None, marks=pytest.mark.skip("the hostile inputs are not beside the checkout"))]
    found = json.loads(_FILE.read_text(encoding="utf-8"))["cases"]
    chosen = [each for each in found if each["area"] in areas and ("input" in each or "input_b64" in each)]
    return [pytest.param(_given(each), id=each["id"]) for each in chosen]


def _given(case: dict[str, Any]) -> str | bytes:
    return case["input"] if "input" in case else base64.b64decode(case["input_b64"])
