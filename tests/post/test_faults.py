"""The faults of a mail server over a batch: one connection is kept, no letter is lost, none goes twice, one keeps no other."""

from datetime import timedelta
from threading import Event
from typing import Any
from urllib.parse import urlsplit

import pytest
from django.db.models import F
from django.test import override_settings

from shop.post.actions import AT_ONCE, send_waiting
from shop.post.models import Letter
from shop.workshop import actions
from tests.post.conftest import PIPELINING, WELL_BEHAVED, BadServer
from tests.post.test_sending import due_now, write

HALF_A_MINUTE = timedelta(seconds=30)


@pytest.fixture
def bad(db: None, settings: Any, bad_server: BadServer) -> BadServer:
    """Letters go to a server that takes their envelopes at once, and misbehaves on request."""
    settings.SMTP = urlsplit(bad_server.url)
    bad_server.replies["EHLO"] = PIPELINING
    return bad_server


def several(count: int) -> None:
    for n in range(count):
        write(recipient=f"customer-{n}")


def states() -> set[tuple[str, int]]:
    return set(Letter.objects.values_list("state", "attempts"))


def test_it_works(bad: BadServer) -> None:
    """More letters than are taken at once, and one refused among them, over one connection."""
    several(AT_ONCE + 5)
    Letter.objects.filter(recipient="customer-3").update(address="gone@lindqvist.example")
    asked = []

    def recipient() -> str:
        asked.append(1)
        return "550 gone" if len(asked) == 4 else "250 OK"

    bad.replies["RCPT"] = recipient

    assert send_waiting() == AT_ONCE + 4

    assert bad.connections == 1
    assert len(set(bad.bodies)) == len(bad.bodies) == AT_ONCE + 4
    assert Letter.objects.get(recipient="customer-3").state == "failed"


@pytest.mark.parametrize("end", ["421 enough for one connection", None])
def test_it_connects_again_when_the_server_ends_the_connection_between_letters(
    bad: BadServer, end: str | None
) -> None:
    several(10)
    begun: list[int] = []

    def sender() -> str | None:
        begun.append(1)
        return end if len(begun) % 4 == 0 else "250 OK"

    bad.replies["MAIL"] = sender

    assert send_waiting() == 10

    assert states() == {("sent", 1)}
    assert len(set(bad.bodies)) == len(bad.bodies) == 10
    assert bad.connections == 4


def test_it_goes_on_over_another_connection_when_one_is_cut_after_a_letter(bad: BadServer) -> None:
    """The third letter is taken and not acknowledged: it alone is uncertain, and goes once more later."""
    several(5)
    bad.replies["end"] = lambda: None if len(bad.bodies) == 3 else "250 accepted"

    assert send_waiting() == 4

    doubtful = Letter.objects.get(state="retry")
    assert (doubtful.recipient, doubtful.uncertain_before) == ("customer-2", True)
    bad.replies["end"] = "250 accepted"
    due_now()
    assert send_waiting() == 1
    assert states() == {("sent", 1), ("sent", 2)}
    assert len(bad.bodies) == 6
    assert len(set(bad.bodies)) == 5


@pytest.mark.parametrize("greeting", [None, "421 not now", "554 never"])
def test_it_loses_nothing_while_the_server_is_down_for_half_an_hour(
    bad: BadServer, greeting: str | None
) -> None:
    """Sixty sweeps of half a minute: one connection a minute at most, and all go within a minute of its return."""
    several(AT_ONCE + 5)
    bad.replies["greeting"] = greeting

    for _ in range(60):
        assert send_waiting() == 0
        Letter.objects.update(due_at=F("due_at") - HALF_A_MINUTE)

    assert bad.connections <= 30
    assert set(Letter.objects.values_list("state", flat=True)) <= {"new", "taken", "retry"}
    bad.replies["greeting"] = WELL_BEHAVED["greeting"]
    Letter.objects.filter(state="retry").update(due_at=F("due_at") - timedelta(hours=1))
    sent = 0
    for _ in range(3):
        Letter.objects.exclude(state="sent").update(due_at=F("due_at") - HALF_A_MINUTE)
        sent += send_waiting()
    assert sent == len(set(bad.bodies)) == len(bad.bodies) == AT_ONCE + 5
    assert not Letter.objects.filter(uncertain_before=True).exists()


def test_it_waits_once_for_a_server_that_never_answers(bad: BadServer) -> None:
    """Fifteen seconds for the whole batch, not for each letter."""
    several(3)
    never = Event()

    def silence() -> None:
        never.wait(60)

    bad.replies["greeting"] = silence

    assert send_waiting() == 0

    never.set()
    assert bad.connections == 1
    assert sorted(states()) == [("retry", 1), ("taken", 0)]


def test_it_parks_a_letter_that_nobody_can_handle(bad: BadServer) -> None:
    """A fault of our own at one letter, twice: all others go, and it rests for people."""
    actions._passed.clear()
    count = AT_ONCE + 5
    several(count)

    with override_settings(FAILPOINT=("before-letter", 3, "raise")):
        assert send_waiting() == count - 1
    due_now()
    with override_settings(FAILPOINT=("before-letter", count + 1, "raise")):
        assert send_waiting() == 0

    row = Letter.objects.get(recipient="customer-2")
    assert (row.state, row.attempts, row.error) == ("uncertain", 2, "A fault on our side: FailPoint")
    assert len(set(bad.bodies)) == len(bad.bodies) == count - 1
