"""Counting loose parts, and when a step may be called done."""

from dataclasses import replace

import pytest

from jobs.worksheet.rules import (
    counting_refusals,
    doing_refusals,
    omitting_refusals,
    open_steps,
    still_in,
    torque_refusals,
)
from tests.plans import plan

PLAN = plan()


@pytest.mark.parametrize(
    ("key", "counted", "sentences"),
    [
        ("diaphragm", 3, []),
        (
            "diaphragm",
            2,
            [
                "Step 4, Lift the diaphragm out flat: 1 of 3 is missing: diaphragm, thrust plate or lifter pin?"
            ],
        ),
        (
            "diaphragm",
            0,
            [
                "Step 4, Lift the diaphragm out flat: 3 of 3 are missing: diaphragm, thrust plate or lifter pin?"
            ],
        ),
        (
            "diaphragm",
            4,
            ["Step 4, Lift the diaphragm out flat: 4 counted, 3 expected; which one is too many?"],
        ),
        ("diaphragm", None, ["Step 4, Lift the diaphragm out flat: count the 3 loose parts."]),
        ("seat", 1, ["Step 5, Blow out the seat and its spring: 1 of 2 is missing: seat or seat spring?"]),
        ("ports", 5, []),
        ("ports", 3, ["Step 1, Take off hoses and port plugs: 2 of 5 are missing: port plug?"]),
        ("wash", None, []),
        ("torque", None, []),
        ("wash", 0, ["Step 6, Wash, rinse and dry every part that is reused: it frees no parts."]),
    ],
)
def test_it_works(key: str, counted: int | None, sentences: list[str]) -> None:
    step = PLAN.step(key)
    assert step is not None

    found = counting_refusals(PLAN, step, counted)

    assert [refusal.sentence for refusal in found] == sentences
    assert {refusal.pointer for refusal in found} <= {"counted"}


@pytest.mark.parametrize(
    ("key", "leg", "done", "torque", "codes"),
    [
        ("ports", "stripping", [], "", []),
        ("ports", "cleaning", [], "", ["wrong-leg"]),
        ("ports", "checked_in", [], "", ["wrong-leg"]),
        ("ports", "stripping", ["ports"], "", ["done-before"]),
        ("ports", "stripping", ["yoke"], "", []),
        ("ports", "stripping", [], "28", ["torque-unasked"]),
        ("torque", "rebuilding", [], "28", []),
        ("torque", "rebuilding", [], "28.00", []),
        ("torque", "rebuilding", [], "27.99", ["wrong-torque"]),
        ("torque", "rebuilding", [], "280", ["wrong-torque"]),
        ("torque", "rebuilding", [], "0", ["wrong-torque"]),
        ("torque", "rebuilding", [], "", ["torque-missing"]),
        ("torque", "testing", ["torque"], "", ["wrong-leg", "done-before", "torque-missing"]),
    ],
)
def test_it_tells_why_a_step_may_not_be_done(
    key: str, leg: str, done: list[str], torque: str, codes: list[str]
) -> None:
    step = PLAN.step(key)
    assert step is not None

    found = [*doing_refusals(PLAN, step, leg, dict.fromkeys(done, True)), *torque_refusals(step, torque)]
    assert [refusal.code for refusal in found] == codes


@pytest.mark.parametrize(
    ("done", "legs", "numbers"),
    [
        ([], ["stripping"], [1, 2, 3, 4, 5]),
        (["ports", "seat"], ["stripping"], [2, 3, 4]),
        ([], ["cleaning", "rebuilding"], [6, 7, 8]),
        (["wash", "rebuild", "torque"], ["cleaning", "rebuilding"], []),
        ([], [], []),
    ],
)
def test_it_names_the_open_steps_by_their_number(
    done: list[str], legs: list[str], numbers: list[int]
) -> None:
    found = [refusal.sentence for refusal in open_steps(PLAN, dict.fromkeys(done, True), legs)]

    assert [int(sentence.split()[1]) for sentence in found] == numbers
    assert all(" is not done: " in sentence for sentence in found)


# A pressed-in seat is changed, a one-piece piston is renewed whole: alternatives of one choice.
EITHER = replace(
    PLAN,
    steps=tuple(
        replace(step, choice="which", when=f"If {step.key}") if step.key in ("ports", "yoke") else step
        for step in PLAN.steps
    ),
)


@pytest.mark.parametrize(
    ("done", "numbers", "inside"),
    [
        ({}, [1, 2, 3, 4, 5], []),
        ({"ports": True}, [3, 4, 5], ["filter", "yoke", "yoke_retainer", "yoke_ring"]),
        ({"yoke": True}, [3, 4, 5], ["port_plugs"]),
        ({"ports": False}, [2, 3, 4, 5], ["port_plugs"]),
        ({"ports": False, "yoke": True}, [3, 4, 5], ["port_plugs"]),
    ],
)
def test_it_asks_for_one_of_the_alternatives(
    done: dict[str, bool], numbers: list[int], inside: list[str]
) -> None:
    found = [refusal.sentence for refusal in open_steps(EITHER, done, ["stripping"])]

    assert [int(sentence.split()[1]) for sentence in found] == numbers
    assert sorted(still_in(EITHER, done)) == inside


@pytest.mark.parametrize(
    ("key", "done", "codes"),
    [
        ("yoke", {"ports": True}, ["alternative-done"]),
        ("yoke", {"ports": False}, []),
        ("spring", {"ports": True}, []),
        ("ports", {"ports": False}, ["done-before"]),
    ],
)
def test_it_does_one_of_the_alternatives(key: str, done: dict[str, bool], codes: list[str]) -> None:
    step = EITHER.step(key)
    assert step is not None

    assert [refusal.code for refusal in doing_refusals(EITHER, step, "stripping", done)] == codes


@pytest.mark.parametrize(
    ("torque", "counted", "codes"),
    [("", None, []), ("28", None, ["omitted"]), ("", 0, ["omitted"]), ("28", 3, ["omitted"])],
)
def test_it_omits_a_step_or_does_it_and_never_both(
    torque: str, counted: int | None, codes: list[str]
) -> None:
    found = omitting_refusals(PLAN, PLAN.steps[0], torque, counted)

    assert [refusal.code for refusal in found] == codes
