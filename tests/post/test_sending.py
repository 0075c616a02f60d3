"""Letters: written once, never lost, at most two identical copies, under the faults of a real mail server."""

import socket
from email import message_from_bytes
from email.policy import default
from pathlib import Path
from threading import Event, Thread
from typing import Any
from urllib.parse import urlsplit

import pytest
from django.db import connections
from django.db.models.functions import Now

from shop.post.actions import send_waiting, write_letter
from shop.post.models import Letter
from shop.post.rules import LEASE, MOST_ATTEMPTS, Purpose
from tests.post.conftest import BadServer
from tests.servers import SmtpSink
from tests.threads import PATIENCE_S, together


def write(recipient: str = "customer-1", run: str = "2026-05-01", **more: Any) -> Letter | None:
    given = {"address": "maja@lindqvist.example", "purpose": Purpose.REMINDER, "subject": "Gear is due"}
    return write_letter(recipient=recipient, run=run, **(given | {"text": "Dear Maja – hello.\n"} | more))


def due_now() -> None:
    """Let the wait or the lease of every letter run out."""
    Letter.objects.update(due_at=Now() - LEASE)


@pytest.fixture
def folder(db: None, settings: Any, tmp_path: Path) -> Path:
    """Letters go into a folder of the test's own."""
    settings.SMTP, settings.LETTERS = None, tmp_path / "letters"
    return tmp_path / "letters"


@pytest.fixture
def sink(db: None, settings: Any, smtp_sink: SmtpSink) -> SmtpSink:
    """Letters go to a mail server of the test's own."""
    settings.SMTP = urlsplit(smtp_sink.url)
    return smtp_sink


@pytest.fixture
def bad(db: None, settings: Any, bad_server: BadServer) -> BadServer:
    """Letters go to a server that misbehaves on request."""
    settings.SMTP = urlsplit(bad_server.url)
    return bad_server


def sweeps(count: int) -> int:
    """How many letters went out in so many sweeps, each after every wait has run out."""
    sent = 0
    for _ in range(count):
        due_now()
        sent += send_waiting()
    return sent


def test_it_works(sink: SmtpSink) -> None:
    row = write()

    assert send_waiting() == 1

    (letter,) = sink.letters
    assert row is not None
    assert (letter["To"], letter["Subject"]) == ("maja@lindqvist.example", "Gear is due")
    assert letter["From"] == "workshop@aldermouth.example"
    assert letter["Message-ID"] == row.message_id == f"<{row.uid}@aldermouth.example>"
    assert letter["Auto-Submitted"] == "auto-generated"
    assert letter["Date"].datetime.tzinfo is not None
    assert letter.get_content().replace("\r\n", "\n") == "Dear Maja – hello.\n"
    row.refresh_from_db()
    assert (row.state, row.attempts, row.error) == ("sent", 1, "")
    assert row.sent_at is not None


def test_it_sends_nothing_twice(sink: SmtpSink) -> None:
    write()

    assert (send_waiting(), send_waiting()) == (1, 0)
    due_now()
    assert send_waiting() == 0
    assert len(sink.letters) == 1


def test_it_writes_one_letter_per_recipient_purpose_and_run(db: None) -> None:
    assert write() is not None
    assert write(text="Other words.") is None
    assert write(run="2026-05-02") is not None
    assert write(recipient="customer-2") is not None
    assert write(purpose=Purpose.SAFETY) is not None

    assert Letter.objects.count() == 4


def test_it_delivers_into_the_folder(folder: Path) -> None:
    row = write()

    assert send_waiting() == 1

    assert row is not None
    assert [path.name for path in folder.iterdir()] == [f"{row.uid}.eml"]
    content = (folder / f"{row.uid}.eml").read_bytes()
    assert content == bytes(Letter.objects.get().body)
    assert message_from_bytes(content, policy=default)["Message-ID"] == row.message_id


def test_it_tries_again_when_the_folder_cannot_be_written(folder: Path) -> None:
    folder.write_text("a file where the folder should be")
    write()

    assert send_waiting() == 0
    assert Letter.objects.get().state == "retry"

    folder.unlink()
    due_now()
    assert send_waiting() == 1


def test_it_gives_up_at_once_on_a_550(sink: SmtpSink) -> None:
    write()
    sink.answer = "550 no such mailbox"

    assert send_waiting() == 0

    row = Letter.objects.get()
    assert (row.state, row.attempts) == ("failed", 1)
    assert "550" in row.error
    assert "no such mailbox" in row.error
    sink.answer = "250 accepted"
    due_now()
    assert send_waiting() == 0
    assert sink.letters == []


