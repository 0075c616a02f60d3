"""The find box over both doors: every kind of thing by whatever is at hand."""

from typing import Any
from urllib.parse import quote

import pytest

from jobs.flow.models import DropOff, Job
from shop.customers.actions import add_customer, change_customer
from shop.gear.actions import add_item
from shop.instruments.models import Instrument
from shop.search.models import Findable
from shop.stock.models import Part
from tests.conftest import Api, House
from tests.rows import nothing_changes, said
from tests.walk import Walk, ok


@pytest.fixture
def walk(house: House, api: dict[str, Api]) -> Walk:
    """Maja Lindqvist's first stage is here; five more customers have brought nothing yet."""
    counter = house.people["counter"]
    for name, email, phone in (
        ("Tomas Ferrier", "tomas@ferrier.example", "+441632960533"),
        ("Tomás Brandão", "", "+351255501234"),
        ("نور الحداد", "", ""),
        ("東京潜水店", "", ""),
        ("100% _Wet_ \"Gear\" 'Club' OR NOT * ^", "", ""),
    ):
        add_customer(by=counter, kind="person", name=name, email=email, phone=phone, reminders=False)
    add_item(
        by=counter,
        owner=house.customer,
        model=house.models["second_stage"],
        serial="TH 408/17",
        owners_mark="Blaue Möwe",
    )
    return Walk(house, api)


# Lots are found by their keys too (L-00417), which never start anew on PostgreSQL: fewer than five digits may be one's.


def titles(api: dict[str, Api], asked: str) -> list[str]:
    """Kind and title of what the API finds, sorted."""
    results = ok(api["counter"].get(f"find?q={quote(asked, safe='')}"))["results"]
    return sorted(f"{each['kind']}: {each['title']}" for each in results)


def goes_to(pages: dict[str, Any], asked: str) -> str:
    """Where a scan of a code leads."""
    answer = pages["counter"].get("/find", {"q": asked})
    assert answer.status_code == 302, answer.content
    return str(answer.headers["Location"])


MAJA = "customer: Maja Lindqvist"
LINE, DROP_OFF, JOB = (
    "line: Bag C-0001-1",
    "drop-off: Drop-off C-0001",
    "job: Tray 1, first stage, Tarnwell Hesk",
)
FIRST, SECOND = "item: First stage, Tarnwell Hesk", "item: Second stage, Tarnwell Hesk"


@pytest.mark.parametrize(
    ("asked", "expected"),
    [
        ("lindq", [MAJA]),
        ("MAJA", [MAJA]),
        ("vist maj", [MAJA]),
        ("maja@lindqvist", [MAJA]),
        ("01632 960417", [MAJA]),
        ("01632960417", [MAJA]),
        ("(01632) 960-417", [MAJA]),
        ("+44 1632 960417", [MAJA]),
        ("60417", [MAJA]),
        ("k-1", [MAJA]),
        ("-0001-", [JOB, LINE]),
        ("c-1-1", [LINE]),
        ("bag c-0001", [JOB, LINE]),
        ("tray 1", [JOB]),
        ("s-FIRST_st", [FIRST]),
        ("first_stage", [FIRST]),
        ("hesk second", [SECOND]),
        ("408/1", [SECOND]),
        ("th 408/", [SECOND]),
        ("mowe", [SECOND]),
        ("MÖWE", [SECOND]),
        ("blaue m", [SECOND]),
        ("302-old", ["lot: TH-302 TH-302"]),
        ("bg-", ["instrument: BG-3"]),
        ("bg", ["instrument: BG-3"]),
        ("torque", ["instrument: TW-2"]),
        ("H-401", ["lot: TH-401 TH-401", "part: TH-401"]),
        ("brandao", ["customer: Tomás Brandão"]),
        ("BRANDÃO", ["customer: Tomás Brandão"]),
        ("tomas", ["customer: Tomas Ferrier", "customer: Tomás Brandão"]),
        ("حداد", ["customer: نور الحداد"]),
        ("نور", ["customer: نور الحداد"]),
        ("نُور", ["customer: نور الحداد"]),
        ("ور", ["customer: نور الحداد"]),
        ("京潜水", ["customer: 東京潜水店"]),
        ("東京", ["customer: 東京潜水店"]),
        ("店", ["customer: 東京潜水店"]),
    ],
)
def test_it_works(walk: Walk, api: dict[str, Api], asked: str, expected: list[str]) -> None:
    with nothing_changes():
        assert titles(api, asked) == expected


