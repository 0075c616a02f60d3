"""What a line on the counter must say."""

from datetime import date

import pytest

from jobs.checkin.rules import Put, line_refusals, promise_refusals

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
