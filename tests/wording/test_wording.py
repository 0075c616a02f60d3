"""The wording of letters over both doors: own words win while they can be used, the shipped ones are never far."""

from typing import Any

import pytest

from shop.journal.models import Entry
from shop.wording.models import OwnWording
from shop.wording.reads import one_wording, rendered
from shop.wording.rules import Key, Worded
from shop.workshop.rules import Language
from tests.conftest import Api, House
from tests.rows import codes, nothing_changes, said, send
from tests.walk import ok

OWN = {"subject": "Es ist soweit", "text": "Hallo {customer},\n\n{items}\n\nAntwort: {answer}"}
VALUES = {"customer": "Maja", "items": ["Hesk"], "answer": "https://a.example/b"}
PATH = "wordings/reminder-de"


def worded(*, key: str, language: str, values: dict[str, Any]) -> Worded:
    return rendered(one_wording(Key(key), Language(language)), values)


def test_it_works(house: House, api: dict[str, Api], pages: dict[str, Any]) -> None:
    assert "Guten Tag Maja" in worded(key="reminder", language="de", values=VALUES).text

    told = ok(api["lead"].put(PATH, OWN, seen=0))

    assert (told["own"], told["version"], told["broken"]) == (True, 1, [])
    made = worded(key="reminder", language="de", values=VALUES)
    assert made.text == "Hallo Maja,\n\n- Hesk\n\nAntwort: https://a.example/b\n"
    assert "Dear Maja" in worded(key="reminder", language="en", values=VALUES).text
    page = said(pages["technician"].get("/office/wordings"), 200)
    assert page.count(">your own<") == 1
    assert page.count(">shipped<") == 47


def test_it_goes_back_to_the_shipped_words(house: House, api: dict[str, Api], pages: dict[str, Any]) -> None:
    ok(api["lead"].put(PATH, OWN, seen=0))
    with nothing_changes():
        assert api["counter"].put(PATH, OWN, seen=1).status_code == 403
        assert api["lead"].put(PATH, OWN, seen=0).status_code == 412
        assert api["lead"].put("wordings/greeting-de", OWN, seen=0).status_code == 404
        assert codes(api["lead"].put(PATH, OWN | {"text": "{items} {x}"}, seen=1)) == [
            "unknown-place", "missing-place", "not-alone",
        ]  # fmt: skip

    assert send(pages["lead"], "/office/wordings/reminder-de/shipped", {"seen": 1}).status_code == 302

    assert "Guten Tag Maja" in worded(key="reminder", language="de", values=VALUES).text
    with nothing_changes():
        assert codes(api["lead"].post(f"{PATH}/shipped", seen=2)) == ["shipped"]
    assert "Es ist soweit" in said(pages["counter"].get("/office/wordings/reminder-de/history"), 200)
    verbs = Entry.objects.filter(subject="wording:reminder-de").order_by("n").values_list("verb", flat=True)
    assert list(verbs) == ["letter worded", "shipped words of a letter used again"]


def test_it_sends_the_shipped_words_where_the_own_ones_are_broken(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    OwnWording.objects.create(key="reminder", language="de", subject="S", text="{no} {", version=3)

    assert "Guten Tag Maja" in worded(key="reminder", language="de", values=VALUES).text

    assert len(ok(api["lead"].get(PATH))["broken"]) == 4
    assert "your own, not usable" in said(pages["lead"].get("/office/wordings"), 200)
    assert "1 of your own wordings cannot be used" in said(pages["lead"].get("/office"), 200)
    page = said(pages["lead"].get("/office/wordings/reminder-de"), 200)
    assert "{no} {" in page
    ok(api["lead"].put(PATH, OWN, seen=3))


@pytest.mark.parametrize("role", ["counter", "lead"])
def test_it_shows_words_before_they_are_saved(
    house: House, api: dict[str, Api], pages: dict[str, Any], role: str
) -> None:
    typed = OWN | {"text": "Neu <b>{customer}</b>\n\n{items}\n\n{answer}"}
    with nothing_changes():
        page = said(pages[role].post("/office/wordings/reminder-de", typed | {"look": "yes"}), 200)
        made = ok(api[role].post(f"{PATH}/preview", typed))
        wrong = pages[role].post("/office/wordings/reminder-de", OWN | {"text": "{x}", "look": "yes"})
        assert codes(api[role].post(f"{PATH}/preview", OWN | {"text": "{x"})) == [
            "brace", "missing-place", "missing-place",
        ]  # fmt: skip

    assert "Neu <b>Rowan Achterberg</b>" in page  # entities resolved
    assert "not saved yet" in page
    assert made["text"].startswith("Neu <b>Rowan Achterberg</b>")
    assert "Neu &lt;b&gt;Rowan Achterberg&lt;/b&gt;" in made["html"]
    assert "{x} cannot be filled here" in said(wrong, 409)
