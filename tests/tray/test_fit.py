"""Which lot may go into which job: life, gas, doubts, the plan's position; and what the lead may override."""

from copy import deepcopy
from typing import Any

import pytest

from jobs.tray.models import TrayPart
from shop.catalogue.actions import issue_plan
from shop.journal.models import Words
from shop.staff.actions import authorise
from shop.stock.actions import add_part, receive, state_fitness
from tests.conftest import SECRET, Api, House
from tests.rows import codes, nothing_changes, said, send, sentences
from tests.walk import Walk, ok

WHY = "No other ring is here and it was measured."


@pytest.fixture
def walk(house: House, api: dict[str, Api]) -> Walk:
    """A first stage that is apart."""
    walk = Walk(house, api).to("stripping")
    walk.steps("stripping")
    return walk


def used_with(walk: Walk, share: str | None) -> None:
    walk.item.refresh_from_db()
    ok(walk.api["counter"].post(f"items/{walk.item.uid}/gas", {"oxygen": share}, seen=walk.item.version))


def fit_for(house: House, number: str, *gases: str) -> None:
    part = house.lots[number].part
    part.refresh_from_db()
    source = "a sheet" if gases else ""
    given: Any = {"part": part, "seen": part.version, "fit_for": gases, "fit_source": source}
    state_fitness(by=house.people["storekeeper"], **given)


def doubted(walk: Walk, number: str, why: str = "The rings are too soft.") -> Any:
    body = {"lot": str(walk.house.lots[number].uid), "why": why}
    return ok(walk.api["technician"].post("doubts", body), 201)


def overriding(walk: Walk, lot: str, **given: Any) -> dict[str, Any]:
    """What the lead sends so that the yoke ring is taken from a lot all the same."""
    people = walk.house.people
    sent = {"ending": "renewed", "lot": str(walk.house.lots[lot].uid), "override": WHY}
    sent |= {"second": str(people["inspector"].uid), "second_secret": SECRET}
    return sent | {"done_by": str(people["technician"].uid)} | given


def override(walk: Walk, lot: str, role: str = "lead", **given: Any) -> Any:
    return walk.api[role].post(f"jobs/{walk.job}/parts/yoke_ring", overriding(walk, lot, **given))


def finished(walk: Walk) -> None:
    """The rest of the parts, and on to the end of the tests."""
    ok(walk.move("cleaning"))
    walk.steps("cleaning")
    walk.parts(but="yoke_ring")
    ok(walk.move("rebuilding"))
    walk.steps("rebuilding")
    ok(walk.move("testing"))
    walk.tests()


def test_it_works(walk: Walk) -> None:
    """The gas and the rule by which it was found are kept with the part that was taken."""
    used_with(walk, "32")
    with nothing_changes():
        refused = walk.end("yoke_ring")
    assert codes(refused) == ["unfit-for-gas"]
    assert sentences(refused) == [
        "Part TH-302 is not fit for enriched air (used with 32 % oxygen, above the threshold of 23.5 %). "
        "Not stated for which gas it is fit, so for air only."
    ]
    fit_for(walk.house, "TH-302", "air", "enriched air")

    made = ok(walk.end("yoke_ring"), 201)

    rule = "used with 32 % oxygen, above the threshold of 23.5 %"
    assert (made["gas"], made["gas_rule"], made["overridden"]) == ("enriched air", rule, "")
    sheet = ok(walk.api["counter"].get(f"jobs/{walk.job}/sheet"))
    assert (sheet["gas"], sheet["gas_rule"]) == ("enriched air", rule)


def test_it_says_every_reason_at_once(walk: Walk) -> None:
    used_with(walk, "100")
    doubted(walk, "old")
    emptied = {"verb": "scrap", "quantity": 10, "subject": "too old"}
    ok(walk.api["storekeeper"].post(f"lots/{walk.house.lots['old'].uid}/movements", emptied), 201)

    with nothing_changes():
        found = codes(walk.end("seat", lot="old"))

    assert found == ["wrong-part", "past-life", "unfit-for-gas", "not-enough", "blocked"]


def test_a_lot_in_doubt_is_blocked_with_what_came_out_of_its_kit_until_it_is_answered(
    walk: Walk, pages: dict[str, Any]
) -> None:
    made = doubted(walk, "TH-302")
    lot = walk.house.lots["TH-302"]
    with nothing_changes():
        assert sentences(walk.end("yoke_ring")) == [
            "Lot TH-302-A is blocked by a doubt: The rings are too soft."
        ]
    page = said(pages["counter"].get(f"/store/lots/{lot.uid}"), 200)
    assert "Blocked by" in page
    assert "The rings are too soft." in page
    assert "its lot is in doubt" in said(pages["technician"].get(f"/jobs/{walk.job}/parts/yoke_ring"), 200)

    ok(walk.api["lead"].post(f"doubts/{made['uid']}/answer", {"words": "They are as they should be."}), 201)

    ok(walk.end("yoke_ring"), 201)
    assert "Blocked by" not in said(pages["counter"].get(f"/store/lots/{lot.uid}"), 200)


