"""Which attempts count, and on which leg a test is done."""

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from jobs.bench.methods.verdicts import Rule
from jobs.bench.rules import Tried, again_refusals, knows_accuracy, limit_of, phase_refusals, untested
from jobs.flow.rules import Leg
from tests.plans import plan

PLAN = replace(plan(), tests=plan().tests[1:2])
KEY = "low_supply"


def tried(*verdicts: str) -> list[Tried]:
    """Attempts from words: a leading "r" was as received, a trailing "-" no longer counts, "other:" is another test."""
    return [
        Tried(
            key="supply_drop" if word.startswith("other:") else KEY,
            phase="as received" if word.startswith("r:") else "final",
            verdict=word.rpartition(":")[2].rstrip("-"),
            counts=not word.endswith("-"),
        )
        for word in verdicts
    ]


NONE, LAST = "Lock-up at 50 bar: no final test counts.", "Lock-up at 50 bar: the verdict is {}."


@pytest.mark.parametrize(
    ("repeat", "verdicts", "found"),
    [
        ("last", [], NONE),
        ("last", ["within"], ""),
        ("last", ["outside"], LAST.format("outside")),
        ("last", ["inconclusive"], LAST.format("inconclusive")),
        ("last", ["outside", "within"], ""),
        ("last", ["within", "outside"], LAST.format("outside")),
        ("last", ["within", "inconclusive"], LAST.format("inconclusive")),
        ("last", ["within", "outside-"], ""),
        ("last", ["within-"], NONE),
        ("last", ["r:within"], NONE),
        ("last", ["other:within"], NONE),
        ("last", ["within", "other:outside"], ""),
        ("last", ["within", "r:outside"], ""),
        ("all", [], NONE),
        ("all", ["within", "within"], ""),
        ("all", ["outside", "within"], LAST.format("outside")),
        ("all", ["outside", "inconclusive", "within"], LAST.format("inconclusive")),
        ("all", ["outside-", "within"], ""),
        ("all", ["r:outside", "within"], ""),
    ],
)
def test_it_works(repeat: str, verdicts: list[str], found: str) -> None:
    policy = replace(PLAN, tests=(replace(PLAN.tests[0], repeat=repeat),))

    assert [refusal.sentence for refusal in untested(policy, tried(*verdicts))] == ([found] if found else [])


def test_it_asks_for_every_test_of_the_plan() -> None:
    assert [refusal.code for refusal in untested(plan(), tried("within"))] == ["not-tested", "not-tested"]


@pytest.mark.parametrize(
    ("repeat", "verdicts", "why", "found"),
    [
        ("last", [], "", ""),
        ("last", ["within"], "", "within"),
        ("last", ["outside", "pass"], "", "pass"),
        ("last", ["within"], "Read anew.", ""),
        ("last", ["inconclusive"], "", ""),
        ("last", ["reject", "inconclusive"], "", "reject"),
        ("last", ["within-"], "", ""),
        ("last", ["r:within"], "", ""),
        ("last", ["other:within"], "", ""),
        ("all", ["outside"], "", ""),
    ],
)
def test_it_asks_why_a_verdict_that_counts_is_replaced(
    repeat: str, verdicts: list[str], why: str, found: str
) -> None:
    test = replace(PLAN.tests[0], repeat=repeat)
    said = f"Lock-up at 50 bar: an attempt final counts already, {found}. Say why it is done again."

    refusals = again_refusals(test, "final", tried(*verdicts), why)

    assert [(each.code, each.sentence, each.pointer) for each in refusals] == (
        [("why-again", said, "why_again")] if found else []
    )


@pytest.mark.parametrize("leg", list(Leg))
def test_it_measures_as_received_before_stripping_and_finally_once_rebuilt(leg: str) -> None:
    assert bool(phase_refusals("as received", leg)) == (leg != "cleared")
    assert bool(phase_refusals("final", leg)) == (leg != "testing")


@pytest.mark.parametrize(
    ("record", "known"),
    [
        ({}, True),  # a finding: no instrument enters it
        ({"instrument": None}, False),
        ({"instrument": {"standard_uncertainty": None, "resolution": "0.01"}}, False),
        ({"instrument": {"standard_uncertainty": "0.0144"}}, True),
    ],
)
def test_it_knows_whether_the_accuracy_of_the_instrument_counts(record: dict[str, Any], known: bool) -> None:
    assert knows_accuracy(record) == known


def test_it_says_where_a_test_belongs() -> None:
    (refusal,) = phase_refusals("final", "checked_in")

    assert refusal.sentence == "A test final is done on testing; the job is on checked in."


def test_it_takes_a_limit_over_as_the_plan_states_it() -> None:
    limit = limit_of(plan().tests[0].bounds[2])

    assert (limit.quantity, limit.unit, limit.low, limit.high) == ("creep", "bar_min", None, Decimal("0.05"))
    assert limit.decision is Rule.GUARDED
    assert limit.source == "Tarnwell Hesk workshop sheet, invented for the demo."
