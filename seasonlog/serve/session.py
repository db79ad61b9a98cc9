"""One browser session: a process of the app for one log, its keys and its screen."""

import asyncio
import contextlib
import json
import sys
from asyncio.subprocess import PIPE, Process
from collections.abc import Awaitable, Callable, Sequence

from textual_serve.app_service import AppService
from textual_serve.download_manager import DownloadManager

from seasonlog.domain.text import visible

BEGUN = b"__GANGLION__\n"
"""The line by which Textual's web driver says that packets follow."""
QUIT_SECONDS = 5.0
"""How long an app may take to close its log before it is ended."""


class AppSession(AppService):
    """A process started without a shell; when it ends at once, its last sentence is kept for the person."""

    def __init__(
        self,
        argv: Sequence[str],
        *,
        write_bytes: Callable[[bytes], Awaitable[None]],
        write_str: Callable[[str], Awaitable[None]],
        close: Callable[[], Awaitable[object]],
        downloads: DownloadManager,
    ) -> None:
        async def closed() -> None:
            await close()

        super().__init__(
            argv[0], write_bytes=write_bytes, write_str=write_str, close=closed, download_manager=downloads
        )
        self._argv = list(argv)
        self.last_words = ""
        """What the process said last beside the screen."""

    async def _open_app_process(self, width: int = 80, height: int = 24) -> Process:
        self._process = await asyncio.create_subprocess_exec(
            *self._argv,
            stdin=PIPE,
            stdout=PIPE,
            stderr=PIPE,
            env=self._build_environment(width=width, height=height),
            start_new_session=sys.platform != "win32",
        )
        self._stdin = self._process.stdin
        return self._process

    async def run(self) -> None:
        """Carry packets to the browser until the process ends."""
        process = self._process
        if process is None or process.stdout is None or process.stderr is None:
            return
        words = asyncio.create_task(self._listen(process.stderr))
        with contextlib.suppress(asyncio.IncompleteReadError, ConnectionError):
            if await self._begins(process.stdout):
                await self._carry(process.stdout)
        code = await process.wait()
        await words
        with contextlib.suppress(ConnectionError, RuntimeError):  # the browser may be gone
            if code:
                await self.remote_write_str(json.dumps(["said", self.last_words]))
            await self.remote_close()

    async def _begins(self, stdout: asyncio.StreamReader) -> bool:
        while line := await stdout.readline():
            if line == BEGUN:
                return True
        return False

    async def _carry(self, stdout: asyncio.StreamReader) -> None:
        carriers = {b"D": self.on_data, b"M": self.on_meta, b"P": self.on_packed}
        while True:
            kind = await stdout.readexactly(1)
            payload = await stdout.readexactly(int.from_bytes(await stdout.readexactly(4), "big"))
            await carriers[kind](payload)

    async def _listen(self, stderr: asyncio.StreamReader) -> None:
        while line := await stderr.readline():
            text = visible(line.decode("utf-8", "replace").strip().removeprefix("seasonlog: "))
            self.last_words = text or self.last_words

    async def stop(self) -> None:
        """Ask the app to close; end it when it does not. What it saved is on the disk already."""
        task, process = self._task, self._process
        self._task = None
        if task is None or process is None:
            return
        await self._download_manager.cancel_app_downloads(app_service_id=self.app_service_id)
        await self.send_meta({"type": "quit"})
        for end in (process.terminate, process.kill, task.cancel):
            done, _ = await asyncio.wait({task}, timeout=QUIT_SECONDS)
            if done:
                break
            with contextlib.suppress(ProcessLookupError):
                end()
