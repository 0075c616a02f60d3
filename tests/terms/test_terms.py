"""The workshop's terms: written in versions, accepted by name for a drop-off, printed on the ticket."""

from datetime import UTC, datetime
from typing import Any

import pytest
from django.test import Client

from jobs.terms.models import Accepted, Terms
from jobs.terms.rules import accept_refusals
from shop.workshop.reads import at
from tests.conftest import Api, House
from tests.printed import text_of
from tests.rows import codes, nothing_changes, said, send
from tests.walk import Walk, ok

TEXT = "We keep gear for six months. <b>Then we ask again.</b>"


def written(api: dict[str, Api], text: str = TEXT, seen: int = 0) -> Any:
    return api["lead"].put("terms", {"text": text}, seen=seen)


def accepted(walk: Walk, terms: int = 1, how: str = "on screen") -> Any:
    given = {"how": how, "name": "Maja Lindqvist", "terms": terms}
    return walk.api["counter"].post(f"drop-offs/{walk.drop_off}/terms", given)


def test_it_works(house: House, api: dict[str, Api], pages: dict[str, Client]) -> None:
    walk = Walk(house, api)
    with at(datetime(2026, 7, 1, 23, 5, tzinfo=UTC)):
        assert ok(written(api))["version"] == 1
    assert "Version 1, kept 2 Jul 2026, 00:05:" in said(pages["lead"].get("/office"), 200)  # in London
    assert "Version 1, kept 2 Jul 2026 00:05, is" in said(pages["lead"].get("/office/terms"), 200)
    assert "not accepted yet" in said(pages["counter"].get(f"/drop-offs/{walk.drop_off}"), 200)
    unsigned = text_of(api["counter"].get(f"drop-offs/{walk.drop_off}/ticket.pdf").content)
    assert "Terms, version 1 We keep gear for six months." in unsigned
    assert "name, day, signature ..." in unsigned

    page = pages["counter"].get(f"/drop-offs/{walk.drop_off}/terms").content.decode()
    assert "&lt;b&gt;Then we ask again.&lt;/b&gt;" in page
    sent = {"how": "on screen", "name": "Maja Lindqvist", "terms": "1"}
    assert send(pages["counter"], f"/drop-offs/{walk.drop_off}/terms", sent).status_code == 302

    page = said(pages["counter"].get(f"/drop-offs/{walk.drop_off}"), 200)
    assert "version 1, accepted on screen by <bdi>Maja Lindqvist</bdi>" in page
    text = text_of(api["counter"].get(f"drop-offs/{walk.drop_off}/ticket.pdf").content)
    assert "accepted on screen by Maja Lindqvist, " in text.replace("\u200e", "")
    assert "signature" not in text


def test_it_keeps_the_version_that_was_accepted(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api)
    ok(written(api))
    ok(accepted(walk, how="signed on paper"), 201)

    ok(written(api, "Other terms.", seen=1))

    text = text_of(api["counter"].get(f"drop-offs/{walk.drop_off}/ticket.pdf").content)
    assert "Terms, version 1 We keep gear" in text
    assert "Other terms." not in text
    with nothing_changes():
        assert codes(accepted(walk)) == ["terms-changed"]
    assert ok(accepted(walk, terms=2), 201)["terms"] == 2


def test_it_asks_for_none_until_they_are_written(
    house: House, api: dict[str, Api], pages: dict[str, Client]
) -> None:
    walk = Walk(house, api)
    with nothing_changes():
        assert codes(accepted(walk)) == ["no-terms"]
    assert "terms" not in said(pages["counter"].get(f"/drop-offs/{walk.drop_off}"), 200)
    ok(written(api))
    ok(written(api, "", seen=1))

    with nothing_changes():
        assert codes(accepted(walk, terms=2)) == ["no-terms"]
    assert "Terms" not in text_of(api["counter"].get(f"drop-offs/{walk.drop_off}/ticket.pdf").content)
    assert "The workshop has no terms." in said(
        pages["counter"].get(f"/drop-offs/{walk.drop_off}/terms"), 200
    )


def test_it_is_written_by_one_at_a_time(house: House, api: dict[str, Api]) -> None:
    ok(written(api))

    with nothing_changes():
        assert written(api, "Mine.").status_code == 412
        assert api["counter"].put("terms", {"text": "Mine."}, seen=1).status_code == 403
    assert Terms.objects.count() == 1


@pytest.mark.parametrize(
    ("present", "shown", "before", "codes"),
    [
        (0, 1, False, ["no-terms"]),
        (2, 1, False, ["terms-changed"]),
        (2, 2, True, ["accepted-before"]),
        (2, 2, False, []),
    ],
)
def test_it_takes_the_present_terms_once(present: int, shown: int, before: bool, codes: list[str]) -> None:
    assert [each.code for each in accept_refusals(present, shown, before=before)] == codes


def test_it_is_accepted_once(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api)
    ok(written(api))
    ok(accepted(walk), 201)

    with nothing_changes():
        assert codes(accepted(walk)) == ["accepted-before"]
    assert Accepted.objects.count() == 1
