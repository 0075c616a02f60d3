"""A real SMTP server for the tests: listens on a free port, keeps what it accepts, refuses on request."""

import socket
from collections.abc import Iterator
from dataclasses import dataclass, field
from email import message_from_bytes, policy
from email.message import EmailMessage

import pytest
from aiosmtpd.controller import Controller
from aiosmtpd.smtp import SMTP, Envelope, Session


@dataclass
class SmtpSink:
    """What the server accepted, in order, and how it answers the next letter (a full SMTP reply line)."""

    url: str
    answer: str = "250 accepted"
    letters: list[EmailMessage] = field(default_factory=list)

    async def handle_DATA(self, _server: SMTP, _session: Session, envelope: Envelope) -> str:
        """Keep the letter when the answer accepts it."""
        if self.answer.startswith("2"):
            self.letters.append(message_from_bytes(envelope.original_content or b"", policy=policy.default))
        return self.answer


@pytest.fixture
def smtp_sink() -> Iterator[SmtpSink]:
    """A listening SMTP server of this test's own."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    sink = SmtpSink(url=f"smtp://127.0.0.1:{port}")
    controller = Controller(sink, hostname="127.0.0.1", port=port)
    controller.start()
    yield sink
    controller.stop()
