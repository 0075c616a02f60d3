"""Where to look on a photograph: a circle or an arrow at a share of its sides, with words."""

from typing import Any

import pytest
from django.test import Client

from shop.files.models import Spot
from shop.files.rules import drawn_spot
from shop.gear.models import Item
from tests.conftest import Api, House
from tests.photographs import SPOT, encoded, form
from tests.rows import nothing_changes, said, send
from tests.walk import ok


@pytest.fixture
def photograph(house: House, api: dict[str, Api], tmp_path: Any, settings: Any) -> str:
    """The uid of a photograph of 60 by 40 pixels."""
    settings.FILES = tmp_path / "files"
    path = f"items/{house.item().uid}/photographs"
    return str(ok(api["counter"].post(path, form(encoded()), format="multipart"), 201)["uid"])


def test_it_works(photograph: str, house: House, api: dict[str, Api], pages: dict[str, Client]) -> None:
    made = ok(api["technician"].post(f"photographs/{photograph}/spots", SPOT), 201)

    assert (made["x"], made["y"], made["shape"], made["words"]) == (0.25, 1.0, "arrow", "A crack.")
    assert ok(api["storekeeper"].get(f"photographs/{photograph}/spots"))["results"] == [made]
    page = said(pages["storekeeper"].get(f"/photographs/{photograph}/spots"), 200)
    # 25 % of 60 pixels from the left, and the foot of 40.
    assert "L15.0 40.0" in page
    assert "Keep it" not in page, "who may not keep gear only looks"
    item = Item.objects.get()
    assert "1 spot pointed out" in said(pages["counter"].get(f"/items/{item.uid}"), 200)


@pytest.mark.parametrize(
    ("given", "field"),
    [
        ({"x": "1.001"}, "x"), ({"x": "-0.1"}, "x"), ({"y": "nan"}, "y"), ({"y": "0.12345"}, "y"), ({"y": ""}, "y"),
        ({"shape": "square"}, "shape"), ({"words": " "}, "words"), ({"words": "w" * 201}, "words"),
    ],
)  # fmt: skip
def test_it_takes_nothing_that_is_not_on_the_photograph(
    photograph: str, pages: dict[str, Client], given: dict[str, str], field: str
) -> None:
    with nothing_changes():
        page = said(send(pages["counter"], f"/photographs/{photograph}/spots", SPOT | given), 400)

    assert f'href="#{field}"' in page


def test_it_is_pointed_out_once(photograph: str, pages: dict[str, Client]) -> None:
    """The same form sent twice."""
    sent = SPOT | {"once": "a-key"}

    for _ in range(2):
        assert pages["counter"].post(f"/photographs/{photograph}/spots", sent).status_code == 302

    assert Spot.objects.count() == 1


@pytest.mark.parametrize(("x", "y"), [(0, 0), (1, 0), (0, 1), (1, 1), (0.5, 0.5)])
@pytest.mark.parametrize("shape", ["circle", "arrow"])
def test_it_stands_on_the_picture_wherever_it_is(shape: str, x: float, y: float) -> None:
    drawn = drawn_spot(shape, x, y, 120, 60)

    assert (drawn.x, drawn.y) == (x * 120, y * 60)
    assert 0 <= drawn.number_x <= 120
    assert 0 <= drawn.number_y <= 60
    assert bool(drawn.path) == (shape == "arrow")
    assert (drawn.radius == 5) == (shape == "circle")
