"""A mail server as a process of its own, which counts letters by Message-ID."""

from collections import Counter
from email.parser import BytesHeaderParser
from multiprocessing.connection import Connection

from aiosmtpd.controller import Controller
from aiosmtpd.smtp import SMTP, Envelope, Session


class Counts:
    """Takes letters and counts them by Message-ID."""

    def __init__(self) -> None:
        self.came: Counter[str] = Counter()

    async def handle_EHLO(
        self, _server: SMTP, session: Session, _envelope: Envelope, hostname: str, said: list[str]
    ) -> list[str]:
        """As mail servers in use do, it offers to take commands one after the other (RFC 2920)."""
        session.host_name = hostname
        return [*said[:-1], "250-PIPELINING", said[-1]]

    async def handle_DATA(self, _server: SMTP, _session: Session, envelope: Envelope) -> str:
        raw = bytes(envelope.original_content or b"")
        self.came[str(BytesHeaderParser().parsebytes(raw)["Message-ID"])] += 1
        return "250 accepted"


def sink(port: int, pipe: Connection) -> None:
    """A server that says what came when it is asked, until it is told to end."""
    counts = Counts()
    controller = Controller(counts, hostname="127.0.0.1", port=port)
    controller.start()
    pipe.send(Counter())
    while pipe.recv():
        pipe.send(counts.came)
        counts.came = Counter()
    controller.stop()
