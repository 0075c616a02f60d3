"""Kinds of gear, and the document that a service plan consists of. Pure.

A plan is one JSON document, because it is issued as a whole, frozen as a whole and pinned as a whole.
"""

import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import Any

from shop.workshop.rules import Kind, Promise, Refusal, Unit

_NUMBER = re.compile(r"[+-]?[0-9]{1,12}(\.[0-9]{1,12})?")
WORKING_LEGS = ("stripping", "cleaning", "rebuilding", "testing")
# What each method of the bench measures, with its unit; empty means any one quantity. A guard holds this against the bench.
METHODS = {
    "intermediate pressure": {"lock-up": "bar", "time to lock up": "s", "creep": "bar_min", "drop under purge": "bar"},
    "typed reading": {},
    "finding": {},
    "breathing effort": {"effort": "mbar"},
    "function list": {},
    "thread check": {},
    "breathing loop": {
        "work of breathing": "J_l", "inhalation work": "J_l", "exhalation work": "J_l",
        "external work during inhalation": "J_l", "positive work during inhalation": "J_l",
        "peak inhalation pressure": "mbar", "peak exhalation pressure": "mbar", "positive pressure during inhalation": "mbar",
        "minute volume": "l_min",
    },
    "lock-up over supply": {"slope of lock-up on supply": "percent"},
    "volumetric expansion": {
        "elastic expansion": "ml", "permanent expansion": "ml", "permanent share": "percent", "test pressure": "psi"
    },
    "pressure decay": {"corrected pressure loss": "bar_min", "mass loss": "g_min", "surface loss": "l_min"},
    "bubble count": {"bubble rate": "per_min", "bubble flow": "ml_min"},
    "gauge check": {
        "error rising": "percent", "error falling": "percent", "hysteresis": "percent", "zero error": "percent",
        "share of allowed error": "percent", "share of allowed hysteresis": "percent",
    },
    "proof pressure": {"share of working pressure": "percent", "pressure lost": "bar", "time held": "min"},
    "two depth gauges": {"difference": "percent", "depth difference": "m"},
    "air analysis": {
        "oxygen": "percent", "carbon monoxide": "ppm", "carbon dioxide": "ppm", "oil": "mg_m3", "hydrocarbons": "ppm",
        "water": "mg_m3", "dew point": "degC",
    },
}  # fmt: skip
# What a limit may be given in: what is typed, and what the methods work out.
UNITS = sorted(
    {"bar", "mbar", "kPa", "psi", "N_m"} | {unit for asked in METHODS.values() for unit in asked.values()}
)
AIR = "air analysis"  # its table is chosen beside its figures, so the plan may have no limit of its own
# Without an interval: no tolerance of the apparatus widens its limit, or the laboratory states none.
SIMPLE_ONLY = ("permanent share", *METHODS[AIR])
FUNCTIONS = "function list"  # the plan names its functions, some with a figure of their own
FINDING, THREADS = "finding", "thread check"
BY_EYE = (FINDING, THREADS)  # without an instrument and without a limit in figures
DECISIONS = ("simple", "guarded")
REPEATS = ("last", "all")


@dataclass(frozen=True)
class LoosePart:
    """A part that a step frees; `renew` names the stock part that takes its place at each service, `kit` the maker's
    bagged kit that holds it. What is measured out (`unit` not piece: grease, sealant) is laid out with the parts of a step,
    and `count` of it is used."""

    key: str
    name: str
    count: int
    shape: str
    renew: str
    kit: str = ""
    unit: str = Unit.PIECE.value

    @property
    def pieces(self) -> int:
        """How many of it come loose and are counted."""
        return self.count if self.unit == Unit.PIECE else 0

    @property
    def spoken(self) -> str:
        """Its name inside a sentence: only the first letter is made small, and only before another small one."""
        return self.name[:1].lower() + self.name[1:] if self.name[1:2].islower() else self.name


@dataclass(frozen=True)
class Step:
    """One line of the work sheet; a torque is in newton metres as text.

    `when` is the condition under which it is done, empty for always; of the steps with one `choice` exactly one is done.
    """

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
    when: str = ""
    choice: str = ""


@dataclass(frozen=True)
class Bound:
    """A limit of one quantity: low and high as text in its unit, the decision rule and where the figure is from.

    `strict` means that the figure itself is outside: "less than" where it would be "at most".
    """

    quantity: str
    label: str
    unit: str
    low: str
    high: str
    decision: str
    source: str
    strict: bool = False


