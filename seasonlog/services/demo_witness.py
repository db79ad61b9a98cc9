"""A second laptop in the story: it takes a bundle in, stands for its checkpoints, and hands back its own."""

from collections.abc import Mapping
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from seasonlog.journal import trust_queries
from seasonlog.services import bundles, devices
from seasonlog.services.demo_history import Scene
from seasonlog.services.logbook import Logbook
from seasonlog.services.places import LOG_NAME, Places


def witness(scene: Scene, says: Mapping[str, Any], _tower: str) -> None:
    """The log goes to another laptop as a bundle and comes back: each then bears out how far the other's was."""
    book, name = scene.book, says["name"]
    with TemporaryDirectory(prefix="seasonlog-demo-") as folder:
        there = Places(Path(folder) / LOG_NAME)
        out = bundles.look(there, book.around, bundles.export(book).data, f"{name}, out")
        bundles.take(there, book.around, book.who, out)
        with Logbook.open(there, book.around, book.who, writing=True) as other:
            device, data = other.journal.device_id, bundles.export(other).data
    back = bundles.look(book.places, book.around, data, f"{name}, back", enrol=device)
    bundles.take(book.places, book.around, book.who, back, enrol=device, enrol_as=name)


def revoke(scene: Scene, says: Mapping[str, Any], _tower: str) -> None:
    """The laptop of that name is given back: what it writes from now on counts nowhere."""
    device = next(d.dev for d in trust_queries.devices(scene.book.db) if d.name == says["name"])
    devices.revoke(scene.book, device, says["because"])
