"""The whole passage as one table: every ordered pair of legs, with all facts well and with each fact not well."""

from dataclasses import replace
from itertools import product

import pytest

from jobs.flow.rules import ASKS, ENDED, WORKING, Facts, Leg, following, move_refusals
from shop.catalogue.rules import passage
from shop.workshop.rules import Refusal

FULL = passage(["stripping", "cleaning", "rebuilding", "testing"])
NOT_WELL = (Refusal("not-well", "It is not well."),)
# Rows: from; columns: to, in the order of the legs. What each sign means stands in MEANS.
TABLE = """
                ci  cl  st  cn  rb  te  so  hb  di
    checked_in   =   .   n   n   n   n   n   n   L
    cleared      w   =   .   n   n   n   n   n   L
    stripping    w   w   =   .   n   n   n   n   L
    cleaning     w   w   <   =   .   n   n   n   L
    rebuilding   w   w   <   <   =   .   n   n   L
    testing      w   w   <   <   <   =   .   n   L
    signed_off   x   x   s   s   s   s   =   .   L
    handed_back  e   e   e   e   e   e   e   e   L
    disposed     L   L   L   L   L   L   L   L   L
"""
MEANS = {
    ".": [],
    "<": [],
    "=": ["already-there"],
    "n": ["not-next"],
    "w": ["not-a-working-leg"],
    "s": ["signed-off"],
    "x": ["signed-off", "not-a-working-leg"],
    "e": ["job-ended"],
    "L": ["no-such-leg"],
}
ROWS = {row.split()[0]: row.split()[1:] for row in TABLE.strip().splitlines()[1:]}
SIGNS: dict[tuple[str, str], str] = {(here, to): ROWS[here][i] for here in ROWS for i, to in enumerate(Leg)}
NEEDS = {
    "cleared": {"flow", "go_ahead"},
    "stripping": {"technician", "emptied"},
    "cleaning": {"technician", "emptied", "stripped"},
    "rebuilding": {"technician", "emptied", "stripped", "tray"},
    "testing": {"technician", "emptied", "stripped", "tray", "steps"},
    "signed_off": {"technician", "emptied", "stripped", "tray", "steps", "tests"},
    "handed_back": set[str](),
}
NAMES = list(Facts.__dataclass_fields__)


def codes(
    here: str, to: str, reason: str = "why", facts: Facts | None = None, *, closing: bool = False
) -> list[str]:
    return [r.code for r in move_refusals(FULL, here, to, reason, facts or Facts(), closing=closing)]


def test_the_table_covers_every_ordered_pair() -> None:
    assert set(SIGNS) == set(product(Leg, Leg))
    assert len(SIGNS) == 81


@pytest.mark.parametrize(("here", "to"), list(SIGNS))
def test_it_works(here: str, to: str) -> None:
    assert codes(here, to) == MEANS[SIGNS[here, to]]


@pytest.mark.parametrize(("here", "to"), list(SIGNS))
def test_it_asks_for_a_reason_to_go_back_and_for_none_to_go_on(here: str, to: str) -> None:
    expected = MEANS[SIGNS[here, to]] + (["reason-missing"] if SIGNS[here, to] in "<wsx" else [])

    assert codes(here, to, "") == expected


@pytest.mark.parametrize("name", NAMES)
def test_it_asks_each_fact_where_it_is_due_and_nowhere_else(name: str) -> None:
    facts = replace(Facts(), **{name: NOT_WELL})

    for (here, to), sign in SIGNS.items():
        asked = sign == "." and name in NEEDS[to]
        assert codes(here, to, facts=facts) == (["not-well"] if asked else MEANS[sign]), (here, to)


def test_it_tells_the_reasons_of_every_fact_at_once() -> None:
    facts = Facts(**{name: (Refusal(name, name), Refusal(f"{name} too", name)) for name in NAMES})

    assert codes("testing", "signed_off", facts=facts) == [
        code
        for name in ("technician", "emptied", "stripped", "tray", "steps", "tests")
        for code in (name, f"{name} too")
    ]


def test_it_asks_every_fact_somewhere() -> None:
    assert set().union(*NEEDS.values()) == set(NAMES)
    assert {str(leg): set(names) for leg, names in ASKS.items()} == NEEDS


@pytest.mark.parametrize(
    ("here", "found"),
    [
        ("checked_in", []),
        ("cleared", []),
        ("stripping", []),
        ("cleaning", []),
        ("rebuilding", []),
        ("testing", []),
        ("signed_off", ["already-there"]),
        ("handed_back", ["job-ended"]),
        ("disposed", ["no-such-leg"]),
    ],
)
def test_it_closes_from_any_leg_before_sign_off_whatever_the_facts(here: str, found: list[str]) -> None:
    facts = Facts(**dict.fromkeys(NAMES, NOT_WELL))

    assert codes(here, "signed_off", "", facts, closing=True) == found


@pytest.mark.parametrize(("here", "to"), [pair for pair in SIGNS if pair[1] != "signed_off"])
def test_it_lets_closing_reach_sign_off_only(here: str, to: str) -> None:
    assert codes(here, to, closing=True) == codes(here, to)


@pytest.mark.parametrize(
    ("legs", "here", "to", "found"),
    [
        (["testing"], "cleared", "testing", []),
        (["testing"], "cleared", "stripping", ["no-such-leg"]),
        (["testing"], "testing", "signed_off", []),
        ([], "cleared", "signed_off", []),
        (["stripping", "testing"], "stripping", "testing", []),
        (["stripping", "testing"], "testing", "stripping", []),
        (["stripping", "testing"], "testing", "cleaning", ["no-such-leg"]),
    ],
)
def test_it_leaves_out_the_legs_that_a_plan_does_not_have(
    legs: list[str], here: str, to: str, found: list[str]
) -> None:
    assert [r.code for r in move_refusals(passage(legs), here, to, "why", Facts())] == found


def test_it_names_the_next_leg_as_people_say_it() -> None:
    (refusal,) = move_refusals(FULL, "testing", "handed_back", "", Facts())

    assert refusal.sentence == "The next leg of this job is signed off."


def test_it_knows_the_working_legs_and_the_end() -> None:
    assert WORKING == ("stripping", "cleaning", "rebuilding", "testing")
    assert ENDED == ("handed_back", "disposed")
    assert [following(FULL, leg) for leg in FULL] == [*FULL[1:], None]