@pytest.mark.parametrize(
    "asked", ["zz", "zzz", "maja ferrier", "01632 960999", "K-0099", "²²²²²²²²²", "9" * 90, "lind_vist", "l%t", "\\", "maja\\"]
)  # fmt: skip
def test_it_finds_nothing_by_what_is_nobodys(
    walk: Walk, api: dict[str, Api], pages: dict[str, Any], asked: str
) -> None:
    assert titles(api, asked) == []
    assert "Nothing was found." in said(pages["counter"].get("/find", {"q": asked}), 200)


@pytest.mark.parametrize(
    "asked",
    ["%", "100%", "_wet_", "_WET", '"gear"', '"', "'club'", "'", "*", "^", "or not *", '" or "', "not * ^", "100% ^"],
)  # fmt: skip
def test_it_takes_the_engines_own_signs_for_what_was_typed(
    walk: Walk, api: dict[str, Api], asked: str
) -> None:
    assert "customer: 100% _Wet_ \"Gear\" 'Club' OR NOT * ^" in titles(api, asked)
    assert MAJA not in titles(api, asked)


@pytest.mark.parametrize(
    "asked", ['"maja" OR "tomas"', "maja OR tomas", "words:maja", "maja*", "NEAR(maja)", "^maja"]
)
def test_it_knows_no_language_of_questions(walk: Walk, api: dict[str, Api], asked: str) -> None:
    assert titles(api, asked) == []


@pytest.mark.parametrize(
    "query", ["", "?q=", "?q=%20", "?q=%00", "?q=%ED%A0%80", "?q=%FF", "?q=%E2%80%8F", "?q=a&q="]
)
def test_it_faults_on_nothing(walk: Walk, api: dict[str, Api], pages: dict[str, Any], query: str) -> None:
    answer = pages["counter"].get(f"/find{query}")

    assert ok(api["counter"].get(f"find{query}"))["results"] == []
    assert "Nothing " in said(answer, 200)
    assert "\0" not in said(answer, 200)


def test_it_leads_from_a_whole_code_to_its_page(walk: Walk, pages: dict[str, Any]) -> None:
    house, drop_off, job = walk.house, DropOff.objects.get(), Job.objects.get()
    customer, visit = f"/customers/{house.customer.uid}", f"/drop-offs/{drop_off.uid}"
    gauge, part = Instrument.objects.get(code="MG-1"), Part.objects.get(number="TH-302")
    expected = {
        "K-0001": customer, "k-1": customer, "K1": customer, " k-0001 ": customer,
        "C-0001": visit, "c1": visit, "C-0001-1": visit, "c1-1": visit,
        walk.item.label: f"/items/{walk.item.uid}", "e-2": f"/items/{walk.item.uid}",
        "S-first_stage": f"/items/{walk.item.uid}", "s-FIRST_STAGE": f"/items/{walk.item.uid}",
        "1": f"/jobs/{job.uid}", "MG-1": f"/office/instruments#instrument-{gauge.uid}",
        "TH-302-OLD": f"/store/lots/{house.lots['old'].uid}", "th-302": f"/store/parts/{part.uid}",
    }  # fmt: skip

    assert {asked: goes_to(pages, asked) for asked in expected} == expected


def test_it_lists_what_carries_the_same_code(walk: Walk, pages: dict[str, Any]) -> None:
    """Two items with one serial: neither is chosen for whoever scans it."""
    twin = walk.house.item(serial="TH 408/17")

    text = said(pages["counter"].get("/find", {"q": "TH 408/17"}), 200)

    assert "With exactly this code" in text
    assert f"/items/{twin.uid}" in text
    assert text.count("E-00001") == 2, "once under the code, once among the items"


