"""The whole passage as one table: every ordered pair of legs, with all facts well and with each fact not well."""

from dataclasses import replace
from itertools import product

import pytest

from jobs.flow.rules import (
    ASKS,
    ENDED,
    WORKING,
    Facts,
    Held,
    HoldKind,
    Leg,
    contents_refusals,
    custody_refusals,
    following,
    lifting_refusals,
    move_refusals,
)
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
    signed_off   w   w   <   <   <   <   =   .   .
    handed_back  e   e   e   e   e   e   e   e   e
    disposed     e   e   e   e   e   e   e   e   e
"""
MEANS = {
    ".": [],
    "<": [],
    "=": ["already-there"],
    "n": ["not-next"],
    "w": ["not-a-working-leg"],
    "e": ["job-ended"],
    "L": ["no-such-leg"],
}
ROWS = {row.split()[0]: row.split()[1:] for row in TABLE.strip().splitlines()[1:]}
SIGNS: dict[tuple[str, str], str] = {(here, to): ROWS[here][i] for here in ROWS for i, to in enumerate(Leg)}
BEGUN = {"flow", "withdrawn", "go_ahead", "here", "technician", "emptied", "as_received"}
NEEDS = {
    "cleared": {"flow", "withdrawn", "go_ahead"},
    "stripping": BEGUN,
    "cleaning": BEGUN | {"stripped"},
    "rebuilding": BEGUN | {"stripped", "tray", "cleaned"},
    "testing": BEGUN | {"stripped", "tray", "cleaned", "rebuilt"},
    "signed_off": BEGUN | {"stripped", "tray", "cleaned", "rebuilt", "looked_over", "tests"},
    "handed_back": {"here", "paired"},
    "disposed": {"here"},
}
NAMES = [name for name in Facts.__dataclass_fields__ if name != "holds"]


def codes(
    here: str, to: str, reason: str = "why", facts: Facts | None = None, *, closing: bool = False
) -> list[str]:
    return [r.code for r in move_refusals(FULL, here, to, reason, facts or Facts(), closing=closing)]


def not_well(*names: str) -> Facts:
    return replace(Facts(), **dict.fromkeys(names, NOT_WELL))  # type: ignore[arg-type]  # never holds


def test_the_table_covers_every_ordered_pair() -> None:
    assert set(SIGNS) == set(product(Leg, Leg))
    assert len(SIGNS) == 81


@pytest.mark.parametrize(("here", "to"), list(SIGNS))
def test_it_works(here: str, to: str) -> None:
    assert codes(here, to) == MEANS[SIGNS[here, to]]


@pytest.mark.parametrize(("here", "to"), list(SIGNS))
def test_it_asks_for_a_reason_to_go_back_and_for_none_to_go_on(here: str, to: str) -> None:
    expected = MEANS[SIGNS[here, to]] + (["reason-missing"] if SIGNS[here, to] in "<w" else [])

    assert codes(here, to, "") == expected


@pytest.mark.parametrize("name", NAMES)
def test_it_asks_each_fact_where_it_is_due_and_nowhere_else(name: str) -> None:
    facts = not_well(name)

    for (here, to), sign in SIGNS.items():
        asked = (sign == "." and name in NEEDS[to]) or (sign == "<" and name == "emptied")
        assert codes(here, to, facts=facts) == (["not-well"] if asked else MEANS[sign]), (here, to)


def test_it_tells_the_reasons_of_every_fact_at_once() -> None:
    facts: Facts = Facts()
    for name in NAMES:
        facts = replace(facts, **{name: (Refusal(name, name), Refusal(f"{name} too", name))})  # type: ignore[arg-type]  # never holds

    assert codes("testing", "signed_off", facts=facts) == [
        code
        for name in (
            "flow",
            "withdrawn",
            "go_ahead",
            "here",
            "technician",
            "emptied",
            "as_received",
            "stripped",
            "tray",
            "cleaned",
            "rebuilt",
            "looked_over",
            "tests",
        )
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
        ("disposed", ["job-ended"]),
    ],
)
def test_it_closes_from_any_leg_before_sign_off_whatever_the_facts(here: str, found: list[str]) -> None:
    facts = not_well(*NAMES)

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


HELD = {
    "parts": {"rebuilding", "testing", "signed_off"},
    "customer": {"cleared", "stripping", "cleaning", "rebuilding", "testing", "signed_off"},
    "evidence": {str(leg) for leg in Leg},
    "notice": {"cleared", "stripping", "cleaning", "rebuilding", "testing", "signed_off", "handed_back"},
    "doubt": {"cleared", "stripping", "cleaning", "rebuilding", "testing", "signed_off", "handed_back"},
    "thread": {"testing", "signed_off"},
    "other": {"cleared", "stripping", "cleaning", "rebuilding", "testing", "signed_off"},
}


@pytest.mark.parametrize("kind", list(HoldKind))
def test_it_holds_a_job_from_the_legs_that_its_hold_blocks_and_from_no_other(kind: str) -> None:
    facts = Facts(holds=(Held(kind, "It waits."),))

    for (here, to), sign in SIGNS.items():
        onward = sign in ".n"
        stops = to in HELD[kind] and (onward or kind == "evidence") and sign not in "eL"
        assert codes(here, to, facts=facts) == [f"held-{kind}"] * stops + MEANS[sign], (here, to)


@pytest.mark.parametrize("kind", list(HoldKind))
def test_it_closes_whatever_the_hold_but_never_what_is_evidence(kind: str) -> None:
    facts = Facts(holds=(Held(kind, "It waits."),))

    found = codes("stripping", "signed_off", facts=facts, closing=True)
    assert found == (["held-evidence"] if kind == "evidence" else [])


@pytest.mark.parametrize(
    ("kind", "lifted", "second", "found"),
    [
        ("parts", False, None, []),
        ("parts", True, None, ["lifted-before"]),
        ("doubt", False, None, ["by-itself"]),
        ("notice", True, None, ["lifted-before", "by-itself"]),
        ("evidence", False, 2, []),
        ("evidence", False, 1, ["second-missing"]),
        ("evidence", False, None, ["second-missing"]),
    ],
)
def test_it_lifts_a_hold_once_and_evidence_by_two(
    kind: str, lifted: bool, second: int | None, found: list[str]
) -> None:
    assert [r.code for r in lifting_refusals(kind, lifted, 1, second)] == found


@pytest.mark.parametrize(
    ("present", "where", "why", "corrects", "found"),
    [
        ("here", "outside", "", False, []),
        ("outside", "here", "", False, []),
        ("here", "gone", "", False, ["by-hand-back"]),
        ("gone", "here", "Found on the shelf.", False, ["gone"]),
        ("gone", "here", "", True, ["reason-missing"]),
        ("gone", "here", "It never left: the bags were swapped.", True, []),
    ],
)
def test_it_lets_gear_pass_on_and_come_back_by_a_correction_only(
    present: str, where: str, why: str, corrects: bool, found: list[str]
) -> None:
    assert [r.code for r in custody_refusals(present, where, why, corrects=corrects)] == found


@pytest.mark.parametrize(
    ("present", "contents", "leg", "found"),
    [
        ("not looked at", "no gas", "checked_in", []),
        ("no gas", "under pressure", "checked_in", ["noted-before"]),
        ("not looked at", "not looked at", "checked_in", ["not-looked"]),
        ("not looked at", "no gas", "signed_off", []),
        ("not looked at", "no gas", "cleared", ["too-late"]),
    ],
)
def test_it_notes_the_contents_once_before_a_job_is_cleared_or_taken_up_again(
    present: str, contents: str, leg: str, found: list[str]
) -> None:
    assert [r.code for r in contents_refusals(present, contents, leg)] == found
