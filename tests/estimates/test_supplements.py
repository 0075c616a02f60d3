"""Estimates with payers, tax and likely extras; supplements that hold a job until the customer has answered."""

from datetime import timedelta
from typing import Any

from jobs.estimates.models import Charge, GoAhead
from jobs.flow.models import Hold
from shop.files.models import Photograph
from shop.workshop.models import Workshop
from shop.workshop.reads import at, now
from tests.conftest import Api, House
from tests.photographs import encoded, form
from tests.printed import text_of
from tests.rows import codes, nothing_changes, pointers, said, send
from tests.walk import Walk, ok

ASK = {"what": "The yoke is cracked: a new one", "amount": "60.00"}
ANSWER = {"given_by": "Maja Lindqvist", "how": "by telephone", "said_on": "2026-01-02"}
AGREED = ANSWER | {"answer": "agreed", "amount": "260.00"}
DECLINED = ANSWER | {"answer": "declined", "went_back": "put back together"}


def asked(walk: Walk) -> dict[str, Any]:
    made: dict[str, Any] = ok(walk.api["technician"].post(f"jobs/{walk.job}/supplements", ASK), 201)
    return made


def answered(walk: Walk, row: dict[str, Any], said: dict[str, Any]) -> Any:
    return walk.api["counter"].post(f"charges/{row['uid']}/answer", said, seen=row["version"])


