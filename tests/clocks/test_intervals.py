"""Rules for intervals move the dates of clocks; the shortest that applies wins and the page says which and why."""

from datetime import date
from typing import Any

import pytest

from shop.catalogue.actions import add_model
from shop.clocks.actions import restart, set_going
from shop.clocks.models import Clock
from shop.clocks.pages import beside
from shop.clocks.rules import Decision
from shop.gear.actions import add_item
from shop.gear.models import Item
from shop.intervals.models import Interval
from shop.intervals.reads import shipped, shipped_missing
from tests.conftest import Api, House
from tests.rows import codes, nothing_changes, said
from tests.walk import ok

MAKER = {
    "title": "Overhaul",
    "clock": "overhaul",
    "document": "Tarnwell service manual",
    "source": "The manual.",
    "status": "the maker's",
    "kind": "first_stage",
}


def overhauled(house: House, day: date = date(2026, 1, 10)) -> Clock:
    """A first stage that was overhauled on a day under a plan of twelve months."""
    by, item = house.people["technician"], house.item()
    clock = set_going(by=by, item=item, key="overhaul", title="Overhaul", months=12)
    return restart(by=by, clock=clock, months=12, day=day, cause="a")


def proposed(api: dict[str, Api], **told: Any) -> dict[str, Any]:
    answer: dict[str, Any] = ok(api["lead"].post("intervals", MAKER | told), 201)
    return answer


def decided(api: dict[str, Api], rule: dict[str, Any], decision: str) -> dict[str, Any]:
    path = f"intervals/{rule['uid']}/decisions"
    answer: dict[str, Any] = ok(api["lead"].post(path, {"decision": decision}, seen=rule["version"]))
    return answer


def due(clock: Clock) -> date | None:
    return Clock.objects.get(pk=clock.pk).due


def would_move(api: dict[str, Api], rule: dict[str, Any], decision: str) -> dict[str, Any]:
    answer: dict[str, Any] = ok(api["lead"].get(f"intervals/{rule['uid']}/would-move?decision={decision}"))
    return answer


def cylinder(house: House, **facts: Any) -> Item:
    lead = house.people["lead"]
    model = add_model(by=lead, maker="Brackwold", name="Marl", revision="", kind="cylinder", design="")
    item = add_item(by=lead, owner=house.customer, model=model, serial="C-1", owners_mark="")
    Item.objects.filter(pk=item.pk).update(**facts)
    return Item.objects.select_related("model").get(pk=item.pk)


def test_it_works(house: House, api: dict[str, Api]) -> None:
    """A rule is shown with the dates that it would move, then put in force, then withdrawn."""
    clock = overhauled(house)
    rule = proposed(api, months=6, grace_days=14)

    assert due(clock) == date(2027, 1, 10)
    moves = would_move(api, rule, "put in force")
    assert (moves["count"], moves["fresh"]) == (1, 0)
    assert (moves["rows"][0]["due"], moves["rows"][0]["would_be_due"]) == ("2027-01-10", "2026-07-10")
    assert due(clock) == date(2027, 1, 10)

    rule = decided(api, rule, "put in force")
    (shown,) = ok(api["counter"].get(f"clocks?item={clock.item.uid}"))["results"]
    assert (shown["due"], shown["grace"], shown["interval"]) == ("2026-07-10", "2026-07-24", rule["uid"])

    decided(api, rule, "withdraw")
    row = Clock.objects.get()
    assert (row.due, row.grace, row.interval, row.moved) == (date(2027, 1, 10), None, None, 3)


def test_a_longer_rule_moves_nothing(house: House, api: dict[str, Api]) -> None:
    clock = overhauled(house)
    rule = proposed(api, months=24)

    assert would_move(api, rule, "put in force")["count"] == 0
    decided(api, rule, "put in force")

    assert due(clock) == date(2027, 1, 10)


def test_a_rule_sets_clocks_going_for_gear_that_is_here_and_that_comes(
    house: House, api: dict[str, Api]
) -> None:
    item = house.item()
    rule = proposed(api, clock="hose_check", title="Hose check", months=60)
    assert would_move(api, rule, "put in force")["fresh"] == 1
    decided(api, rule, "put in force")
    later = house.item(serial="TH-2")
    other = house.item("second_stage", serial="TH-3")

    found = {clock.item_id: (clock.key, clock.unknown) for clock in Clock.objects.all()}
    assert found == {item.pk: ("hose_check", True), later.pk: ("hose_check", True)}
    assert other.pk not in found


def test_a_clock_that_nothing_asks_for_any_more_is_not_due(house: House, api: dict[str, Api]) -> None:
    house.item()
    rule = decided(api, proposed(api, clock="hose_check", title="Hose check", months=60), "put in force")
    assert ok(api["counter"].get("due?within=history not known"))["results"]

    decided(api, rule, "withdraw")

    assert ok(api["counter"].get("due?within=history not known"))["results"] == []
    assert ok(api["counter"].get("clocks"))["results"][0]["state"] == "idle"


