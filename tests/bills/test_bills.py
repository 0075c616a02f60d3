"""Bills: what was done, never above the go-ahead, under numbers without gaps; countered, not changed."""

from datetime import date
from typing import Any

import pytest

from jobs.bills.models import Bill, Payment
from jobs.bills.rules import balance_words, mark_refusals
from shop.customers.models import Customer
from shop.workshop.actions import next_number
from tests.conftest import Api, House
from tests.printed import text_of
from tests.rows import codes, nothing_changes, said, send
from tests.walk import Walk, ok

DAY = date(2026, 11, 27)
FEE = {"what": "Hose, 70 cm", "amount": "24.00"}


def taxed(api: dict[str, Api], *, inclusive: bool = False) -> None:
    """A rate of the test's own, and that it is the usual one."""
    ok(api["lead"].post("tax-rates", {"name": "usual", "percent": "20", "from_day": "2026-01-01"}), 201)
    given = {"inclusive": inclusive, "rounding": "per rate", "usual": "usual"}
    ok(api["lead"].post("reckoning", given, seen=api["lead"].get("reckoning").json()["version"]))


def charge(walk: Walk, **more: Any) -> dict[str, Any]:
    made: dict[str, Any] = ok(walk.api["counter"].post(f"drop-offs/{walk.drop_off}/charges", FEE | more), 201)
    return made


def bill(walk: Walk, payer: str = "customer") -> Any:
    return walk.api["counter"].post(f"drop-offs/{walk.drop_off}/bills", {"payer": payer})


def test_it_works(house: House, api: dict[str, Api]) -> None:
    taxed(api)
    walk = Walk(house, api).to("signed_off")
    charge(walk, job=walk.job)
    charge(walk, what="Seat", payer="maker's programme", job=walk.job)

    made = ok(bill(walk), 201)

    # The plan's 95.00 and 24.00, with 20 % of tax on both together.
    assert (made["number"], made["total"], made["currency"]) == ("Bill 0001", "142.80", "GBP")
    assert [(each["what"], each["amount"]) for each in made["lines"]] == [
        ("Overhaul", "95.00"),
        ("Hose, 70 cm", "24.00"),
    ]
    assert made["groups"] == [
        {"rate": "usual", "percent": "20", "net": "119.00", "tax": "23.80", "gross": "142.80"}
    ]
    kept = Bill.objects.get().document
    (done,) = kept["done"]
    assert {part["lot"] for part in done["parts"]} == {"TH-301-A", "TH-302-A", "TH-303-A"}
    assert kept["others"] == [{"words": "Seat", "tray": 1, "payer": "maker's programme"}]
    assert ok(bill(walk, "maker's programme"), 201)["total"] == "28.80"
    with nothing_changes():
        assert codes(bill(walk)) == ["nothing-to-bill"]


def test_it_is_discounted_as_a_whole(house: House, api: dict[str, Api]) -> None:
    """10.00 off 95.00 at 20 % and 24.00 without tax: 7.98 and 2.02, 95/119 and 24/119 of it."""
    taxed(api)
    walk = Walk(house, api).to("signed_off")
    charge(walk, rate="")
    path, given = f"drop-offs/{walk.drop_off}/bills", {"payer": "customer", "discount": "10.00"}
    with nothing_changes():
        assert codes(api["counter"].post(path, given)) == ["reason-missing"]
        wrong = given | {"discount": "119.01", "reason": "A club."}
        assert codes(api["counter"].post(path, wrong)) == ["discount-too-high"]

    made = ok(api["counter"].post(path, given | {"reason": "A club."}), 201)

    assert [(each["discount"], each["reason"]) for each in made["lines"]] == [
        ("7.98", "A club."),
        ("2.02", "A club."),
    ]
    assert [(each["net"], each["tax"]) for each in made["groups"]] == [("87.02", "17.40"), ("21.98", "0.00")]
    assert made["total"] == "126.40"


