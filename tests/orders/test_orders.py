"""Orders through the doors that people use: from an offer to the last piece, and what is refused on the way."""

import csv
import io
from datetime import timedelta
from email import message_from_bytes
from email.message import EmailMessage
from email.policy import default
from typing import Any

import pytest
from django.test import Client

from shop.journal.models import Entry
from shop.orders.models import Line, Order
from shop.orders.reads import on_drafts, on_its_way
from shop.post.models import Letter
from shop.stock.models import Movement, Part
from shop.workshop.reads import today
from tests.conftest import Api, House
from tests.guards.conftest import stage as stage
from tests.orders.made import Ordered, ordered
from tests.printed import text_of
from tests.rows import codes, nothing_changes, pointers, said, send, sentences
from tests.walk import ok

RING = "TH-302"


@pytest.fixture(scope="module")
def made_of_the_file(stage: tuple[House, dict[str, Api]]) -> Ordered:
    return ordered(stage[0])


@pytest.fixture
def made(made_of_the_file: Ordered, db: None) -> Ordered:
    """One pack of ten sent for, two on the draft."""
    return made_of_the_file


@pytest.fixture
def keeper(stage: tuple[House, dict[str, Api]], made: Ordered) -> Api:
    return stage[1]["storekeeper"]


@pytest.fixture
def page(stage: tuple[House, dict[str, Api]], made: Ordered) -> Client:
    """The storekeeper's browser."""
    client = Client()
    client.force_login(stage[0].people["storekeeper"])
    return client


def came(keeper: Api, line: Line, quantity: int, **more: Any) -> Any:
    data = {"number": "TH-302-N", "cured": "2Q26", "quantity": quantity} | more
    return keeper.post(f"order-lines/{line.uid}/receipts", data)


def seen(made: Ordered) -> tuple[str, int]:
    """The address of the draft, and its version as somebody who looks at it now sees it."""
    row = Order.objects.select_related("supplier").get(pk=made.draft.pk)
    return f"orders/{row.uid}", row.version


def letters(order: Order) -> list[EmailMessage]:
    rows = Letter.objects.filter(purpose="order", run=order.label)
    return [message_from_bytes(bytes(row.body), policy=default) for row in rows]


def test_it_works(keeper: Api, made: Ordered) -> None:
    """What was sent for comes in two goes; the prices of the pack are its cost, and the order closes by itself."""
    (coming,) = on_its_way([RING])[RING]
    assert (coming.pieces, coming.expected) == (10, today() + timedelta(days=7))

    ok(came(keeper, made.line, 3), 201)
    part_received = ok(keeper.get(f"orders/{made.sent.uid}"))
    ok(came(keeper, made.line, 7), 201)
    closed = ok(keeper.get(f"orders/{made.sent.uid}"))

    assert (part_received["standing"], part_received["lines"][0]["missing"]) == ("part received", 7)
    assert (closed["standing"], closed["order"]["state"], closed["order"]["reason"]) == (
        "closed",
        "closed",
        "",
    )
    assert list(Movement.objects.filter(receipt__line=made.line).values_list("quantity", "cost")) == [
        (3, 375),
        (7, 875),
    ]
    assert on_its_way([RING]) == {}
    verbs = (
        Entry.objects.filter(subject=f"order:{made.sent.uid}").order_by("n").values_list("verb", flat=True)
    )
    assert list(verbs) == ["drafted", "sent", "received", "received", "closed"]


def test_the_letter_has_the_order_as_paper_and_as_file(made: Ordered) -> None:
    (letter,) = letters(made.sent)
    paper, table = letter.iter_attachments()

    assert letter["To"] == "orders@vantry.example"
    assert letter["Subject"] == f"{made.sent.label} of Aldermouth Dive Workshop"
    body = letter.get_body(("plain",))
    assert body is not None
    assert "1 pack of 10 pieces: TH-302 (ours TH-302, yours V-302)" in body.get_content()
    assert (paper.get_filename(), paper.get_content_type()) == (
        f"order-{made.sent.number}.pdf",
        "application/pdf",
    )
    assert "Vantry Seals" in text_of(paper.get_content())
    assert "V-302 1 10 10 pieces 12.50" in text_of(paper.get_content())
    rows = list(csv.reader(io.StringIO(table.get_content(), newline="")))
    assert rows[1] == [made.sent.label, "TH-302", "TH-302", "V-302", "1", "10", "10", "pieces", "12.50"]


def test_no_cell_of_the_file_is_a_formula(keeper: Api, made: Ordered) -> None:
    Part.objects.filter(number=RING).update(name="=1+1")
    address, version = seen(made)

    ok(keeper.post(f"{address}/send", {"how": "e-mail"}, version))

    (letter,) = letters(made.draft)
    _, table = letter.iter_attachments()
    assert list(csv.reader(io.StringIO(table.get_content())))[1][2] == "'=1+1"


