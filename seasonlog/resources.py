"""The one finder of packed files: checklists and sample sites.

A wheel carries them inside the package; a checkout has them beside it, so that edits are seen live.
"""

from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path


def _folder(packed: str, beside: str) -> Traversable:
    inside = files("seasonlog") / packed
    return inside if inside.is_dir() else Path(__file__).parent.parent / beside


def checklists() -> Traversable:
    """Folder of the shipped checklists (`*.toml`) and of the table of limits."""
    return _folder("_checklists", "checklists")


def sample_sites() -> Traversable:
    """Folder of the invented sites used by the demo, the docs and the tests."""
    return _folder("_sample_sites", "sample_sites")
