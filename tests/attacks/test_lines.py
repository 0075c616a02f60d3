"""A10 and A12: line breaks and escapes in what reaches a header of a letter, a header of an answer, or a line of the log."""

import logging.config
import re
import sys
from email import message_from_bytes
from email.message import EmailMessage
from email.policy import default
from typing import Any

import pytest
from django.conf import settings
from django.test import Client
from django.test.utils import override_settings

from shop.post.actions import send_waiting
from shop.post.models import Letter
from shop.web.apps import OneLine
from shop.workshop.models import Workshop
from tests.attacks.test_secrets import Told
from tests.conftest import Api, House
from tests.photographs import encoded, upload
from tests.servers import SmtpSink
from tests.servers import smtp_sink as smtp_sink

BREAKS = [
    "\r\n",
    "\n",
    "\r",
    "%0d%0a",
    "\u2028",
    "\u2029",
    "\x85",
    "\0",
    "\x0b",
    "\x0c",
    "\x1b[2K",
    "=?utf-8?q?=0A?=",
]
BCC = "Bcc: all@elsewhere.example"
HEADERS = {
    "From", "To", "Subject", "Date", "Message-ID", "Auto-Submitted", "Content-Type", "Content-Transfer-Encoding",
    "MIME-Version", "X-Auto-Response-Suppress",
}  # fmt: skip


def parsed(row: Letter) -> EmailMessage:
    return message_from_bytes(bytes(row.body), policy=default)


@pytest.mark.parametrize("at", BREAKS, ids=ascii)
def test_it_works(house: House, api: dict[str, Api], smtp_sink: SmtpSink, at: str) -> None:
    """Every field that reaches a letter: refused with 400, or carried with one recipient and our own headers only."""
    evil = f"Ada{at}{BCC}{at}{at}<b>"
    address = f"ada@aldermouth.example{at}{BCC}"
    told: dict[str, Any] = {"name": evil, "roles": ["counter"]}
    asked = [
        api["lead"].post("invitations", told | {"email": "ada@aldermouth.example"}),
        api["lead"].post("invitations", told | {"name": "Bo", "email": address}),
        api["lead"].post("invitations", told | {"name": "Bo", "email": f"ada{at}@aldermouth.example"}),
        api["counter"].post("customers", {"kind": "person", "name": evil, "email": "ada@example.org"}),
        api["counter"].post("customers", {"kind": "person", "name": "Bo", "email": address}),
        Client().post("/forgotten-password", {"email": address}),
    ]
    Workshop.objects.update(name=evil.replace("\0", "")[:120])  # no page changes it; a command may
    Client().post("/forgotten-password", {"email": "counter@aldermouth.example"})

    assert {each.status_code for each in asked} <= {200, 201, 400}
    assert [asked[n].status_code for n in (1, 4, 5)] == [400, 400, 400]
    letters = [parsed(row) for row in Letter.objects.all()]
    assert letters
    for letter in letters:
        assert set(letter.keys()) == HEADERS
        assert len(letter["To"].addresses) == 1
        assert not re.search(r"[\r\n]", letter["Subject"])
    with override_settings(SMTP=Url(smtp_sink.url)):
        assert send_waiting() == len(letters)
    assert {str(each["To"]) for each in smtp_sink.letters} <= {
        "counter@aldermouth.example", "ada@aldermouth.example", f"ada{at}@aldermouth.example",
    }  # fmt: skip


class Url:
    """A mail server's address as the settings hold it."""

    def __init__(self, url: str):
        self.hostname, self.port = url.removeprefix("smtp://").split(":")[0], int(url.rpartition(":")[2])


@pytest.mark.parametrize("at", BREAKS, ids=ascii)
def test_it_puts_nothing_typed_into_a_header_of_an_answer(
    house: House, pages: dict[str, Client], at: str
) -> None:
    evil, client = f"a{at}Set-Cookie: session=x", pages["lead"]
    item = house.item(serial="S")
    answers = [
        client.get("/find", {"q": evil}),
        client.get("/nothing/" + evil),
        client.post("/customers/new", {"kind": "person", "name": evil, "once": evil, "seen": evil}),
        client.get("/store", headers={"If-None-Match": "x", "Accept-Language": "x"}),
        client.post(
            f"/items/{item.uid}/photographs/new",
            {"photograph": upload(encoded(), name=evil), "words": "w", "once": "k"},
        ),
    ]  # fmt: skip

    assert answers[-1].status_code in (302, 400), "the name of the file reached its form"
    for answer in answers:
        assert answer.status_code < 500
        assert all(not re.search(r"[\r\n\0]", value) for _, value in answer.items())
        assert not any(cookie.value == "x" for cookie in answer.cookies.values())


def test_it_logs_no_private_link() -> None:
    """A near miss, as Django logs it, and one in a traceback."""
    try:
        raise ValueError("https://w.example/answer/s3cret-_x is odd")
    except ValueError:
        given = {"msg": "Not Found: %s", "args": ("/answer/s3cret-_x/nothing",), "exc_info": sys.exc_info()}
    line = OneLine("%(message)s").format(logging.makeLogRecord(given))

    assert line.startswith("Not Found: /answer/…/nothing")
    assert "https://w.example/answer/… is odd" in line
    assert "s3cret" not in line


def test_it_writes_one_line_of_the_log_for_each_event(house: House, pages: dict[str, Client]) -> None:
    """As the house's own handler writes it; what is typed can neither begin a line nor move the cursor."""
    handler, client = Told(), pages["lead"]
    given: Any = settings.LOGGING
    configure: Any = logging.config.DictConfigurator(given)
    handler.setFormatter(configure.configure_formatter(dict(given["formatters"]["line"])))
    logging.getLogger().addHandler(handler)
    try:
        for at in BREAKS:
            evil = f"x{at}2026-01-01 00:00:00,000 CRITICAL shop.staff forged"
            client.get("/nothing/" + evil)
            client.get("/store", {"q": evil}, headers={"Host": evil.replace("\0", "")})
            Client().post("/sign-in", {"username": evil, "password": evil})
            client.generic("DELETE", "/store/" + evil)
            client.generic(re.sub(r"\W", "", evil)[:20], "/store")
            for logger in ("shop.x", "jobs.x", "django.x", "celery"):
                logging.getLogger(logger).warning("said %s", evil)
    finally:
        logging.getLogger().removeHandler(handler)

    assert len(handler.lines) > 4 * len(BREAKS)
    line = re.compile(
        r"\d{4}-\d\d-\d\d \d\d:\d\d:\d\d,\d{3} (WARNING|ERROR|INFO) [\w.]+ [^\x00-\x1f\x7f-\x9f\u2028\u2029]*"
    )
    assert [said for said in handler.lines if not line.fullmatch(said)] == []
