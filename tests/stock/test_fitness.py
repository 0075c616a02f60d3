"""For which gas services a part is stated to be fit."""

from typing import Any

import pytest

from tests.conftest import Api, House
from tests.rows import codes, nothing_changes, pointers, said, send
from tests.walk import ok


def test_it_works(house: House, api: dict[str, Api], pages: dict[str, Any]) -> None:
    path = f"parts/{house.lots['TH-302'].part.uid}"
    before = ok(api["counter"].get(path))
    assert before["fitness"] == "Not stated for which gas it is fit, so for air only."

    body = {"fit_for": ["oxygen", "air"], "fit_source": "sheet 4 of the maker"}
    made = ok(api["storekeeper"].put(f"{path}/fitness", body, seen=1))

    assert (made["fit_for"], made["fitness"], made["version"]) == ("air, oxygen", "Fit for air, oxygen.", 2)
    page = said(pages["counter"].get(f"/store/lots/{house.lots['TH-302'].uid}"), 200)
    assert "Fit for air, oxygen." in page
    assert "sheet 4 of the maker" in page
    ok(api["storekeeper"].put(f"{path}/fitness", {}, seen=2))
    assert ok(api["counter"].get(path))["fit_for"] == ""


def test_it_is_stated_on_its_page(house: House, api: dict[str, Api], pages: dict[str, Any]) -> None:
    part = house.lots["TH-302"].part
    sent = {"fit_for": ["air", "enriched air"], "fit_source": "a sheet"}

    assert send(pages["storekeeper"], f"/store/parts/{part.uid}/fitness", sent).status_code == 302

    part.refresh_from_db()
    assert part.fit_for == "air, enriched air"
    form = said(pages["storekeeper"].get(f"/store/parts/{part.uid}/fitness"), 200)
    assert form.count(" checked") == 2
    assert "Fit for air, enriched air." in said(pages["counter"].get("/store"), 200)


@pytest.mark.parametrize(
    ("body", "expected"),
    [
        ({"fit_for": ["air"]}, ["fit-source"]),
        ({"fit_source": "a sheet"}, ["fit-for"]),
        ({"fit_for": ["helium"], "fit_source": "x"}, ["/fit_for"]),
        ({"fit_for": "air", "fit_source": "x"}, ["/fit_for"]),
        ({"fit_for": ["air"], "fit_source": "x" * 201}, ["/fit_source"]),
        ({"fit_for": ["air"], "fit_source": "x", "colour": "red"}, ["/colour"]),
    ],
)
def test_it_refuses_nonsense(house: House, api: dict[str, Api], body: Any, expected: list[str]) -> None:
    path = f"parts/{house.lots['TH-302'].part.uid}/fitness"

    with nothing_changes():
        answer = api["storekeeper"].put(path, body, seen=1)

    found = pointers(answer) if expected[0].startswith("/") else codes(answer)
    assert found == expected
    with nothing_changes():
        assert api["storekeeper"].put(path, {}, seen=9).status_code == 412
        assert api["technician"].put(path, {}, seen=1).status_code == 403