def test_the_lead_overrides_with_a_second_person_and_the_record_says_so(
    walk: Walk, pages: dict[str, Any]
) -> None:
    doubt = doubted(walk, "TH-302")

    made = ok(override(walk, "TH-302"), 201)

    assert (made["overridden"], made["override"], made["lot"]) == ("blocked", WHY, "TH-302-A")
    row = TrayPart.objects.get()
    assert (row.recorded_by, row.second, row.by) == tuple(
        walk.house.people[role] for role in ("lead", "inspector", "technician")
    )
    assert Words.objects.filter(text__contains=WHY).exists()
    assert "Yoke O-ring, overridden:</b> its lot is in doubt" in said(
        pages["counter"].get(f"/jobs/{walk.job}"), 200
    )
    finished(walk)
    ok(walk.sign(), 201)
    (signed,) = ok(walk.api["counter"].get(f"jobs/{walk.job}/sign-offs"))["results"]
    (part,) = [each for each in signed["record"]["parts"] if each.get("overridden")]
    assert (part["override"], part["lead"], part["second"]) == (WHY, "Ada Thornbury", "Marek Dunwell")
    page = said(pages["counter"].get(f"/records/{signed['uid']}"), 200)
    assert "Overridden: its lot is in doubt." in page
    assert WHY in page
    ok(walk.hand_back(), 201)
    # Nothing was stopped, and the doubt still wants to know what became of it.
    told = ok(walk.api["lead"].get(f"doubts/{doubt['uid']}"))
    assert [each["job"] for each in told["affected"]] == [walk.job]
    with nothing_changes():
        closing = walk.api["lead"].post(f"doubts/{doubt['uid']}/answer", {"words": "All is well."})
    assert codes(closing) == ["answer-each"]


def test_what_was_overridden_still_rests_on_a_later_doubt(walk: Walk) -> None:
    first = doubted(walk, "TH-302")
    ok(override(walk, "TH-302"), 201)
    ok(walk.move("cleaning"))
    (affected,) = ok(walk.api["lead"].get(f"doubts/{first['uid']}"))["affected"]
    given = {"became": "stands", "words": "They are as they should be."}
    ok(walk.api["lead"].post(f"affected/{affected['uid']}/answer", given), 201)

    again = doubted(walk, "TH-302", "One of them broke.")

    assert [each["job"] for each in again["affected"]] == [walk.job]


@pytest.mark.parametrize(("lot", "what"), [("TH-303", "wrong-part"), ("old", "past-life")])
def test_in_gear_for_air_more_may_be_overridden(walk: Walk, lot: str, what: str) -> None:
    assert codes(walk.end("yoke_ring", lot=lot)) == [what]

    assert ok(override(walk, lot), 201)["overridden"] == what

    finished(walk)
    ok(walk.sign(), 201)


def test_nobody_overrides_life_or_gas_for_more_oxygen(walk: Walk) -> None:
    used_with(walk, "40")
    with nothing_changes():
        assert codes(override(walk, "TH-302")) == ["unfit-for-gas", "no-override"]
    fit_for(walk.house, "TH-302", "enriched air")
    with nothing_changes():
        assert codes(override(walk, "old")) == ["past-life", "no-override"]
    fit_for(walk.house, "TH-303", "enriched air")
    assert ok(override(walk, "TH-303"), 201)["overridden"] == "wrong-part"


@pytest.mark.parametrize(
    ("lot", "given", "expected"),
    [
        ("TH-302", {}, ["nothing-overridden"]),
        ("TH-303", {"second": None, "second_secret": ""}, ["second-missing"]),
        ("TH-303", {"second": "@lead"}, ["second-missing"]),
        ("TH-303", {"second_secret": "a guess"}, ["wrong-secret"]),
        ("TH-303", {"done_by": None}, ["not-authorised", "not-a-technician"]),
        ("TH-303", {"ending": "reused"}, ["must-renew", "lot-unasked"]),
        ("", {"ending": "missing on arrival"}, ["nothing-overridden"]),
        ("TH-302", {"second": None}, ["nothing-overridden", "second-missing"]),
    ],
)
def test_it_refuses_an_override_that_is_none(
    walk: Walk, lot: str, given: dict[str, Any], expected: list[str]
) -> None:
    people = walk.house.people
    given = {key: str(people["lead"].uid) if value == "@lead" else value for key, value in given.items()}
    sent = overriding(walk, lot or "TH-302", **given) | ({} if lot else {"lot": None})

    with nothing_changes():
        assert codes(walk.api["lead"].post(f"jobs/{walk.job}/parts/yoke_ring", sent)) == expected


def test_what_is_not_there_is_overridden_by_nobody(walk: Walk) -> None:
    lot = walk.house.lots["TH-303"]
    emptied = {"verb": "scrap", "quantity": 10, "subject": "wet"}
    ok(walk.api["storekeeper"].post(f"lots/{lot.uid}/movements", emptied), 201)

    with nothing_changes():
        assert codes(override(walk, "TH-303")) == ["not-enough"]


