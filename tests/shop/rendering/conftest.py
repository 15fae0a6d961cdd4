"""A listener that counts connections, and the parts of a fetcher on folders of the test."""

from __future__ import annotations

import socket
import threading
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from tests.shop.services.racing import joined

# The smallest PNG there is: one black pixel.
PIXEL = bytes.fromhex(
    "89504e470d0a1a0a0000000d4948445200000001000000010800000000"
    "3a7e9b550000000a49444154789c63600000000200015e7ec3a0000000"
    "0049454e44ae426082"
)


@dataclass
class Listener:
    port: int
    connections: list[str] = field(default_factory=list)


@pytest.fixture
def listener() -> Iterator[Listener]:
    """Answer every connection with a small web page, and remember that it came."""
    with socket.create_server(("127.0.0.1", 0)) as server:
        found = Listener(server.getsockname()[1])

        def serve() -> None:
            while True:
                try:
                    connection, _ = server.accept()
                except OSError:
                    return
                with connection:
                    found.connections.append(connection.recv(4096).decode("latin-1"))
                    connection.sendall(b"HTTP/1.0 200 OK\r\nContent-Type: text/css\r\n\r\n")

        thread = threading.Thread(target=serve, daemon=True)
        thread.start()
        try:
            yield found
        finally:
            server.shutdown(socket.SHUT_RDWR)
    joined([thread])


@pytest.fixture
def static_root(tmp_path: Path) -> Path:
    root = tmp_path / "static"
    (root / "css").mkdir(parents=True)
    (root / "css" / "print.css").write_text("p { color: #123456 }")
    (root / "pixel.png").write_bytes(PIXEL)
    (root / "notes.txt").write_text("not an asset of a paper")
    return root
