"""What a line on the counter must say."""

from datetime import date

import pytest

from jobs.checkin.rules import (
    Due,
    Offered,
    Put,
    line_refusals,
    promise_from,
    promise_refusals,
    usual_days,
    usual_plan,
)

SERVICED = Put("E-00001", has_plan=True, follows=False, parts_only=False, words="")
BAGGED = Put("", has_plan=False, follows=False, parts_only=False, words="A regulator in a green bag.")


@pytest.mark.parametrize(
    ("lines", "codes"),
    [
        ([SERVICED], []),
        ([BAGGED], []),
        ([BAGGED, BAGGED], []),
        ([SERVICED, SERVICED], ["item-twice"]),
        ([Put("E-00001", False, False, False, "")], ["plan-missing"]),
        ([Put("E-00001", False, False, True, "")], []),
        ([Put("", True, False, False, "A bag.")], ["item-missing"]),
        ([Put("", False, True, False, "A bag.")], ["item-missing"]),
        ([Put("", False, False, False, "")], ["line-empty"]),
        ([Put("", True, False, False, "")], ["item-missing", "line-empty"]),
    ],
)
def test_it_works(lines: list[Put], codes: list[str]) -> None:
    assert [refusal.code for refusal in line_refusals(lines)] == codes


def test_it_points_at_the_line() -> None:
    (refusal,) = line_refusals([SERVICED, BAGGED, SERVICED])

    assert refusal.pointer == "lines-2-item"


@pytest.mark.parametrize(("day", "codes"), [(24, ["promise-past"]), (25, []), (26, [])])
def test_it_promises_no_day_that_has_passed(day: int, codes: list[str]) -> None:
    found = promise_refusals(date(2026, 11, day), date(2026, 11, 25))

    assert [refusal.code for refusal in found] == codes


CHECK, OVERHAUL = Offered("check", ("yearly",)), Offered("overhaul", ("yearly", "seats"))
YEARLY, SEATS = Due("Yearly check", date(2026, 12, 1)), Due("Seats", date(2026, 11, 1))


@pytest.mark.parametrize(
    ("plans", "due", "expected"),
    [
        ([], {}, ("", "")),
        ([CHECK], {}, ("check", "")),
        ([CHECK, OVERHAUL], {}, ("", "")),
        ([CHECK, Offered("overhaul", ("seats",), last=True)], {}, ("overhaul", "Proposed as last time.")),
        ([CHECK, OVERHAUL], {"yearly": YEARLY}, ("check", "Proposed: Yearly check is due 1 Dec 2026.")),
        (
            [CHECK, OVERHAUL],
            {"yearly": YEARLY, "seats": SEATS},
            ("overhaul", "Proposed: Seats is due 1 Nov 2026."),
        ),
        (
            [CHECK, OVERHAUL],
            {"yearly": Due("Yearly check", None), "seats": SEATS},
            ("overhaul", "Proposed: Yearly check has no known history."),
        ),
        ([CHECK, OVERHAUL], {"hydro": YEARLY}, ("", "")),
        (
            [Offered("check", (), often=3), Offered("overhaul", (), often=2)],
            {},
            ("check", "Proposed as most often."),
        ),
        ([Offered("check", (), often=3)], {}, ("check", "")),
        (
            [CHECK, Offered("overhaul", ("yearly",), last=True)],
            {"yearly": YEARLY},
            ("overhaul", "Proposed: Yearly check is due 1 Dec 2026."),
        ),
    ],
)
def test_it_proposes_the_plan_for_what_is_due_first(
    plans: list[Offered], due: dict[str, Due], expected: tuple[str, str]
) -> None:
    assert usual_plan(plans, due) == expected


@pytest.mark.parametrize(
    ("took", "expected"),
    [
        ([], (7, "")),
        ([3] * 9, (7, "")),
        ([0] * 10, (1, "8 of 10 of the last 10 services were signed off within 1 day.")),
        (
            [1, 2, 3, 4, 5, 6, 7, 8, 9, 30],
            (8, "8 of 10 of the last 10 services were signed off within 8 days."),
        ),
        ([*range(1, 12)], (9, "8 of 10 of the last 11 services were signed off within 9 days.")),
    ],
)
def test_it_promises_what_was_held_eight_times_of_ten(took: list[int], expected: tuple[int, str]) -> None:
    assert usual_days(took) == expected


def test_it_promises_an_open_day() -> None:
    friday, monday = date(2026, 11, 27), date(2026, 11, 30)

    assert promise_from(friday, 1, [friday, monday]) == monday
    assert promise_from(friday, 3, [monday]) == monday
    assert promise_from(friday, 3, []) == monday
