"""Letters that are kept back: addresses that do not exist, letters that a person stops and lets go again."""

from typing import Any
from urllib.parse import urlsplit

import pytest

from shop.customers.actions import add_customer
from shop.customers.models import Customer
from shop.journal.models import Entry
from shop.outbox.actions import lift_address, send_again, stop_letter
from shop.outbox.rules import again_refusals, stop_refusals
from shop.post.actions import send_waiting, suppress
from shop.post.models import Letter, Suppressed
from shop.post.rules import Purpose, State
from shop.staff.models import Person
from shop.workshop.rules import Refused
from tests.conftest import House
from tests.post.test_sending import due_now, write
from tests.rows import nothing_changes
from tests.servers import SmtpSink

MAJA = "maja@lindqvist.example"


@pytest.fixture
def sink(db: None, settings: Any, smtp_sink: SmtpSink) -> SmtpSink:
    """Letters go to a mail server of the test's own."""
    settings.SMTP = urlsplit(smtp_sink.url)
    return smtp_sink


def the_row() -> Letter:
    return Letter.objects.latest("pk")


@pytest.mark.parametrize(
    ("reply", "gone"),
    [
        # RFC 3463, 3.2 and RFC 7505, 4.2: these say that the recipient's address is bad.
        ("550 5.1.1 no such user", True),
        ("550 5.1.2 no such host", True),
        ("501 5.1.3 bad syntax", True),
        ("551 5.1.6 moved", True),
        ("556 5.1.10 takes no mail", True),
        # These do not: our own address, a full mailbox, a policy; RFC 5321, 4.2.3: a plain 550 may be any of them.
        ("550 5.1.7 bad sender", False),
        ("550 5.1.8 bad sender's host", False),
        ("552 5.2.2 full", False),
        ("550 5.7.1 not wanted", False),
        ("550 5.1.11 unknown", False),
        ("550 no such user", False),
        ("450 5.1.1 odd", False),
        ("450 4.1.1 later", False),
    ],
)
def test_it_suppresses_an_address_that_the_server_says_is_none(
    sink: SmtpSink, reply: str, gone: bool
) -> None:
    sink.recipients = {MAJA: reply}
    write()

    assert send_waiting() == 0

    assert Suppressed.objects.exists() is gone
    assert the_row().state == ("retry" if reply.startswith("4") else "failed")
    assert reply in the_row().error


def test_it_goes_again_once_lifted_and_only_on_a_persons_word(
    sink: SmtpSink, people: dict[str, Person]
) -> None:
    lead = people["lead"]
    write(purpose=Purpose.READY)
    row = suppress(address=" MAJA@lindqvist.example", why="It\r\ncame back.", by="p1")
    assert row is not None
    assert (row.address, row.why, the_row().state) == (MAJA, "It came back.", "suppressed")
    assert suppress(address=MAJA, why="Again.", by="p1") is None
    with nothing_changes(), pytest.raises(Refused, match="Lift that first"):
        send_again(by=lead, letter=the_row())

    lift_address(by=lead, suppressed=row)
    with nothing_changes(), pytest.raises(Refused, match="already"):
        lift_address(by=lead, suppressed=row)
    assert send_waiting() == 0
    send_again(by=lead, letter=the_row())

    assert send_waiting() == 1
    assert len(sink.letters) == 1
    assert suppress(address=MAJA, why="Once more.", by="p1") is not None
    chain = Entry.objects.filter(subject=f"suppressed:{row.uid}").values_list("verb", "by")
    assert list(chain.order_by("n")) == [("address suppressed", "p1"), ("address lifted", str(lead.uid))]


def test_it_keeps_a_stopped_letter_back(sink: SmtpSink, people: dict[str, Person]) -> None:
    lead = people["lead"]
    write(purpose=Purpose.READY)
    stop_letter(by=lead, letter=the_row())
    due_now()

    assert send_waiting() == 0
    with nothing_changes(), pytest.raises(Refused, match="stopped"):
        stop_letter(by=lead, letter=the_row())

    send_again(by=lead, letter=the_row())
    assert send_waiting() == 1
    assert the_row().state == "sent"
    with nothing_changes(), pytest.raises(Refused, match="this one is sent"):
        send_again(by=lead, letter=the_row())


def test_it_sends_an_uncertain_letter_again_with_the_same_bytes(
    sink: SmtpSink, people: dict[str, Person]
) -> None:
    write(purpose=Purpose.READY)
    send_waiting()
    Letter.objects.update(state=State.UNCERTAIN, uncertain_before=True, attempts=2)

    send_again(by=people["lead"], letter=the_row())

    assert send_waiting() == 1
    assert (the_row().state, the_row().attempts) == ("sent", 3)
    assert sink.letters[0].as_bytes() == sink.letters[1].as_bytes()


def test_it_sends_no_reminder_again_to_who_wants_none(house: House) -> None:
    """Consent was withdrawn after it was written; the customer was merged into the one who is asked."""
    lead, kept = house.people["lead"], house.customer
    Customer.objects.filter(pk=kept.pk).update(reminders=False)
    given: Any = {"kind": "person", "name": "M. Lindqvist", "email": "", "phone": "", "reminders": True}
    other = add_customer(by=lead, **given)
    Customer.objects.filter(pk=other.pk).update(merged_into=kept)
    write(recipient=str(other.uid))
    stop_letter(by=lead, letter=the_row())

    with nothing_changes(), pytest.raises(Refused, match="wants none"):
        send_again(by=lead, letter=the_row())

    Customer.objects.filter(pk=kept.pk).update(reminders=True)
    assert send_again(by=lead, letter=the_row()).state == "new"


@pytest.mark.parametrize("state", State)
def test_it_knows_what_may_be_stopped_and_sent_again(state: State) -> None:
    assert (stop_refusals(state) == []) is (state in ("new", "retry"))
    again = state in ("failed", "uncertain", "suppressed", "stopped")
    assert (again_refusals(state, gone=False) == []) is again
    assert "suppressed" in [each.code for each in again_refusals(state, gone=True)]
    assert "unwanted" in [each.code for each in again_refusals(state, gone=False, wanted=False)]
