"""The order of the queue and the reasons in it, by tables."""

from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from jobs.flow.rules import Held
from jobs.queue.rules import Missing, Standing, asked, line_up, missing, open_minutes, stops, why
from shop.catalogue.rules import read_plan
from shop.gases.rules import Gas
from shop.stock.rules import Usable
from shop.workshop.rules import Refusal
from tests.plans import document, plan

DAY = date(2026, 8, 3)
MINE = Standing(number=1, promised_on=DAY, leg="cleared", to="stripping", mine=True, technician="Ines")
NOBODYS = replace(MINE, mine=False, technician="")


def order(*known: Standing) -> list[int]:
    return [place.standing.number for place in line_up(known, DAY)]


def test_it_works() -> None:
    late = replace(NOBODYS, number=2, promised_on=date(2026, 8, 1))

    places = line_up([MINE, late], DAY)

    assert [place.standing.number for place in places] == [2, 1]
    assert places[0].why == ("late by 2 days", "nobody has it yet: the lead gives it out")
    assert places[1].why == ("promised today", "with you")
    assert places[0].stops == places[1].stops == ()


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ({"promised_on": date(2026, 9, 1)}, {"away": "Tarnwell station"}),
        ({"promised_on": date(2026, 8, 2), "mine": False}, {"leg": "testing"}),
        ({"leg": "stripping", "to": "cleaning"}, {}),
        ({"leg": "stripping", "to": "cleaning"}, {"leg": "testing", "to": "signed_off", "mine": False}),
        ({}, {"mine": False, "technician": ""}),
        ({"leg": "testing"}, {"leg": "stripping"}),
        ({"leg": "cleared"}, {"leg": "checked_in"}),
        ({"number": 1}, {"number": 2}),
    ],
    ids=[
        "what can go on before what cannot", "promised earlier", "begun by oneself", "begun before further along",
        "one's own before nobody's", "further along", "cleared before checked in", "the older job",
    ],
)  # fmt: skip
def test_it_puts_one_before_the_other(first: dict[str, Any], second: dict[str, Any]) -> None:
    one, two = replace(MINE, **({"number": 7} | first)), replace(MINE, **({"number": 5} | second))

    assert order(two, one) == order(one, two) == [one.number, two.number]


@pytest.mark.parametrize(
    ("known", "codes", "said"),
    [
        ({}, [], []),
        ({"holds": (Held("customer", "no answer yet"),)}, ["held-customer"], ["On hold, customer: no answer yet"]),
        # What waits for parts may still be stripped, and is not yet rebuilt.
        ({"holds": (Held("parts", "a seat"),)}, [], []),
        ({"holds": (Held("parts", "a seat"),), "leg": "cleaning", "to": "rebuilding"}, ["held-parts"], ["On hold, parts: a seat"]),
        ({"away": "Aldermouth Hydro"}, ["not-here"], ["It is not here: Aldermouth Hydro."]),
        ({"withdrawn": True}, ["plan-withdrawn"], ["Its plan was withdrawn."]),
        ({"unauthorised": (Refusal("not-authorised", "Ines is not authorised."),)}, ["not-authorised"], ["Ines is not authorised."]),
        ({"missing": (Missing("TH-302", 2, 1), Missing("TH-1", 3, 0))}, ["parts-missing"], ["Short in the store: TH-302 (1 of 2), TH-1 (0 of 3)."]),
        ({"missing": (Missing("TH-302", 2, 0, "oxygen"),)}, ["parts-missing"], ["Short in the store: TH-302 (0 of 2, not fit for oxygen)."]),
        ({"uncovered": (Refusal("no-go-ahead", "There is no go-ahead yet."),)}, ["no-go-ahead"], ["There is no go-ahead yet."]),
    ],
)  # fmt: skip
def test_it_says_what_stops_a_job(known: dict[str, Any], codes: list[str], said: list[str]) -> None:
    found = stops(replace(MINE, **known))

    assert [each.code for each in found] == codes
    assert [each.sentence for each in found] == said


def test_it_says_every_reason_at_once() -> None:
    found = stops(replace(MINE, away="a shelf elsewhere", withdrawn=True, missing=(Missing("TH-302", 1, 0),)))

    assert [each.code for each in found] == ["not-here", "plan-withdrawn", "parts-missing"]


@pytest.mark.parametrize(
    ("promised_on", "when"),
    [
        (date(2026, 8, 2), "late by 1 day"),
        (date(2026, 7, 1), "late by 33 days"),
        (date(2026, 8, 3), "promised today"),
        (date(2026, 8, 4), "promised for tomorrow"),
        (date(2026, 8, 5), "promised in 2 days"),
    ],
)
def test_it_says_when_a_job_is_promised(promised_on: date, when: str) -> None:
    assert why(replace(MINE, promised_on=promised_on), DAY)[0] == when


@pytest.mark.parametrize(
    ("known", "whose"),
    [
        ({}, "with you"),
        ({"leg": "testing"}, "you have begun it"),
        ({"mine": False}, "with Ines"),
        ({"mine": False, "leg": "testing"}, "with Ines"),
        ({"mine": False, "technician": ""}, "nobody has it yet: the lead gives it out"),
    ],
)
def test_it_says_whose_a_job_is(known: dict[str, Any], whose: str) -> None:
    assert why(replace(MINE, **known), DAY)[1] == whose


@pytest.mark.parametrize(
    ("leg", "settled", "wanted"),
    [
        ("checked_in", (), {"TH-301": 1, "TH-302": 1, "TH-303": 1}),
        ("cleaning", ("yoke_ring",), {"TH-301": 1, "TH-303": 1}),
        ("rebuilding", (), {}),
        ("testing", (), {}),
    ],
)
def test_it_asks_the_store_for_what_the_plan_renews(
    leg: str, settled: tuple[str, ...], wanted: dict[str, int]
) -> None:
    assert asked(plan(), leg, settled) == wanted


@pytest.mark.parametrize(
    ("fit_for", "gas", "found"),
    [
        ("", Gas.AIR, (Missing("TH-301", 1, 0), Missing("TH-302", 2, 1))),
        ("", Gas.OXYGEN, (Missing("TH-301", 1, 0), Missing("TH-302", 2, 0, "oxygen"), Missing("TH-303", 3, 0, "oxygen"))),
        ("oxygen", Gas.OXYGEN, (Missing("TH-301", 1, 0), Missing("TH-302", 2, 1))),
        ("oxygen", Gas.AIR, (Missing("TH-301", 1, 0), Missing("TH-302", 2, 0, "air"), Missing("TH-303", 3, 0, "air"))),
    ],
)  # fmt: skip
def test_it_counts_the_parts_that_are_too_few(fit_for: str, gas: Gas, found: tuple[Missing, ...]) -> None:
    stored = {"TH-302": Usable(1, fit_for), "TH-303": Usable(3, fit_for)}

    assert missing({"TH-302": 2, "TH-301": 1, "TH-303": 3}, stored, gas) == found


def test_it_adds_the_minutes_of_open_steps() -> None:
    paper = document()
    for step in paper["steps"]:
        step["minutes"] = 1
    first, second = paper["steps"][:2]
    first |= {"minutes": 10, "choice": "way", "when": "one way"}
    second |= {"minutes": 20, "choice": "way", "when": "the other way"}
    found, rest = read_plan(paper), len(paper["steps"]) - 2

    assert open_minutes(found, {}) == 20 + rest
    assert open_minutes(found, {first["key"]: True}) == rest
    assert open_minutes(found, {first["key"]: False}) == 20 + rest
    assert open_minutes(found, {step.key: True for step in found.steps}) == 0
