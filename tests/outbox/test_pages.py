"""The Office's pages of letters and their doors, through which people go."""

from html import unescape
from typing import Any

from django.test import Client

from shop.post.actions import suppress, write_letter
from shop.post.models import Letter, Suppressed
from shop.post.rules import Purpose
from tests.conftest import Api, House
from tests.rows import codes, nothing_changes, send


def write(run: str, address: str = "maja@lindqvist.example") -> Letter:
    given: dict[str, Any] = {"purpose": Purpose.READY, "subject": f"Run {run}", "text": "Ready."}
    row = write_letter(recipient="c1", address=address, run=run, **given)
    assert row is not None
    return row


def shown(page: Client, path: str, status: int = 200) -> str:
    answer = page.get(path)
    assert answer.status_code == status
    return unescape(answer.content.decode())


def test_it_works(house: House, pages: dict[str, Client]) -> None:
    page, row = pages["counter"], write("1")
    waiting, one = "/office/letters?shows=on its way", f"/office/letters/{row.uid}"

    assert "Run 1" in shown(page, waiting)
    assert send(page, f"{one}/stop", {}).status_code == 302
    assert "Run 1" not in shown(page, waiting)
    assert "stopped by hand" in shown(page, "/office/letters?shows=stopped")
    assert "it arrives twice" in shown(page, f"{one}/send-again")
    assert send(page, f"{one}/send-again", {}).status_code == 302
    row.refresh_from_db()
    assert row.state == "new"


def test_it_shows_nobody_the_secret_of_a_private_link(house: House, pages: dict[str, Client]) -> None:
    given: dict[str, Any] = {
        "purpose": Purpose.REMINDER,
        "subject": "Due",
        "address": "maja@lindqvist.example",
    }
    row = write_letter(recipient="c1", run="1", text="Answer: https://w.example/answer/s3cret", **given)
    assert row is not None

    page = shown(pages["lead"], f"/office/letters/{row.uid}")

    assert "https://w.example/answer/…" in page
    assert "s3cret" not in page


def test_it_lists_whom_to_telephone(house: House, pages: dict[str, Client]) -> None:
    page, customer = pages["counter"], house.customer
    given = {"address": customer.email.upper(), "why": "A letter on paper came back too."}

    assert send(page, "/office/suppressed/new", given).status_code == 302

    listed = shown(page, "/office/suppressed")
    assert customer.name in listed
    assert customer.phone in listed
    assert "Mail does not reach them" in shown(page, f"/customers/{customer.uid}")
    row = Suppressed.objects.get()
    assert send(page, f"/office/suppressed/{row.uid}/lift", {}).status_code == 302
    assert "No address is suppressed" in shown(page, "/office/suppressed")
    assert "Mail does not reach them" not in shown(page, f"/customers/{customer.uid}")


def test_it_turns_the_page(house: House, pages: dict[str, Client]) -> None:
    """A hundred and one letters: the page shows the newest hundred and leads to the first one."""
    for n in range(101):
        write(f"no {n}.")

    newest = pages["lead"].get("/office/letters")
    older = shown(pages["lead"], f"/office/letters?shows=all&after={newest.context['older']}")

    assert "Run no 100." in unescape(newest.content.decode())
    assert "Run no 0." not in unescape(newest.content.decode())
    assert "Run no 0." in older
    assert "Run no 1." not in older
    assert "Older letters" not in older


def test_it_refuses_by_the_api_with_reasons(house: House, api: dict[str, Api]) -> None:
    row = write("1")
    door = f"letters/{row.uid}"

    with nothing_changes():
        assert codes(api["lead"].post(f"{door}/send-again")) == ["not-kept-back"]
        assert api["technician"].post(f"{door}/stop").status_code == 403
        assert api["lead"].get("letters?shows=lost").status_code == 400
    assert api["lead"].post(f"{door}/stop").json()["state"] == "stopped"
    suppress(address=row.address, why="550 5.1.1", by="system")
    assert codes(api["lead"].post(f"{door}/send-again")) == ["suppressed"]
    again = api["lead"].post("suppressed", {"address": row.address, "why": "Again."})
    assert codes(again) == ["suppressed-already"]
    assert [each["address"] for each in api["lead"].get("suppressed").json()["results"]] == [row.address]
    assert [each["uid"] for each in api["lead"].get("letters?shows=stopped").json()["results"]] == [
        str(row.uid)
    ]


def test_it_says_what_is_wrong_with_a_filter(house: House, pages: dict[str, Client]) -> None:
    write("1")

    assert "Run 1" in shown(pages["lead"], "/office/letters?shows=lost", 400)
    assert "Run 1" in shown(pages["lead"], "/office/letters?after=zz")
