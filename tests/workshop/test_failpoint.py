"""Fail points do nothing unless they are asked for, and no real workshop starts with one."""

import pytest
from django.test import override_settings

from jobs.flow.models import DropOff
from shop.environment import BadSetting, fail_point
from shop.files.models import Photograph
from shop.health.apps import settings_are_safe
from shop.workshop import actions
from shop.workshop.actions import FailPoint, failpoint
from tests.conftest import Api, House
from tests.photographs import encoded, upload
from tests.rows import nothing_changes
from tests.walk import Walk, ok


@pytest.fixture(autouse=True)
def count_afresh() -> None:
    actions._passed.clear()


def test_it_works() -> None:
    failpoint("after-commit")
    with override_settings(FAILPOINT=("after-commit", 2, "raise")):
        failpoint("before-commit")
        failpoint("after-commit")
        with pytest.raises(FailPoint):
            failpoint("after-commit")
        failpoint("after-commit")


@pytest.mark.parametrize("value", ["after-commit", "after-commit:0:kill", "a:1:sleep", "A:1:kill", ":1:kill"])
def test_it_refuses_a_value_that_says_nothing(value: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("EBBWRIGHT_FAILPOINT", value)

    with pytest.raises(BadSetting):
        fail_point()


def test_it_keeps_a_real_workshop_from_starting(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("EBBWRIGHT_FAILPOINT", "after-commit:3:kill")
    armed = fail_point()

    assert armed == ("after-commit", 3, "kill")
    with override_settings(FAILPOINT=armed):
        assert [found.id for found in settings_are_safe()] == ["health.E012"]
    with override_settings(FAILPOINT=armed, TRIAL=True):
        assert settings_are_safe() == []


@pytest.mark.parametrize("point", ["before-answer", "before-commit"])
def test_it_leaves_nothing_of_what_was_not_committed(point: str, house: House, api: dict[str, Api]) -> None:
    bag = {"words": "A bag of hoses.", "contents": "not looked at"}
    data = {"customer": str(house.customer.uid), "promised_on": "2199-01-01", "lines": [bag]}

    with nothing_changes(), override_settings(FAILPOINT=(point, 1, "raise")), pytest.raises(FailPoint):
        api["counter"].post("drop-offs", data)

    ok(api["counter"].post("drop-offs", data), 201)
    assert DropOff.objects.count() == 1


def test_it_keeps_a_photograph_again_whose_file_was_there_already(house: House, api: dict[str, Api]) -> None:
    """Killed after the rename: the file has no row; sent again, it gets one."""
    walk = Walk(house, api)
    line = walk.row.line.uid
    given = {"photograph": upload(encoded(colour="indigo")), "words": "As it came."}

    with (
        nothing_changes(),
        override_settings(FAILPOINT=("after-rename", 1, "raise")),
        pytest.raises(FailPoint),
    ):
        api["counter"].post(f"lines/{line}/photographs", given, format="multipart")
    given["photograph"] = upload(encoded(colour="indigo"))
    ok(api["counter"].post(f"lines/{line}/photographs", given, format="multipart"), 201)

    assert Photograph.objects.count() == 1
