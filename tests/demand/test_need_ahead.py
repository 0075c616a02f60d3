"""The need ahead by page and API: what is proposed, for whom something is missing, and the draft order."""

from datetime import timedelta
from typing import Any

from django.db import connection
from django.test.utils import CaptureQueriesContext

from shop.clocks.actions import Past, restart_past
from shop.journal.models import Entry
from shop.orders.actions import draft_order, send_order
from shop.orders.models import DraftLine
from shop.suppliers.actions import add_offer, add_supplier
from shop.suppliers.models import Offer
from shop.workshop.reads import today
from tests.conftest import Api, House
from tests.rows import codes, nothing_changes, said, send
from tests.walk import Walk, ok


def offered(house: House, number: str = "TH-303", lead_days: int | None = 14, pack: int = 5) -> Offer:
    """A supplier of a part."""
    by = house.people["storekeeper"]
    name = f"Vantry Seals {lead_days}"
    supplier = add_supplier(by=by, name=name, email="", lead_days=lead_days)
    return add_offer(
        by=by, part=house.lots[number].part, supplier=supplier, number="", pack_size=pack, price=None
    )


def called(house: House, count: int, days_ago: int = 360) -> None:
    """First stages of one customer that fall due soon."""
    items = [house.item(serial=f"due-{n}") for n in range(count)]
    day = today() - timedelta(days=days_ago)
    restart_past(
        by="test",
        services=[Past(each.pk, "overhaul", "Overhaul", 12, day, f"test:{each.pk}") for each in items],
    )


def ahead(api: dict[str, Api], number: str = "TH-303", level: int = 95) -> Any:
    rows = ok(api["storekeeper"].get(f"need-ahead?level={level}"))["parts"]
    return next(row for row in rows if row["number"] == number)


def text(page: Any) -> str:
    """What stands on a page that was looked at, in plain text with single blanks."""
    return said(page, 200)


def scrapped(house: House, api: dict[str, Api], number: str = "TH-303", quantity: int = 10) -> None:
    lot = house.lots[number]
    gone = {"verb": "scrap", "quantity": quantity, "subject": "wet"}
    ok(api["storekeeper"].post(f"lots/{lot.uid}/movements", gone), 201)


def waiting(house: House, api: dict[str, Api]) -> Offer:
    """A job that waits for a seat which the store has not, and somebody who sells it."""
    offer = offered(house)
    Walk(house, api)
    scrapped(house, api)
    return offer


def test_it_works(house: House, api: dict[str, Api]) -> None:
    """A club of twelve falls due next week: with a chance of more than a tenth all twelve seats are needed at once."""
    offer = offered(house)
    called(house, 12)

    row = ahead(api)

    assert (row["in_life"], row["waiting"], row["on_way"], row["offer"]) == (10, 0, 0, str(offer.uid))
    assert row["proposal"]["up_to"] == 12
    assert (row["proposal"]["weeks"], row["proposal"]["usable"], row["proposal"]["wanted"]) == (3, 10, 2)
    assert (row["proposal"]["packs"], row["proposal"]["pieces"], row["proposal"]["capped"]) == (0, 0, True)


def test_open_jobs_are_ordered_for(house: House, api: dict[str, Api]) -> None:
    offered(house)
    Walk(house, api)
    scrapped(house, api)

    row = ahead(api)

    assert (row["in_life"], row["waiting"]) == (0, 1)
    # One waits; one such job in four weeks is what the past says, so three weeks may see two more (Poisson(0.75), F(2) = .959).
    assert (row["proposal"]["up_to"], row["proposal"]["wanted"], row["proposal"]["packs"]) == (3, 3, 1)


def test_what_is_past_its_life_does_not_count(house: House, api: dict[str, Api]) -> None:
    Walk(house, api)

    assert ahead(api, "TH-302")["in_life"] == 10  # ten more are past it


def test_what_is_in_doubt_does_not_count(house: House, api: dict[str, Api]) -> None:
    """Nor do pieces of a kit in doubt; once the doubt is answered they are there again."""
    Walk(house, api)
    keeper, seat = api["storekeeper"], house.lots["TH-303"]
    kit = ok(keeper.post("parts", {"number": "TH-K1", "name": "Kit", "unit": "piece"}), 201)
    ok(keeper.post(f"parts/{kit['uid']}/contents", {"part": str(seat.part.uid), "count": 2}), 201)
    bag = ok(keeper.post(f"parts/{kit['uid']}/lots", {"number": "K-1", "cured": "2Q26", "quantity": 3}), 201)
    assert ahead(api)["in_life"] == 16

    for lot, left in ((str(seat.uid), 6), (bag["uid"], 0)):
        doubt = ok(api["technician"].post("doubts", {"lot": lot, "why": "It smells of solvent."}), 201)
        assert (ahead(api)["in_life"], ahead(api)["waiting"]) == (left, 1)

    ok(api["lead"].post(f"doubts/{doubt['uid']}/answer", {"words": "Only the bag smelt."}), 201)
    assert ahead(api)["in_life"] == 6


def test_what_is_on_its_way_counts_once_it_has_a_day(house: House, api: dict[str, Api]) -> None:
    by, offer = house.people["storekeeper"], waiting(house, api)
    draft = draft_order(by=by, supplier=offer.supplier, lines=[(offer, 1)])
    assert [ahead(api)[name] for name in ("on_draft", "on_way")] == [5, 0]
    assert ahead(api)["proposal"]["packs"] == 1

    send_order(by=by, order=draft, seen=draft.version, how="telephone")

    row = ahead(api)
    assert [row[name] for name in ("on_draft", "on_way", "undated")] == [0, 5, 0]
    assert [row["proposal"][name] for name in ("usable", "packs")] == [5, 0]
    weeks = ok(api["counter"].get(f"parts/{house.lots['TH-303'].part.uid}/need-ahead"))["weeks"]
    assert [week["arrives"] for week in weeks[:4]] == [0, 0, 5, 0]


