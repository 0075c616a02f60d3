"""Condition lists: gone through for a whole drop-off, printed on the ticket, changed in versions."""

from typing import Any

import pytest
from django.test import Client

from jobs.condition.models import Answer, ConditionList, Look
from jobs.condition.reads import NO_VERDICT, shipped
from jobs.flow.models import DropOff
from shop.workshop.rules import Kind
from tests.conftest import Api, House
from tests.porthole.made import linked
from tests.printed import text_of
from tests.rows import codes, nothing_changes, pointers, said, send
from tests.walk import Walk, ok, pair

FIRST = shipped()[Kind.FIRST_STAGE]


@pytest.fixture
def walk(house: House, api: dict[str, Api]) -> Walk:
    """A first and a second stage that were brought together."""
    return pair(house, api, house.item("first_stage", "T-1"), house.item("second_stage", "T-2"))[0]


def sent(walk: Walk, *answers: dict[str, str], n: int = 1, **more: Any) -> dict[str, Any]:
    """One piece as the API takes it."""
    line = DropOff.objects.get(uid=walk.drop_off).lines.get(n=n)
    return {"line": str(line.uid), "version": 0, "answers": list(answers)} | more


def look(walk: Walk, *pieces: dict[str, Any], role: str = "counter") -> Any:
    return walk.api[role].post(f"drop-offs/{walk.drop_off}/looks", {"pieces": list(pieces)})


def ticket(walk: Walk) -> str:
    return text_of(walk.api["counter"].get(f"drop-offs/{walk.drop_off}/ticket.pdf").content)


def test_it_works(walk: Walk, pages: dict[str, Client]) -> None:
    """By one form; then on the drop-off, the work sheet, the ticket and the private link."""
    at, none = f"/drop-offs/{walk.drop_off}", "Condition list: nobody has gone through it yet."
    assert ticket(walk).count(none) == 2
    assert f'href="{at}/looks"' in said(pages["counter"].get(at), 200)
    page = said(pages["counter"].get(f"{at}/looks"), 200)
    assert all(words in page for words in FIRST)

    lines = DropOff.objects.get(uid=walk.drop_off).lines.all()
    form = {f"pieces[{line.n}]line": line.uid for line in lines} | {"pieces[2]version": "0"}
    form |= {"pieces[1]version": "0", "pieces[1]rest_fine": "true"}
    form |= {"pieces[1]answers[0]said": "seen", "pieces[1]answers[0]note": "green <b>all over</b>"}
    form |= {f"pieces[{n}]answers[{i}]note": "" for n in (1, 2) for i in range(n == 1, 7)}
    assert send(pages["counter"], f"{at}/looks", form).status_code == 302

    (row,) = Look.objects.all()  # nothing was answered of the other piece
    assert (row.line.n, row.n, row.kind, row.list_n) == (1, 1, "first_stage", 0)
    assert [each.words for each in row.answers.all()] == FIRST
    page = pages["counter"].get(at).content.decode()
    assert "green &lt;b&gt;all over" in page
    assert "condition list of C-0001-2 yet" in page
    assert "green &lt;b&gt;all over" in pages["technician"].get(f"/jobs/{walk.job}").content.decode()
    text = ticket(walk).replace("\u200e", "")
    assert f"Seen: {FIRST[0]} (green <b>all over</b>). Nothing seen at: {FIRST[1]}; {FIRST[2]}" in text
    assert text.count(none) == 1
    assert NO_VERDICT in text
    page = said(Client().get(linked(row.line.drop_off)), 200)
    assert FIRST[0] in page
    assert "all over" not in page


def test_it_keeps_each_look_beside_the_former(walk: Walk) -> None:
    ok(look(walk, sent(walk, {"said": "seen"}), sent(walk, n=2, rest_fine=True)), 201)
    (made,) = ok(look(walk, sent(walk, {"said": "fine"}), role="technician"), 201)["looks"]

    assert (made["n"], made["answers"][0]["said"], made["answers"][1]["said"]) == (2, "fine", "not looked at")
    found = ok(walk.api["counter"].get(f"drop-offs/{walk.drop_off}/looks"))["results"]
    assert sorted((each["n"], each["answers"][0]["said"]) for each in found) == [
        (1, "fine"), (1, "seen"), (2, "fine"),
    ]  # fmt: skip
    assert ticket(walk).count("Looked at on") == 3