@dataclass(frozen=True)
class Function:
    """A function that is tried; with a unit a figure is read beside it, whose limit is a bound on its key."""

    key: str
    title: str
    unit: str = ""
    words: str = ""


@dataclass(frozen=True)
class BenchTest:
    """A test of the plan; `repeat` says whether the last attempt counts or all must.

    `partner` is the kind of gear that it needs beside the item; `of_set` asks for the whole set with its hoses refitted.
    `pressure_test`: of a cylinder, so only a workshop that may test cylinders does it itself.
    """

    key: str
    title: str
    method: str
    repeat: str
    needs: str
    bounds: tuple[Bound, ...]
    words: str = ""
    partner: str = ""
    of_set: bool = False
    functions: tuple[Function, ...] = ()
    pressure_test: bool = False

    @property
    def of_a_station(self) -> bool:
        """Whether it is a pressure test of a cylinder, by the plan's word or by its method."""
        return self.pressure_test or self.method == "volumetric expansion"

    @property
    def partner_label(self) -> str:
        return Kind(self.partner).label if self.partner else ""


@dataclass(frozen=True)
class Plan:
    """What one service of a model consists of; the price is in the smallest unit of the workshop's currency.

    `oxygen` means work on oxygen-clean gear, which asks that scope of an authorisation; `also`: what else it satisfies.
    """

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
    oxygen: bool = False
    also: tuple[Promise, ...] = ()

    @property
    def promises(self) -> tuple[Promise, ...]:
        """Every clock that it satisfies, its own first."""
        return (Promise(self.clock_key, self.clock_title, self.clock_months), *self.also)

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
    working = (leg for leg in WORKING_LEGS if leg in chosen)
    return ("checked_in", "cleared", *working, "signed_off", "handed_back")


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
            replace(
                BenchTest(**test | {"bounds": tuple(Bound(**bound) for bound in test["bounds"])}),
                functions=tuple(Function(**each) for each in test.get("functions", ())),
            )
            for test in document["tests"]
        ),
        cautions=tuple(document["cautions"]),
        oxygen=document.get("oxygen", False),
        also=tuple(Promise(**each) for each in clock.get("also", ())),
    )