def test_it_waits_after_a_451_and_then_sends_the_same_bytes(sink: SmtpSink) -> None:
    row = write()
    sink.answer = "451 greylisted"

    assert send_waiting() == 0
    assert Letter.objects.get().state == "retry"
    assert send_waiting() == 0, "it waits first"
    assert Letter.objects.get().attempts == 1

    sink.answer = "250 accepted"
    due_now()
    assert send_waiting() == 1
    assert row is not None
    assert [letter["Message-ID"] for letter in sink.letters] == [row.message_id]
    assert (Letter.objects.get().state, Letter.objects.get().attempts) == ("sent", 2)


def test_it_tries_again_when_nobody_listens(db: None, settings: Any) -> None:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    settings.SMTP = urlsplit(f"smtp://127.0.0.1:{port}")
    write()
    write(recipient="customer-2")

    assert send_waiting() == 0

    assert list(Letter.objects.order_by("pk").values_list("state", "attempts")) == [
        ("retry", 1),
        ("taken", 0),
    ]
    assert send_waiting() == 0, "nobody asks again within the minute"


def test_it_gives_up_after_the_last_attempt(sink: SmtpSink) -> None:
    write()
    Letter.objects.update(attempts=MOST_ATTEMPTS - 2)
    sink.answer = "451 greylisted"

    send_waiting()
    assert Letter.objects.get().state == "retry"
    due_now()
    send_waiting()

    assert (Letter.objects.get().state, Letter.objects.get().attempts) == ("failed", MOST_ATTEMPTS)


def test_it_goes_on_with_the_others_when_a_recipient_is_refused(sink: SmtpSink) -> None:
    sink.recipients = {"gone@lindqvist.example": "550 gone", "full@lindqvist.example": "452 mailbox full"}
    write(address="gone@lindqvist.example")
    write(recipient="customer-2", address="full@lindqvist.example")
    write(recipient="customer-3")

    assert send_waiting() == 1

    assert list(Letter.objects.order_by("pk").values_list("state", flat=True)) == ["failed", "retry", "sent"]
    assert [letter["To"] for letter in sink.letters] == ["maja@lindqvist.example"]


@pytest.mark.parametrize("address", ["maja@bücher.example", "mäja@lindqvist.example"])
def test_it_goes_on_with_the_others_past_an_address_that_smtp_cannot_carry(
    sink: SmtpSink, address: str
) -> None:
    write(address=address)
    write(recipient="customer-2")

    send_waiting()

    assert Letter.objects.get(recipient="customer-2").state == "sent"
    assert Letter.objects.get(recipient="customer-1").state in ("sent", "failed")


def test_it_waits_for_the_lease_of_a_letter_that_somebody_is_sending(sink: SmtpSink) -> None:
    write()
    Letter.objects.update(state="sending", due_at=Now() + LEASE)

    assert send_waiting() == 0
    assert Letter.objects.get().state == "sending"


def test_it_frees_a_letter_whose_sender_died_before_it_began(sink: SmtpSink) -> None:
    write()
    Letter.objects.update(state="taken", due_at=Now() - LEASE)

    assert send_waiting() == 1
    assert Letter.objects.get().uncertain_before is False


def test_it_sends_a_letter_found_in_sending_once_more_and_then_leaves_it_to_people(sink: SmtpSink) -> None:
    """The server may have had it before the sender died: a second copy at most, with the same bytes."""
    row = write()
    assert row is not None
    body = bytes(row.body)
    send_waiting()
    Letter.objects.update(state="sending", due_at=Now() - LEASE)  # died after the server's 250

    assert send_waiting() == 1
    Letter.objects.update(state="sending", due_at=Now() - LEASE)  # and again
    assert send_waiting() == 0

    assert Letter.objects.get().state == "uncertain"
    assert [letter["Message-ID"] for letter in sink.letters] == [row.message_id] * 2
    assert bytes(Letter.objects.get().body) == body
    assert sink.letters[0].as_bytes() == sink.letters[1].as_bytes()
    due_now()
    assert send_waiting() == 0
    assert len(sink.letters) == 2


@pytest.mark.parametrize("reply", [None, "what?", "354 go on and on"])
def test_it_sends_two_copies_at_most_when_the_server_takes_a_letter_and_does_not_say_so(
    bad: BadServer, reply: str | None
) -> None:
    write()
    bad.replies["end"] = reply

    assert send_waiting() == 0
    assert (Letter.objects.get().state, Letter.objects.get().uncertain_before) == ("retry", True)
    assert sweeps(5) == 0

    assert (Letter.objects.get().state, Letter.objects.get().attempts) == ("uncertain", 2)
    assert len(bad.bodies) == 2
    assert bad.bodies[0] == bad.bodies[1]