def test_nothing_is_proposed_without_a_lead_time(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    Walk(house, api)
    assert [ahead(api)[name] for name in ("to_enter", "offer", "proposal")] == ["who sells it", None, None]

    offered(house, lead_days=None)

    assert [ahead(api)[name] for name in ("to_enter", "offer", "proposal")] == [
        "the supplier's lead time", None, None,
    ]  # fmt: skip
    page = text(pages["counter"].get("/store/need-ahead"))
    assert "the supplier's lead time" in page
    assert "enter first the supplier's lead time" in text(
        pages["counter"].get(f"/store/parts/{house.lots['TH-303'].part.uid}/need-ahead")
    )


def test_the_sooner_of_two_suppliers_is_chosen(house: House, api: dict[str, Api]) -> None:
    Walk(house, api)
    offered(house, lead_days=30)
    sooner = offered(house, lead_days=3)
    offered(house, lead_days=None)

    assert ahead(api)["offer"] == str(sooner.uid)


def test_a_part_that_the_store_has_not_is_named(house: House, api: dict[str, Api]) -> None:
    Walk(house, api)
    part = house.lots["TH-303"].part
    part.number = "TH-999"
    part.save()

    assert ok(api["storekeeper"].get("need-ahead"))["unknown"] == ["TH-303"]


def test_it_goes_on_a_draft_and_twice_is_once(house: House, api: dict[str, Api]) -> None:
    offer = waiting(house, api)
    address = f"suppliers/{offer.supplier.uid}/proposed"

    first = ok(api["storekeeper"].post(address, {"level": 95}), 201)
    again = ok(api["storekeeper"].post(address), 201)

    assert first["order"]["state"] == "draft"
    assert [(row["packs"], row["pack_size"]) for row in again["lines"]] == [(1, 5)]
    assert again["order"]["uid"] == first["order"]["uid"]
    assert DraftLine.objects.count() == 1
    assert Entry.objects.filter(verb="drafted").count() == 2


def test_it_goes_on_a_draft_by_page(house: House, api: dict[str, Api], pages: dict[str, Any]) -> None:
    offer = waiting(house, api)
    address = f"/store/suppliers/{offer.supplier.uid}/proposed"

    assert "TH-303: 1 pack of 5 pieces" in text(pages["storekeeper"].get(f"{address}?level=98"))
    answer = send(pages["storekeeper"], address, {"level": "98"})

    assert answer.status_code == 302
    assert DraftLine.objects.get().packs == 1


def test_the_draft_needs_the_right(house: House, api: dict[str, Api]) -> None:
    offer = waiting(house, api)

    for role in ("counter", "technician", "inspector"):
        with nothing_changes():
            answer = api[role].post(f"suppliers/{offer.supplier.uid}/proposed")

        assert answer.status_code == 403
        assert ok(api[role].get("need-ahead"))["level"] == 95


def test_nothing_proposed_is_refused(house: House, api: dict[str, Api]) -> None:
    offer = offered(house)

    with nothing_changes():
        answer = api["storekeeper"].post(f"suppliers/{offer.supplier.uid}/proposed")

    assert codes(answer) == ["nothing-proposed"]


def test_a_level_that_there_is_not_is_refused(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    for level in ("94", "0", "x", "95.0", "-95"):
        assert api["storekeeper"].get(f"need-ahead?level={level}").status_code == 400
        assert pages["storekeeper"].get(f"/store/need-ahead?level={level}").status_code == 400


def test_the_page_says_why(house: House, api: dict[str, Api], pages: dict[str, Any]) -> None:
    offer = waiting(house, api)

    page = text(pages["storekeeper"].get("/store/need-ahead?level=90"))
    one = text(pages["storekeeper"].get(f"/store/parts/{offer.part.uid}/need-ahead"))

    assert "1 pack of 5" in page
    assert "Put it on the draft order" in page
    assert "Put it on the draft order" not in text(pages["counter"].get("/store/need-ahead"))
    assert "a prior of 10 customers is our own choice" in page
    assert "1 in 4 weeks" in page
    assert "it has to last 3 weeks" in one
    assert (
        "Over 26 weeks" in pages["counter"].get(f"/store/parts/{offer.part.uid}/need-ahead").content.decode()
    )


def test_where_nothing_is_needed(house: House, api: dict[str, Api], pages: dict[str, Any]) -> None:
    part = house.lots["TH-303"].part

    assert "Nothing is needed ahead." in text(pages["storekeeper"].get("/store/need-ahead"))
    assert ok(api["storekeeper"].get("need-ahead"))["parts"] == []
    assert api["storekeeper"].get(f"parts/{part.uid}/need-ahead").status_code == 404
    assert pages["storekeeper"].get(f"/store/parts/{part.uid}/need-ahead").status_code == 404


def test_it_asks_as_often_for_many_parts_as_for_one(house: House, api: dict[str, Api]) -> None:
    offered(house)
    called(house, 1)
    Walk(house, api)
    ahead(api)
    with CaptureQueriesContext(connection) as few:
        ahead(api)

    for number in ("TH-301", "TH-302", "TH-401"):
        offered(house, number, lead_days=int(number[3:]))
    Walk(house, api, "second_stage")
    ahead(api)
    with CaptureQueriesContext(connection) as many:
        ahead(api)

    assert len(many) == len(few)
