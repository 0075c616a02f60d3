"""From a lot to everything it went into, and from an item to every lot that was fitted."""

from typing import Any

from jobs.tray.models import TrayPart
from shop.stock.actions import add_content, add_part, open_kit, receive
from tests.conftest import Api, House
from tests.walk import Walk, ok


def renewed(house: House, api: dict[str, Api], number: str = "") -> Walk:
    """A job that renewed its filter from a lot."""
    walk = Walk(house, api).to("stripping")
    walk.steps("stripping")
    ok(walk.end("filter", lot=number), 201)
    return walk


def test_a_lot_is_traced_to_jobs_items_and_owners(house: House, api: dict[str, Api]) -> None:
    walk = renewed(house, api)

    traced = ok(api["counter"].get(f"lots/{house.lots['TH-301'].uid}/trace"))

    (row,) = traced["fitted"]
    assert (row["job"], row["number"], row["owner"]) == (
        walk.job,
        walk.item.label,
        str(house.customer.uid),
    )
    assert (row["part"], row["count"], traced["lot"]["on_hand"]) == ("TH-301", 1, 9)


def test_pieces_out_of_a_kit_are_traced_from_the_kit(house: House, api: dict[str, Api]) -> None:
    keeper = house.people["storekeeper"]
    given: dict[str, Any] = {"unit": "piece", "material": "", "life_months": None, "life_source": ""}
    kit = add_part(by=keeper, number="TH-KIT", name="Kit", **given)
    part = house.lots["TH-301"].part
    add_content(by=keeper, kit=kit, part=part, count=2)
    batch = receive(by=keeper, part=kit, number="K-1", cured="2Q26", quantity=1)
    open_kit(by=keeper, lot=batch, quantity=1)
    house.lots["inside"] = part.lots.get(number="K-1")

    walk = renewed(house, api, "inside")

    (row,) = ok(api["counter"].get(f"lots/{batch.uid}/trace"))["fitted"]
    assert (row["job"], row["lot"]) == (walk.job, str(house.lots["inside"].uid))
    other = ok(api["counter"].get(f"lots/{house.lots['TH-301'].uid}/trace"))
    assert other["fitted"] == [], "another lot of the same part went nowhere"


def test_an_item_tells_every_lot_that_was_fitted(house: House, api: dict[str, Api], pages: Any) -> None:
    walk = renewed(house, api)
    ok(walk.end("yoke_ring"), 201)
    ok(walk.end("main_spring"), 201)

    rows = ok(api["counter"].get(f"items/{walk.item.uid}/lots"))["results"]

    assert [row["part"] for row in rows] == ["TH-302", "TH-301"], "what was reused came from no lot"
    assert TrayPart.objects.count() == 3
    page = pages["counter"].get(f"/items/{walk.item.uid}").content.decode()
    assert "Lots fitted: 2" in page
    lot = pages["counter"].get(f"/store/lots/{house.lots['TH-301'].uid}").content.decode()
    assert f"tray {walk.row.number}" in lot
    assert walk.item.label in lot
