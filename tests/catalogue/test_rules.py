"""A plan hangs together: every reason why one does not, alone and all at once."""

from collections.abc import Callable
from decimal import Decimal

import pytest

from shop.catalogue.rules import number, passage, plan_refusals, read_plan
from shop.workshop.rules import Kind
from tests.plans import Document, document, plan


def sentences(made: Document) -> list[str]:
    return [refusal.sentence for refusal in plan_refusals(read_plan(made))]


def step(key: str, leg: str, *frees: str) -> Document:
    """One more line of the work sheet."""
    empty = dict.fromkeys(("words", "tool", "caution", "why", "source", "torque_n_m"), "")
    return empty | {"key": key, "leg": leg, "title": key, "minutes": 1, "frees": list(frees)}


@pytest.mark.parametrize("kind", ["first_stage", "second_stage"])
def test_it_works(kind: str) -> None:
    assert plan_refusals(plan(kind)) == []


def twice(what: str) -> Callable[[Document], None]:
    def change(made: Document) -> None:
        made[what].append(made[what][-1])

    return change


def bound(**values: str) -> Callable[[Document], None]:
    def change(made: Document) -> None:
        made["tests"][1]["bounds"][0] |= values

    return change


def trace_bound(**values: str) -> Callable[[Document], None]:
    def change(made: Document) -> None:
        made["tests"][0]["bounds"][0] |= values

    return change


KNOWN = "Intermediate pressure at 200 bar: its limits are for lock-up in bar, time to lock up in s, creep in bar_min, drop under purge in bar."
NO_FIGURE = "Lock-up at 50 bar: Lock-up at 50 bar needs a low or high limit in figures."
ONE_ROW = "one limit row a quantity, and one for a typed reading."
CASES: dict[str, tuple[Callable[[Document], object], list[str]]] = {
    "two tests of one key": (twice("tests"), ["Two tests have the key supply_drop."]),
    "two steps of one key": (twice("steps"), ["Two steps have the key torque."]),
    "two parts of one key": (twice("parts"), ["Two parts have the key seat_spring."]),
    "a part that nothing frees": (
        lambda made: made["steps"][3]["frees"].remove("pin"),
        ["Lifter pin is freed by 0 steps instead of one."],
    ),
    "a part that two steps free": (
        lambda made: made["steps"][4]["frees"].append("pin"),
        ["Lifter pin is freed by 2 steps instead of one."],
    ),
    "a part that is none": (
        lambda made: made["steps"][4]["frees"].append("whistle"),
        ["A step frees whistle, which is not a part of the plan."],
    ),
    "a part freed outside stripping": (
        lambda made: made["steps"].append(made["steps"].pop(3) | {"leg": "cleaning"}),
        ["Step diaphragm frees parts outside stripping."],
    ),
    "a leg that the plan leaves out": (
        lambda made: made["legs"].remove("cleaning"),
        ["Step wash is on a leg that the plan does not have: cleaning."],
    ),
    "no figure": (bound(low="", high=""), [NO_FIGURE]),
    "no number": (bound(low="nine"), [NO_FIGURE]),
    "an exponent": (bound(high="1e30"), [NO_FIGURE]),
    "thirteen digits": (bound(high="1" * 13), [NO_FIGURE]),
    "a torque with an exponent": (
        lambda made: made["steps"][7].update(torque_n_m="1e30"),
        ["The torque of step torque is not a plain number: 1e30."],
    ),
    "a torque in words": (
        lambda made: made["steps"][7].update(torque_n_m="tight"),
        ["The torque of step torque is not a plain number: tight."],
    ),
    "not finite": (bound(high="Infinity"), [NO_FIGURE]),
    "not a number": (bound(high="NaN"), [NO_FIGURE]),
    "the wrong way round": (
        bound(low="10.0", high="9.0"),
        ["Lock-up at 50 bar: the low limit of Lock-up at 50 bar is above the high one."],
    ),
    "a unit that the method does not measure in": (trace_bound(unit="psi"), [KNOWN]),
    "a quantity that the method does not measure": (trace_bound(quantity="hiss"), [KNOWN]),
    "a quantity twice": (
        lambda made: made["tests"][0]["bounds"].append(made["tests"][0]["bounds"][0]),
        [f"Intermediate pressure at 200 bar: {ONE_ROW}"],
    ),
    "two limits of one reading": (
        lambda made: made["tests"][1]["bounds"].append(made["tests"][1]["bounds"][0] | {"quantity": "b"}),
        [f"Lock-up at 50 bar: {ONE_ROW}"],
    ),
}


@pytest.mark.parametrize(("change", "found"), CASES.values(), ids=CASES.keys())
def test_it_says_what_does_not_hang_together(change: Callable[[Document], object], found: list[str]) -> None:
    made = document()
    change(made)

    assert sentences(made) == found


def test_it_says_everything_at_once() -> None:
    made = document()
    made["legs"].remove("cleaning")
    made["steps"].append(step("polish", "testing", "whistle"))
    bound(low="", high="")(made)

    assert sentences(made) == [
        "A step frees whistle, which is not a part of the plan.",
        "Step polish frees parts outside stripping.",
        "Step wash is on a leg that the plan does not have: cleaning.",
        NO_FIGURE,
    ]


@pytest.mark.parametrize(
    ("legs", "found"),
    [
        ([], ("checked_in", "cleared", "signed_off", "handed_back")),
        (
            ["testing", "stripping"],
            ("checked_in", "cleared", "stripping", "testing", "signed_off", "handed_back"),
        ),
    ],
)
def test_it_puts_the_legs_of_a_plan_in_the_order_of_the_house(
    legs: list[str], found: tuple[str, ...]
) -> None:
    assert passage(legs) == found


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("9.5", Decimal("9.5")), ("-1", Decimal(-1)), ("0", Decimal(0)), ("", None), ("x", None), ("NaN", None),
        ("-Infinity", None), ("1" * 12, Decimal("1" * 12)), ("1" * 13, None),
        ("1e30", None), ("1E2", None), ("0." + "1" * 12, Decimal("0." + "1" * 12)), ("0." + "1" * 13, None), (".5", None),
        ("5.", None), ("٥", None), ("1_0", None), (" 1", None), ("1\n", None),
    ],
)  # fmt: skip
def test_it_reads_a_number_or_nothing(text: str, value: Decimal | None) -> None:
    assert number(text) == value


def test_it_finds_what_belongs_together() -> None:
    made = plan()
    diaphragm = made.step("diaphragm")

    assert diaphragm is not None
    assert [part.name for part in made.freed(diaphragm)] == ["Diaphragm", "Thrust plate", "Lifter pin"]
    assert made.position(diaphragm) == 4
    assert (made.step("x"), made.part("x"), made.test("x")) == (None, None, None)
    assert Kind("first_stage").label == "first stage"
