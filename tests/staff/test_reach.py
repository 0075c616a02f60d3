"""How customers reach the workshop: said by the lead, printed at the foot of letters and on the claim ticket."""

from typing import Any

from shop.journal.models import Words
from shop.post.models import Letter
from shop.workshop.models import Workshop
from tests.conftest import Api, House
from tests.printed import text_of
from tests.rows import nothing_changes, said, send
from tests.walk import Walk, ok

REACH = "Telephone 01632 960 400\nThe Slip 3, Aldermouth"


def test_it_works(house: House, api: dict[str, Api], pages: dict[str, Any]) -> None:
    """A letter about gear that is gone, and the ticket, say where to call."""
    assert "no telephone and no address" in said(pages["lead"].get("/office"), 200)
    seen = ok(api["lead"].get("workshop"))["version"]
    ok(api["lead"].post("workshop", {"reach": REACH, "hours": "Tue to Sat\n10 to 18 h"}, seen=seen))
    walk = Walk(house, api).to("handed_back")

    ok(api["technician"].post("doubts", {"lot": str(house.lots["TH-302"].uid), "why": "Too soft."}), 201)

    (letter,) = Letter.objects.filter(purpose="safety")
    body = bytes(letter.body).decode()
    assert "Telephone 01632 960 400\r\nThe Slip 3, Aldermouth" in body
    ticket = api["counter"].get(f"drop-offs/{walk.row.drop_off.uid}/ticket.pdf")
    assert "Telephone 01632 960 400" in text_of(ticket.content)
    assert Words.objects.filter(text__contains="Telephone 01632").exists()


def test_it_is_the_leads_to_say_and_never_over_another(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    seen = ok(api["lead"].get("workshop"))["version"]
    send(pages["lead"], "/office/reach", {"reach": REACH, "hours": "10 to 18 h"})
    assert Workshop.objects.get().reach.splitlines() == REACH.splitlines()
    row = ok(api["lead"].post("workshop", {"hours": ""}, seen=seen + 1))
    assert (row["hours"], row["reach"].splitlines()) == ("", REACH.splitlines()), "what is not sent stays"
    seen = row["version"] - 1

    with nothing_changes():
        assert api["counter"].post("workshop", {"reach": "x"}, seen=seen + 1).status_code == 403
        assert api["lead"].post("workshop", {"reach": "x"}, seen=seen).status_code == 412
        assert pages["counter"].post("/office/reach", {"reach": "x", "once": "k"}).status_code == 403