def test_it_takes_a_part_of_a_code_for_no_code(walk: Walk, pages: dict[str, Any]) -> None:
    assert "E-00002" in said(pages["counter"].get("/find", {"q": "S-first_stag"}), 200)
    assert "K-0001" in said(pages["counter"].get("/find", {"q": "Maja Lindqvist"}), 200)


def test_it_shows_things_by_kind(walk: Walk, pages: dict[str, Any]) -> None:
    page = pages["counter"].get("/find", {"q": "th"})

    assert [each["heading"] for each in page.context["groups"]] == ["Items", "Parts", "Lots"]


@pytest.mark.parametrize("n", [19, 20, 21, 330])
def test_it_shows_the_newest_twenty_of_a_kind_and_says_when_there_are_more(
    walk: Walk, pages: dict[str, Any], n: int
) -> None:
    for i in range(n):
        walk.house.item(serial=f"many-{i:03d}")

    page = pages["counter"].get("/find", {"q": "many"})

    assert [row.note for row in page.context["groups"][0]["rows"]] == [
        f"serial many-{i:03d}" for i in reversed(range(n))
    ][:20]
    assert ("There are more" in said(page, 200)) == (n > 20)
    assert [each["heading"] for each in page.context["groups"]] == ["Items"]


def test_it_pages_what_the_api_finds(walk: Walk, api: dict[str, Api]) -> None:
    for i in range(5):
        walk.house.item(serial=f"many-{i}")

    first = ok(api["counter"].get("find?q=many&limit=3"))
    then = ok(api["counter"].client.get(first["next"]))

    assert [each["note"] for each in first["results"]] == ["serial many-4", "serial many-3", "serial many-2"]
    assert [each["note"] for each in then["results"]] == ["serial many-1", "serial many-0"]
    assert then["next"] is None


def test_it_follows_a_change(walk: Walk, api: dict[str, Api]) -> None:
    counter, customer = walk.house.people["counter"], walk.house.customer
    change_customer(by=counter, customer=customer, seen=1, name="Maja Achterberg", phone="+441632960999")

    assert titles(api, "achterberg") == titles(api, "01632 960999") == ["customer: Maja Achterberg"]
    assert titles(api, "lindqvist 417") == titles(api, "01632 960417") == []


def test_it_keeps_nothing_of_what_was_refused(walk: Walk, api: dict[str, Api]) -> None:
    line = {
        "item": str(walk.item.uid),
        "plan": str(walk.house.plans["first_stage"].uid),
        "contents": "no gas",
    }
    given = {"customer": str(walk.house.customer.uid), "promised_on": "2199-01-01", "lines": [line]}

    with nothing_changes():
        assert api["counter"].post("drop-offs", given).status_code == 409

    assert Findable.objects.filter(kind="drop-off").count() == 1


def test_it_offers_a_new_customer_with_the_name_that_was_typed(walk: Walk, pages: dict[str, Any]) -> None:
    text = said(pages["counter"].get("/find", {"q": "Rowan & Co"}), 200)

    assert "/customers/new?name=Rowan%20%26%20Co" in text
    assert 'value="Rowan & Co"' in text


def test_it_is_for_those_who_may_see(walk: Walk, api: dict[str, Api], pages: dict[str, Any]) -> None:
    assert api["stranger"].get("find?q=maja").status_code == 401
    assert pages["stranger"].get("/find?q=maja").headers["Location"] == "/sign-in?next=/find%3Fq%3Dmaja"


def test_it_asks_as_much_whatever_is_found(
    walk: Walk, pages: dict[str, Any], django_assert_max_num_queries: Any
) -> None:
    pages["counter"].get("/find", {"q": "maja"})
    with django_assert_max_num_queries(20):
        pages["counter"].get("/find", {"q": "e"})
    with django_assert_max_num_queries(10):
        pages["counter"].get("/find", {"q": "hesk"})
