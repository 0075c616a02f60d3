"""Mail servers of the test's own, well and badly behaved, and a database that threads share."""

import socketserver
from collections.abc import Callable, Iterator
from contextlib import suppress
from threading import Thread
from typing import Any

import pytest

from tests.servers import smtp_sink as smtp_sink
from tests.threads import real_database as real_database

WELL_BEHAVED = {
    "greeting": "220 ready", "EHLO": "250 hello", "HELO": "250 hello", "MAIL": "250 OK", "RCPT": "250 OK",
    "DATA": "354 go on", "end": "250 accepted", "RSET": "250 OK", "QUIT": "221 bye",
}  # fmt: skip
# RFC 2920: the envelope may come at once, before any of it is answered.
PIPELINING = "250-hello\r\n250 PIPELINING"


class BadServer(socketserver.ThreadingTCPServer):
    """Answers each command by `replies` ("end" is the end of a letter); None drops the connection instead.

    A letter to nobody is refused, unless `lax`: then it is asked for all the same.
    """

    lax = False

    allow_reuse_address = True
    daemon_threads = False  # closing waits for every conversation: none goes on alone

    def __init__(self) -> None:
        super().__init__(("127.0.0.1", 0), Conversation)
        self.replies: dict[str, str | None | Callable[[], str | None]] = dict(WELL_BEHAVED)
        self.bodies: list[bytes] = []
        self.senders: list[bytes] = []
        self.connections = 0
        self.url = f"smtp://127.0.0.1:{self.server_address[1]}"


class Conversation(socketserver.StreamRequestHandler):
    """One connection to a BadServer."""

    server: Any
    to_somebody = False

    def answered(self, command: str) -> bool:
        """Send the reply to a command; False when the connection is to be dropped."""
        reply = self.server.replies[command]
        said = reply() if callable(reply) else reply
        if command in ("MAIL", "RCPT"):
            self.to_somebody = command == "RCPT" and bool(said) and str(said).startswith("25")
        if said is not None:
            self.wfile.write(f"{said}\r\n".encode())
        return said is not None

    def handle(self) -> None:
        self.server.connections += 1
        with suppress(ConnectionError):
            self.converse()

    def converse(self) -> None:
        going = self.answered("greeting")
        while going and (line := self.rfile.readline()):
            command = line[:4].decode().upper()
            self.server.senders += [line] * (command == "MAIL")
            if command == "DATA" and not (self.to_somebody or self.server.lax):
                self.wfile.write(b"503 to nobody\r\n")
                continue
            going = self.answered(command)
            if command == "DATA" and self.server.replies["DATA"] == "354 go on":
                going = self.took_text() and self.answered("end")

    def took_text(self) -> bool:
        """Keep the lines up to a dot alone; False where the connection ends before it."""
        lines = []
        while (line := self.rfile.readline()) not in (b".\r\n", b""):
            lines.append(line)
        self.server.bodies += [b"".join(lines)] * bool(line)
        return bool(line)


@pytest.fixture
def bad_server() -> Iterator[BadServer]:
    """A listening server that behaves well until the test changes its replies."""
    with BadServer() as server:
        Thread(target=server.serve_forever, kwargs={"poll_interval": 0.05}, daemon=True).start()
        yield server
        server.shutdown()
