"""Settings of a person on this machine: the name to write under, the theme. A small TOML file, whole or absent."""

import json
import tomllib
from pathlib import Path

from seasonlog.services.places import Places

NAME, THEME = "name", "theme"


def kept(at: Places) -> dict[str, str]:
    """The settings as they are; empty when there are none or they cannot be read."""
    try:
        read = tomllib.loads(at.settings.read_text("utf-8"))
    except (OSError, ValueError):
        return {}
    return {key: value for key, value in read.items() if isinstance(value, str)}


def keep(at: Places, key: str, value: str) -> None:
    """Change one setting."""
    settings = kept(at) | {key: value}
    lines = [f"{name} = {json.dumps(text, ensure_ascii=False)}\n" for name, text in sorted(settings.items())]
    at.home.mkdir(parents=True, exist_ok=True)
    _replace(at.settings, "".join(lines))


def _replace(path: Path, text: str) -> None:
    new = path.with_name(path.name + ".new")
    new.write_text(text, "utf-8")
    new.replace(path)


def kept_name(at: Places) -> str:
    """The name given before, or empty."""
    return kept(at).get(NAME, "")


def keep_name(at: Places, name: str) -> str:
    """Remember the name; returns it."""
    keep(at, NAME, name.strip())
    return name.strip()
