"""What open jobs still need is spoken for: by promised day, on the part's page, in what to order, and as something is taken."""

from datetime import date, timedelta
from typing import Any
from uuid import uuid4

import pytest

from jobs.flow.models import Job
from shop.journal.models import Entry
from shop.stock.rules import Claim, Level, shares, spoken_refusals
from shop.workshop.reads import today
from tests.conftest import Api, House
from tests.rows import codes, nothing_changes, said, send
from tests.walk import Walk, ok


def claim(pieces: int, day: int) -> Claim:
    return Claim("TH-302", pieces, date(2026, 12, day), "a job", "tray 1", "/jobs/1")


@pytest.mark.parametrize(
    ("claims", "in_life", "there"),
    [
        ([], 3, []),
        ([claim(2, 1), claim(2, 3)], 4, [2, 2]),
        ([claim(2, 1), claim(2, 3)], 3, [2, 1]),
        ([claim(1, 3), claim(2, 1)], 2, [2, 0]),  # the earlier day first, in whatever order they come
        ([claim(2, 1), claim(1, 1)], 1, [1, 0]),  # on one day the older job first
    ],
)
def test_which_claim_gets_how_many(claims: list[Claim], in_life: int, there: list[int]) -> None:
    found = shares(claims, in_life)

    assert [each.there for each in found] == there
    assert sum(each.short for each in found) == sum(each.pieces for each in claims) - sum(there)


@pytest.mark.parametrize(
    ("in_life", "spoken_for", "quantity", "found"),
    [
        (10, 0, 10, []),
        (10, 3, 7, []),
        (10, 3, 8, ["spoken-for"]),
        (10, 12, 1, ["spoken-for"]),
        (0, 0, 1, []),  # that there are none is told by other rules
    ],
)
def test_when_a_word_is_asked_for(in_life: int, spoken_for: int, quantity: int, found: list[str]) -> None:
    level = Level(in_life, in_life, spoken_for)

    assert [each.code for each in spoken_refusals("TH-302", level, quantity)] == found
    assert (level.free, level.short) == (in_life - spoken_for, max(0, spoken_for - in_life))


def level(api: dict[str, Api], house: House, number: str = "TH-302") -> Any:
    return ok(api["counter"].get(f"parts/{house.lots[number].part.uid}/level"))


def test_it_works(house: House, api: dict[str, Api], pages: dict[str, Any]) -> None:
    later, first = Walk(house, api).to("cleared"), Walk(house, api)
    Job.objects.filter(uid=first.job).update(promised_on=today() + timedelta(days=1))

    body = level(api, house)

    # Twenty on hand, ten of them past their life; each first stage renews one ring.
    assert [body[name] for name in ("on_hand", "in_life", "spoken_for", "free")] == [20, 10, 2, 8]
    assert [(row["job"], row["pieces"], row["there"]) for row in body["jobs"]] == [
        (first.job, 1, 1), (later.job, 1, 1),
    ]  # fmt: skip
    part = house.lots["TH-302"].part
    page = said(pages["counter"].get(f"/store/parts/{part.uid}"), 200)
    assert f"/jobs/{first.job}" in page
    assert f"/store/parts/{part.uid}" in said(pages["counter"].get("/store"), 200)
    assert "10 pieces in life, 2 spoken for, 8 free" in said(pages["counter"].get("/store"), 200)


