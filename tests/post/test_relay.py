"""The connection to the mail server: an envelope that goes before it is answered (RFC 2920), and what its refusal leaves behind."""

import smtplib
from dataclasses import dataclass, field
from typing import Any
from urllib.parse import urlsplit
from uuid import UUID, uuid4

import pytest

from shop.relay.actions import Relay, Unanswered
from tests.post.conftest import PIPELINING, WELL_BEHAVED, BadServer


@dataclass(frozen=True)
class Sealed:
    """A letter that is in no database."""

    address: str
    body: bytes
    envelope: str = "1.x"
    uid: UUID = field(default_factory=uuid4)


FIRST = Sealed("maja@lindqvist.example", b"Subject: 1\r\n\r\n.one\r\n")
SECOND = Sealed("ole@lindqvist.example", b"Subject: 2\r\n\r\ntwo\r\n")


@pytest.fixture(params=[PIPELINING, WELL_BEHAVED["EHLO"]], ids=["at once", "one by one"])
def bad(request: Any, settings: Any, bad_server: BadServer) -> BadServer:
    settings.SMTP = urlsplit(bad_server.url)
    bad_server.replies["EHLO"] = request.param
    return bad_server


def said(relay: Relay, sealed: Sealed) -> str:
    """What becomes of a letter that was announced: the name of the exception, or nothing."""
    assert relay.away() == ""
    relay.announce(sealed)
    try:
        relay.hand_over(sealed)
    except (smtplib.SMTPException, Unanswered, ValueError) as error:
        return type(error).__name__
    return ""


def test_it_works(bad: BadServer) -> None:
    """Both over one connection, a leading dot doubled as RFC 5321, 4.5.2 asks."""
    with Relay() as relay:
        assert (said(relay, FIRST), said(relay, SECOND)) == ("", "")

    assert bad.bodies == [FIRST.body.replace(b".one", b"..one"), SECOND.body]
    assert bad.connections == 1


@pytest.mark.parametrize("lax", [False, True])
@pytest.mark.parametrize(
    ("command", "reply", "error", "connections"),
    [
        ("MAIL", "550 not from there", "SMTPSenderRefused", 1),
        ("MAIL", "421 enough", "SMTPSenderRefused", 2),
        ("MAIL", None, "SMTPServerDisconnected", 2),
        ("RCPT", "550 gone", "SMTPRecipientsRefused", 1),
        ("RCPT", "421 enough", "SMTPRecipientsRefused", 2),
        ("RCPT", None, "SMTPServerDisconnected", 2),
        ("DATA", "451 later", "SMTPDataError", 1),
        ("DATA", "250 no letters", "SMTPDataError", 1),
        ("DATA", "421 enough", "SMTPDataError", 2),
        ("DATA", None, "SMTPServerDisconnected", 2),
        ("end", "554 refused", "SMTPDataError", 1),
        ("end", "what?", "Unanswered", 2),
        ("end", None, "Unanswered", 2),
    ],
)
def test_it_keeps_the_replies_to_one_letter_apart_from_the_next(
    bad: BadServer, command: str, reply: str | None, error: str, connections: int, lax: bool
) -> None:
    """Nothing that was sent too early is left over, and no letter to nobody has text."""
    bad.replies[command], bad.lax = reply, lax
    with Relay() as relay:
        assert said(relay, FIRST) == error
        bad.replies[command] = WELL_BEHAVED[command]
        assert said(relay, SECOND) == ""

    taken = [body for body in bad.bodies if body]
    assert taken[-1] == SECOND.body
    assert len(taken) == (2 if command == "end" else 1)
    assert bad.connections == connections


def test_it_lets_an_announced_letter_go_unsent(bad: BadServer) -> None:
    """Its row was somebody else's by then: the server gets no text of it, and no farewell as its text."""
    with Relay() as relay:
        assert relay.away() == ""
        relay.announce(FIRST)
        assert said(relay, SECOND) == ""

    with Relay() as relay:
        assert relay.away() == ""
        relay.announce(FIRST)

    assert bad.bodies[:1] == [SECOND.body]
    assert not any(b"quit" in body.lower() for body in bad.bodies)


@pytest.mark.parametrize("tells", [True, False])
def test_it_gives_the_envelope_to_servers_that_offer_reports_alone(bad: BadServer, tells: bool) -> None:
    if tells:
        bad.replies["EHLO"] = "250-hello\r\n250 DSN"
    with Relay() as relay:
        assert said(relay, FIRST) == ""

    assert [b" ENVID=1.x\r\n" in line for line in bad.senders] == [tells]


@pytest.mark.parametrize("address", ['"\r\nDATA"@lindqvist.example', "mäja@lindqvist.example"])
def test_it_refuses_an_address_that_smtp_cannot_carry(bad: BadServer, address: str) -> None:
    with Relay() as relay:
        assert said(relay, Sealed(address, b"x")) in ("ValueError", "UnicodeEncodeError")

    assert bad.bodies == []