def test_it_works(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("stripping")
    walk.steps("stripping")
    row = asked(walk)
    hold = Hold.objects.get()

    with nothing_changes():
        assert codes(walk.move("cleaning")) == ["held-customer"]
        assert codes(api["counter"].post(f"holds/{hold.uid}/lift", {"why": "I think so."})) == ["by-itself"]
    ok(answered(walk, row, AGREED))

    ok(walk.move("cleaning"))
    given, kept = GoAhead.objects.latest("pk"), Charge.objects.get()
    assert (given.amount, given.given_by, given.how) == (26000, "Maja Lindqvist", "by telephone")
    assert (str(kept.said_on), kept.answered_by and kept.answered_by.name) == ("2026-01-02", "Bryn Castell")
    assert ok(api["lead"].get(f"drop-offs/{walk.drop_off}/estimate"))["price"] == "155.00"
    with nothing_changes():
        assert codes(answered(walk, row | {"version": 2}, AGREED)) == ["not-asked"]
        assert answered(walk, row, AGREED).status_code == 412


def test_it_lowers_no_go_ahead(house: House, api: dict[str, Api], pages: dict[str, Any]) -> None:
    """What the page offers is what stands, twice; less is refused, and a lower go-ahead is another decision."""
    walk = Walk(house, api).to("stripping")
    first, second = asked(walk), asked(walk)
    with nothing_changes():
        assert codes(answered(walk, first, AGREED | {"amount": "155.00"})) == ["below-go-ahead"]
    for row in (first, second):
        path = f"/charges/{row['uid']}/answer"
        form = pages["counter"].get(path).context["form"]
        offered = {each.name: each.value for each in form.fields}["amount"]
        ok(answered(walk, row, AGREED | {"amount": offered}))
    assert [each.amount for each in GoAhead.objects.order_by("pk")] == [20000, 20000, 21500]


def test_it_is_declined_and_acknowledged(house: House, api: dict[str, Api], pages: dict[str, Any]) -> None:
    walk = Walk(house, api).to("rebuilding")
    row = asked(walk)
    with nothing_changes():
        wrong: dict[str, Any] = DECLINED | {"went_back": "", "amount": "1", "said_on": "2199-01-01"}
        assert codes(answered(walk, row, wrong)) == ["went-back-missing", "amount-unasked", "day-to-come"]
        wrong = AGREED | {"went_back": "bagged in pieces", "amount": None}
        assert codes(answered(walk, row, wrong)) == ["amount-missing", "went-back-unasked"]
    ok(answered(walk, row, DECLINED))
    ok(walk.sign(outcome="declined", words="She wants it back as it is."), 201)

    with nothing_changes():
        assert codes(walk.hand_back()) == ["do-not-dive"]
        assert codes(api["counter"].post(f"charges/{row['uid']}/take-off", seen=2)) == ["not-standing"]
    assert "put back together" in said(pages["counter"].get(f"/drop-offs/{walk.drop_off}/hand-back"), 200)
    left = ok(walk.hand_back(acknowledged=True), 201)
    assert pages["counter"].get(f"/hand-backs/{left['uid']}/slip.pdf").status_code == 200


def test_it_asks_for_what_was_declined_of_serviced_gear(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("testing")
    ok(answered(walk, asked(walk), DECLINED))
    walk.steps("testing")
    walk.tests()
    ok(walk.sign(), 201)

    with nothing_changes():
        assert codes(walk.hand_back()) == ["declined-work"]
    ok(walk.hand_back(acknowledged=True), 201)


def test_it_has_photographs_and_is_asked_again(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    ok(api["lead"].post("reckoning", {"inclusive": False, "rounding": "per rate", "nudge_days": 3}, seen=1))
    walk = Walk(house, api).to("stripping")
    with at(now() - timedelta(days=3)):
        row = asked(walk)
    path = f"charges/{row['uid']}/photographs"
    ok(api["technician"].post(path, form(encoded(), "the crack"), format="multipart"), 201)
    other = Walk(house, api, "second_stage").to("stripping")
    asked(other)

    waiting = ok(api["counter"].get("supplements"))["supplements"]

    assert [(each["days"], each["again"]) for each in waiting] == [(3, True), (0, False)]
    assert Photograph.objects.get().subject == f"charge:{row['uid']}"
    page = said(pages["counter"].get(f"/charges/{row['uid']}"), 200)
    assert "the crack" in page
    assert f'href="tel:{walk.house.customer.phone}"' in page
    assert f'href="/drop-offs/{walk.drop_off}/porthole"' in page
    shown = said(pages["counter"].get("/counter/supplements"), 200)
    assert (shown.count("ask again"), "tel:+441632960417" in shown) == (1, True)
    told = "1 supplement has waited for the customer's answer for 3 days or longer."
    assert told in said(pages["counter"].get("/counter"), 200)


def test_it_has_lines_with_payers_and_likely_extras(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    walk = Walk(house, api)
    plan = str(house.plans["first_stage"].uid)
    priced = {"plan": plan, "payer": "customer", "discount": "5.00", "reason": "A comeback."}
    first = ok(api["counter"].post(f"jobs/{walk.job}/plan-prices", priced), 201)
    ok(api["counter"].post(f"jobs/{walk.job}/plan-prices", priced | {"discount": "10"}), 201)
    path = f"drop-offs/{walk.drop_off}/charges"
    likely = ok(api["counter"].post(path, {"what": "Hose", "amount": "24", "likely": True}), 201)
    ok(api["counter"].post(path, {"what": "Seat", "amount": "8", "payer": "maker's programme"}), 201)

    found = ok(api["counter"].get(f"drop-offs/{walk.drop_off}/estimate"))

    assert (found["price"], found["with_likely"]) == ("85.00", "109.00")
    assert [(each["payer"], each["gross"]) for each in found["totals"]] == [
        ("customer", "85.00"),
        ("maker's programme", "8.00"),
    ]
    assert Charge.objects.get(uid=first["uid"]).state == "taken off"
    assert (
        pages["counter"].get(f"/drop-offs/{walk.drop_off}/go-ahead").context["form"].fields[0].value
        == "109.00"
    )
    ok(walk.go_ahead("85.00"), 201)
    ok(api["counter"].post(f"charges/{likely['uid']}/need", seen=1))
    with nothing_changes():
        assert codes(walk.move("cleared", role="counter")) == ["go-ahead-too-low"]
        assert codes(api["counter"].post(f"charges/{likely['uid']}/need", seen=2)) == ["not-likely"]
        wrong = {"what": "Hose", "amount": "1", "discount": "2", "rate": "none such"}
        assert codes(api["counter"].post(path, wrong)) == [
            "discount-too-high",
            "reason-missing",
            "no-such-rate",
        ]
        assert pointers(api["counter"].post(path, {"what": "", "amount": "-1", "payer": "the state"})) == [
            "/amount",
            "/payer",
            "/what",
        ]
    ok(api["counter"].post(f"charges/{likely['uid']}/take-off", seen=2))
    assert ok(walk.move("cleared", role="counter"))["leg"] == "cleared"


def test_it_is_written_on_pages(house: House, api: dict[str, Api], pages: dict[str, Any]) -> None:
    counter, lead, walk = pages["counter"], pages["lead"], Walk(house, api).to("stripping")
    Workshop.objects.update(reach="+44 1632 960100\nQuay 4, Skerrin")
    send(lead, "/office/money/rates/new", {"name": "usual", "percent": "17.5", "from_day": "2026-01-01"})
    send(lead, "/office/money/reckoning", {"rounding": "per line", "usual": "usual", "inclusive": "true"})
    assert "17.5 %" in said(counter.get("/office/money"), 200)
    page = f"/drop-offs/{walk.drop_off}"
    send(
        counter,
        f"{page}/charges/new",
        {"what": "Hose", "amount": "24", "rate": "", "payer": "customer", "discount": "0"},
    )
    send(pages["technician"], f"/jobs/{walk.job}/supplement", ASK | {"rate": "usual"})
    row = Charge.objects.get(state="asked")
    assert "179.00 GBP" in said(counter.get(f"/charges/{row.uid}/answer"), 200)
    send(counter, f"/charges/{row.uid}/answer", DECLINED | {"amount": "179.00"})

    shown = said(counter.get(f"{page}/money"), 200)

    assert ("119.00 GBP" in shown, "14.15" in shown, "declined" in shown) == (True, True, True)
    assert f"{walk.item.label} {walk.item.title}" in shown
    paper = text_of(counter.get(f"{page}/estimate.pdf").content)
    assert walk.house.customer.name in paper
    assert "+44 1632 960100" in paper, paper
    assert counter.get(f"/jobs/{walk.job}").status_code == 200


def test_it_ends_a_rate(house: House, api: dict[str, Api]) -> None:
    lead, given = api["lead"], {"name": "usual", "from_day": "2026-01-01"}
    with nothing_changes():
        assert codes(lead.post("tax-rates", given)) == ["no-such-rate"]
        assert pointers(lead.post("tax-rates", given | {"percent": "100.001"})) == ["/percent"]
    ok(lead.post("tax-rates", given | {"percent": "20"}), 201)
    ok(lead.post("reckoning", {"inclusive": False, "rounding": "per rate", "usual": "usual"}, seen=1))
    with nothing_changes():
        assert codes(lead.post("tax-rates", given)) == ["usual-rate"]
        unknown = {"inclusive": False, "rounding": "per rate", "usual": "other"}
        assert codes(lead.post("reckoning", unknown, seen=2)) == ["no-such-rate"]
    ok(lead.post("reckoning", {"inclusive": False, "rounding": "per rate"}, seen=2))
    assert ok(lead.post("tax-rates", given), 201)["percent"] is None