def test_a_part_that_has_its_end_is_spoken_for_no_longer(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("cleaning")
    assert level(api, house)["spoken_for"] == 1

    walk.parts()

    body = level(api, house)
    assert (body["in_life"], body["spoken_for"], body["free"], body["jobs"]) == (9, 0, 9, [])
    ok(walk.move("stripping", reason="A ring was nicked.", role="inspector"))
    assert level(api, house)["spoken_for"] == 1


def test_what_to_order_counts_what_is_free(house: House, api: dict[str, Api], pages: dict[str, Any]) -> None:
    part = house.lots["TH-302"].part
    ok(api["storekeeper"].put(f"parts/{part.uid}", {"minimum": 9, "up_to": 30}, 1))
    assert ok(api["storekeeper"].get("parts/to-order"))["parts"] == []

    Walk(house, api)

    (row,) = ok(api["storekeeper"].get("parts/to-order"))["parts"]
    assert [row[name] for name in ("in_life", "spoken_for", "free", "quantity")] == [10, 1, 9, 21]
    assert "21 pieces" in said(pages["counter"].get("/store/to-order"), 200)


def test_it_is_not_taken_for_anything_else_without_a_word(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    Walk(house, api)
    lot, keeper = house.lots["TH-302"], api["storekeeper"]
    path, taken = f"lots/{lot.uid}/movements", {"quantity": 10, "subject": "sold"}

    with nothing_changes():
        refused = keeper.post(path, taken)
        page = send(pages["storekeeper"], f"/store/lots/{lot.uid}/move", taken)
    assert codes(refused) == ["spoken-for"]
    assert refused.json()["errors"][0]["pointer"] == "/in_spite"
    assert (
        "Of TH-302, 10 pieces may be used and open jobs and bookings still need 1 piece; you ask for 10 pieces."
        in said(page)
    )

    # Nine are free; what is counted, moved or scrapped is as it is, and what no job may take is spoken for by none.
    ok(keeper.post(path, taken | {"quantity": 9}), 201)
    ok(keeper.post(path, {"verb": "scrap", "quantity": 1, "subject": "torn"}), 201)
    ok(keeper.post(path, {"verb": "return", "quantity": 10, "subject": "not sold"}), 201)
    sent = taken | {"in_spite": "on", "once": str(uuid4())}
    assert pages["storekeeper"].post(f"/store/lots/{lot.uid}/move", sent).status_code == 302

    entries = Entry.objects.filter(subject=f"part:{lot.part.uid}", verb="moved by hand").order_by("pk")
    assert ["in spite" in entry.facts for entry in entries] == [False, False, False, True]
    assert level(api, house)["free"] == -1
    lot.refresh_from_db()
    assert lot.on_hand == 0


def test_a_lot_in_doubt_is_spoken_for_by_nobody(house: House, api: dict[str, Api]) -> None:
    Walk(house, api)
    lot = house.lots["TH-302"]
    ok(api["technician"].post("doubts", {"lot": str(lot.uid), "why": "A ring is cut."}), 201)

    assert [level(api, house)[name] for name in ("in_life", "free")] == [0, -1]
    taken = {"quantity": 10, "subject": "looked at closely"}
    assert codes(api["storekeeper"].post(f"lots/{lot.uid}/movements", taken)) == ["blocked"]
    ok(api["storekeeper"].post(f"lots/{lot.uid}/movements", taken | {"verb": "scrap"}), 201)


def test_a_kit_is_taken_with_what_is_in_it(house: House, api: dict[str, Api]) -> None:
    keeper, ring = api["storekeeper"], house.lots["TH-302"]
    Walk(house, api)
    ok(keeper.post(f"lots/{ring.uid}/movements", {"quantity": 9, "subject": "sold"}), 201)
    kit = ok(keeper.post("parts", {"number": "TH-K1", "name": "Kit", "unit": "piece"}), 201)
    ok(keeper.post(f"parts/{kit['uid']}/contents", {"part": str(ring.part.uid), "count": 2}), 201)
    bag = ok(keeper.post(f"parts/{kit['uid']}/lots", {"number": "K-1", "cured": "2Q26", "quantity": 1}), 201)
    ok(keeper.post(f"lots/{ring.uid}/movements", {"quantity": 1, "subject": "sold"}), 201)

    with nothing_changes():
        assert codes(keeper.post(f"lots/{bag['uid']}/movements", {"quantity": 1, "subject": "sold"})) == [
            "spoken-for"
        ]
    # Opened, its pieces are in the store as before.
    ok(api["technician"].post(f"lots/{bag['uid']}/open", {"quantity": 1}), 201)
    assert level(api, house)["free"] == 1