def test_what_was_sent_keeps_its_pack_and_price(keeper: Api, made: Ordered) -> None:
    terms = {"number": "V-302", "pack_size": 5, "price": "99.00"}
    ok(keeper.put(f"offers/{made.offer.uid}", terms, made.offer.version))

    (line,) = ok(keeper.get(f"orders/{made.sent.uid}"))["lines"]
    (wish,) = ok(keeper.get(f"orders/{made.draft.uid}"))["lines"]

    assert (line["pack_size"], line["price"]) == (10, "12.50")
    assert (wish["pack_size"], wish["price"]) == (5, "99.00")


@pytest.mark.parametrize("what", ["offer", "supplier", "line", "more packs"])
def test_a_draft_that_says_something_else_is_looked_at_again(keeper: Api, made: Ordered, what: str) -> None:
    address, version = seen(made)
    match what:
        case "offer":
            ok(
                keeper.put(
                    f"offers/{made.offer.uid}", {"pack_size": 10, "price": "13.00"}, made.offer.version
                )
            )
        case "supplier":
            row = ok(keeper.get(f"suppliers/{made.supplier.uid}"))
            given = {"name": "Vantry Seals", "email": "another@vantry.example"}
            ok(keeper.put(f"suppliers/{made.supplier.uid}", given, row["version"]))
        case "line":
            ok(keeper.post(f"draft-lines/{made.wish.uid}/take-off"))
        case _:
            wish = {"offer": str(made.offer.uid), "packs": 3}
            ok(keeper.post(f"suppliers/{made.supplier.uid}/draft", {"lines": [wish]}), 201)

    with nothing_changes():
        assert keeper.post(f"{address}/send", {"how": "e-mail"}, version).status_code == 412


def test_it_is_sent_once(keeper: Api, made: Ordered) -> None:
    address, version = seen(made)
    ok(keeper.post(f"{address}/send", {"how": "e-mail"}, version))

    with nothing_changes():
        assert codes(keeper.post(f"{address}/send", {"how": "e-mail"}, seen(made)[1])) == ["order-sent"]
        assert codes(keeper.post(f"{address}/send", {"how": "paper"}, version)) == ["order-sent"]

    assert len(letters(made.draft)) == 1
    assert on_drafts([RING]) == {}
    assert [each.pieces for each in on_its_way([RING])[RING]] == [10, 20]


def test_without_an_address_it_is_telephoned(keeper: Api, made: Ordered) -> None:
    row = ok(keeper.get(f"suppliers/{made.supplier.uid}"))
    ok(keeper.put(f"suppliers/{made.supplier.uid}", {"name": "Vantry Seals"}, row["version"]))
    address, version = seen(made)

    with nothing_changes():
        assert codes(keeper.post(f"{address}/send", {"how": "e-mail"}, version)) == ["no-email"]
    answer = ok(keeper.post(f"{address}/send", {"how": "telephone"}, version))

    assert (answer["order"]["how"], answer["order"]["expected_on"]) == ("telephone", None)
    assert letters(made.draft) == []


def test_an_empty_draft_is_not_sent(keeper: Api, made: Ordered) -> None:
    ok(keeper.post(f"draft-lines/{made.wish.uid}/take-off"))
    address, version = seen(made)

    assert codes(keeper.post(f"{address}/send", {"how": "paper"}, version)) == ["no-lines"]


def test_a_line_that_was_sent_is_not_taken_off(keeper: Api, made: Ordered) -> None:
    wish, (address, version) = made.wish, seen(made)
    ok(keeper.post(f"{address}/send", {"how": "paper"}, version))

    assert keeper.post(f"draft-lines/{wish.uid}/take-off").status_code == 404


def test_more_than_was_ordered_needs_a_word(keeper: Api, made: Ordered) -> None:
    ok(came(keeper, made.line, 8), 201)

    with nothing_changes():
        answer = came(keeper, made.line, 3)
        assert codes(answer) == ["more-than-ordered"]
        assert "Of this line 2 pieces did not come yet, 3 pieces came now" in sentences(answer)[0]
    ok(came(keeper, made.line, 3, more=True), 201)

    assert Order.objects.get(pk=made.sent.pk).state == "closed"


def test_what_came_may_have_cost_something_else_on_an_earlier_day(keeper: Api, made: Ordered) -> None:
    day = today() - timedelta(days=3)
    ok(came(keeper, made.line, 4, cost="6.01", effective_on=day.isoformat()), 201)

    row = Movement.objects.get(receipt__line=made.line)
    assert (row.cost, row.effective_on) == (601, day)


