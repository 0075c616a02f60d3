"""The table of words: all that customers read on pages, in four languages, with the same places and marks; days and amounts."""

import json
import re
from collections.abc import Iterator
from datetime import UTC, date, datetime
from typing import Any

import pytest
from django.conf import settings
from django.template import engines
from django.urls import get_resolver
from rest_framework import serializers

from jobs.answers.rules import Said
from jobs.bookings.pages import ROOM_FOR
from jobs.bookings.rules import Days, day_refusals, link_refusals
from jobs.condition.reads import NO_VERDICT, shipped
from jobs.estimates.rules import WentBack
from jobs.estimates.rules import answer_refusals as more_refusals
from jobs.flow.rules import LEG_LABELS, Leg, Outcome
from jobs.porthole.rules import OUTSIDE, WAITS, WITH_US, question_refusals, state_of
from jobs.quotes.rules import answer_refusals
from shop.catalogue.rules import read_plan
from shop.clocks.rules import elsewhere_refusals
from shop.files.rules import DAMAGED, HEIC, MANY_PIXELS, NOT_A_PDF, NOT_A_PHOTOGRAPH
from shop.links.pages import PrivateForm
from shop.words.reads import refused, said, table
from shop.words.rules import amount_in, weekday_in
from shop.workshop.rules import Kind, Language, Refusal

SAY = re.compile(r'{% say "([^"]*)"')
MARKS = re.compile(r"\{[a-z]*\}|</?[a-z]+>")
UNTOLD = {"title": {""}, "lead": {""}, "button": {"Save"}}  # of a page without a form


def in_templates() -> set[str]:
    """Every sentence that a template says."""
    paths = [
        *settings.ROOT.glob("shop/*/templates/**/*.html"),
        *settings.ROOT.glob("jobs/*/templates/**/*.html"),
    ]
    return {text for path in paths for text in SAY.findall(path.read_text())}


def forms(base: type[PrivateForm]) -> Iterator[type[PrivateForm]]:
    """Every page under a private link."""
    for each in base.__subclasses__():
        yield each
        yield from forms(each)


def in_forms() -> set[str]:
    """What their forms say: titles, buttons, labels, helps, and choices that are not numbers."""
    found = set[str]()
    get_resolver().url_patterns  # reads the pages of all rooms
    for page in forms(PrivateForm):
        found |= {getattr(page, name) for name, untold in UNTOLD.items() if getattr(page, name) not in untold}
        for name, each in page.takes().fields.items():
            if name not in ("seen", "agreed"):
                found |= {str(each.label), str(each.help_text or "")}
            if isinstance(each, serializers.ChoiceField):
                found |= {str(label) for label in each.choices.values()}
    return found - {""}


def clock_titles() -> set[str]:
    """How the obligations are called that come with the house."""
    rules = json.loads((settings.ROOT / "fixtures" / "intervals.json").read_text())
    rows = (
        rules if isinstance(rules, list) else next(each for each in rules.values() if isinstance(each, list))
    )
    plans = [read_plan(json.loads(path.read_text())) for path in settings.ROOT.glob("fixtures/plans/*.json")]
    return {row["title"] for row in rows} | {each.title for plan in plans for each in plan.promises}


def of_gear() -> set[str]:
    """What is said of gear: kinds, clocks, legs, where it is and what it waits for."""
    kinds = {f"{kind.label[0].upper()}{kind.label[1:]}" for kind in Kind}
    states = {each for leg in Leg if leg != Leg.SIGNED_OFF for each in state_of(leg, "")}
    outcomes = {each for outcome in Outcome for each in state_of(Leg.SIGNED_OFF, outcome)}
    return kinds | clock_titles() | {*LEG_LABELS.values(), *WAITS, OUTSIDE, WITH_US} | states | outcomes


def test_it_works() -> None:
    assert said("de", "Ready to collect") == "Zur Abholung bereit"
    assert said("en", "Ready to collect") == "Ready to collect"
    assert said("fr", "Our own yearly look") == "Our own yearly look", "a workshop's own title stays as typed"