def test_a_place_counts_once_it_is_followed(house: House, api: dict[str, Api], pages: dict[str, Any]) -> None:
    """A cylinder of unknown alloy in the USA, tested in May 2021: D1 and D3 of the published rows."""
    item = cylinder(house, in_service_on=date(2021, 5, 1))
    assert ok(api["lead"].post("intervals/shipped"))["added"] == len(shipped())
    assert not shipped_missing()
    assert not Clock.objects.filter(item=item).exists()
    row = Interval.objects.filter(place="USA", clock="pressure_test").order_by("pk")[0]
    usa: dict[str, Any] = {"uid": str(row.uid), "version": row.version}
    others = {each.pk for each in Interval.objects.filter(place="USA")} - {row.pk}
    assert others
    assert {each.pk for each in beside(row, Decision.FOLLOW)} == others
    assert beside(row, Decision.WITHDRAW) == []
    shown = said(pages["lead"].get(f"/office/intervals/{row.uid}/follow"), 200)
    assert all(each.said in shown for each in beside(row, Decision.FOLLOW))
    assert "So is it for the other rules of USA" in shown

    decided(api, usa, "follow its place")

    clocks = {clock.key: clock for clock in Clock.objects.filter(item=item)}
    assert set(clocks) == {"pressure_test", "eddy_current"}
    assert all(clock.unknown for clock in clocks.values())
    tester = house.people["technician"]
    tested = restart(by=tester, clock=clocks["pressure_test"], months=None, day=date(2021, 5, 9), cause="t")
    assert tested.due == date(2026, 5, 31)
    facts = {"material": "steel", "specification": "3AA"}
    ok(api["counter"].post(f"items/{item.uid}/facts", facts, seen=item.version))
    found = ok(api["counter"].get(f"clocks?item={item.uid}"))["results"]
    assert {row["key"]: row["state"] for row in found} == {"pressure_test": "running", "eddy_current": "idle"}

    path = f"intervals/{usa['uid']}/decisions"
    with nothing_changes():
        again = api["lead"].post(path, {"decision": "follow its place"}, seen=usa["version"])
        assert codes(again) == ["place-stands"]


def test_a_replacement_takes_the_place_of_its_rule_once(house: House, api: dict[str, Api]) -> None:
    clock = overhauled(house)
    old = decided(api, proposed(api, months=6), "put in force")
    path = f"intervals/{old['uid']}/replacement"
    first = ok(api["lead"].post(path, MAKER | {"months": 9}), 201)
    second = ok(api["lead"].post(path, MAKER | {"months": 3}), 201)

    decided(api, first, "put in force")
    assert due(clock) == date(2026, 10, 10)
    assert ok(api["lead"].get(f"intervals/{old['uid']}"))["state"] == "withdrawn"
    with nothing_changes():
        late = api["lead"].post(
            f"intervals/{second['uid']}/decisions", {"decision": "put in force"}, seen=second["version"]
        )
        assert codes(late) == ["interval-withdrawn"]


@pytest.mark.parametrize(
    ("told", "code"),
    [
        ({"kind": "cylinder", "clock": "pressure_test", "months": 120}, "too-long"),
        ({"kind": "cylinder", "clock": "pressure_test", "months": 61, "place": "USA"}, "too-long"),
    ],
)
def test_it_offers_no_period_that_is_not_for_underwater_breathing(
    house: House, api: dict[str, Api], told: dict[str, Any], code: str
) -> None:
    with nothing_changes():
        assert codes(api["lead"].post("intervals", MAKER | told)) == [code]


def test_a_rule_is_decided_at_the_version_that_was_seen(house: House, api: dict[str, Api]) -> None:
    rule = proposed(api, months=6)
    path = f"intervals/{rule['uid']}/decisions"
    with nothing_changes():
        assert api["lead"].post(path, {"decision": "put in force"}, seen=9).status_code == 412
        assert codes(api["lead"].post(path, {"decision": "withdraw"}, seen=1)) == ["only-proposed"]
        assert codes(api["lead"].post(path, {"decision": "follow its place"}, seen=1)) == ["no-place"]
    ok(api["lead"].post(f"intervals/{rule['uid']}/set-aside", seen=1))
    with nothing_changes():
        assert codes(api["lead"].post(path, {"decision": "put in force"}, seen=2)) == ["interval-withdrawn"]


def test_dives_come_first_when_they_are_reached_first(house: House, api: dict[str, Api]) -> None:
    clock = overhauled(house)
    decided(api, proposed(api, dives=100), "put in force")
    path = f"items/{clock.item.uid}/tallies"

    ok(api["counter"].post(path, {"unit": "dives", "total": 60, "day": "2026-01-10"}), 201)
    ok(api["counter"].post(path, {"unit": "dives", "total": 159, "day": "2026-05-01"}), 201)
    assert due(clock) == date(2027, 1, 10)
    ok(api["counter"].post(path, {"unit": "dives", "total": 160, "day": "2026-06-01"}), 201)
    assert due(clock) == date(2026, 6, 1)

    with nothing_changes():
        back = api["counter"].post(path, {"unit": "dives", "total": 100, "day": "2026-07-01"})
        assert codes(back) == ["counts-back"]
        more = api["counter"].post(path, {"unit": "dives", "total": 161, "day": "2026-05-20"})
        assert codes(more) == ["counts-back"]
    # Of one day the newest entry counts, so a slip is put right.
    ok(api["counter"].post(path, {"unit": "dives", "total": 159, "day": "2026-06-01"}), 201)
    assert due(clock) == date(2027, 1, 10)


def test_the_page_says_which_rule_decides_and_why(house: House, api: dict[str, Api], pages: Any) -> None:
    clock = overhauled(house)
    decided(api, proposed(api, months=6), "put in force")

    page = pages["counter"].get(f"/clocks/{clock.uid}").content.decode()

    assert "Tarnwell service manual" in page
    assert "for every first stage" in page
    assert page.count("decides</span>") == 1
