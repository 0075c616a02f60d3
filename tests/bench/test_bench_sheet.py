"""The bench sheet of a job, read back: every attempt of its round, and that it is not the record."""

from typing import Any

from django.test import Client

from tests.conftest import Api, House
from tests.printed import is_grey, marks_of, sizes_of, text_of
from tests.walk import Walk, ok

NOT_THE_RECORD = "This is a bench sheet and not the record."


def sheet(walk: Walk) -> Any:
    answer = walk.api["technician"].get(f"jobs/{walk.job}/bench-sheet.pdf")
    assert answer.status_code == 200
    return answer.content


def test_it_works(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("testing")
    ok(walk.trace("short_noisy"), 201)
    walk.tests()

    content = sheet(walk)

    text = text_of(content)
    for expected in (
        "Bench sheet, E-00001, round 1",
        NOT_THE_RECORD,
        "E-00001, First stage, Tarnwell Hesk serial S-first_stage",
        "done under Overhaul, version 1",
        "Intermediate pressure at 200 bar, final",
        "inconclusive; an earlier attempt, a later one counts in its place",
        "95 % interval",
        "judged by the value alone. Its 95 % interval is 2.50 to 4.00 s.",
        "limit of creep",
        "locked up 3.50 s after the purge",
        "Guarded: the whole 95 % interval must lie inside the limit.",
        "Source of the limit: Tarnwell Hesk workshop sheet, invented for the demo.",
        "rests on BG-3, calibrated to",
        "reading 9.42 bar",
        "method typed reading, version 1",
        "Ines Okafor",
        "it does not make the gear safe.",
    ):
        assert expected in text, expected
    assert text.count("rests on BG-3") == 4
    assert "No attempt yet" not in text
    assert marks_of(content)[0] == ["E-00001"]
    assert set(sizes_of(content)) == {(210, 297)}
    assert is_grey(content)


def test_it_says_what_has_no_attempt_yet(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("testing")
    assert "Nothing was tested yet. No attempt yet: Intermediate pressure at 200 bar; " in text_of(
        sheet(walk)
    )

    ok(walk.reading("low_supply", "9.42"), 201)

    text = text_of(sheet(walk))
    assert "Nothing was tested yet" not in text
    assert "No attempt yet: Intermediate pressure at 200 bar; " in text
    assert "Lock-up at 50 bar, final" in text


def test_it_shows_the_present_round_and_what_no_longer_counts(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("testing")
    ok(walk.reading("low_supply", "9.41"), 201)
    ok(walk.move("rebuilding", reason="It leaks."))
    assert "it no longer counts: the job went back" in text_of(sheet(walk))

    walk.steps("rebuilding")
    ok(walk.move("testing"))
    walk.tests()
    ok(walk.sign(), 201)
    ok(walk.move("testing", reason="The gauge was doubted.", role="inspector"))

    text = text_of(sheet(walk))
    assert "round 2" in text
    assert "9.41" not in text


def test_it_is_linked_from_the_job_and_from_an_attempt(
    house: House, api: dict[str, Api], pages: dict[str, Client]
) -> None:
    walk = Walk(house, api).to("testing")
    uid = ok(walk.reading("low_supply", "9.42"), 201)["uid"]
    link = f'href="/jobs/{walk.job}/bench-sheet.pdf"'

    assert link in pages["technician"].get(f"/jobs/{walk.job}").content.decode()
    assert link in pages["technician"].get(f"/attempts/{uid}").content.decode()
    assert NOT_THE_RECORD in text_of(pages["technician"].get(f"/jobs/{walk.job}/bench-sheet.pdf").content)
