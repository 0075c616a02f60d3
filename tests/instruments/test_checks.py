"""Our own checks between calibrations, certificates, and an instrument that was found bad."""

from datetime import date, timedelta
from typing import Any

import pytest

from shop.instruments.models import BadPeriod, Instrument
from shop.instruments.rules import finding_refusals, last_looked
from shop.journal.models import Entry
from shop.workshop.reads import at, noon, now, today
from tests.conftest import Api, House
from tests.photographs import encoded, upload
from tests.rows import codes, nothing_changes, pointers, said, send
from tests.walk import Walk, ok

DAY = timedelta(days=1)


def checked(found: str = "good", **more: Any) -> dict[str, Any]:
    given = {"done_on": str(today()), "against": "MG-1 at 9.5 bar", "deviation": "-0.02", "found": found}
    return given | more


def calibrated(found: str = "bad", **more: Any) -> dict[str, Any]:
    last = str(today() + 365 * DAY)
    return {"done_on": str(today()), "good_to": last, "certificate": "C-2", "found": found} | more


@pytest.fixture
def logger(house: House) -> str:
    """The address of the logger's rows; it was calibrated 400 days ago."""
    return f"instruments/{house.instruments['pressure logger'].uid}"


def test_it_works(house: House, api: dict[str, Api], pages: dict[str, Any], logger: str) -> None:
    body = ok(api["inspector"].post(f"{logger}/checks", checked()), 201)

    row = body["checks"][0]
    assert (row["against"], row["deviation"], row["found"]) == ("MG-1 at 9.5 bar", "-0.02", "good")
    assert row["done_by"] == str(house.people["inspector"].uid)
    page = said(pages["technician"].get(f"/office/{logger}"), 200)
    assert "Marek Dunwell" in page
    assert "-0.02" in page
    assert "in calibration" in page
    assert Entry.objects.filter(
        subject=logger.replace("instruments/", "instrument:"), verb="checked"
    ).exists()
    assert not BadPeriod.objects.exists()


@pytest.mark.parametrize(
    ("field", "value"),
    [("deviation", "little"), ("found", "not said"), ("against", ""), ("deviation", "1e3")],
)
def test_it_refuses_a_check_that_says_nothing(
    house: House, api: dict[str, Api], logger: str, field: str, value: str
) -> None:
    with nothing_changes():
        assert pointers(api["lead"].post(f"{logger}/checks", checked(**{field: value}))) == [f"/{field}"]


def test_it_refuses_a_finding_of_a_day_to_come(house: House, api: dict[str, Api], logger: str) -> None:
    with nothing_changes():
        given = checked(done_on=str(today() + DAY))
        assert codes(api["lead"].post(f"{logger}/checks", given)) == ["future"]
        given = calibrated(done_on=str(today() + DAY))
        assert codes(api["lead"].post(f"{logger}/calibrations", given)) == ["future"]


def test_it_refuses_verdicts_after_a_bad_check_until_it_is_calibrated(
    house: House, api: dict[str, Api], pages: dict[str, Any], logger: str
) -> None:
    walk = Walk(house, api).to("testing")
    ok(api["lead"].post(f"{logger}/checks", checked("bad")), 201)

    with nothing_changes():
        assert codes(walk.reading("low_supply", "9.42")) == ["not-calibrated"]
        assert codes(walk.trace()) == ["not-calibrated"]
    assert f"BG-3 was found bad on {today()}" in said(pages["lead"].get(f"/office/{logger}"), 200)
    assert "found bad" in said(pages["lead"].get("/office/instruments"), 200)
    ok(api["lead"].post(f"{logger}/calibrations", calibrated("not said")), 201)
    assert ok(walk.reading("low_supply", "9.42"), 201)["verdict"] == "within"
    with at(now() + DAY):
        ok(walk.reading("low_supply", "9.42", why="A day later."), 201)


def test_it_keeps_a_calibration_of_before_from_covering_the_days_between(
    house: House, api: dict[str, Api], logger: str
) -> None:
    """Found bad ten days ago, calibrated two days ago: nothing between, and before it only as doubted."""
    ok(api["lead"].post(f"{logger}/checks", checked("bad", done_on=str(today() - 10 * DAY))), 201)
    given = calibrated("not said", done_on=str(today() - 2 * DAY))
    ok(api["lead"].post(f"{logger}/calibrations", given), 201)
    row = Instrument.objects.get(code="BG-3")

    covered = [bool(row.calibration_on(today() - n * DAY)) for n in (11, 10, 3, 2, 0)]

    assert covered == [True, False, False, True, True]


def test_it_doubts_from_the_day_it_was_last_looked_at(house: House, api: dict[str, Api], logger: str) -> None:
    ok(api["lead"].post(f"{logger}/checks", checked(done_on=str(today() - 30 * DAY))), 201)

    ok(api["lead"].post(f"{logger}/calibrations", calibrated(done_on=str(today() - 3 * DAY))), 201)

    row = BadPeriod.objects.get()
    assert (row.from_day, row.to_day) == (today() - 30 * DAY, today() - 3 * DAY)