def test_it_is_rounded_to_the_smallest_coin(house: House, api: dict[str, Api], pages: dict[str, Any]) -> None:
    """95.00 and 0.52 is 95.52, to 0.05: 95.50; the 0.02 stand apart, also in the counter-bill and the books."""
    given = {"inclusive": True, "rounding": "per rate", "coin": "0.05"}
    with nothing_changes():
        assert codes(api["lead"].post("reckoning", given | {"coin": "0"}, seen=1)) == ["no-such-coin"]
        assert codes(api["lead"].post("reckoning", given | {"coin": "1000.01"}, seen=1)) == ["no-such-coin"]
    assert ok(api["lead"].post("reckoning", given, seen=1))["coin"] == "0.05"
    walk = Walk(house, api).to("signed_off")
    charge(walk, amount="0.52")
    ok(walk.go_ahead("95.50"), 201)

    made = ok(bill(walk), 201)
    ok(api["counter"].post(f"bills/{made['uid']}/counter", {"reason": "A trial."}), 201)

    assert (made["total"], made["rounding"], made["groups"][0]["gross"]) == ("95.50", "-0.02", "95.52")
    assert [row.total for row in Bill.objects.order_by("pk")] == [9550, -9550]
    rows = [line.split(",")[7:12] for line in api["counter"].get("books").content.decode().splitlines()]
    assert rows[2] == ["rounding", "", "", "", "-0.02"]
    assert rows[4] == ["rounding", "", "", "", "0.02"]
    assert "rounded to 0.05" in said(pages["counter"].get(f"/bills/{made['uid']}"), 200)
    assert "rounded to 0.05" in text_of(pages["counter"].get(f"/bills/{made['uid']}/bill.pdf").content)
    assert "rounded to 0.05" in said(pages["counter"].get(f"/drop-offs/{walk.drop_off}/money"), 200)
    assert "rounded to 0.05" in text_of(
        pages["counter"].get(f"/drop-offs/{walk.drop_off}/estimate.pdf").content
    )


