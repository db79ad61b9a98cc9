"""A link that breaks: passes bytes on and cuts both ends after so many of the client's, or of the server's."""

import selectors
import socket
import threading
from types import TracebackType
from typing import Self


class CuttingLink:
    """Listens on a loopback port of its own; each connection is cut after `limit` bytes that went one way.

    Args:
        port: The server's.
        up: Count the client's bytes, else the server's: a cut before the answer leaves the client in doubt.
    """

    def __init__(self, port: int, limit: int, *, up: bool = True) -> None:
        self._server, self._limit, self._up = port, limit, up
        self._listener = socket.create_server(("127.0.0.1", 0))
        self._listener.settimeout(0.01)
        self.port: int = self._listener.getsockname()[1]
        self.cuts = 0
        self.carried = 0
        """Counted bytes of the last connection."""
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._serve)

    def _serve(self) -> None:
        while not self._stop.is_set():
            try:
                client, _ = self._listener.accept()
            except TimeoutError:
                continue
            with client, socket.create_connection(("127.0.0.1", self._server)) as server:
                self._carry(client, server)

    def _carry(self, client: socket.socket, server: socket.socket) -> None:
        left = self._limit
        with selectors.DefaultSelector() as ready:
            ready.register(client, selectors.EVENT_READ, server)
            ready.register(server, selectors.EVENT_READ, client)
            while not self._stop.is_set():
                for key, _ in ready.select(0.02):
                    source, sink = key.fileobj, key.data
                    assert isinstance(source, socket.socket)
                    counted = (source is client) == self._up
                    try:
                        data = source.recv(min(65536, max(left, 1)) if counted else 65536)
                        if not data:
                            return
                        if counted and len(data) >= left:
                            sink.sendall(data[:left])
                            self.cuts += 1
                            return
                        sink.sendall(data)
                    except OSError:
                        return
                    left -= len(data) if counted else 0
                    self.carried = self._limit - left

    def __enter__(self) -> Self:
        self._thread.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._stop.set()
        self._thread.join()
        self._listener.close()
