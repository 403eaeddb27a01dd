"""A line to a server that can be cut at the moment when a change is committed, or frozen."""

from __future__ import annotations

import contextlib
import socket
import threading
from typing import Literal

Cut = Literal["", "before", "after", "freeze"]


class Line:
    """Passes bytes on between programs and a server on loopback.

    ``cut``: "before" breaks the line where the next COMMIT would pass, "after" lets the server
    do it and loses its answer; either once. "freeze" lets nothing pass any more.
    """

    def __init__(self, port: int) -> None:
        self._server = port
        self._door = socket.create_server(("127.0.0.1", 0))
        self.port = self._door.getsockname()[1]
        self.cut: Cut = ""
        self._open: list[socket.socket] = [self._door]
        threading.Thread(target=self._accept, daemon=True).start()

    def close(self) -> None:
        """Let nobody in any more, and nothing pass."""
        for each in self._open:
            with contextlib.suppress(OSError):
                each.shutdown(socket.SHUT_RDWR)
            each.close()

    def _accept(self) -> None:
        with contextlib.suppress(OSError):
            while True:
                near, _ = self._door.accept()
                self._open.append(near)
                try:
                    far = socket.create_connection(("127.0.0.1", self._server))
                except OSError:  # the server is down: so is the line
                    near.shutdown(socket.SHUT_RDWR)
                    continue
                self._open.append(far)
                for ends in ((near, far), (far, near)):
                    threading.Thread(target=self._pass, args=(*ends, near), daemon=True).start()

    def _pass(self, source: socket.socket, target: socket.socket, near: socket.socket) -> None:
        with contextlib.suppress(OSError):
            while data := source.recv(65536):
                if self.cut == "freeze":
                    continue
                if source is near and b"COMMIT\0" in data and self.cut:
                    self._break(data, source, target)
                    return
                target.sendall(data)
        for each in (source, target):
            with contextlib.suppress(OSError):
                each.shutdown(socket.SHUT_RDWR)

    def _break(self, data: bytes, near: socket.socket, far: socket.socket) -> None:
        cut, self.cut = self.cut, ""
        # The one who asked hears nothing more; the server ends its side once it has answered.
        near.shutdown(socket.SHUT_RDWR)
        if cut == "after":
            far.sendall(data)
        far.shutdown(socket.SHUT_WR)
