"""A storage life by a published rule, the maker's own date, and an extension after an inspection."""

from datetime import UTC, date, datetime
from typing import Any

import pytest

from shop.lives.rules import LIFE_RULES, extension_refusals, last_good_day, life_refusals
from shop.stock.models import Lot
from shop.workshop.reads import at
from tests.conftest import Api, House
from tests.rows import codes, nothing_changes, said, send, sentences
from tests.walk import ok

RING = {"number": "TH-900", "name": "Ring", "unit": "piece", "material": "NBR 70", "life_rule": "iso-2230-b"}


@pytest.mark.parametrize(
    ("rule", "material", "months", "source", "found"),
    [
        ("iso-2230-b", "NBR", None, "", []),
        ("iso-2230-b", "nbr 70 shore", None, "", []),
        ("iso-2230-b", "HNBR", None, "", []),
        ("iso-2230-b", "EPDM", None, "", ["life-material"]),
        ("iso-2230-b", "", None, "", ["life-material"]),
        ("iso-2230-b", "XNBR", None, "", ["life-material"]),
        ("iso-2230-b", "NBR", 84, "", ["life-twice"]),
        ("iso-2230-b", "FKM", None, "ours", ["life-twice", "life-material"]),
        ("", "NBR", 84, "ours", []),
        ("", "NBR", 84, "", ["life-source"]),
        ("", "", None, "", []),
    ],
)
def test_a_life_has_one_rule_that_fits(
    rule: str, material: str, months: int | None, source: str, found: list[str]
) -> None:
    given: dict[str, Any] = {"material": material, "life_months": months, "life_source": source}

    assert [each.code for each in life_refusals(LIFE_RULES.get(rule), **given)] == found


@pytest.mark.parametrize(
    ("cured", "months", "use_by", "day"),
    [
        (date(2024, 6, 30), 84, None, date(2031, 6, 30)),
        (date(2024, 6, 30), 84, date(2029, 1, 31), date(2029, 1, 31)),
        (date(2024, 6, 30), 84, date(2040, 1, 31), date(2031, 6, 30)),
        (None, None, date(2029, 1, 31), date(2029, 1, 31)),
        (date(2024, 6, 30), None, None, None),
    ],
)
def test_the_sooner_day_counts(
    cured: date | None, months: int | None, use_by: date | None, day: date | None
) -> None:
    assert last_good_day(cured, months, use_by) == day


@pytest.mark.parametrize(
    ("key", "use_by", "extended", "found"),
    [
        ("iso-2230-b", None, False, []),
        ("iso-2230-b", date(2033, 1, 1), False, []),
        ("iso-2230-b", date(2031, 6, 30), False, ["maker-date"]),
        ("iso-2230-b", None, True, ["extended-before"]),
        ("as5316-15", None, False, ["no-extension"]),
        ("", None, False, ["no-extension"]),
    ],
)
def test_only_some_lives_are_extended(
    key: str, use_by: date | None, extended: bool, found: list[str]
) -> None:
    given: dict[str, Any] = {"good_to": date(2031, 6, 30), "use_by": use_by, "extended": extended}

    assert [each.code for each in extension_refusals(LIFE_RULES.get(key), **given)] == found


def test_a_part_takes_its_life_from_a_published_rule(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    part = ok(api["storekeeper"].post("parts", RING), 201)
    assert (part["life_months"], part["life_source"]) == (84, LIFE_RULES["iso-2230-b"].source)

    path = f"parts/{part['uid']}/lots"
    given = {"number": "L-1", "cured": "2Q24", "quantity": 5}
    lot = ok(api["storekeeper"].post(path, given), 201)
    own = ok(api["storekeeper"].post(path, given | {"number": "L-2", "use_by": "2029-01-31"}), 201)
    assert (lot["good_to"], own["good_to"]) == ("2031-06-30", "2029-01-31")

    with nothing_changes():
        other = api["storekeeper"].post(path, given | {"use_by": "2029-01-31"})
        page = send(pages["storekeeper"], f"/store/parts/{part['uid']}/receive", given | {"number": "L-2"})
    assert sentences(other) == ["Lot L-1 stands here with cure quarter 2Q24."]
    assert "Lot L-2 stands here with cure quarter 2Q24 and the maker's date 2029-01-31." in said(page)


def test_a_lot_past_its_life_is_good_again_after_the_extension_and_never_twice(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    part = ok(api["storekeeper"].post("parts", RING), 201)
    given = {"number": "L-1", "cured": "2Q17", "quantity": 5}
    lot = ok(api["storekeeper"].post(f"parts/{part['uid']}/lots", given), 201)
    assert lot["good_to"] == "2024-06-30"
    take = {"quantity": 1, "subject": "a trial"}
    assert codes(api["storekeeper"].post(f"lots/{lot['uid']}/movements", take)) == ["past-life"]

    words = {"subject": "Soft, no cracks, nothing sticks."}
    send(pages["storekeeper"], f"/store/lots/{lot['uid']}/extend", words)

    assert str(Lot.objects.get(uid=lot["uid"]).good_to) == "2027-06-30"
    with at(datetime(2027, 6, 30, 12, tzinfo=UTC)):
        ok(api["storekeeper"].post(f"lots/{lot['uid']}/movements", take), 201)
    with nothing_changes():
        again = api["storekeeper"].post(f"lots/{lot['uid']}/extension", words)
        unruled = api["storekeeper"].post(f"lots/{house.lots['TH-302'].uid}/extension", words)
    assert (codes(again), codes(unruled)) == (["extended-before"], ["no-extension"])
