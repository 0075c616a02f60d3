"""Drafts over both doors: begun, copied, changed, issued, set aside."""

import json
from typing import Any

import pytest

from shop.catalogue.models import PlanVersion
from shop.drafts.models import Draft
from shop.journal.models import Entry
from tests.conftest import Api, House
from tests.plans import Document, document
from tests.rows import codes, hidden, nothing_changes, pointers, said, send, sentences
from tests.walk import ok


def loose() -> Document:
    """A document in the shape of a plan that does not hang together."""
    made = document()
    made["legs"].remove("cleaning")
    return made


WRONG = "Step wash is on a leg that the plan does not have: cleaning."


def begun(house: House, api: dict[str, Api], made: Document | None = None, key: str = "overhaul") -> Any:
    path = f"models/{house.models['first_stage'].uid}/drafts"
    return api["lead"].post(path, {"key": key, "document": made or document()})


def test_it_works(house: House, api: dict[str, Api]) -> None:
    made = ok(begun(house, api, loose()), 201)
    path = f"drafts/{made['uid']}"
    changed = ok(api["lead"].put(path, {"document": document() | {"price": 9_900}}, seen=1))
    issued = ok(api["lead"].post(f"{path}/issue", seen=2), 201)
    spent = ok(api["lead"].get(path))

    assert (made["state"], made["version"], made["issued_as"]) == ("draft", 1, None)
    assert [each["sentence"] for each in made["refusals"]] == [WRONG]
    assert (changed["version"], changed["refusals"]) == (2, [])
    assert (issued["n"], issued["key"], issued["document"]["price"]) == (2, "overhaul", 9_900)
    assert (spent["state"], spent["issued_as"]) == ("issued", issued["uid"])
    verbs = Entry.objects.filter(subject=f"model:{house.models['first_stage'].uid}").order_by("n")
    assert [each.verb for each in verbs][-4:] == [
        "plan drafted",
        "draft changed",
        "plan issued",
        "draft issued",
    ]


def test_it_copies_an_issued_version_with_one_click(house: House, pages: dict[str, Any]) -> None:
    plan = f"/office/plans/{house.plans['first_stage'].uid}"
    form = pages["lead"].get(plan).context["panels"][0]["copy"]
    answer = pages["lead"].post(form.action, {each["name"]: each["value"] for each in form.hidden})
    draft = Draft.objects.get()
    page = pages["lead"].get(answer.url)

    assert (answer.status_code, answer.url) == (302, f"/office/drafts/{draft.uid}")
    assert draft.document == document()
    assert json.loads(page.context["form"].fields[0].value) == document()
    assert "It hangs together." in said(page, 200)


def test_it_is_kept_and_issued_on_pages(house: House, pages: dict[str, Any]) -> None:
    lead, model = pages["lead"], house.models["first_stage"]
    path = send(
        lead, f"/office/models/{model.uid}/draft", {"key": "overhaul", "document": json.dumps(loose())}
    ).url
    unready = said(lead.get(path), 200)
    refused = said(send(lead, f"{path}/issue", {}))
    send(lead, path, {"document": json.dumps(document() | {"price": 9_900})})
    ready = said(lead.get(f"{path}/issue"), 200)
    to = send(lead, f"{path}/issue", {}).url

    assert WRONG in unready
    assert f'href="{path}/issue"' not in unready
    assert WRONG in refused
    assert "What changes from version 1" in ready
    assert "95.00 GBP" in ready
    assert "Overhaul, version 2" in said(lead.get(to), 200)
    assert f'href="{to}">version 2</a>' in said(lead.get(path), 200)


def test_it_does_not_issue_what_does_not_hang_together(house: House, api: dict[str, Api]) -> None:
    uid = ok(begun(house, api, loose()), 201)["uid"]

    with nothing_changes():
        assert sentences(api["lead"].post(f"drafts/{uid}/issue", seen=1)) == [WRONG]


def test_it_keeps_one_draft_of_a_plan_open(house: House, api: dict[str, Api], pages: dict[str, Any]) -> None:
    ok(begun(house, api), 201)
    plan = house.plans["first_stage"].uid

    with nothing_changes():
        assert codes(begun(house, api)) == ["draft-open"]
        assert codes(api["lead"].post(f"plans/{plan}/drafts")) == ["draft-open"]
        assert "A draft of overhaul is open already" in said(
            send(pages["lead"], f"/office/plans/{plan}/copy", {})
        )
    ok(begun(house, api, key="inspection"), 201)


