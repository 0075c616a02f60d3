"""Links in letters: at check-in or when the counter writes one; questions and their answers."""

from email import message_from_bytes
from email.policy import default
from typing import Any

import pytest
from django.test import Client

from jobs.flow.models import DropOff
from jobs.porthole.models import Question
from jobs.porthole.rules import MOST_OPEN
from shop.customers.models import Customer
from shop.journal.models import Entry
from shop.post.models import Letter
from shop.staff.actions import make_token
from tests.conftest import Api, House
from tests.porthole.made import linked
from tests.rows import codes, nothing_changes, said, send
from tests.walk import Walk, ok


def message(row: Letter) -> Any:
    return message_from_bytes(bytes(row.body), policy=default)


def path_in(row: Letter) -> str:
    """The path of the private link of a letter."""
    text = message(row).get_body(("plain",)).get_content()
    line = next(line for line in text.splitlines() if "/porthole/" in line)
    return str(line.strip()).removeprefix("http://127.0.0.1:8710")


def line(house: House) -> dict[str, Any]:
    item, plan = house.item(serial="L-1"), house.plans["first_stage"]
    return {"item": str(item.uid), "plan": str(plan.uid), "contents": "no gas"}


def test_it_works(house: House, api: dict[str, Api]) -> None:
    """Checked in with a link, the letter goes to the customer in their language, and its link opens that drop-off.

    The right to check in is enough for it.
    """
    Customer.objects.filter(pk=house.customer.pk).update(language="de")
    given = {
        "customer": str(house.customer.uid),
        "promised_on": "2199-01-01",
        "lines": [line(house)],
        "link": True,
    }
    _, token = make_token(by=house.people["counter"], label="till", scopes=["check in"], days=1)
    api["stranger"].client.credentials(HTTP_AUTHORIZATION=f"Token {token}")
    made = ok(api["stranger"].post("drop-offs", given), 201)

    letter = Letter.objects.get()
    assert (letter.purpose, letter.subject) == ("drop-off", "Ihre Tauchausrüstung ist bei uns")
    assert "1. Januar 2199" in message(letter).get_body(("plain",)).get_content()
    assert made["number"] == "C-0001"
    assert "C-0001" in said(Client().get(path_in(letter)), 200)
    assert path_in(letter).rpartition("/")[2] not in str(list(Entry.objects.values_list("facts")))


def test_it_checks_nothing_in_when_no_letter_can_be_written(house: House, api: dict[str, Api]) -> None:
    Customer.objects.filter(pk=house.customer.pk).update(email="")
    given = {"customer": str(house.customer.uid), "promised_on": "2199-01-01", "lines": [line(house)]}

    with nothing_changes():
        assert codes(api["counter"].post("drop-offs", given | {"link": True})) == ["no-address"]
    ok(api["counter"].post("drop-offs", given), 201)
    assert Letter.objects.count() == 0


def test_it_offers_a_link_where_there_is_an_address(house: House, pages: dict[str, Client]) -> None:
    where = f"/customers/{house.customer.uid}/check-in"

    def ticked() -> list[bool]:
        fields = pages["counter"].get(where).context["form"].fields
        return [bool(each.value) for each in fields if each.name == "link"]

    assert ticked() == [True]
    Customer.objects.filter(pk=house.customer.pk).update(email="")
    assert ticked() == []


def test_it_is_written_when_the_counter_says_so(
    house: House, api: dict[str, Api], pages: dict[str, Client]
) -> None:
    """No page, list or history shows the address again."""
    walk = Walk(house, api)
    where = f"/drop-offs/{walk.drop_off}/porthole"
    assert codes(api["technician"].post(f"drop-offs/{walk.drop_off}/porthole/link"), 403) == []
    send(pages["counter"], f"{where}/link", {})
    letter = Letter.objects.get()
    path = path_in(letter)
    assert Client().get(path).status_code == 200

    secret = path.rpartition("/")[2]
    shown = [
        where,
        f"/drop-offs/{walk.drop_off}",
        f"/office/letters/{letter.uid}",
        f"/customers/{house.customer.uid}",
    ]
    assert [each for each in shown if secret in said(pages["lead"].get(each), 200)] == []
    row = ok(api["counter"].get(f"drop-offs/{walk.drop_off}/porthole"))
    assert row["links"] == 1
    assert secret not in str(row)


