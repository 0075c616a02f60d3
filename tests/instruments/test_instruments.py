"""Instruments and their calibrations."""

from datetime import date
from typing import Any

import pytest

from shop.instruments.models import Instrument
from tests.conftest import Api, House
from tests.rows import codes, nothing_changes, pointers, said, send
from tests.walk import ok

GAUGE = {
    "code": "BG-9", "name": "gauge", "kind": "pressure logger", "unit": "bar", "resolution": "0.01",
}  # fmt: skip
PERIOD = {"done_on": "2030-01-01", "good_to": "2030-12-31", "certificate": "C-2"}


def test_it_works(house: House, api: dict[str, Api]) -> None:
    body = ok(api["inspector"].post("instruments", GAUGE), 201)
    path = f"instruments/{body['uid']}/calibrations"

    after = ok(api["inspector"].post(path, PERIOD), 201)

    assert body["calibrated_to"] is None
    assert after["calibrated_to"] == "2030-12-31"


def test_it_knows_an_accuracy_only_of_a_scale(house: House, api: dict[str, Api]) -> None:
    with nothing_changes():
        assert pointers(api["lead"].post("instruments", GAUGE | {"accuracy": "0.5"})) == ["/full_scale"]

    body = ok(api["lead"].post("instruments", GAUGE | {"full_scale": "40", "accuracy": "0.5"}), 201)

    assert (body["full_scale"], body["accuracy"]) == ("40", "0.5")


@pytest.mark.parametrize(
    ("day", "good"),
    [
        (date(2029, 12, 31), False),
        (date(2030, 1, 1), True),
        (date(2030, 12, 31), True),
        (date(2031, 1, 1), False),
        (date(2031, 6, 1), True),
    ],
)
def test_it_is_calibrated_from_the_first_day_to_the_last(
    house: House, api: dict[str, Api], day: date, good: bool
) -> None:
    uid = ok(api["lead"].post("instruments", GAUGE), 201)["uid"]
    later = PERIOD | {"done_on": "2031-02-01", "good_to": "2032-01-31"}
    for period in (PERIOD, later):
        ok(api["lead"].post(f"instruments/{uid}/calibrations", period), 201)

    assert (Instrument.objects.get(uid=uid).calibration_on(day) is not None) is good


def test_it_refuses_a_period_that_ends_before_it_begins(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    wrench, backwards = house.instruments["torque wrench"], PERIOD | {"good_to": "2029-12-31"}

    with nothing_changes():
        assert codes(api["lead"].post(f"instruments/{wrench.uid}/calibrations", backwards)) == ["period"]
        page = send(pages["lead"], f"/office/instruments/{wrench.uid}/calibrate", backwards)

    assert "It cannot be good to a day before it was done." in said(page)


def test_it_refuses_a_code_twice(house: House, api: dict[str, Api]) -> None:
    with nothing_changes():
        assert codes(api["lead"].post("instruments", GAUGE | {"code": "BG-3"})) == ["code-taken"]


@pytest.mark.parametrize(
    "resolution",
    [
        "-1", "1e-2", "0,01", "fine", "0.0000001", "10000", "0", "0.0", "0000.00000", ".5", "5.", "+1", "٥",
    ],
)  # fmt: skip
def test_it_refuses_a_resolution_that_is_none(
    house: House, api: dict[str, Api], pages: dict[str, Any], resolution: str
) -> None:
    given = GAUGE | {"resolution": resolution}

    with nothing_changes():
        assert pointers(api["lead"].post("instruments", given)) == ["/resolution"]
        page = send(pages["lead"], "/office/instruments/new", given)

    assert 'class="field-error"' in said(page, 400)


@pytest.mark.parametrize("resolution", ["", "1", "0.5", "0.00001", "9999", "10"])
def test_it_takes_a_plain_positive_resolution_or_none(
    house: House, api: dict[str, Api], resolution: str
) -> None:
    body = ok(api["lead"].post("instruments", GAUGE | {"resolution": resolution}), 201)

    assert body["resolution"] == resolution