def plan_refusals(plan: Plan) -> list[Refusal]:
    """Everything in a plan that does not hang together; its types were checked before."""
    return [
        *_doubles("part", [part.key for part in plan.parts]),
        *_doubles("step", [step.key for step in plan.steps]),
        *_doubles("test", [test.key for test in plan.tests]),
        *_doubles("clock", [each.key for each in plan.promises]),
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
        *_choices(plan),
        *(
            refusal
            for test in plan.tests
            for refusal in (*_functions(test), *(_by_eye if test.method in BY_EYE else _bounds)(test))
        ),
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
    nameless = [part.name for part in plan.parts if part.unit != Unit.PIECE and not part.renew]
    return [
        *(Refusal("plan-part", f"A step frees {key}, which is not a part of the plan.") for key in unknown),
        *(
            Refusal("plan-part", f"{part.name} is freed by {freed[part.key]} steps instead of one.")
            for part in wrong
        ),
        *(Refusal("plan-part", f"Step {step.key} frees parts outside stripping.") for step in late),
        *(Refusal("plan-part", f"{each} is measured out: name its stock part.") for each in nameless),
    ]


def _choices(plan: Plan) -> list[Refusal]:
    """Of a choice exactly one step is done: there are two or more, on one leg, and each says when it is the one."""
    found = []
    for choice in dict.fromkeys(step.choice for step in plan.steps if step.choice):
        steps = [step for step in plan.steps if step.choice == choice]
        if len(steps) == 1:
            found.append(Refusal("plan-choice", f"Choice {choice} has only the step {steps[0].key}."))
        if len({step.leg for step in steps}) > 1:
            found.append(Refusal("plan-choice", f"The steps of choice {choice} are on more than one leg."))
        found += [
            Refusal("plan-choice", f"Step {step.key} is one of choice {choice} and does not say when.")
            for step in steps
            if not step.when
        ]
    return found


def _by_eye(test: BenchTest) -> list[Refusal]:
    """What a person chooses by eye: no limit in figures, and words that say by what."""
    said = f"{test.title}: a {test.method} has no limit in figures."
    found = [Refusal("plan-limit", said)] if test.bounds else []
    if not test.words:
        found.append(Refusal("plan-finding", f"{test.title}: say in words by what it passes."))
    return found


def _functions(test: BenchTest) -> list[Refusal]:
    """A function list names its functions, each once; no other test names any."""
    if test.method != FUNCTIONS and not test.functions:
        return []
    # Its figure is typed under the key of the function and "_figure".
    figures = [f"{each.key}_figure" for each in test.functions if each.unit]
    found = _doubles(f"function of {test.title}", [*(each.key for each in test.functions), *figures])
    if test.method != FUNCTIONS or not test.functions:
        said = f"{test.title}: a function list, and no other test, names functions."
        found.append(Refusal("plan-function", said))
    return found


def _bounds(test: BenchTest) -> list[Refusal]:
    """A test in figures has an instrument and a sound limit for each quantity; a function list or an air analysis may have none."""
    found, listed = [], test.method == FUNCTIONS
    if not test.needs and (not listed or any(each.unit for each in test.functions)):
        found.append(Refusal("plan-instrument", f"{test.title} needs a kind of instrument."))
    if not test.bounds and not listed and test.method != AIR:
        found.append(Refusal("plan-limit", f"{test.title} has no limit."))
    for bound in test.bounds:
        values = [number(text) for text in (bound.low, bound.high) if text]
        if None in values or not values:
            said = f"{test.title}: {bound.label} needs a low or high limit in figures."
            found.append(Refusal("plan-limit", said))
        elif len(values) == 2 and values[0] > values[1]:  # type: ignore[operator]  # None was dealt with above
            said = f"{test.title}: the low limit of {bound.label} is above the high one."
            found.append(Refusal("plan-limit", said))
    known = {each.key: each.unit for each in test.functions if each.unit} if listed else METHODS[test.method]
    for bound in test.bounds:
        if bound.quantity in SIMPLE_ONLY and bound.decision != "simple":
            said = f"{test.title}: {bound.label} is judged by the value alone; it has no interval."
            found.append(Refusal("plan-limit", said))
        if (known or listed) and known.get(bound.quantity) != bound.unit:
            said = ", ".join(f"{name} in {unit}" for name, unit in known.items()) or "no figure"
            found.append(Refusal("plan-limit", f"{test.title}: its limits are for {said}."))
    twice = len({bound.quantity for bound in test.bounds}) < len(test.bounds)
    if twice or (not known and not listed and len(test.bounds) > 1):
        said = f"{test.title}: one limit row a quantity, and one for a typed reading."
        found.append(Refusal("plan-limit", said))
    return found


def number(text: str) -> Decimal | None:
    """The plain decimal number in a text, or None: no exponent, at most twelve digits on either side."""
    return Decimal(text) if _NUMBER.fullmatch(text) else None


def together(plans: Sequence[tuple[str, Plan]]) -> Plan:
    """Several plans as one: (key, plan), the first as it is, the keys of the others behind their plan's key."""
    first = plans[0][1]
    if len(plans) == 1:
        return first
    whole = [first, *(_behind(key, plan) for key, plan in plans[1:])]
    return replace(
        first,
        title=" and ".join(plan.title for plan in whole),
        legs=passage(leg for plan in whole for leg in plan.legs),
        price=sum(plan.price for plan in whole),
        minutes=sum(plan.minutes for plan in whole),
        second_person=any(plan.second_person for plan in whole),
        oxygen=any(plan.oxygen for plan in whole),
        parts=tuple(part for plan in whole for part in plan.parts),
        steps=tuple(step for leg in WORKING_LEGS for plan in whole for step in plan.steps if step.leg == leg),
        tests=tuple(test for plan in whole for test in plan.tests),
        cautions=tuple(dict.fromkeys(caution for plan in whole for caution in plan.cautions)),
    )


def _behind(key: str, plan: Plan) -> Plan:
    """A plan whose parts, steps and tests carry its key before their own."""
    return replace(
        plan,
        parts=tuple(replace(part, key=f"{key}-{part.key}") for part in plan.parts),
        steps=tuple(
            replace(step, key=f"{key}-{step.key}", frees=tuple(f"{key}-{part}" for part in step.frees))
            for step in plan.steps
        ),
        tests=tuple(replace(test, key=f"{key}-{test.key}") for test in plan.tests),
    )
