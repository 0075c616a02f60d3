"""Kinds of gear, and the document that a service plan consists of. Pure.

A plan is one JSON document, because it is issued as a whole, frozen as a whole and pinned as a whole.
"""

import re
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from shop.workshop.rules import Refusal

_NUMBER = re.compile(r"[+-]?[0-9]{1,12}(\.[0-9]{1,12})?")
WORKING_LEGS = ("stripping", "cleaning", "rebuilding", "testing")
# What each method of the bench measures, with its unit; empty means any one quantity. A guard holds this against the bench.
METHODS = {
    "intermediate pressure": {"lock-up": "bar", "time to lock up": "s", "creep": "bar_min"},
    "typed reading": {},
}
DECISIONS = ("simple", "guarded")
REPEATS = ("last", "all")


@dataclass(frozen=True)
class LoosePart:
    """A part that a step frees; `renew` names the stock part that takes its place at each service."""

    key: str
    name: str
    count: int
    shape: str
    renew: str


@dataclass(frozen=True)
class Step:
    """One line of the work sheet; a torque is in newton metres as text."""

    key: str
    leg: str
    title: str
    words: str
    tool: str
    caution: str
    why: str
    source: str
    minutes: int
    frees: tuple[str, ...]
    torque_n_m: str


@dataclass(frozen=True)
class Bound:
    """A limit of one quantity: low and high as text in its unit, the decision rule and where the figure is from."""

    quantity: str
    label: str
    unit: str
    low: str
    high: str
    decision: str
    source: str


@dataclass(frozen=True)
class BenchTest:
    """A test of the plan; `repeat` says whether the last attempt counts or all must."""

    key: str
    title: str
    method: str
    repeat: str
    needs: str
    bounds: tuple[Bound, ...]


@dataclass(frozen=True)
class Plan:
    """What one service of a model consists of; the price is in the smallest unit of the workshop's currency."""

    title: str
    legs: tuple[str, ...]
    price: int
    minutes: int
    second_person: bool
    clock_key: str
    clock_title: str
    clock_months: int
    parts: tuple[LoosePart, ...]
    steps: tuple[Step, ...]
    tests: tuple[BenchTest, ...]
    cautions: tuple[str, ...] = field(default=())

    def part(self, key: str) -> LoosePart | None:
        return next((part for part in self.parts if part.key == key), None)

    def step(self, key: str) -> Step | None:
        return next((step for step in self.steps if step.key == key), None)

    def test(self, key: str) -> BenchTest | None:
        return next((test for test in self.tests if test.key == key), None)

    def freed(self, step: Step) -> list[LoosePart]:
        """The parts that a step frees, in its order."""
        return [part for key in step.frees if (part := self.part(key))]

    def position(self, step: Step) -> int:
        """The number of a step on the work sheet, from 1."""
        return self.steps.index(step) + 1


def passage(legs: Iterable[str]) -> tuple[str, ...]:
    """The whole passage of a job under a plan with these working legs."""
    chosen = set(legs)
    return (
        "checked_in",
        "cleared",
        *(leg for leg in WORKING_LEGS if leg in chosen),
        "signed_off",
        "handed_back",
    )


def read_plan(document: Mapping[str, Any]) -> Plan:
    """The plan in a document that `plan_refusals` found nothing wrong with."""
    clock = document["clock"]
    return Plan(
        title=document["title"],
        legs=passage(document["legs"]),
        price=document["price"],
        minutes=document["minutes"],
        second_person=document["second_person"],
        clock_key=clock["key"],
        clock_title=clock["title"],
        clock_months=clock["months"],
        parts=tuple(LoosePart(**part) for part in document["parts"]),
        steps=tuple(Step(**step | {"frees": tuple(step["frees"])}) for step in document["steps"]),
        tests=tuple(
            BenchTest(**test | {"bounds": tuple(Bound(**bound) for bound in test["bounds"])})
            for test in document["tests"]
        ),
        cautions=tuple(document["cautions"]),
    )


def plan_refusals(plan: Plan) -> list[Refusal]:
    """Everything in a plan that does not hang together; its types were checked before."""
    return [
        *_doubles("part", [part.key for part in plan.parts]),
        *_doubles("step", [step.key for step in plan.steps]),
        *_doubles("test", [test.key for test in plan.tests]),
        *_freeing(plan),
        *(
            Refusal("plan-leg", f"Step {step.key} is on a leg that the plan does not have: {step.leg}.")
            for step in plan.steps
            if step.leg not in plan.legs
        ),
        *(
            Refusal("plan-torque", f"The torque of step {step.key} is not a plain number: {step.torque_n_m}.")
            for step in plan.steps
            if step.torque_n_m and number(step.torque_n_m) is None
        ),
        *(refusal for test in plan.tests for refusal in _bounds(test)),
    ]


def _doubles(what: str, keys: list[str]) -> list[Refusal]:
    twice = [key for key, count in Counter(keys).items() if count > 1]
    return [Refusal("plan-double", f"Two {what}s have the key {key}.") for key in twice]


def _freeing(plan: Plan) -> list[Refusal]:
    """Each part is freed by exactly one stripping step, and no step frees what is not a part."""
    freed = Counter(key for step in plan.steps for key in step.frees)
    unknown = [key for key in freed if plan.part(key) is None]
    wrong = [part for part in plan.parts if freed[part.key] != 1]
    late = [step for step in plan.steps if step.frees and step.leg != "stripping"]
    return [
        *(Refusal("plan-part", f"A step frees {key}, which is not a part of the plan.") for key in unknown),
        *(
            Refusal("plan-part", f"{part.name} is freed by {freed[part.key]} steps instead of one.")
            for part in wrong
        ),
        *(Refusal("plan-part", f"Step {step.key} frees parts outside stripping.") for step in late),
    ]


def _bounds(test: BenchTest) -> list[Refusal]:
    found = []
    for bound in test.bounds:
        values = [number(text) for text in (bound.low, bound.high) if text]
        if None in values or not values:
            found.append(
                Refusal("plan-limit", f"{test.title}: {bound.label} needs a low or high limit in figures.")
            )
        elif len(values) == 2 and values[0] > values[1]:  # type: ignore[operator]  # None was dealt with above
            found.append(
                Refusal("plan-limit", f"{test.title}: the low limit of {bound.label} is above the high one.")
            )
    known = METHODS[test.method]
    for bound in test.bounds:
        if known and known.get(bound.quantity) != bound.unit:
            said = ", ".join(f"{name} in {unit}" for name, unit in known.items())
            found.append(Refusal("plan-limit", f"{test.title}: its limits are for {said}."))
    if len({bound.quantity for bound in test.bounds}) < len(test.bounds) or (
        not known and len(test.bounds) != 1
    ):
        found.append(
            Refusal("plan-limit", f"{test.title}: one limit row a quantity, and one for a typed reading.")
        )
    return found


# How a unit is printed where that is not its name.
_SYMBOLS = {"bar_min": "bar/min", "psi_min": "psi/min", "N_m": "N·m"}


def unit_symbol(unit: str) -> str:
    """How a unit is printed: bar/min for bar_min."""
    return _SYMBOLS.get(unit, unit)


def limit_words(low: str, high: str, unit: str) -> str:
    """A limit in words, with its unit."""
    sides = f"{low} to {high}" if low and high else f"at least {low}" if low else f"at most {high}"
    return f"{sides} {unit_symbol(unit)}"


def number(text: str) -> Decimal | None:
    """The plain decimal number in a text, or None: no exponent, at most twelve digits on either side."""
    return Decimal(text) if _NUMBER.fullmatch(text) else None