def test_it_answers_once_and_writes_once(house: House, api: dict[str, Api], pages: dict[str, Client]) -> None:
    """Asked twice it is one question; the answer stands on the page, and one letter says so."""
    walk, client = Walk(house, api), Client()
    path = linked(walk.row.drop_off)
    for _ in range(2):
        assert send(client, f"{path}/ask", {"text": "Is it <b>done</b>?"})["Location"] == f"{path}#questions"
    row = Question.objects.get()
    assert Entry.objects.filter(verb="asked by link", by="customer").count() == 1
    assert "<b>done" not in client.get(path).content.decode()
    for where in ("/questions", f"/drop-offs/{walk.drop_off}"):
        assert "Is it <b>done</b>?" in said(pages["counter"].get(where), 200)

    assert codes(api["technician"].post(f"questions/{row.uid}/answer", {"answer": "Yes."}), 403) == []
    send(
        pages["counter"],
        f"/questions/{row.uid}/answer",
        {"answer": 'On Friday,\n"if" the <i>part</i> comes.'},
    )
    with nothing_changes():
        assert codes(api["counter"].post(f"questions/{row.uid}/answer", {"answer": "No."})) == ["answered"]
    page = said(client.get(path), 200)
    assert 'if" the <i>part</i> comes.' in page
    letter = Letter.objects.get()
    assert letter.purpose == "drop-off"
    assert "Friday" not in message(letter).as_string()
    assert Client().get(path_in(letter)).status_code == 200
    assert "No question waits." in said(pages["counter"].get("/questions"), 200)


@pytest.mark.parametrize(
    ("text", "status"),
    [
        ("", 400),
        ("  \n ", 400),
        ("x" * 1001, 400),
        ("a\0b", 400),
        ("x" * 1000, 302),
        ("‮ אבג\r\nBcc: a@b.example", 302),
    ],
)
def test_it_takes_plain_text_of_a_length(house: House, api: dict[str, Api], text: str, status: int) -> None:
    path = linked(Walk(house, api).row.drop_off)

    assert Client().post(f"{path}/ask", {"text": text}).status_code == status
    assert Question.objects.count() == (status == 302)


def test_it_takes_no_column_but_the_text(house: House, api: dict[str, Api]) -> None:
    """P3: whoever sends more writes none of it."""
    path = linked(Walk(house, api).row.drop_off)
    other = Walk(house, api, "second_stage").row.drop_off
    more = {
        "answer": "Yes, for free.",
        "answered_by": "1",
        "drop_off": str(other.uid),
        "drop_off_id": str(other.pk),
    }
    Client().post(f"{path}/ask", {"text": "And?", "at": "2001-01-01", "uid": str(other.uid)} | more)

    row = Question.objects.get()
    assert (row.answer, row.answered_by, row.at.year > 2001) == ("", None, True)
    assert row.drop_off != other
    assert row.uid != other.uid


def test_it_takes_only_so_many(house: House, api: dict[str, Api]) -> None:
    path = linked(Walk(house, api).row.drop_off)
    for n in range(MOST_OPEN):
        assert Client().post(f"{path}/ask", {"text": f"{n}?"}).status_code == 302

    with nothing_changes():
        page = Client().post(f"{path}/ask", {"text": "And now?"})
    assert "of your questions wait" in said(page, 409)
    assert "And now?" in said(page, 409)


def test_it_slows_whoever_asks(house: House, api: dict[str, Api]) -> None:
    """Ten forms a minute from one address; the page itself still opens."""
    path, client = linked(Walk(house, api).row.drop_off), Client(REMOTE_ADDR="192.0.2.9")
    tries = [client.post(f"{path}/ask", {"text": ""}).status_code for _ in range(11)]

    assert tries == [400] * 10 + [429]
    assert client.get(path).status_code == 200


def test_it_writes_nothing_where_it_cannot(house: House, api: dict[str, Api]) -> None:
    """Without an address the answer stands on the page alone."""
    walk = Walk(house, api)
    path = linked(walk.row.drop_off)
    Client().post(f"{path}/ask", {"text": "And?"})
    Customer.objects.filter(pk=house.customer.pk).update(email="")
    ok(api["counter"].post(f"questions/{Question.objects.get().uid}/answer", {"answer": "Soon."}))

    assert Letter.objects.count() == 0
    assert "Soon." in said(Client().get(path), 200)
    assert DropOff.objects.count() == 1
