"""One press ends the reminders, as RFC 8058 has it; each test is named after what it asks for."""

from typing import Any

import pytest
from django.test import Client

from jobs.answers.models import Answer
from jobs.reminders.actions import remind
from shop.journal.models import Entry
from shop.post.actions import send_waiting, write_letter
from shop.post.models import Letter
from shop.post.rules import Purpose
from shop.workshop.reads import today
from tests.answers.made import linked, overdue
from tests.conftest import House
from tests.rows import nothing_changes, said

BODY = "List-Unsubscribe=One-Click"  # RFC 8058, 3.1; 26 bytes
FORM = "application/x-www-form-urlencoded"


def press(path: str, body: str = BODY, media_type: str = FORM) -> Any:
    """The POST of a mail program: no cookie, no referrer, no origin."""
    return Client(enforce_csrf_checks=True).generic("POST", f"{path}/one-click", body, media_type)


def wants(house: House) -> bool:
    house.customer.refresh_from_db()
    return house.customer.reminders


def test_it_works(house: House) -> None:
    """RFC 8058, 3.2: the POST alone does it, with no cookie, no redirect, no more questions."""
    answer = press(linked(house))

    assert (answer.status_code, wants(house)) == (200, False)
    assert not answer.cookies
    assert len(BODY) == 26
    assert Entry.objects.filter(verb="reminders wished", by="customer").count() == 1


def test_it_takes_multipart_form_data(house: House) -> None:
    """RFC 8058, 3.2: the body may be multipart/form-data."""
    body = '--b\r\nContent-Disposition: form-data; name="List-Unsubscribe"\r\n\r\nOne-Click\r\n--b--\r\n'

    assert press(linked(house), body, "multipart/form-data; boundary=b").status_code == 200
    assert not wants(house)


def test_it_does_not_act_on_a_get(house: House) -> None:
    """RFC 8058, 3.1 and 6: whoever fetches the address to look at it changes nothing; a person finds a button."""
    path = f"{linked(house)}/one-click"

    with nothing_changes():
        page = said(Client().get(path), 200)
        assert Client().head(path).status_code == 200
    assert 'name="List-Unsubscribe" value="One-Click"' in page
    assert wants(house)


@pytest.mark.parametrize("body", ["", "List-Unsubscribe=no", "list-unsubscribe=One-Click", "x=1"])
def test_it_asks_for_the_body(house: House, body: str) -> None:
    """RFC 8058, 3.2: a POST that does not say so is not one of these."""
    path = linked(house)

    with nothing_changes():
        assert press(path, body).status_code == 400


def test_it_is_the_same_twice(house: House) -> None:
    path = linked(house)

    assert [press(path).status_code for _ in range(2)] == [200, 200]
    assert [row.said for row in Answer.objects.all()] == ["no more letters"]
    house.customer.refresh_from_db()
    assert house.customer.version == 2


def test_it_keeps_back_what_waits(house: House) -> None:
    """0 reminders go after the answer; what is no reminder goes."""
    overdue(house)
    path = linked(house)
    given: dict[str, Any] = {"recipient": str(house.customer.uid), "address": house.customer.email}
    given |= {"subject": "S", "text": "T"}
    assert remind(on=today()) == 1
    for run in ("retry", "taken", "sending", "sent"):
        write_letter(purpose=Purpose.REMINDER, run=run, **given)
        Letter.objects.filter(run=run).update(state=run)
    write_letter(purpose=Purpose.READY, run="1", **given)
    write_letter(purpose=Purpose.REMINDER, run="1", **given | {"recipient": "somebody else"})

    assert press(path).status_code == 200
    assert send_waiting() == 2
    states = dict(Letter.objects.filter(recipient=str(house.customer.uid)).values_list("run", "state"))
    assert states == {
        today().isoformat(): "suppressed",
        "retry": "suppressed",
        "taken": "suppressed",
        "sending": "uncertain",
        "sent": "sent",
        "1": "sent",
    }
    assert remind(on=today()) == 0