def test_it_leaves_a_letter_to_people_when_the_last_attempt_is_the_uncertain_one(bad: BadServer) -> None:
    write()
    Letter.objects.update(attempts=MOST_ATTEMPTS - 1)
    bad.replies["end"] = None

    assert sweeps(2) == 0

    assert (Letter.objects.get().state, len(bad.bodies)) == ("uncertain", 1)


@pytest.mark.parametrize("command", ["greeting", "EHLO", "MAIL", "RCPT"])
def test_it_goes_on_trying_when_the_connection_drops_before_the_letter(bad: BadServer, command: str) -> None:
    write()
    bad.replies |= {command: None, "HELO": None}

    assert sweeps(4) == 0

    row = Letter.objects.get()
    assert (row.state, row.attempts, row.uncertain_before) == ("retry", 4, False)
    assert bad.bodies == []
    bad.replies |= {command: "220 ready" if command == "greeting" else "250 OK"}
    assert sweeps(1) == 1


@pytest.mark.parametrize(
    ("command", "reply", "state"),
    [
        ("greeting", "554 not now", "retry"),
        ("EHLO", "550 not you", "retry"),
        ("MAIL", "550 not from there", "retry"),
        ("RCPT", "550 gone", "failed"),
        ("RCPT", "450 later", "retry"),
        ("DATA", "554 no letters", "failed"),
        ("DATA", "451 later", "retry"),
        ("end", "554 refused", "failed"),
        ("end", "452 full", "retry"),
    ],
)
@pytest.mark.parametrize("goodbye", ["221 bye", "421 gone already", None])
def test_it_takes_a_refusal_for_what_it_is_about(
    bad: BadServer, command: str, reply: str, state: str, goodbye: str | None
) -> None:
    write()
    bad.replies |= {command: reply, "HELO": "550 not you", "QUIT": goodbye}

    assert send_waiting() == 0

    row = Letter.objects.get()
    assert (row.state, row.attempts, row.uncertain_before) == (state, 1, False)
    assert reply[:3] in row.error


@pytest.mark.parametrize("accepted", ["250 accepted", "251 accepted for elsewhere"])
@pytest.mark.parametrize("goodbye", ["221 bye", "421 gone already", None])
def test_it_counts_a_letter_as_sent_however_the_server_says_goodbye(
    bad: BadServer, accepted: str, goodbye: str | None
) -> None:
    write()
    bad.replies |= {"end": accepted, "QUIT": goodbye}

    assert sweeps(3) == 1

    assert (Letter.objects.get().state, len(bad.bodies)) == ("sent", 1)


def test_it_keeps_the_second_senders_result_when_the_first_comes_late(
    real_database: None, bad: BadServer
) -> None:
    """The first sender outlives its lease: its late 550 must not stand over the 250 that the second one gets."""
    write()
    reached, answered = [Event(), Event()], [Event(), Event()]

    def end() -> str:
        nth = len(bad.bodies) - 1
        reached[nth].set()
        answered[nth].wait(PATIENCE_S)
        return ("550 refused", "250 accepted")[nth]

    def sender() -> None:
        send_waiting()
        connections.close_all()

    bad.replies["end"] = end
    senders = [Thread(target=sender, daemon=True) for _ in range(2)]
    for nth, each in enumerate(senders):
        due_now()
        each.start()
        assert reached[nth].wait(PATIENCE_S)
    for nth, each in enumerate(senders):
        answered[nth].set()
        each.join(PATIENCE_S)

    row = Letter.objects.get()
    assert (row.state, row.attempts, row.error) == ("sent", 2, "")


def test_it_sends_one_copy_when_six_send_at_once(
    real_database: None, settings: Any, smtp_sink: SmtpSink
) -> None:
    settings.SMTP = urlsplit(smtp_sink.url)
    for n in range(20):
        write(recipient=f"customer-{n}")

    sent = together(6, lambda _: send_waiting())

    assert sum(sent) == 20
    assert len({letter["Message-ID"] for letter in smtp_sink.letters}) == len(smtp_sink.letters) == 20
    assert set(Letter.objects.values_list("state", "attempts")) == {("sent", 1)}


def test_it_writes_one_letter_when_eight_write_it_at_once(real_database: None) -> None:
    written = together(8, lambda _: write())

    assert sum(row is not None for row in written) == 1
    assert Letter.objects.count() == 1
