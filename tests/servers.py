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
    """What the server accepted, in order; how it answers a letter, and some recipients (full SMTP reply lines)."""

    url: str
    answer: str = "250 accepted"
    letters: list[EmailMessage] = field(default_factory=list)
    recipients: dict[str, str] = field(default_factory=dict)

    async def handle_RCPT(
        self, _server: SMTP, _session: Session, envelope: Envelope, address: str, _options: list[str]
    ) -> str:
        """Take any recipient that has no answer of its own."""
        if address not in self.recipients:
            envelope.rcpt_tos.append(address)
        return self.recipients.get(address, "250 OK")

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
