"""What is missing, in one sentence with the way to get it."""

from importlib import import_module, util
from types import ModuleType

from seasonlog.errors import UsageError

ADD_IT = 'pip install "seasonlog[voice]"'
"""How the extra is added."""


class VoiceMissingError(UsageError):
    """A package, a model or a device that voice needs is not there. Carries the sentence that says what to do."""


def needed(module: str, purpose: str) -> ModuleType:
    """Import an optional package.

    Args:
        module: Its name.
        purpose: What it is for: the subject of the sentence when it is missing.

    Raises:
        VoiceMissingError: it is not installed, or a part of the system that it needs is not.
    """
    try:
        return import_module(module)
    except ImportError:
        raise VoiceMissingError(f"{purpose} needs the extra: {ADD_IT}.") from None
    except OSError as error:
        raise VoiceMissingError(f"{purpose} needs a library of the system: {error}.") from None


def is_installed(module: str) -> bool:
    """Whether a package can be imported; it is not imported for that."""
    return util.find_spec(module) is not None
