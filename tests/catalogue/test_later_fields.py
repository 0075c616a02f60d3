"""Conditions, choices, kits, partners and findings: what came into a plan later, and how older plans read."""

from collections.abc import Callable

import pytest

from shop.catalogue.rules import plan_refusals, read_plan
from shop.catalogue.shapes import PlanShape
from tests.conftest import Api, House
from tests.plans import Document, document
from tests.rows import pointers
from tests.walk import ok


def sentences(made: Document) -> list[str]:
    return [refusal.sentence for refusal in plan_refusals(read_plan(made))]


def alternatives(made: Document, *changes: Document) -> None:
    """The two rebuilding steps as two of one choice, with changes."""
    for step, when, change in zip(made["steps"][-2:], ("yoke", "DIN"), changes, strict=True):
        step |= {"choice": "inlet", "when": when} | change


def by_eye(made: Document, **changes: object) -> None:
    made["tests"][1] |= {"method": "finding", "needs": "", "bounds": [], "words": "No bubble."} | changes


def test_it_works() -> None:
    made = document()
    alternatives(made, {}, {})
    by_eye(made, partner="second_stage", of_set=True)
    made["parts"][3]["kit"], made["oxygen"] = "TH-KIT", True
    plan = read_plan(made)

    assert plan_refusals(plan) == []
    assert [(step.choice, step.when) for step in plan.steps[-2:]] == [("inlet", "yoke"), ("inlet", "DIN")]
    assert (plan.parts[3].kit, plan.oxygen) == ("TH-KIT", True)
    assert (plan.tests[1].words, plan.tests[1].partner, plan.tests[1].of_set) == (
        "No bubble.",
        "second_stage",
        True,
    )


def test_it_reads_a_plan_from_before() -> None:
    made = document()
    plan = read_plan(made)
    shape = PlanShape(data=made)

    assert (plan.oxygen, plan.parts[0].kit, plan.steps[0].when, plan.steps[0].choice) == (False, "", "", "")
    assert (plan.tests[0].words, plan.tests[0].partner, plan.tests[0].of_set) == ("", "", False)
    assert shape.is_valid()
    assert read_plan(shape.validated_data) == plan


CASES: dict[str, tuple[Callable[[Document], object], list[str]]] = {
    "a step that may be omitted": (lambda made: made["steps"][0].update(when="There are plugs."), []),
    "a choice of one": (
        lambda made: made["steps"][-1].update(choice="inlet", when="yoke"),
        ["Choice inlet has only the step torque."],
    ),
    "a choice that does not say when": (
        lambda made: alternatives(made, {}, {"when": ""}),
        ["Step torque is one of choice inlet and does not say when."],
    ),
    "a choice over two legs": (
        lambda made: alternatives(made, {"leg": "cleaning"}, {}),
        ["The steps of choice inlet are on more than one leg."],
    ),
    "a finding": (by_eye, []),
    "a finding with an instrument": (lambda made: by_eye(made, needs="lens"), []),
    "a finding without words": (
        lambda made: by_eye(made, words=""),
        ["Lock-up at 50 bar: say in words by what it passes."],
    ),
    "a finding with a limit": (
        lambda made: by_eye(made, bounds=made["tests"][1]["bounds"]),
        ["Lock-up at 50 bar: a finding has no limit in figures."],
    ),
    "a reading without a limit": (
        lambda made: made["tests"][1].update(bounds=[]),
        ["Lock-up at 50 bar has no limit."],
    ),
    "a trace without a limit": (
        lambda made: made["tests"][0].update(bounds=[]),
        ["Intermediate pressure at 200 bar has no limit."],
    ),
    "a reading without an instrument": (
        lambda made: made["tests"][1].update(needs=""),
        ["Lock-up at 50 bar needs a kind of instrument."],
    ),
}


@pytest.mark.parametrize(("change", "found"), CASES.values(), ids=CASES.keys())
def test_it_says_what_does_not_hang_together(change: Callable[[Document], object], found: list[str]) -> None:
    made = document()
    change(made)

    assert sentences(made) == found


def test_it_names_the_place_of_what_is_wrong(house: House, api: dict[str, Api]) -> None:
    made = document()
    made["steps"][0] |= {"choice": "Not A Key", "when": "x" * 201}
    made["tests"][0] |= {"partner": "snorkel", "of_set": "perhaps"}
    made["parts"][0]["kit"], made["oxygen"] = "x" * 41, "rich"

    answer = api["lead"].post(
        f"models/{house.models['first_stage'].uid}/plans", {"key": "overhaul", "document": made}
    )

    assert pointers(answer) == [
        "/document/oxygen",
        "/document/parts/0/kit",
        "/document/steps/0/choice",
        "/document/steps/0/when",
        "/document/tests/0/of_set",
        "/document/tests/0/partner",
    ]


def test_it_shows_them_on_the_plan_s_page(
    house: House, api: dict[str, Api], pages: dict[str, object]
) -> None:
    made = document()
    alternatives(made, {}, {})
    by_eye(made, partner="second_stage", of_set=True)
    made["parts"][3]["kit"], made["oxygen"] = "TH-KIT", True
    path = f"models/{house.models['first_stage'].uid}/plans"
    uid = ok(api["lead"].post(path, {"key": "overhaul", "document": made}), 201)["uid"]

    page = pages["technician"].get(f"/office/plans/{uid}").content.decode()  # type: ignore[attr-defined]  # a Client

    for said in (
        "<b>Only when:</b> DIN (one of choice inlet: exactly one is done)",
        "renewed with part TH-301, in kit TH-KIT",
        "Needs a second stage as partner item.",
        "Done with the whole set, its hoses refitted.",
        "oxygen-clean gear",
        "<p>No bubble.</p>",
    ):
        assert said in page
