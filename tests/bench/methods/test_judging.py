"""One way from what was given to what is stored, whatever a method takes; and what two records have otherwise."""

from decimal import Decimal

import pytest

from jobs.bench.methods import METHODS
from jobs.bench.methods.breathing_effort import COMPUTATION
from jobs.bench.methods.judging import Difference, Given, differences, judge
from jobs.bench.methods.packed import unpack
from jobs.bench.methods.records import to_record
from jobs.bench.methods.verdicts import Limit
from jobs.bench.methods.worked import judge as compute
from tests.bench.methods.purges import LIMITS
from tests.conftest import TRACES

TYPED = METHODS["typed reading"]


def test_it_works() -> None:
    limit = Limit("lock-up", "bar", high=Decimal(10))
    record, picture, packed = judge(TYPED, Given(reading="11", unit="bar"), [limit], None)
    assert (record["value"], record["unit"], record["limits"][0]["high"]) == ("11", "bar", "10")
    assert (picture, packed) == (None, b"")


def test_it_stores_a_trace_with_its_picture_and_its_numbers() -> None:
    text = (TRACES / "creep_0p10.csv").read_text()
    record, picture, packed = judge(METHODS["intermediate pressure"], Given(trace=text), LIMITS, None)
    assert record["verdict"] == "outside"
    assert picture is not None
    assert (picture["width"], picture["height"]) == ("640", "300")
    assert picture["sentence"].endswith("verdict outside.")
    assert unpack(packed) == text
    again = Given(trace=unpack(packed))
    assert judge(METHODS["intermediate pressure"], again, LIMITS, None) == (record, picture, packed)


def test_it_stores_a_finding_with_nothing_measured() -> None:
    record, picture, packed = judge(METHODS["finding"], Given(finding="reject"), [], None)
    assert record["verdict"] == "reject"
    assert (record["limits"], record["decisions"], record["figures"], record["warnings"]) == ([], {}, {}, [])
    assert (picture, packed) == (None, b"")


def test_it_stores_what_was_worked_out_of_figures() -> None:
    typed = {"first": "2.5 mbar", "second": "2.6"}
    record, picture, packed = judge(METHODS[COMPUTATION.name], Given(figures=typed), [], None)
    assert record == to_record(compute(COMPUTATION, typed, [])) | {"figures": {}}
    assert (picture, packed) == (None, b"")


@pytest.mark.parametrize(
    ("was", "would_be", "found"),
    [
        ({"a": 1}, {"a": 1}, []),
        ({"a": 1}, {"a": "1"}, [Difference("a", "1", '"1"')]),
        ({"a": {"b": [1, 2]}}, {"a": {"b": [1, 3]}}, [Difference("a.b.1", "2", "3")]),
        (
            {"a": []},
            {"a": [None], "b": "ü"},
            [
                Difference("a", "[]", "absent"),
                Difference("a.0", "absent", "null"),
                Difference("b", "absent", '"ü"'),
            ],
        ),
        ({"a": {}}, {}, [Difference("", "absent", "{}"), Difference("a", "{}", "absent")]),
    ],
)
def test_it_names_each_value_that_differs(
    was: dict[str, object], would_be: dict[str, object], found: list[Difference]
) -> None:
    assert differences(was, would_be) == found
