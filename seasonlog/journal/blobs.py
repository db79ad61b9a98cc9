"""Bytes that lie beside the log and outside every signed line: photos, sound clips, contact details.

A file holds the content and behind it 32 random bytes, the salt; its name is the SHA-256 of both, and that name is what
a signed line holds. Without the file nobody can find a short content, such as a telephone number, by trying: the salt
goes with the file. A viewer of pictures or sounds opens the file as it is, since such formats end before the salt.
Nothing here decides whether something may go; that is an entry first.
"""

import os
import re
import stat
from collections.abc import Callable, Sequence
from hashlib import sha256
from pathlib import Path

from seasonlog.errors import LogError
from seasonlog.journal.database import DamagedLogError, plain_errors
from seasonlog.journal.keys import sync_folder, write_private

SALT_BYTES = 32
MOST_AT_ONCE = 16
"""Files written side by side."""
MOST_BYTES = 25_000_000
"""Largest content that is kept: a photo of a telephone holds some 5 MB. By reasoning, no source."""
_NAME = re.compile(r"[0-9a-f]{64}", re.ASCII)
RandomBytes = Callable[[int], bytes]


def is_name(text: object) -> bool:
    """Whether it is the name of a kept file: 64 hex digits, so that no name can leave the folder."""
    return isinstance(text, str) and _NAME.fullmatch(text) is not None


class Blobs:
    """One folder of kept files."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        """Made when the first file is kept."""

    def put(self, content: bytes, random_bytes: RandomBytes) -> str:
        """Keep a content, once: durable when this returns. Returns its name.

        Args:
            content: At most `MOST_BYTES`.
            random_bytes: Source of the salt, `secrets.token_bytes` outside tests.

        Raises:
            LogError: too large, or the folder cannot be written.
        """
        if len(content) > MOST_BYTES:
            raise LogError(f"{len(content):,} bytes are more than the {MOST_BYTES:,} that are kept")
        return self._same(content) or self.take(content + random_bytes(SALT_BYTES))

    def take(self, kept: bytes, name: str | None = None) -> str:
        """Keep a file as another device holds it, content and salt. Returns its name.

        Args:
            kept: The whole file.
            name: What it must hash to; refused otherwise.

        Raises:
            LogError: it is not what its name says, too large, or the folder cannot be written.
        """
        found = sha256(kept).hexdigest()
        if name not in (None, found):
            raise LogError(f"kept file {str(name)[:64]} is not what its name says; it is not taken")
        if not SALT_BYTES <= len(kept) <= MOST_BYTES + SALT_BYTES:
            raise LogError(f"kept file {found[:16]} has {len(kept):,} bytes; {MOST_BYTES:,} are the most")
        if self._bytes(found) != kept:
            with plain_errors(self.folder):
                self.folder.mkdir(mode=0o700, parents=True, exist_ok=True)
                write_private(self.folder / found, kept)
        return found

    def take_all(self, kept: Sequence[bytes]) -> None:
        """Keep many files; a disk syncs several at once in hardly more time than one."""
        if kept:
            from concurrent.futures import ThreadPoolExecutor  # not on the start path

            with ThreadPoolExecutor(max_workers=MOST_AT_ONCE) as pool:
                list(pool.map(self.take, kept))

    def read(self, name: str) -> bytes | None:
        """The content, or None when the file is not here (discarded, or never brought).

        Raises:
            DamagedLogError: the file is not what its name says.
        """
        kept = self.kept(name)
        return None if kept is None else kept[:-SALT_BYTES]

    def kept(self, name: str) -> bytes | None:
        """The whole file, content and salt, to be packed for another device; None when it is not here.

        Raises:
            DamagedLogError: the file is not what its name says.
        """
        found = self._bytes(name)
        if found is not None and sha256(found).hexdigest() != name:
            raise DamagedLogError(f"{self.folder / name} is damaged: it is not what the log names; go back to a copy")
        return found

    def _bytes(self, name: str) -> bytes | None:
        if not is_name(name):
            return None
        with plain_errors(self.folder):
            try:
                descriptor = os.open(self.folder / name, _READ)
            except (FileNotFoundError, NotADirectoryError):
                return None
            with os.fdopen(descriptor, "rb") as file:
                if not stat.S_ISREG(os.fstat(descriptor).st_mode):
                    return None
                return file.read(MOST_BYTES + SALT_BYTES + 1)

    def names(self) -> frozenset[str]:
        """Every file that is here."""
        with plain_errors(self.folder):
            here = self.folder.iterdir() if self.folder.is_dir() else ()
            return frozenset(file.name for file in here if is_name(file.name))

    def discard(self, name: str) -> bool:
        """Remove a file, after the entry that says who and why; returns whether it was here."""
        if not is_name(name) or not (self.folder / name).is_file():
            return False
        with plain_errors(self.folder):
            (self.folder / name).unlink(missing_ok=True)
            sync_folder(self.folder)
        return True

    def _same(self, content: bytes) -> str:
        """The name of a file that holds this very content already; empty when none does."""
        wanted = len(content) + SALT_BYTES
        for name in sorted(self.names()):
            if (self.folder / name).stat().st_size == wanted and self.read(name) == content:
                return name
        return ""


_READ = os.O_RDONLY | sum(getattr(os, flag, 0) for flag in ("O_BINARY", "O_NOFOLLOW", "O_NONBLOCK"))
"""Never through a link, never waiting for a pipe."""