def test_nothing_counts_from_a_day_to_come(keeper: Api, made: Ordered) -> None:
    day = (today() + timedelta(days=1)).isoformat()

    with nothing_changes():
        assert codes(came(keeper, made.line, 4, effective_on=day)) == ["not-yet"]
        assert pointers(came(keeper, made.line, 4, cost="1.001")) == ["/cost"]
        assert codes(came(keeper, made.line, 4, cured="")) == ["cure-date"]


def test_nothing_is_received_of_a_closed_order(keeper: Api, made: Ordered) -> None:
    ok(came(keeper, made.line, 4), 201)
    closed = ok(keeper.post(f"orders/{made.sent.uid}/close", {"reason": "Sold out."}))

    assert (closed["standing"], closed["order"]["reason"]) == ("closed, 6 pieces not received", "Sold out.")
    with nothing_changes():
        assert codes(came(keeper, made.line, 1)) == ["not-open"]
        assert codes(keeper.post(f"orders/{made.sent.uid}/close", {"reason": "Again."})) == ["not-open"]
        assert codes(keeper.post(f"orders/{made.draft.uid}/close", {"reason": "No."})) == ["not-open"]


def test_a_draft_holds_so_many_packs_however_often_they_are_asked_for(keeper: Api, made: Ordered) -> None:
    wish = {"offer": str(made.offer.uid), "packs": 4}
    for _ in range(2):
        answer = ok(keeper.post(f"suppliers/{made.supplier.uid}/draft", {"lines": [wish]}), 201)

    assert [row["packs"] for row in answer["lines"]] == [4]
    assert on_drafts([RING]) == {RING: 40}
    other = ok(keeper.post("suppliers", {"name": "Skelwick Rubber"}), 201)
    with nothing_changes():
        path = f"suppliers/{other['uid']}/draft"
        assert codes(keeper.post(path, {"lines": [wish, wish]})) == [
            "part-twice",
            "other-supplier",
            "other-supplier",
        ]
        assert codes(keeper.post(path, {"lines": []})) == ["nothing"]


def test_names_and_offers_stand_once(keeper: Api, made: Ordered) -> None:
    part = Part.objects.get(number=RING)
    offer = {"supplier": str(made.supplier.uid), "pack_size": 10}

    with nothing_changes():
        assert codes(keeper.post("suppliers", {"name": "Vantry Seals"})) == ["name-taken"]
        assert codes(keeper.post(f"parts/{part.uid}/offers", offer)) == ["offer-taken"]
        assert pointers(keeper.post(f"parts/{part.uid}/offers", offer | {"pack_size": 0})) == ["/pack_size"]
        terms = {"pack_size": 5, "price": "-1"}
        assert pointers(keeper.put(f"offers/{made.offer.uid}", terms, 1)) == ["/price"]


def test_what_is_on_its_way_is_not_asked_for_again(keeper: Api, page: Client, made: Ordered) -> None:
    part = Part.objects.get(number=RING)  # ten in life, ten on their way and twenty on the draft
    ok(keeper.put(f"parts/{part.uid}", {"minimum": 12, "up_to": 55}, part.version))

    (row,) = ok(keeper.get("parts/to-order"))["parts"]
    form = page.get(f"/store/offers/{made.offer.uid}/order")

    assert (row["in_life"], row["coming"], row["drafted"], row["quantity"]) == (10, 10, 20, 15)
    assert said(form, 200).count('value="4"') == 1  # 20 there and 15 more are four packs of ten
    shown = said(page.get("/store/to-order"), 200)
    assert "Order from Vantry Seals" in shown
    for words in ("0 pieces<span", "12 pieces", "55 pieces", "20 pieces on drafts"):
        assert words in shown


def test_it_is_ordered_by_the_pages(page: Client, made: Ordered) -> None:
    send(page, f"/store/offers/{made.offer.uid}/order", {"packs": 5})
    send(page, f"/store/orders/{made.draft.uid}/send", {"how": "paper"})
    given = {"number": "TH-302-N", "cured": "2Q26", "quantity": 51}
    refused = send(page, f"/store/order-lines/{made.draft.lines.get().uid}/receive", given)
    assert "Of this line 50 pieces did not come yet, 51 pieces came now" in said(refused)
    assert "<details open>" in said(refused)  # the tick that the refusal asks for is there to see
    send(page, f"/store/order-lines/{made.draft.lines.get().uid}/receive", given | {"quantity": 20})
    shown = said(page.get(f"/store/orders/{made.draft.uid}"), 200)
    send(page, f"/store/orders/{made.draft.uid}/close", {"reason": "Sold out."})

    assert "part received" in shown
    assert "30 pieces missing" in shown
    assert "closed, 30 pieces not received" in said(page.get("/store/orders"), 200)
    assert "V-302 5 10 50 pieces 12.50" in text_of(page.get(f"/orders/{made.draft.uid}/order.pdf").content)