def test_it_goes_on_after_a_draft_was_set_aside(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    uid = ok(begun(house, api), 201)["uid"]
    send(pages["lead"], f"/office/drafts/{uid}/set-aside", {})

    assert ok(api["lead"].get(f"drafts/{uid}"))["state"] == "set aside"
    assert "a draft that was set aside" in said(pages["lead"].get(f"/office/drafts/{uid}"), 200)
    assert ok(begun(house, api), 201)["state"] == "draft"


@pytest.mark.parametrize(
    ("end", "code"),
    [("issue", "draft-issued"), ("set-aside", "draft-set-aside")],
    ids=["issued", "set aside"],
)
def test_it_does_nothing_more_with_a_spent_draft(
    house: House, api: dict[str, Api], end: str, code: str
) -> None:
    path = f"drafts/{ok(begun(house, api), 201)['uid']}"
    assert api["lead"].post(f"{path}/{end}", seen=1).status_code in (200, 201)

    with nothing_changes():
        assert codes(api["lead"].post(f"{path}/issue", seen=2)) == [code]
        assert codes(api["lead"].post(f"{path}/set-aside", seen=2)) == [code]
        assert codes(api["lead"].put(path, {"document": document()}, seen=2)) == [code]


def test_it_refuses_a_change_of_what_was_changed_since(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    uid = ok(begun(house, api), 201)["uid"]
    page = pages["lead"].get(f"/office/drafts/{uid}")
    ok(api["lead"].put(f"drafts/{uid}", {"document": document() | {"price": 9_900}}, seen=1))

    with nothing_changes():
        for answer in (
            api["lead"].put(f"drafts/{uid}", {"document": document()}, seen=1),
            api["lead"].post(f"drafts/{uid}/issue", seen=1),
            api["lead"].post(f"drafts/{uid}/set-aside", seen=1),
        ):
            assert answer.status_code == 412
        late = {"document": json.dumps(document()), "seen": hidden(page, "seen"), "once": "late"}
        assert "It is at version 2 now." in said(pages["lead"].post(f"/office/drafts/{uid}", late), 412)


@pytest.mark.parametrize("text", ["", "{", "[]", "null", "7", "[" * 100_000, '{"title": "\\ud800"}', "{}"])
def test_it_refuses_a_text_that_is_no_plan(
    house: House, api: dict[str, Api], pages: dict[str, Any], text: str
) -> None:
    uid = ok(begun(house, api), 201)["uid"]

    with nothing_changes():
        for path, data in (
            (f"/office/models/{house.models['first_stage'].uid}/draft", {"key": "k"}),
            (f"/office/drafts/{uid}", {"seen": 1}),
        ):
            page = pages["lead"].post(path, data | {"document": text, "once": "k"})
            assert 'class="field-error"' in said(page, 400)


def test_it_names_the_place_of_what_has_no_shape(house: House, api: dict[str, Api]) -> None:
    made = document()
    made["steps"][2]["minutes"] = "long"

    with nothing_changes():
        assert pointers(begun(house, api, made)) == ["/document/steps/2/minutes"]


def test_it_shows_a_draft_to_those_who_may_not_change_it(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    uid = ok(begun(house, api), 201)["uid"]
    page = said(pages["technician"].get(f"/office/drafts/{uid}"), 200)

    assert "<textarea" not in page
    assert "Tarnwell Hesk workshop sheet" in page
    with nothing_changes():
        assert api["technician"].put(f"drafts/{uid}", {"document": document()}, seen=1).status_code == 403
        assert api["technician"].post(f"drafts/{uid}/issue", seen=1).status_code == 403


def test_it_lists_drafts_beside_versions(house: House, api: dict[str, Api], pages: dict[str, Any]) -> None:
    ok(begun(house, api), 201)
    page = said(pages["technician"].get("/office/models"), 200)

    assert "Overhaul, draft of overhaul" in page
    assert page.count("work begins on it") == 2
    assert len(ok(api["technician"].get("drafts"))["results"]) == 1


def test_it_is_issued_once_by_the_same_key(house: House, api: dict[str, Api]) -> None:
    path = f"drafts/{ok(begun(house, api), 201)['uid']}/issue"
    first = ok(api["lead"].post(path, seen=1, key="k"), 201)

    assert ok(api["lead"].post(path, seen=1, key="k"), 201) == first
    assert PlanVersion.objects.filter(model=house.models["first_stage"]).count() == 2
