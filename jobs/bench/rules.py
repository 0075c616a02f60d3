"""From a plan's test to the methods, and which attempts count. Pure."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from jobs.bench.methods.verdicts import Limit, Rule
from shop.catalogue.rules import BenchTest, Bound, Plan
from shop.workshop.rules import Refusal


@dataclass(frozen=True)
class Tried:
    """One attempt as the rules look at it."""

    key: str
    phase: str
    verdict: str
    counts: bool


def limit_of(bound: Bound) -> Limit:
    """The method's limit from the plan's row."""
    return Limit(
        quantity=bound.quantity,
        unit=bound.unit,
        low=Decimal(bound.low) if bound.low else None,
        high=Decimal(bound.high) if bound.high else None,
        decision=Rule(bound.decision),
        source=bound.source,
    )


def phase_refusals(phase: str, leg: str) -> list[Refusal]:
    """As received is measured before anything is loosened, final once all is rebuilt."""
    wanted = {"as received": "cleared", "final": "testing"}[phase]
    if leg == wanted:
        return []
    return [
        Refusal(
            "wrong-leg",
            f"A test {phase} is done on {wanted}; the job is on {leg.replace('_', ' ')}.",
            "phase",
        )
    ]


def untested(plan: Plan, attempts: Sequence[Tried]) -> list[Refusal]:
    """Tests of the plan without a counting final verdict within: by the repeat policy the last or every one counts."""
    return [refusal for test in plan.tests for refusal in test_refusals(test, attempts)]


def test_refusals(test: BenchTest, attempts: Sequence[Tried]) -> list[Refusal]:
    """Why one test of the plan does not let the job be signed off as serviced."""
    mine = [a for a in attempts if a.key == test.key and a.phase == "final" and a.counts]
    if not mine:
        return [Refusal("not-tested", f"{test.title}: no final test counts.")]
    judged = mine if test.repeat == "all" else mine[-1:]
    bad = [a.verdict for a in judged if a.verdict != "within"]
    return [Refusal("not-within", f"{test.title}: the verdict is {bad[-1]}.")] if bad else []
