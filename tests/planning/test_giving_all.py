"""A drop-off's jobs given out at once: all that nobody has yet, or none."""

from typing import Any

import pytest
from django.test import Client

from jobs.flow.models import Job
from shop.staff.actions import authorise
from tests.conftest import Api, House
from tests.rows import codes, nothing_changes, said, send
from tests.walk import ok


@pytest.fixture
def school(house: House, api: dict[str, Api]) -> dict[str, Any]:
    """Three first stages and a second stage of one customer, with nobody yet."""
    kinds = ["first_stage", "first_stage", "first_stage", "second_stage"]
    items = [house.item(kind, f"TH-{n}") for n, kind in enumerate(kinds)]
    lines = [
        {"item": str(item.uid), "plan": str(house.plans[kind].uid), "contents": "no gas"}
        for item, kind in zip(items, kinds, strict=True)
    ]
    given = {"customer": str(house.customer.uid), "promised_on": "2199-01-01", "lines": lines}
    made: dict[str, Any] = ok(api["counter"].post("drop-offs", given), 201)
    return made


def given_to(house: House, role: str) -> dict[str, str]:
    return {"technician": str(house.people[role].uid)}


def test_it_works(house: House, pages: dict[str, Client], school: dict[str, Any]) -> None:
    path, technician = f"/drop-offs/{school['uid']}", house.people["technician"]
    assert f'href="{path}/assign"' in said(pages["lead"].get(path), 200)
    assert f'href="{path}/assign"' not in said(pages["counter"].get(path), 200)
    assert "tray 1, 2, 3, 4." in said(pages["lead"].get(f"{path}/assign"), 200)

    assert send(pages["lead"], f"{path}/assign", given_to(house, "technician"))["Location"] == path

    assert {job.technician for job in Job.objects.all()} == {technician}
    assert f'href="{path}/assign"' not in said(pages["lead"].get(path), 200)
    assert "is with somebody already" in said(pages["lead"].get(f"{path}/assign"), 200)


def test_it_leaves_alone_what_somebody_has(house: House, api: dict[str, Api], school: dict[str, Any]) -> None:
    first = school["lines"][0]["job"]
    ok(api["lead"].post(f"jobs/{first}/assign", given_to(house, "inspector"), seen=1))

    answer = ok(api["lead"].post(f"drop-offs/{school['uid']}/assign", given_to(house, "technician")))

    assert len(answer["jobs"]) == 3
    assert Job.objects.get(uid=first).technician == house.people["inspector"]
    with nothing_changes():
        again = api["lead"].post(f"drop-offs/{school['uid']}/assign", given_to(house, "technician"))
    assert codes(again) == ["no-jobs"]


def test_it_gives_all_or_none(house: House, api: dict[str, Api], school: dict[str, Any]) -> None:
    authorise(
        by=house.people["lead"], person=house.people["counter"], maker="Tarnwell", kind="first_stage", last_day=None
    )  # fmt: skip
    path = f"drop-offs/{school['uid']}/assign"

    with nothing_changes():
        assert codes(api["lead"].post(path, given_to(house, "counter"))) == [
            *["not-a-technician"] * 4, "not-authorised",
        ]  # fmt: skip
        assert api["technician"].post(path, given_to(house, "technician")).status_code == 403


def test_it_offers_who_is_authorised_for_all_of_it(
    house: House, pages: dict[str, Client], school: dict[str, Any]
) -> None:
    page = said(pages["lead"].get(f"/drop-offs/{school['uid']}/assign"), 200)
    assert "Ines Okafor</option>" in page

    ended = house.people["technician"].authorisations.get()
    ended.kind = "first_stage"
    ended.save()

    page = said(pages["lead"].get(f"/drop-offs/{school['uid']}/assign"), 200)
    assert "Ines Okafor</option>" not in page
