"""The service record and the "do not dive" slip, read back."""

import json
from typing import Any

import pytest
from django.test import Client

from jobs.signoff.models import SignOff
from tests.conftest import Api, House
from tests.printed import is_grey, marks_of, sizes_of, text_of, white_edges_mm
from tests.rows import said
from tests.walk import Walk, ok

FAILED: dict[str, Any] = {
    "outcome": "failed",
    "words": "The seat bore is scored.",
    "second": None,
    "second_secret": "",
}


def record(api: dict[str, Api], name: str = "record") -> bytes:
    """A paper of the only sign-off."""
    answer = api["counter"].get(f"records/{SignOff.objects.get().uid}/{name}.pdf")
    assert answer.status_code == 200, answer.content
    return bytes(answer.content)


def test_it_works(house: House, api: dict[str, Api]) -> None:
    Walk(house, api).to("signed_off")

    content = record(api)

    row, text = SignOff.objects.get(), text_of(content).replace("\u200e", "")
    for expected in (
        "Service record, E-00001",
        "Outcome: serviced",
        "E-00001, First stage, Tarnwell Hesk serial S-first_stage",
        "done under Overhaul, version 1",
        "Intermediate pressure at 200 bar, final",
        "verdict within",
        "Lock-up at 50 bar, final verdict within reading 9.42 bar",
        "Lock-up 9.42 bar, 95 % interval 9.4142 to 9.4258 bar, is within: limit 9.0 to 10.0 bar.",
        "limit of lock-up 9.0 to 10.0 bar. Guarded: the whole 95 % interval must lie inside the limit. "
        "Source of the limit: Tarnwell Hesk workshop sheet, invented for the demo.",
        "limit of time to lock up at most 15 s. Simple: the value alone decides.",
        "rests on BG-3, calibrated to",
        "its accuracy is not on record, so the interval holds its step alone",
        "method typed reading, version 1",
        "upper limit 10.0 bar",
        "Bench tests at the surface say nothing about breathing effort at depth.",
        "Not tested: whatever this record does not name.",
        "1 Take off hoses and port plugs 5 parts counted Ines Okafor,",
        "28 N·m read, 28 N·m asked, wrench TW-2",
        "Filter 1 piece renewed TH-301, lot TH-301-A",
        "Port plug 5 pieces reused none",
        "signed off by Ines Okafor authorised: Tarnwell, any kind of gear, no last day",
        "second person Marek Dunwell",
        "This record states what was done and measured here on that day. "
        "It does not replace the maker's instructions, and it does not make the gear safe.",
        f"SHA-256 of the closed record: {row.digest}",
    ):
        assert expected in text
    assert marks_of(content)[0] == ["E-00001"]
    assert is_grey(content)
    assert white_edges_mm(content) > 12
    assert f"page 1 of {len(sizes_of(content))}" in text


def test_it_states_every_attempt_and_every_step_and_part_of_the_record(
    house: House, api: dict[str, Api]
) -> None:
    walk = Walk(house, api).to("testing")
    ok(walk.reading("low_supply", "10.4"), 201)
    ok(walk.reading("low_supply", "9.42", why="The gauge stood crooked."), 201)
    walk.tests(but="low_supply")
    ok(walk.sign(), 201)

    text, kept = text_of(record(api)), json.loads(SignOff.objects.get().record)

    assert "reading 10.4 bar" in text
    assert "verdict outside" in text
    assert "done again The gauge stood crooked." in text
    assert len(kept["tests"]) == 4
    assert text.count("verdict within") == 3
    assert [step["title"] in text for step in kept["steps"]] == [True] * 8
    assert [part["name"] in text for part in kept["parts"]] == [True] * len(kept["parts"])


def test_it_says_what_was_not_tested_and_not_done(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api)
    ok(walk.sign(**FAILED), 201)

    text = text_of(record(api))

    assert "Do not dive with this item. Outcome: failed Found: The seat bore is scored." in text
    assert "Nothing was tested." in text
    assert (
        "Not tested: Intermediate pressure at 200 bar; Lock-up at 50 bar; Supply pressure lost in a minute, valve shut; "
        "and whatever this record does not name." in text
    )
    assert text.count("not done") == 8
    assert "Port plug 5 pieces not accounted for none" in text
    assert "second person" not in text


def test_it_stays_as_it_was_signed(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("signed_off")
    before = text_of(record(api))
    house.people["technician"].name = "Ines Marchetti"
    house.people["technician"].save()
    walk.item.identifiers.update(value="TH-999")

    after = text_of(record(api))

    assert before.split("Printed")[0] == after.split("Printed")[0]
    assert "Ines Okafor" in after


@pytest.mark.parametrize("outcome", ["failed", "beyond repair", "condemned", "declined"])
def test_it_prints_a_slip_for_what_must_not_be_dived(house: House, api: dict[str, Api], outcome: str) -> None:
    ok(Walk(house, api).sign(**FAILED | {"outcome": outcome}), 201)

    content = record(api, "do-not-dive")

    text = text_of(content)
    assert f"DO NOT DIVE Outcome: {outcome} Why The seat bore is scored." in text
    assert "item First stage, Tarnwell Hesk serial S-first_stage" in text
    assert "signed off by Ines Okafor" in text
    assert marks_of(content) == [["E-00001"]]
    assert is_grey(content)
    assert white_edges_mm(content) > 12


def test_it_prints_two_thousand_characters_of_why(house: House, api: dict[str, Api]) -> None:
    words = "".join(f"Finding {n}. " for n in range(200))[:1990] + "The end."
    ok(Walk(house, api).sign(**FAILED | {"words": words}), 201)

    for name in ("record", "do-not-dive"):
        content = record(api, name)
        assert "Finding 0." in text_of(content)
        assert "The end." in text_of(content)
        assert white_edges_mm(content) > 12


def test_it_has_no_such_slip_for_what_was_serviced(
    house: House, api: dict[str, Api], pages: dict[str, Client]
) -> None:
    Walk(house, api).to("signed_off")
    address = f"records/{SignOff.objects.get().uid}/do-not-dive.pdf"

    assert api["counter"].get(address).status_code == 404
    assert pages["counter"].get(f"/{address}").status_code == 404
    assert "do-not-dive" not in pages["counter"].get(f"/records/{SignOff.objects.get().uid}").content.decode()


def test_it_is_linked_from_the_record(house: House, api: dict[str, Api], pages: dict[str, Client]) -> None:
    ok(Walk(house, api).sign(**FAILED), 201)
    uid = SignOff.objects.get().uid

    page = pages["counter"].get(f"/records/{uid}")

    assert f'href="/records/{uid}/record.pdf"' in page.content.decode()
    assert f'href="/records/{uid}/do-not-dive.pdf"' in page.content.decode()
    assert "Overhaul, version 1" in said(page, 200)