def test_only_the_lead_overrides_by_both_doors(walk: Walk, pages: dict[str, Any]) -> None:
    path = f"/jobs/{walk.job}/parts/yoke_ring"
    with nothing_changes():
        for role in ("technician", "inspector", "counter", "storekeeper"):
            assert override(walk, "TH-303", role).status_code == 403
            assert send(pages[role], path, overriding(walk, "TH-303")).status_code == 403
        assert walk.end("yoke_ring", role="lead").status_code == 403
    assert 'name="override"' not in said(pages["technician"].get(path), 200)
    form = said(pages["lead"].get(path), 200)
    assert 'name="override"' in form
    assert "TH-303-A" in form

    assert send(pages["lead"], path, overriding(walk, "TH-303")).status_code == 302

    assert TrayPart.objects.get().overridden == "wrong-part"


def test_it_asks_again_when_the_gas_becomes_known_later(walk: Walk) -> None:
    """A part past its life was overridden for air; then the owner says what the gear is used with."""
    ok(override(walk, "old"), 201)
    finished(walk)
    used_with(walk, "50")

    with nothing_changes():
        refused = walk.sign()

    assert set(codes(refused)) == {"plan-unfit", "unfit-for-gas", "past-life"}
    assert "Yoke O-ring: Lot TH-302-OLD is past its life: good to 2019-03-31." in sentences(refused)
    used_with(walk, None)
    ok(walk.sign(), 201)


def test_the_threshold_of_the_day_decides(walk: Walk) -> None:
    used_with(walk, "25")
    assert codes(walk.end("yoke_ring")) == ["unfit-for-gas"]
    ok(walk.api["lead"].post("oxygen-threshold", {"threshold": "25"}, seen=1))

    made = ok(walk.end("yoke_ring"), 201)

    assert made["gas_rule"] == "used with 25 % oxygen, not above the threshold of 25 %"


def test_gear_for_more_oxygen_waits_for_a_plan_for_it(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    walk = Walk(house, api)
    used_with(walk, "32")
    ok(walk.go_ahead(), 201)

    with nothing_changes():
        assert codes(walk.move("cleared", role="counter")) == ["plan-unfit"]
    assert "no plan of this job is for oxygen-clean gear" in said(
        pages["counter"].get(f"/jobs/{walk.job}"), 200
    )
    ok(api["lead"].post("oxygen-threshold", {"threshold": "40"}, seen=1))
    ok(walk.move("cleared", role="counter"))


def test_a_grease_goes_into_oxygen_clean_gear_only_if_it_is_stated_fit_for_oxygen(
    house: House, api: dict[str, Api]
) -> None:
    """A lubricant is a part like any other."""
    keeper, lead = house.people["storekeeper"], house.people["lead"]
    given: Any = {"unit": "piece", "material": "", "life_months": None, "life_source": ""}
    grease = add_part(by=keeper, number="GR-1", name="Grease, a sachet", **given)
    house.lots["GR-1"] = receive(by=keeper, part=grease, number="GR-1-A", cured="", quantity=2)
    document = deepcopy(house.plans["first_stage"].document) | {"oxygen": True}
    for part in document["parts"]:
        part["renew"] = "GR-1" if part["key"] == "yoke_ring" else part["renew"]
    model = house.models["first_stage"]
    house.plans["first_stage"] = issue_plan(by=lead, model=model, key="overhaul", document=document)
    technician = house.people["technician"]
    authorise(by=lead, person=technician, maker="Tarnwell", kind="", last_day=None, oxygen_clean=True)
    walk = Walk(house, api).to("stripping")
    walk.steps("stripping")

    for stated in ((), ("air",), ("air", "enriched air")):
        fit_for(house, "GR-1", *stated)
        with nothing_changes():
            assert codes(walk.end("yoke_ring")) == ["unfit-for-gas"]
            assert codes(override(walk, "GR-1")) == ["unfit-for-gas", "no-override"]
    fit_for(house, "GR-1", "oxygen")
    ok(walk.end("yoke_ring"), 201)


def test_oxygen_clean_gear_goes_through_with_parts_that_are_fit(house: House, api: dict[str, Api]) -> None:
    """Nothing is stated of the item: its plan alone says oxygen."""
    document = house.plans["first_stage"].document | {"oxygen": True}
    lead, model = house.people["lead"], house.models["first_stage"]
    house.plans["first_stage"] = issue_plan(by=lead, model=model, key="overhaul", document=document)
    for role in ("technician", "inspector"):
        person = house.people[role]
        authorise(by=lead, person=person, maker="Tarnwell", kind="", last_day=None, oxygen_clean=True)
    for number in ("TH-301", "TH-302", "TH-303"):
        fit_for(house, number, "oxygen")

    Walk(house, api).to("handed_back")

    rule = "the plan is for oxygen-clean gear; enriched is above the threshold of 23.5 %"
    taken = TrayPart.objects.exclude(movement=None).values_list("gas", "gas_rule")
    assert list(taken) == [("oxygen", rule)] * 3
