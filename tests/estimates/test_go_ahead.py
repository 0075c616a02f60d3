"""Taking a go-ahead: an amount in the workshop's currency, from somebody with a name."""

from typing import Any

import pytest

from jobs.estimates.models import GoAhead
from tests.conftest import Api, House
from tests.rows import codes, nothing_changes, pointers, said, send
from tests.walk import Walk, ok, pair


def test_it_works(house: House, api: dict[str, Api]) -> None:
    body = ok(Walk(house, api).go_ahead("180.5"), 201)

    assert (body["amount"], body["currency"]) == ("180.50", "GBP")
    assert GoAhead.objects.get().amount == 18050


@pytest.mark.parametrize(
    "amount", ["-1", "0.001", "1e400", "1e9", "NaN", "Infinity", "ten", "", None, [], {}, True, 1e300]
)
def test_it_refuses_what_is_no_amount(house: House, api: dict[str, Api], amount: Any) -> None:
    walk = Walk(house, api)

    with nothing_changes():
        assert pointers(walk.go_ahead(amount)) == ["/amount"]


def test_it_takes_one_on_the_page(house: House, api: dict[str, Api], pages: dict[str, Any]) -> None:
    walk = Walk(house, api)
    path = f"/drop-offs/{walk.drop_off}/go-ahead"

    with nothing_changes():
        page = send(pages["counter"], path, {"amount": "1.005", "given_by": "Maja", "how": "in person"})
    assert "GBP has fewer decimals than that." in said(page, 400)

    send(pages["counter"], path, {"amount": "95.00", "given_by": "Maja", "how": "in person"})
    assert GoAhead.objects.get().amount == 9500


def test_it_asks_nothing_for_a_declined_job(house: House, api: dict[str, Api], pages: dict[str, Any]) -> None:
    first, second = pair(house, api, house.item(serial="A-1"), house.item("second_stage", serial="A-2"))
    both = house.plans["first_stage"].plan.price + house.plans["second_stage"].plan.price
    shown = pages["counter"].get(f"/drop-offs/{first.drop_off}")
    assert (shown.context["price"], both) == ("155.00", 15500)
    ok(first.go_ahead("95.00"), 201)
    with nothing_changes():
        assert codes(first.move("cleared", role="counter")) == ["go-ahead-too-low"]

    ok(second.sign(outcome="declined", words="The customer does not want it done."), 201)

    assert pages["counter"].get(f"/drop-offs/{first.drop_off}").context["price"] == "95.00"
    assert ok(first.move("cleared", role="counter"))["leg"] == "cleared"


@pytest.mark.parametrize("outcome", ["failed", "condemned", "beyond repair"])
def test_it_asks_for_a_job_with_any_other_outcome(
    house: House, api: dict[str, Api], pages: dict[str, Any], outcome: str
) -> None:
    walk = Walk(house, api)
    ok(walk.sign(outcome=outcome, words="The seat bore is scored."), 201)

    assert pages["counter"].get(f"/drop-offs/{walk.drop_off}").context["price"] == "95.00"


def test_it_charges_again_for_what_was_declined_and_is_wanted_after_all(
    house: House, api: dict[str, Api]
) -> None:
    walk = Walk(house, api).to("stripping")
    ok(walk.sign(outcome="declined", words="It costs too much.", second=None, second_secret=""), 201)
    ok(walk.go_ahead("10.00"), 201)

    ok(walk.move("stripping", reason="He wants it after all.", role="inspector"))
    walk.steps("stripping")

    with nothing_changes():
        assert codes(walk.move("cleaning")) == ["go-ahead-too-low"]
