"""Keys, menu and help from one list: the bindings. What has a key has an entry in the menu and a line in the help."""

from collections.abc import Callable, Iterator
from functools import partial

from textual.app import App, SystemCommand
from textual.binding import Binding
from textual.screen import Screen


def bindings_of(owner: type) -> list[Binding]:
    """The bindings that our own classes declare, the most special class first, each action once."""
    found: dict[str, Binding] = {}
    for each in owner.__mro__:
        if each.__module__.startswith("seasonlog."):
            for binding in each.__dict__.get("BINDINGS", ()):
                if isinstance(binding, Binding):
                    found.setdefault(binding.action, binding)
    return list(found.values())


def menu_of(app: App[None], screen: Screen[object]) -> Iterator[SystemCommand]:
    """The menu: what this screen can do, then what all can. Menus read texts as markup: no square brackets here."""
    for node in (screen, app):
        for binding in bindings_of(type(node)):
            if node.check_action(*_split(binding.action)) is not False:
                keys = app.get_key_display(binding)
                yield SystemCommand(
                    binding.description, f"{binding.tooltip} (key {keys})", _caller(node, binding.action)
                )


def _caller(node: Screen[object] | App[None], action: str) -> Callable[[], None]:
    return partial(_run, node, action)


def _run(node: Screen[object] | App[None], action: str) -> None:
    node.call_later(node.run_action, action)


def _split(action: str) -> tuple[str, tuple[object, ...]]:
    name, _, rest = action.partition("(")
    return name, tuple(part.strip() for part in rest.rstrip(")").split(",") if part)
