"""A lot in doubt or under a notice is taken for nothing, over both doors; the pages say so before anybody tries."""

from datetime import date
from typing import Any

import pytest

from shop.stock.actions import add_content, add_part, receive
from shop.stock.models import Lot, Stored
from shop.stock.reads import in_store
from shop.stock.rules import lot_signs
from shop.workshop.reads import today
from tests.conftest import Api, House
from tests.rows import codes, nothing_changes, said, send
from tests.safety.doors import made
from tests.walk import ok

TAKEN = {"quantity": 1, "subject": "club kit"}


@pytest.mark.parametrize(
    ("blocked", "found"),
    [
        ([], []),
        (["blocked"], ["in doubt"]),
        (["blocked", "blocked", "blocked-by-notice"], ["in doubt", "under a notice"]),
        (["another"], ["blocked"]),
    ],
)
def test_which_signs_a_lot_has(blocked: list[str], found: list[str]) -> None:
    day = date(2026, 11, 27)

    assert lot_signs(None, day, blocked) == lot_signs(day, day, blocked) == found


def doubted(api: dict[str, Api], lot: Lot) -> None:
    ok(api["technician"].post("doubts", {"lot": str(lot.uid), "why": "A ring is cut."}), 201)


def noticed(api: dict[str, Api], lot: Lot) -> None:
    made(api, lots=[f"{lot.part.number}: {lot.number}"])


@pytest.mark.parametrize(
    ("how", "code", "sign", "sentence"),
    [
        (doubted, "blocked", "in doubt", "is blocked by a doubt: A ring is cut."),
        (noticed, "blocked-by-notice", "under a notice", "is blocked by safety notice"),
    ],
)
def test_nothing_of_it_is_taken(
    house: House, api: dict[str, Api], pages: dict[str, Any], how: Any, code: str, sign: str, sentence: str
) -> None:
    lot, keeper, page = house.lots["TH-303"], api["storekeeper"], pages["storekeeper"]
    path, form = f"lots/{lot.uid}/movements", f"/store/lots/{lot.uid}/move"
    ok(keeper.post(path, TAKEN), 201)
    shown = ["/store", f"/store/parts/{lot.part.uid}"]
    assert not any(f'caution">{sign}' in said(page.get(each), 200) for each in shown)
    how(api, lot)

    assert all(f'caution">{sign}' in said(page.get(each), 200) for each in shown)
    blank = said(page.get(form), 200)
    assert sentence in blank
    assert "Nothing of it is taken; it may be" in blank
    with nothing_changes():
        assert codes(keeper.post(path, TAKEN | {"in_spite": True})) == [code]
        assert codes(keeper.post(path, TAKEN | {"quantity": 99})) == [code, "not-enough"]
        assert sentence in said(send(page, form, TAKEN))

    other = ok(keeper.post("bins", {"site": "Workshop", "label": "Held back"}), 201)["uid"]
    place = str(Stored.objects.filter(lot=lot).values_list("bin__uid", flat=True).get())
    for given in (
        {"verb": "return"},
        {"verb": "move", "bin": place, "to": other},
        {"verb": "count", "bin": other},
        {"verb": "scrap"},
    ):
        ok(keeper.post(path, TAKEN | given), 201)


def test_a_lot_past_its_life_is_marked_and_said_beforehand(house: House, pages: dict[str, Any]) -> None:
    page, old = pages["storekeeper"], house.lots["old"]

    assert "past its life" in said(page.get(f"/store/parts/{old.part.uid}"), 200)
    blank = said(page.get(f"/store/lots/{old.uid}/move"), 200)
    assert f"Lot {old.number} is past its life: good to {old.good_to}. Nothing of it is taken" in blank


def test_a_kit_of_unknown_age_does_not_count(house: House) -> None:
    """One from before the rule was there; one that says its quarter counts."""
    by, seat = house.people["storekeeper"], house.lots["TH-303"].part
    given: dict[str, Any] = {"unit": "piece", "material": "", "life_months": None, "life_source": ""}
    kit = add_part(by=by, number="TH-K1", name="Kit", **given)
    add_content(by=by, kit=kit, part=seat, count=2)
    before = in_store(["TH-303"], today())["TH-303"].pieces
    lot = receive(by=by, part=kit, number="K-1", cured="2Q26", quantity=3)
    assert in_store(["TH-303"], today())["TH-303"].pieces == before + 6

    Lot.objects.filter(pk=lot.pk).update(cured="")
    assert in_store(["TH-303"], today())["TH-303"].pieces == before