def test_it_is_never_above_the_go_ahead(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("signed_off")
    charge(walk, amount="105.00")
    ok(bill(walk), 201)
    charge(walk, what="One penny more", amount="0.01")

    with nothing_changes():
        assert codes(bill(walk)) == ["above-go-ahead"]
    ok(walk.go_ahead("200.01"), 201)
    assert ok(bill(walk), 201)["total"] == "0.01"


def test_it_bills_what_is_signed_off_only(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("testing")
    with nothing_changes():
        assert codes(bill(walk)) == ["nothing-to-bill"]
        assert codes(bill(walk, "workshop")) == ["nobody-to-bill", "nothing-to-bill"]


def test_it_is_countered_and_billed_anew(house: House, api: dict[str, Api]) -> None:
    taxed(api, inclusive=True)
    walk = Walk(house, api).to("signed_off")
    first = ok(bill(walk), 201)
    assert (first["total"], first["groups"][0]["tax"]) == ("95.00", "15.83")

    counter = ok(api["counter"].post(f"bills/{first['uid']}/counter", {"reason": "A wrong line."}), 201)

    assert (counter["number"], counter["total"], counter["corrects"]) == (
        "Counter-bill 0002",
        "-95.00",
        first["uid"],
    )
    assert (counter["groups"][0]["net"], counter["groups"][0]["tax"]) == ("-79.17", "-15.83")
    for uid in (first["uid"], counter["uid"]):
        with nothing_changes():
            assert len(codes(api["counter"].post(f"bills/{uid}/counter", {"reason": "Again."}))) == 1
    assert ok(bill(walk), 201)["number"] == "Bill 0003"
    assert sum(row.total for row in Bill.objects.all()) == 9500


def test_it_gives_a_number_back_that_was_not_used(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("signed_off")
    ok(walk.go_ahead("1.00"), 201)
    assert codes(bill(walk)) == ["above-go-ahead"]
    ok(walk.go_ahead("95.00"), 201)

    assert ok(bill(walk), 201)["number"] == "Bill 0001"
    assert next_number("bill") == 2


def test_it_marks_what_was_paid(house: House, api: dict[str, Api], pages: dict[str, Any]) -> None:
    walk = Walk(house, api).to("signed_off")
    path = f"drop-offs/{walk.drop_off}/payments"
    deposit = ok(api["counter"].post(path, {"kind": "deposit", "amount": "50", "way": "cash"}), 201)
    page = said(pages["counter"].get(f"/drop-offs/{walk.drop_off}/hand-back"), 200)
    assert "Work for 95.00 GBP is done and on no bill." in page
    assert "deposit of 50.00 GBP, nothing billed yet" in page
    ok(bill(walk), 201)
    with nothing_changes():
        given = {"kind": "refund", "amount": "50.01", "way": "cash"}
        assert codes(api["counter"].post(path, given)) == ["refund-too-high"]
        given = {"kind": "payment", "amount": "0", "way": "cash", "on": "2199-01-01"}
        assert codes(api["counter"].post(path, given)) == ["day-to-come", "nothing-paid"]
    shown = pages["counter"].get(f"/drop-offs/{walk.drop_off}/money")
    assert (shown.context["paid"], shown.context["due"]) == ("50.00 GBP", "45.00 GBP")

    with nothing_changes():
        given = {"kind": "payment", "amount": "45.01", "way": "cash"}
        assert codes(api["counter"].post(path, given)) == ["above-due"]

    back = f"payments/{deposit['uid']}/take-back"
    ok(api["counter"].post(back, {"reason": "It was by card."}), 201)

    with nothing_changes():
        assert codes(api["counter"].post(back, {"reason": "Again."})) == ["taken-back-before"]
    assert sum(row.signed for row in Payment.objects.all()) == 0
    page = pages["counter"].get(f"/drop-offs/{walk.drop_off}/hand-back")
    assert "95.00 GBP is not paid yet." in said(page, 200)
    ok(api["counter"].post(path, {"kind": "payment", "amount": "100", "way": "card", "above": True}), 201)
    shown = pages["counter"].get(f"/drop-offs/{walk.drop_off}/money")
    assert shown.context["due"] == "nothing: paid 5.00 GBP more than billed"


@pytest.mark.parametrize(
    ("billed", "paid", "words"),
    [
        (None, 0, "nothing billed yet"),
        (None, 1000, "deposit of 10.00 GBP, nothing billed yet"),
        (2500, 0, "25.00 GBP"),
        (2500, 2500, "0.00 GBP"),
        (2500, 3000, "nothing: paid 5.00 GBP more than billed"),
        (0, 0, "0.00 GBP"),
    ],
)
def test_it_says_what_is_due_in_words(billed: int | None, paid: int, words: str) -> None:
    assert balance_words(billed, paid, "GBP") == words


@pytest.mark.parametrize(
    ("kind", "amount", "billed", "above", "found"),
    [
        ("payment", 2500, 2500, False, []),
        ("payment", 3000, 2500, False, ["Only 25.00 GBP is due. If more was really paid and not given back, say so."]),
        ("payment", 3000, 2500, True, []),
        ("payment", 1000, None, False, ["Nothing is billed yet: mark a deposit. If more was really paid and not given back, say so."]),
        ("deposit", 1000, None, False, []),
    ],
)  # fmt: skip
def test_it_takes_no_more_than_is_due_unasked(
    kind: str, amount: int, billed: int | None, above: bool, found: list[str]
) -> None:
    given: dict[str, Any] = {"kind": kind, "amount": amount, "billed": billed, "above": above}
    said = mark_refusals(DAY, DAY, paid=0, currency="GBP", **given)
    assert [each.sentence for each in said] == found


def test_it_is_made_out_on_the_page_and_printed(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    taxed(api)
    walk = Walk(house, api).to("signed_off")
    Customer.objects.update(postal="7 Slipway Street\nAldermouth")
    page = send(pages["counter"], f"/drop-offs/{walk.drop_off}/bill", {"payer": "customer"})
    row = Bill.objects.get()
    assert page["Location"] == f"/bills/{row.uid}"
    assert "114.00 GBP" in said(pages["counter"].get(page["Location"]), 200)

    terms = {"inclusive": False, "rounding": "per rate", "usual": "usual", "tax_number": "GB 000 000 00"}
    ok(api["lead"].post("reckoning", terms, seen=api["lead"].get("reckoning").json()["version"]))
    paper = text_of(pages["counter"].get(f"/bills/{row.uid}/bill.pdf").content)

    (mark,) = walk.row.item.identifiers.filter(kind="serial")
    more = (f"{walk.row.item.label}: Overhaul", str(mark), walk.row.item.title, "GB 000 000 00")
    for words in (
        "Bill 0001",
        "Maja Lindqvist 7 Slipway Street Aldermouth",
        "usual, 20 %",
        "95.00",
        "19.00",
        "114.00",
        "TH-301-A",
        *more,
    ):
        assert words in paper


def test_it_names_what_was_used_beyond_the_plan(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    walk = Walk(house, api).to("cleaning")
    walk.steps("cleaning")
    given = {"ending": "scrapped", "origin": "customer's own", "words": "Into the bin; hers, new in its bag."}
    ok(api["technician"].post(f"jobs/{walk.job}/parts/yoke", given), 201)
    walk.parts(but="yoke")
    ok(walk.sign(outcome="failed", words="The bore is scored.", second=None, second_secret=""), 201)

    page = said(pages["counter"].get(f"/drop-offs/{walk.drop_off}/bill"), 200)

    assert "95.00 GBP of the customer (Overhaul)" in page
    assert "Used beyond the plans: 1 piece Yoke (tray 1)." in page


def test_it_keeps_books(house: House, api: dict[str, Api], pages: dict[str, Any]) -> None:
    ok(api["lead"].post("tax-rates", {"name": "=usual()", "percent": "17.5", "from_day": "2026-01-01"}), 201)
    walk = Walk(house, api).to("signed_off")
    charge(walk, rate="=usual()")
    made = ok(bill(walk), 201)
    ok(api["counter"].post(f"bills/{made['uid']}/counter", {"reason": "A trial."}), 201)
    ok(
        api["counter"].post(
            f"drop-offs/{walk.drop_off}/payments", {"kind": "deposit", "amount": "7", "way": "card"}
        ),
        201,
    )

    lines = api["counter"].get("books").content.decode().splitlines()

    head = "kind,number,day,drop_off,customer,payer,corrects,rate,rate_percent,net,tax,gross,currency,way"
    assert lines[0] == head
    rows = [line.split(",") for line in lines[1:]]
    assert [(row[0], row[1], row[6], *row[7:13]) for row in rows] == [
        ("bill", "1", "", "no tax", "0", "95.00", "0.00", "95.00", "GBP"),
        ("bill", "1", "", "'=usual()", "17.5", "24.00", "4.20", "28.20", "GBP"),
        ("counter-bill", "2", "1", "no tax", "0", "-95.00", "0.00", "-95.00", "GBP"),
        ("counter-bill", "2", "1", "'=usual()", "17.5", "-24.00", "-4.20", "-28.20", "GBP"),
        ("deposit", "", "", "", "", "", "", "7.00", "GBP"),
    ]
    assert api["counter"].get("books?first=2026-02-01&last=2026-01-01").status_code == 400
    assert pages["counter"].get("/office/books.csv?first=2026-02-01&last=2026-01-01").status_code == 400
    assert pages["counter"].get("/office/books.csv").content.decode().splitlines() == lines


@pytest.mark.parametrize("role", ["technician", "inspector", "storekeeper"])
def test_it_takes_the_right(house: House, api: dict[str, Api], role: str) -> None:
    walk = Walk(house, api).to("signed_off")
    with nothing_changes():
        assert api[role].post(f"drop-offs/{walk.drop_off}/bills", {"payer": "customer"}).status_code == 403
