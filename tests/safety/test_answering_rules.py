"""How matches are answered, what they stop, what a letter says."""

import pytest

from jobs.matches.rules import Asked, answer_refusals, named, stops


@pytest.mark.parametrize(
    ("became", "serviced", "stop"),
    [
        ("", True, True),
        ("", False, True),
        ("checked and fine", True, False),
        ("put right", True, False),
        ("told", True, True),
        ("told", False, False),
        ("not here any more", True, True),
        ("not here any more", False, True),
    ],
)
def test_it_stops(became: str, serviced: bool, stop: bool) -> None:
    assert stops(became, serviced=serviced) is stop


ITEM = Asked(lot=False, left=0, here="", fresh=True, checks=True)
LOT = Asked(lot=True, left=0, here="", fresh=True, checks=True)
HERE = Asked(lot=False, left=1, here="tray 7", fresh=True, checks=False)


@pytest.mark.parametrize(
    ("became", "of", "codes"),
    [
        ("checked and fine", ITEM, []),
        ("checked and fine", LOT, []),
        ("checked and fine", HERE, ["not-yours-to-say"]),
        ("told", HERE, []),
        ("not here any more", ITEM, []),
        ("not here any more", HERE, ["still-here"]),
        ("not here any more", Asked(True, 3, "3 on hand", True, True), ["still-here"]),
        ("told", LOT, ["wrong-answer"]),
        ("put right", LOT, ["wrong-answer", "job-missing"]),
        ("put right", ITEM, ["job-missing"]),
        ("put right", Asked(False, 0, "", True, True, job=True), ["other-item"]),
        ("put right", Asked(False, 0, "", True, True, job=True, its_own=True), ["not-done-yet"]),
        ("put right", Asked(False, 0, "", True, True, job=True, its_own=True, done=True), []),
        ("told", Asked(False, 0, "", False, True, job=True), ["answered-before", "no-job-here"]),
    ],
)
def test_it_refuses_an_answer(became: str, of: Asked, codes: list[str]) -> None:
    assert [each.code for each in answer_refusals(became, of)] == codes


def test_it_marks_what_could_not_be_compared() -> None:
    assert named("First stage (E-00001)", "named") == "First stage (E-00001)"
    assert named("First stage (E-00002)", "cannot be compared") == "First stage (E-00002) (?)"
    assert named("First stage (E-00003)", "a part of a named lot was fitted") == "First stage (E-00003)"
