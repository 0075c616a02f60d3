"""Accounting for a loose part: from the right lot, in life, while the gear is apart."""

from typing import Any

from jobs.tray.models import TrayPart
from shop.stock.models import Lot
from tests.conftest import Api, House
from tests.rows import codes, nothing_changes, said, send, sentences
from tests.walk import Walk, ok


def test_it_works(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("stripping")

    body = ok(walk.end("yoke_ring"), 201)

    assert (body["ending"], body["count"], body["lot"]) == ("renewed", 1, "TH-302-A")
    assert Lot.objects.get(number="TH-302-A").on_hand == 9
    assert TrayPart.objects.get().movement is not None


def test_it_refuses_a_lot_past_its_life(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("stripping")

    with nothing_changes():
        answer = walk.end("yoke_ring", lot="old")

    assert codes(answer) == ["past-life"]
    assert sentences(answer) == ["Lot TH-302-OLD is past its life: good to 2019-03-31."]
    assert answer.json()["errors"][0]["pointer"] == "/lot"


def test_it_refuses_a_lot_past_its_life_on_the_page(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    walk = Walk(house, api).to("stripping")
    path = f"/jobs/{walk.job}/parts/yoke_ring"

    with nothing_changes():
        page = send(pages["technician"], path, {"ending": "renewed", "lot": str(house.lots["old"].uid)})

    assert "Lot TH-302-OLD is past its life: good to 2019-03-31." in said(page)


def test_it_refuses_a_lot_of_another_part(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("stripping")

    with nothing_changes():
        answer = walk.end("yoke_ring", lot="TH-303")

    assert sentences(answer) == ["The plan asks for TH-302 here; lot TH-303-A is TH-303."]


def test_it_refuses_more_than_a_lot_has(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("stripping")
    lot = house.lots["TH-302"]
    ok(
        api["storekeeper"].post(
            f"lots/{lot.uid}/movements", {"verb": "scrap", "quantity": 10, "subject": "torn"}
        ),
        201,
    )

    with nothing_changes():
        answer = walk.end("yoke_ring")

    assert sentences(answer) == ["Lot TH-302-A has 0 pieces, less than the 1 piece asked for."]


def test_it_refuses_to_reuse_what_is_renewed(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("stripping")

    with nothing_changes():
        answer = api["technician"].post(f"jobs/{walk.job}/parts/seat", {"ending": "reused"})

    assert codes(answer) == ["must-renew"]


def test_it_refuses_with_every_reason_of_the_tray(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("rebuilding")

    with nothing_changes():
        answer = api["technician"].post(f"jobs/{walk.job}/parts/pin", {"ending": "renewed"})

    assert codes(answer) == ["ended-before", "wrong-leg", "lot-missing"]


def test_it_refuses_a_part_that_the_plan_does_not_have(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("stripping")

    with nothing_changes():
        answer = api["technician"].post(f"jobs/{walk.job}/parts/whistle", {"ending": "reused"})

    assert codes(answer) == ["no-such-part"]


def test_it_refuses_to_rebuild_with_a_part_unaccounted_for(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("cleaning")
    walk.steps("cleaning")
    for part in walk.row.plan.parts:
        if part.key not in ("plate", "seat"):
            ok(walk.end(part.key), 201)

    with nothing_changes():
        answer = walk.move("rebuilding")

    assert sentences(answer) == [
        "Step 4, Lift the diaphragm out flat: thrust plate is not accounted for.",
        "Step 5, Blow out the seat and its spring: seat is not accounted for.",
    ]
