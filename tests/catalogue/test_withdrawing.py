"""Withdrawing an issued version over both doors: once, for good, and no work begins on it."""

import json
from typing import Any

import pytest

from shop.catalogue.models import PlanVersion, Withdrawal
from shop.catalogue.reads import newest
from shop.journal.models import Entry
from tests.conftest import Api, House
from tests.plans import document
from tests.rows import codes, nothing_changes, pointers, said, send
from tests.walk import ok

REASON = {"reason": "The low limit of the lock-up is wrong."}


def withdraw(house: House, api: dict[str, Api], uid: Any = None, role: str = "lead") -> Any:
    return api[role].post(f"plans/{uid or house.plans['first_stage'].uid}/withdrawals", REASON)


def next_version(house: House, api: dict[str, Api]) -> str:
    path = f"models/{house.models['first_stage'].uid}/plans"
    uid: str = ok(api["lead"].post(path, {"key": "overhaul", "document": document()}), 201)["uid"]
    return uid


def test_it_works(house: House, api: dict[str, Api]) -> None:
    row = house.plans["first_stage"]
    before = ok(api["technician"].get(f"plans/{row.uid}"))
    body = ok(withdraw(house, api), 201)
    found = ok(api["technician"].get(f"plans/{row.uid}"))

    assert before["withdrawn"] is None
    assert body == found
    assert found["withdrawn"]["reason"] == REASON["reason"]
    assert found["withdrawn"]["by"] == str(house.people["lead"].uid)
    assert found["digest"] == before["digest"]
    fresh = PlanVersion.objects.get(pk=row.pk)
    assert fresh.withdrawn is not None
    assert fresh.withdrawn.by == house.people["lead"]
    assert PlanVersion.objects.get(pk=house.plans["second_stage"].pk).withdrawn is None
    entry = Entry.objects.filter(subject=f"model:{row.model.uid}").order_by("-n")[0]
    assert entry.verb == "plan withdrawn"


def test_it_is_withdrawn_once(house: House, api: dict[str, Api], pages: dict[str, Any]) -> None:
    page = f"/office/plans/{house.plans['first_stage'].uid}"
    send(pages["lead"], f"{page}/withdraw", REASON)

    with nothing_changes():
        assert codes(withdraw(house, api)) == ["withdrawn"]
        assert "This version has been withdrawn already." in said(
            send(pages["lead"], f"{page}/withdraw", REASON)
        )
    assert Withdrawal.objects.count() == 1
    assert f'href="{page}/withdraw"' not in said(pages["lead"].get(page), 200)


@pytest.mark.parametrize("reason", ["", " ", "\0", "\ud800", "x" * 301, None, [], {"a": 1}, True], ids=repr)
def test_it_wants_a_reason(house: House, api: dict[str, Api], reason: Any) -> None:
    path = f"/api/v1/plans/{house.plans['first_stage'].uid}/withdrawals"
    body, headers = json.dumps({"reason": reason}), {"Idempotency-Key": '"k"'}

    with nothing_changes():
        answer = api["lead"].client.generic("POST", path, body, "application/json", headers=headers)
        assert pointers(answer) == ["/reason"]


def test_it_leaves_the_version_before_to_work_on(house: House, api: dict[str, Api]) -> None:
    first, model = house.plans["first_stage"], house.models["first_stage"]
    second = next_version(house, api)
    assert [row.n for row in newest([model.pk])] == [2]
    ok(withdraw(house, api, second), 201)
    assert newest([model.pk]) == [first]
    ok(withdraw(house, api), 201)
    assert newest([model.pk]) == []
    assert [row.n for row in newest([house.models["second_stage"].pk])] == [1]


def test_it_says_so_in_words(house: House, api: dict[str, Api], pages: dict[str, Any]) -> None:
    second = next_version(house, api)
    ok(withdraw(house, api, second), 201)
    listed = said(pages["technician"].get("/office/models"), 200)
    shown = said(pages["technician"].get(f"/office/plans/{second}"), 200)

    assert 'v2</a> <span class="sign caution">withdrawn</span>' in listed
    assert 'v1</a> <span class="sign ok">work begins on it</span>' in listed
    assert "Overhaul, version 2, withdrawn" in shown
    assert REASON["reason"] in shown
    assert "Ada Thornbury" in shown


def test_it_is_not_offered_at_check_in(house: House, api: dict[str, Api], pages: dict[str, Any]) -> None:
    house.item()
    path = f"/customers/{house.customer.uid}/check-in"
    first = str(house.plans["first_stage"].uid)
    assert first in said(pages["counter"].get(path), 200)
    ok(withdraw(house, api), 201)

    assert first not in said(pages["counter"].get(path), 200)


def test_it_may_be_copied_into_a_draft(house: House, api: dict[str, Api]) -> None:
    ok(withdraw(house, api), 201)
    uid = ok(api["lead"].post(f"plans/{house.plans['first_stage'].uid}/drafts"), 201)["uid"]

    assert ok(api["lead"].post(f"drafts/{uid}/issue", seen=1), 201)["n"] == 2


def test_it_is_not_for_others(house: House, api: dict[str, Api]) -> None:
    with nothing_changes():
        assert withdraw(house, api, role="technician").status_code == 403
        assert withdraw(house, api, role="stranger").status_code == 401
