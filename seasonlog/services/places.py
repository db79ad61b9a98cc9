"""Where the log, the device key and the settings live: the platform's folder, or the one `SEASONLOG_HOME` names.

Nothing is written outside it except files named in options.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

LOG_NAME = "seasonlog.db"


@dataclass(frozen=True, slots=True)
class Places:
    """The paths of one installation."""

    log: Path
    """The log file."""

    @property
    def home(self) -> Path:
        """The folder that holds everything."""
        return self.log.parent

    @property
    def keys(self) -> Path:
        """The device's private keys."""
        return self.home / "keys"

    @property
    def settings(self) -> Path:
        """Name of the person, theme and the like."""
        return self.home / "settings.toml"

    @property
    def attachments(self) -> Path:
        """Photos and sound clips, each named by the hash that a signed line holds."""
        return self.home / "attachments"

    @property
    def details(self) -> Path:
        """Contact details, kept the same way; never in a bundle unless asked for."""
        return self.home / "details"

    @property
    def hub(self) -> Path:
        """The way to the shared log, one file a log."""
        return self.home / "hub"

    @property
    def checklists(self) -> Path:
        """The user's own checklists."""
        return self.home / "checklists"


def places(environ: Mapping[str, str], log: Path | None = None) -> Places:
    """The paths to use.

    Args:
        environ: The process environment.
        log: A log named in an option; its folder then holds the keys and settings too.
    """
    if log is not None:
        return Places(log)
    home = environ.get("SEASONLOG_HOME")
    return Places((Path(home) if home else _platform_home()) / LOG_NAME)


def _platform_home() -> Path:
    from platformdirs import user_data_path

    return user_data_path("seasonlog", appauthor=False)
