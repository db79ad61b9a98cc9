"""A power cut, simulated under SQLite: what was not synced may be there, in part, or not at all.

A shim over the system's file layer keeps, for every file, its bytes as of the last sync and the writes since. At the
cut the disk holds the synced bytes plus a random subset of the later 512-byte sectors, as in SQLite's own crash tests.
Not modelled: directory syncs (creating, renaming and deleting count as durable at once).
"""

import random
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import apsw

SECTOR = 512


class PowerCutError(Exception):
    """Nothing after this reaches the disk."""


class Disk:
    """What would be found after the cut."""

    def __init__(self) -> None:
        self.synced: dict[str, bytes] = {}
        self.since: dict[str, list[tuple[int, bytes] | int]] = {}
        self.operations = 0
        self.cut_at: int | None = None

    def tick(self) -> None:
        """One write or sync; the cut comes at the chosen one."""
        self.operations += 1
        if self.cut_at is not None and self.operations >= self.cut_at:
            raise PowerCutError

    def found(self, chance: random.Random) -> dict[str, bytes]:
        """The files as they are found when the power is back."""
        return {name: self._found(name, chance) for name in self.synced}

    def _found(self, name: str, chance: random.Random) -> bytes:
        data = bytearray(self.synced[name])
        for change in self.since[name]:
            if isinstance(change, int):
                if chance.random() < 0.5:
                    del data[change:]
                continue
            for offset, piece in _sectors(*change):
                if chance.random() < 0.5:
                    data.extend(bytes(max(0, offset + len(piece) - len(data))))
                    data[offset : offset + len(piece)] = piece
        return bytes(data)


def _sectors(offset: int, data: bytes) -> Iterator[tuple[int, bytes]]:
    at = 0
    while at < len(data):
        length = min(len(data) - at, SECTOR - (offset + at) % SECTOR)
        yield offset + at, data[at : at + length]
        at += length


class CrashFile(apsw.VFSFile):
    """A real file whose writes are remembered until they are synced."""

    def __init__(self, disk: Disk, name: Any, flags: list[int]) -> None:
        super().__init__("", name, flags)
        self.disk = disk
        self.path = name.filename() if isinstance(name, apsw.URIFilename) else str(name)
        if self.path not in disk.synced:
            disk.synced[self.path] = Path(self.path).read_bytes() if Path(self.path).exists() else b""
            disk.since[self.path] = []

    def xWrite(self, data: bytes, offset: int) -> None:  # noqa: N802  (SQLite's name)
        self.disk.tick()
        self.disk.since[self.path].append((offset, bytes(data)))
        super().xWrite(data, offset)

    def xTruncate(self, size: int) -> None:  # noqa: N802
        self.disk.tick()
        self.disk.since[self.path].append(size)
        super().xTruncate(size)

    def xSync(self, flags: int) -> None:  # noqa: N802
        self.disk.tick()
        super().xSync(flags)
        self.disk.synced[self.path] = Path(self.path).read_bytes()
        self.disk.since[self.path] = []


class CrashVFS(apsw.VFS):
    """The system's file layer with `CrashFile` for the files that must survive."""

    def __init__(self, disk: Disk, name: str) -> None:
        self.disk = disk
        super().__init__(name, "")

    def xOpen(self, name: Any, flags: list[int]) -> apsw.VFSFile:  # noqa: N802
        return CrashFile(self.disk, name, flags)

    def xDelete(self, name: str, sync_dir: bool) -> None:  # noqa: N802
        self.disk.synced.pop(name, None)
        self.disk.since.pop(name, None)
        super().xDelete(name, sync_dir)


class Cursor:
    """What the store asks of a cursor, on top of apsw's."""

    def __init__(self, connection: apsw.Connection, rows: list[Any]) -> None:
        self._rows = iter(rows)
        self.lastrowid = connection.last_insert_rowid()

    def fetchone(self) -> Any:
        return next(self._rows, None)

    def fetchall(self) -> list[Any]:
        return list(self._rows)

    def __iter__(self) -> Iterator[Any]:
        return self._rows


class Connection:
    """What the store asks of a connection, on top of apsw's, so that the real writer runs over the simulated disk."""

    def __init__(self, path: Path, vfs: str) -> None:
        self._connection = apsw.Connection(str(path), vfs=vfs)

    def execute(self, sql: str, values: Any = ()) -> Cursor:
        return Cursor(self._connection, list(self._connection.execute(sql, values)))

    def close(self) -> None:
        self._connection.close(True)