def test_it_has_every_word_and_none_that_nobody_says() -> None:
    """A page, a form or gear that says something new fails here until the table has it in all languages."""
    lists = {ask for asks in shipped().values() for ask in asks} | {NO_VERDICT}
    others = {
        *lists,
        *Said,
        *WentBack,
        ROOM_FOR,
        "optional",
        DAMAGED,
        HEIC,
        MANY_PIXELS,
        NOT_A_PDF,
        NOT_A_PHOTOGRAPH,
    }

    wanted = {*in_templates(), *in_forms(), *of_gear(), *map(str, others), "on hold"}
    known = set(table("pages"))
    assert (wanted - known, known - wanted) == (set(), set())


@pytest.mark.parametrize("section", ["pages", "refusals"])
def test_it_says_each_in_every_language_with_the_same_places(section: str) -> None:
    wrong = [
        (text, row)
        for text, row in table(section).items()
        if len(row) != len(Language) - 1
        or not all(each == each.strip() and each for each in row)
        or any(sorted(MARKS.findall(each)) != sorted(MARKS.findall(text)) for each in row)
    ]

    assert wrong == []


@pytest.mark.parametrize(
    ("language", "words"),
    [("de", "Tauchen Sie nicht"), ("fr", "Ne plongez pas"), ("es", "No bucee"), ("en", "Do not dive")],
)
def test_it_never_leaves_the_caution_out(language: str, words: str) -> None:
    cautions = [text for text in table("pages") if "not dive with" in text and "Put away" not in text]

    assert len(cautions) == 3
    assert [text for text in cautions if words.lower() not in said(language, text).lower()] == []


def test_it_has_every_refusal_that_a_link_meets() -> None:
    """By its code, since the sentence may hold figures."""
    on, days = date(2030, 6, 1), Days(1, 10, (), ("2030-06-03",))
    found: list[Refusal] = [*question_refusals(99, 99), *link_refusals(on, on, 99, 99)]
    for day in (date(2030, 5, 31), date(2030, 6, 3), date(2031, 1, 1), date(2030, 6, 2)):
        found += day_refusals(day, on, days, 1)
    found += [*elsewhere_refusals(date(2030, 6, 2), on, None), *elsewhere_refusals(on, on, on)]
    for became in ("withdrawn", "agreed", ""):
        found += answer_refusals(became, 1, 2)
    found += more_refusals("stands", agreed=False, amount=None, went_back="")
    codes = {each.code for each in found} | {"stale", "busy", "at-once", "nothing-asked", "booked-already"}
    codes |= {"no-booking", "not-theirs", "address-waits", "erased", "merged", "drop-off-over"}
    fields = {"required", "null", "blank", "empty", "max_length", "invalid_choice", "invalid"}

    assert codes | fields == set(table("refusals"))
    assert refused("es", Refusal("day-full", "There is no room left.", "day")) == Refusal(
        "day-full", "Ese día ya no hay sitio.", "day"
    )


def test_it_keeps_a_typed_word_from_being_markup() -> None:
    """A sentence of the template may hold marks; what a variable holds, or fills a place, never does."""
    template = engines["django"].from_string(
        '{% say "Up to <b>{amount}</b> in all, tax included." amount=x %}{% say x %}'
    )

    assert template.render({"x": "<i>1", "in_language": "de"}) == (
        "Bis zu <b>&lt;i&gt;1</b> insgesamt, Steuer inbegriffen.&lt;i&gt;1"
    )


@pytest.mark.parametrize(
    ("language", "day", "amount"),
    [
        ("en", "Saturday, 1 June 2030", "1180.00 EUR"),
        ("de", "Samstag, 1. Juni 2030", "1180,00 EUR"),
        ("fr", "samedi 1er juin 2030", "1180,00 EUR"),
        ("es", "sábado, 1 de junio de 2030", "1180,00 EUR"),
    ],
)
def test_it_writes_days_and_amounts_the_readers_way(language: str, day: str, amount: str) -> None:
    template = engines["django"].from_string("{% day d weekday=True %}")
    context: dict[str, Any] = {"in_language": language, "zone": "Asia/Tokyo"}

    assert weekday_in(language, date(2030, 6, 1)) == day
    assert template.render(context | {"d": datetime(2030, 5, 31, 20, tzinfo=UTC)}) == day
    assert amount_in(language, 118000, "EUR") == amount
