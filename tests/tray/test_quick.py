"""The tray on a phone: one press for what the plan reuses, and on to the next open part."""

from typing import Any

from jobs.tray.models import TrayPart
from tests.conftest import Api, House
from tests.rows import nothing_changes, said
from tests.walk import Walk, ok


def test_it_works(house: House, api: dict[str, Api], pages: dict[str, Any]) -> None:
    walk = Walk(house, api).to("stripping")
    walk.steps("stripping")
    page = said(pages["technician"].get(f"/jobs/{walk.job}"), 200)
    reused = [part.key for part in walk.row.plan.parts if not part.renew]
    assert page.count('name="quick"') == len(reused) > 1

    sent = {"once": "a-key", "ending": "reused", "quick": "1"}
    answers = [pages["technician"].post(f"/jobs/{walk.job}/parts/{reused[0]}", sent) for _ in range(2)]

    assert [answer["Location"] for answer in answers] == [f"/jobs/{walk.job}#tray"] * 2
    assert TrayPart.objects.get().ending == "reused"
    assert said(pages["technician"].get(f"/jobs/{walk.job}"), 200).count('name="quick"') == len(reused) - 1


def test_it_offers_nobody_else_the_press(house: House, api: dict[str, Api], pages: dict[str, Any]) -> None:
    walk = Walk(house, api).to("stripping")
    walk.steps("stripping")

    assert 'name="quick"' not in said(pages["counter"].get(f"/jobs/{walk.job}"), 200)
    with nothing_changes():
        sent = {"once": "a-key", "ending": "reused", "quick": "1"}
        assert pages["counter"].post(f"/jobs/{walk.job}/parts/port_plugs", sent).status_code == 403


def test_it_says_why_when_the_press_is_refused(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    walk = Walk(house, api).to("stripping")

    with nothing_changes():
        page = pages["technician"].post(
            f"/jobs/{walk.job}/parts/yoke_ring", {"once": "a-key", "ending": "reused", "quick": "1"}
        )

    assert "is renewed at each service; it may not be reused." in said(page)


def test_it_goes_on_to_the_next_open_part_and_then_back_to_the_tray(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    walk = Walk(house, api).to("stripping")
    walk.steps("stripping")
    plan = walk.row.plan
    order = [part for step in plan.steps for part in plan.freed(step)]
    ok(walk.end(order[1].key), 201)

    places = []
    for part in (order[0], *order[2:]):
        sent = (
            {"ending": "reused"}
            if not part.renew
            else {"ending": "renewed", "lot": house.lots[part.renew].uid}
        )
        places.append(pages["technician"].post(f"/jobs/{walk.job}/parts/{part.key}", sent)["Location"])

    onward = [
        f"/jobs/{walk.job}/parts/{part.key}?done={before.key}"
        for before, part in zip((order[0], *order[2:]), order[2:], strict=False)
    ]
    assert places == [*onward, f"/jobs/{walk.job}#tray"]
    assert 'id="tray" tabindex="-1"' in said(pages["technician"].get(f"/jobs/{walk.job}"), 200)


def test_it_does_not_lead_to_a_part_that_waits_for_its_place(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    walk = Walk(house, api).to("stripping")
    walk.steps("stripping")
    for part in walk.row.plan.parts:
        if part.key != "yoke_ring":
            ok(walk.end(part.key), 201)

    sent = {"ending": "scrapped", "words": "into the bin for metal"}
    answer = pages["technician"].post(f"/jobs/{walk.job}/parts/yoke_ring", sent)

    assert answer["Location"] == f"/jobs/{walk.job}#tray"