def test_it_doubts_nothing_of_what_was_never_looked_at(house: House, api: dict[str, Api]) -> None:
    given = {"code": "BG-9", "name": "gauge", "kind": "pressure logger", "unit": "bar"}
    uid = ok(api["lead"].post("instruments", given), 201)["uid"]

    ok(api["lead"].post(f"instruments/{uid}/calibrations", calibrated()), 201)

    assert not BadPeriod.objects.exists()
    assert ok(api["lead"].get("doubts"))["results"] == []


@pytest.mark.parametrize(
    ("days", "first"), [([], None), ([3], 3), ([3, 9], 9), ([3, 9, 12], 9), ([12], None), ([10], 10)]
)
def test_it_knows_when_it_was_last_looked_at(days: list[int], first: int | None) -> None:
    found = last_looked([date(2026, 1, day) for day in days], date(2026, 1, 10))

    assert found == (date(2026, 1, first) if first else None)


def test_it_knows_a_day_to_come() -> None:
    assert finding_refusals(date(2026, 1, 2), date(2026, 1, 2)) == []
    assert [each.code for each in finding_refusals(date(2026, 1, 3), date(2026, 1, 2))] == ["future"]


def test_it_takes_a_check_from_the_page(house: House, pages: dict[str, Any], logger: str) -> None:
    ines = str(house.people["technician"].uid)

    answer = send(pages["lead"], f"/office/{logger}/checks/new", checked(done_by=ines))

    assert (answer.status_code, answer["Location"]) == (302, f"/office/{logger}")
    row = Instrument.objects.get(code="BG-3").checks.get()
    assert (row.done_by.name, row.recorded_by.name) == ("Ines Okafor", "Ada Thornbury")


def test_it_keeps_a_photograph_of_a_certificate(
    house: House, api: dict[str, Api], pages: dict[str, Any], logger: str
) -> None:
    uid = house.instruments["pressure logger"].calibrations.get().uid
    given = {"photograph": upload(encoded()), "words": "page 1"}

    made = ok(api["inspector"].post(f"calibrations/{uid}/photographs", given, format="multipart"), 201)

    assert made["subject"] == f"calibration:{uid}"
    assert len(ok(api["technician"].get(f"calibrations/{uid}/photographs"))["results"]) == 1
    page = said(pages["technician"].get(f"/office/{logger}"), 200)
    assert made["uid"] in page
    assert "certificate C-1" in page


@pytest.mark.parametrize(
    ("of", "reading", "verdict"),
    [
        # 1 % of a full scale of 40 bar is 0.4 bar, k = 2: 0.4 / sqrt(3) * 2 = 0.462; of a reading of 9.4 it is 0.109.
        ("full scale", "9.85", "inconclusive"),
        ("reading", "9.85", "within"),
        ("reading", "9.95", "inconclusive"),
    ],
)
def test_it_takes_an_accuracy_of_the_reading(
    house: House, api: dict[str, Api], of: str, reading: str, verdict: str
) -> None:
    told = {"full_scale": "40", "accuracy": "1", "accuracy_of": of, "resolution": "0.01"}
    given = {"code": "BG-9", "name": "gauge", "kind": "pressure logger", "unit": "bar"} | told
    uid = ok(api["lead"].post("instruments", given), 201)["uid"]
    ok(api["lead"].post(f"instruments/{uid}/calibrations", calibrated("good")), 201)
    walk = Walk(house, api).to("testing")
    house.instruments["pressure logger"] = Instrument.objects.get(uid=uid)

    assert ok(walk.reading("low_supply", reading), 201)["verdict"] == verdict


def test_it_lets_no_verdict_rest_on_what_is_out_of_range(house: House, api: dict[str, Api]) -> None:
    """Neither a reading nor a trace: both reach the end of a scale of 9.4 bar."""
    told = {"full_scale": "9.4", "resolution": "0.01"}
    given = {"code": "BG-9", "name": "gauge", "kind": "pressure logger", "unit": "bar"} | told
    uid = ok(api["lead"].post("instruments", given), 201)["uid"]
    ok(api["lead"].post(f"instruments/{uid}/calibrations", calibrated("good")), 201)
    walk = Walk(house, api).to("testing")
    house.instruments["pressure logger"] = Instrument.objects.get(uid=uid)

    assert ok(walk.reading("low_supply", "9.4"), 201)["verdict"] == "inconclusive"
    assert ok(walk.reading("low_supply", "9.3"), 201)["verdict"] == "within"
    assert ok(walk.trace(), 201)["verdict"] == "inconclusive"


def test_it_is_out_of_calibration_the_day_after(house: House, api: dict[str, Api], logger: str) -> None:
    walk = Walk(house, api).to("testing")

    with nothing_changes(), at(noon(today() + 401 * DAY)):
        assert codes(walk.reading("low_supply", "9.42")) == ["not-calibrated"]
        assert codes(walk.trace()) == ["not-calibrated"]
