"""From a plan's test to the methods, and which attempts count. Pure."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from jobs.bench.methods import METHODS, function_list
from jobs.bench.methods.asked import Ask
from jobs.bench.methods.intermediate_pressure import CREEP
from jobs.bench.methods.records import estimate_from, limit_from
from jobs.bench.methods.verdicts import Limit, Rule, Verdict, plain
from shop.advice.rules import Side, Sign
from shop.catalogue.rules import BenchTest, Bound, Plan
from shop.workshop.rules import Refusal

FINDINGS = ["pass", "reject", "condemn"]
VERDICTS = ["within", "outside", "inconclusive", *FINDINGS]
GOOD = ("within", "pass")


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
        low_inclusive=not bound.strict,
        high_inclusive=not bound.strict,
        decision=Rule(bound.decision),
        source=bound.source,
    )


def bound_of(limit: Limit) -> Bound:
    """A limit that is not the plan's own, of a published table, as a row of the plan would show it."""
    return Bound(
        quantity=limit.quantity,
        label=limit.quantity,
        unit=limit.unit,
        low="" if limit.low is None else plain(limit.low),
        high="" if limit.high is None else plain(limit.high),
        decision=limit.decision,
        source=", ".join(each for each in (limit.source, limit.edition) if each),
        strict=not limit.high_inclusive,
    )


def asks_of(asked: BenchTest) -> tuple[Ask, ...]:
    """What a test asks a person to type."""
    if asked.functions:
        return function_list.asks(asked.functions)
    return METHODS[asked.method].asks


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


@dataclass(frozen=True)
class Other:
    """An item beside the one under test; `leg` is empty when it has no open job here."""

    label: str
    kind: str
    leg: str


def beside_refusals(
    asked: BenchTest, item: str, partner: Other | None, rest_of_set: Sequence[Other]
) -> list[Refusal]:
    """A test names the partner that its plan asks for; a test of the set waits until all of it is rebuilt."""
    found = []
    kind = asked.partner.replace("_", " ")
    if asked.partner and partner is None:
        found.append(Refusal("partner-missing", f"Name the {kind} that {item} is tested with.", "partner"))
    if partner is not None and partner.label == item:
        found.append(Refusal("partner-itself", "An item is not its own partner.", "partner"))
    if asked.partner and partner is not None and partner.kind != asked.partner:
        said = f"{asked.title} needs a {kind} beside it; {partner.label} is none."
        found.append(Refusal("wrong-partner", said, "partner"))
    if asked.of_set:
        found += [
            Refusal(
                "set-not-ready", f"{other.label} of the same set is on {other.leg.replace('_', ' ')} still."
            )
            for other in rest_of_set
            if other.leg not in ("", "testing", "signed_off")
        ]
    return found


def again_refusals(test: BenchTest, phase: str, attempts: Sequence[Tried], why: str) -> list[Refusal]:
    """Whoever takes the place of a verdict that counts says why; one that was inconclusive asked for it itself.

    Where every attempt counts none takes another's place.
    """
    earlier = [
        a.verdict
        for a in attempts
        if (a.key, a.phase) == (test.key, phase) and a.counts and a.verdict != Verdict.INCONCLUSIVE
    ]
    if why or test.repeat == "all" or not earlier:
        return []
    said = f"{test.title}: an attempt {phase} counts already, {earlier[-1]}. Say why it is done again."
    return [Refusal("why-again", said, "why_again")]


def untested(plan: Plan, attempts: Sequence[Tried]) -> list[Refusal]:
    """Tests of the plan without a counting final verdict within: by the repeat policy the last or every one counts."""
    return [refusal for test in plan.tests for refusal in test_refusals(test, attempts)]


def test_refusals(test: BenchTest, attempts: Sequence[Tried]) -> list[Refusal]:
    """Why one test of the plan does not let the job be signed off as serviced; to condemn is final."""
    if any(a.key == test.key and a.verdict == "condemn" for a in attempts):
        return [Refusal("condemned", f"{test.title}: it was condemned, which no later test takes back.")]
    mine = [a for a in attempts if a.key == test.key and a.phase == "final" and a.counts]
    if not mine:
        return [Refusal("not-tested", f"{test.title}: no final test counts.")]
    judged = mine if test.repeat == "all" else mine[-1:]
    bad = [a.verdict for a in judged if a.verdict not in GOOD]
    return [Refusal("not-within", f"{test.title}: the verdict is {bad[-1]}.")] if bad else []


NO_ACCURACY = "its accuracy is not on record, so the interval holds its step alone"


def knows_accuracy(record: Mapping[str, Any]) -> bool:
    """Whether a stored result's interval holds the accuracy of its instrument; True where no instrument enters it."""
    return "instrument" not in record or bool((record["instrument"] or {}).get("standard_uncertainty"))


def signs(record: Mapping[str, Any], key: str) -> set[Sign]:
    """What a stored result that is not within shows, by quantity and by the test's key: what advice answers to."""
    if record["verdict"] in GOOD:
        return set()
    if record["verdict"] in FINDINGS and not record["limits"]:
        return {(key, Side.FAILED)}
    typed = record.get("typed", {})
    functions = [each["key"] for each in record.get("functions", ())]
    found: set[Sign] = {(each, Side.FAILED) for each in functions if typed.get(each) == function_list.FAIL}
    for limit in (limit_from(each) for each in record["limits"]):
        decision = record["decisions"].get(limit.quantity)
        if decision and decision["verdict"] != Verdict.WITHIN and (side := _side(record, limit)):
            found |= {(name, side) for name in (limit.quantity, *(() if functions else (key,)))}
    if record.get("figures", {}).get("hunting"):
        found.add(("hunting", Side.SEEN))
    return found


def _side(record: Mapping[str, Any], limit: Limit) -> Side | None:
    """On which side of its limit a quantity lies, with an end of its interval at least; None where nothing tells.

    What is outside without a figure was seen to last longer than it may.
    """
    estimate = estimate_from(record, limit.quantity)
    if estimate is None:
        return Side.ABOVE if record["decisions"][limit.quantity]["verdict"] == Verdict.OUTSIDE else None
    unit = record.get("unit") or METHODS[record["method"]].quantities.get(limit.quantity, limit.unit)
    limit = limit.to(unit)
    value, *ends = (Decimal(text) for text in estimate if text)
    low, high = ends or (value, value)
    if limit.quantity == CREEP and value < 0:  # its high side also holds for falling pressure
        return Side.BELOW
    if limit.is_above(high):
        return Side.ABOVE
    return Side.BELOW if limit.is_below(low) else None
