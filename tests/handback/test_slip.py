"""The hand-back slip, read back."""

from django.test import Client

from tests.conftest import Api, House
from tests.printed import is_grey, marks_of, text_of
from tests.walk import Walk, ok, pair


def test_it_works(house: House, api: dict[str, Api], pages: dict[str, Client]) -> None:
    walk = Walk(house, api).to("signed_off")
    left = ok(walk.hand_back(collector="Jonas Lindqvist"), 201)

    content = pages["counter"].get(f"/hand-backs/{left['uid']}/slip.pdf").content

    text = text_of(content)
    for expected in (
        "Hand-back slip, C-0001",
        "customer Maja Lindqvist",
        "handed back to Jonas Lindqvist",
        "by Bryn Castell",
        "E-00001 First stage, Tarnwell Hesk, serial S-first_stage serviced",
        "It does not make the gear safe.",
    ):
        assert expected in text
    assert "dive with" not in text
    assert marks_of(content) == [["C-0001"]]
    assert is_grey(content)


def test_it_names_only_what_left_and_warns_of_what_was_not_serviced(
    house: House, api: dict[str, Api]
) -> None:
    first, second = pair(house, api, house.item(serial="TH-7"), house.item("second_stage", "TS-8"))
    for walk in (first, second):
        ok(walk.sign(outcome="failed", words="It breathes wet.", second=None, second_secret=""), 201)
    left = ok(second.hand_back(acknowledged=True), 201)

    text = text_of(api["counter"].get(f"hand-backs/{left['uid']}/slip.pdf").content)

    assert "Do not dive with: E-00002. The collector acknowledged this." in text
    assert "E-00002 Second stage, Tarnwell Hesk, serial TS-8 failed do not dive" in text
    assert "E-00001" not in text


def test_it_is_linked_from_the_drop_off(house: House, api: dict[str, Api], pages: dict[str, Client]) -> None:
    walk = Walk(house, api).to("signed_off")
    left = ok(walk.hand_back(), 201)

    page = pages["counter"].get(f"/drop-offs/{walk.drop_off}").content.decode()

    assert f'href="/hand-backs/{left["uid"]}/slip.pdf"' in page