def test_it_keeps_the_words_that_were_asked(walk: Walk, pages: dict[str, Client]) -> None:
    lead, own = walk.api["lead"], {"asks": ["Sticker of the club missing"]}
    assert (
        send(
            pages["lead"], "/office/condition-lists/first_stage", own | {"asks": "Sticker missing\n\n Rust "}
        ).status_code
        == 302
    )
    assert ConditionList.objects.get().asks == ["Sticker missing", "Rust"]
    with nothing_changes():
        assert lead.put("condition-lists/first_stage", own, seen=0).status_code == 412
        assert walk.api["counter"].put("condition-lists/first_stage", own, seen=1).status_code == 403
        assert lead.put("condition-lists/harpoon", own, seen=0).status_code == 404
        assert pointers(lead.put("condition-lists/bcd", {"asks": ["x"] * 16}, seen=0)) == ["/asks"]
    ok(look(walk, sent(walk, {"said": "seen"}, version=1)), 201)
    ok(lead.put("condition-lists/first_stage", {"asks": []}, seen=1))

    # A form that was opened before keeps the list that it showed; a list that never was is refused.
    (made,) = ok(look(walk, sent(walk, {"said": "seen"})), 201)["looks"]
    assert [each["words"] for each in made["answers"]] == FIRST
    with nothing_changes():
        assert codes(look(walk, sent(walk, {"said": "seen"}, version=9))) == ["nothing-asked"]
        assert codes(look(walk, sent(walk, {"said": "seen"}, version=2))) == ["nothing-asked"]
    assert "Seen: Sticker missing." in ticket(walk)
    assert "Sticker missing" not in said(pages["counter"].get(f"/drop-offs/{walk.drop_off}/looks"), 200)
    found = ok(lead.get("all-condition-lists"))["lists"]
    assert [(each["kind"], each["version"]) for each in found if each["version"]] == [("first_stage", 2)]


def test_it_is_refused_with_every_reason_and_what_was_typed(walk: Walk, pages: dict[str, Client]) -> None:
    other = Walk(walk.house, walk.api)
    wrong = [sent(other, rest_fine=True), sent(walk, {"said": "fine", "note": "green"})]
    at = f"/drop-offs/{walk.drop_off}/looks"
    with nothing_changes():
        assert codes(look(walk, *wrong)) == ["other-drop-off", "note-of-nothing"]
        assert codes(look(walk, sent(walk), sent(walk, n=2))) == ["nothing-looked-at"]
        assert look(walk, sent(walk, rest_fine=True), role="storekeeper").status_code == 403
        form = {"pieces[2]line": wrong[1]["line"], "pieces[2]version": "0"}
        form |= {"pieces[2]answers[0]said": "fine", "pieces[2]answers[0]note": "kept by the page"}
    form["pieces[1]line"] = form.pop("pieces[2]line")
    form = {name.replace("pieces[2]", "pieces[1]"): value for name, value in form.items()}
    with nothing_changes():
        page = said(send(pages["counter"], at, form))
        assert 'value="kept by the page"' in page
        assert 'href="#pieces-0-answers-0-note"' in page
        page = said(send(pages["counter"], at, form | {"pieces[1]answers[0]note": "x" * 301}), 400)
        assert 'href="#pieces-0-answers-0-note"' in page


def test_it_answers_once_what_is_sent_twice(walk: Walk) -> None:
    given = {"pieces": [sent(walk, rest_fine=True)]}
    for _ in range(2):
        ok(walk.api["counter"].post(f"drop-offs/{walk.drop_off}/looks", given, key="a-look"), 201)

    assert Look.objects.count() == 1
    assert set(Answer.objects.values_list("said", flat=True)) == {"fine"}


def test_it_stands_in_the_history_in_words(walk: Walk, pages: dict[str, Client]) -> None:
    ok(look(walk, sent(walk, {"said": "seen", "note": "green"}, {"said": "fine"})), 201)

    page = said(pages["counter"].get(f"/customers/{walk.house.customer.uid}/history"), 200)
    assert f"fine: <bdi>C-0001-1 {FIRST[1]}</bdi>" in page
    assert f"seen: <bdi>C-0001-1 {FIRST[0]}</bdi>" in page
    assert f"notes: <bdi>C-0001-1 {FIRST[0]} (green)</bdi>" in page
