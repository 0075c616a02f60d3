"""The table of published limits: shown with scope and status, never a verdict."""

from itertools import groupby

import pytest

from jobs.bench.methods.loop_values import QUANTITIES
from jobs.bench.methods.published_limits import PUBLISHED, READ, READ_SECOND_HAND, published_for


def test_it_works() -> None:
    assert [str(each.limit) for each in published_for(["work of breathing"])] == [
        "at most 3.0 J/L",
        "at most 1.37 J/L",
    ]


def test_it_holds_only_quantities_of_the_method_in_convertible_units() -> None:
    for each in PUBLISHED:
        each.limit.to(QUANTITIES[each.limit.quantity])


def test_it_names_source_scope_and_status_of_each() -> None:
    for each in PUBLISHED:
        assert each.limit.source
        assert each.scope.endswith(".")
        assert each.status in (READ, READ_SECOND_HAND)
        assert (each.status == READ_SECOND_HAND) == (each.limit.source == "EN 250")


def test_it_says_what_each_source_asks_for() -> None:
    said: dict[str, list[str]] = {}
    for each in PUBLISHED:
        said.setdefault(each.source, []).append(f"{each.limit.quantity}: {each.limit}")
    assert said == {
        "EN 250": [
            "work of breathing: at most 3.0 J/L",
            "positive work during inhalation: at most 0.3 J/L",
            "peak inhalation pressure: at least -25 mbar",
            "peak exhalation pressure: at most 25 mbar",
            "positive pressure during inhalation: at most 5 mbar",
        ],
        "US Navy Experimental Diving Unit report, DTIC ADA272974, 1993": [
            "work of breathing: at most 1.37 J/L"
        ],
        "California Code of Regulations, Title 8, section 6057(b)(1)": [
            "peak inhalation pressure: at least -3 inH2O",
            "peak exhalation pressure: at most 3 inH2O",
        ],
    }


def test_it_tells_one_scope_and_status_a_source() -> None:
    """A page tells them once for all limits of a source, which stand together."""
    told = [(each.source, each.scope, each.status) for each in PUBLISHED]
    assert len(set(told)) == len({source for source, _, _ in told})
    assert [source for source, _ in groupby(told)] == list(dict.fromkeys(told))


@pytest.mark.parametrize("quantity", ["minute volume", "inhalation work", "creep"])
def test_it_invents_nothing_where_nothing_was_found(quantity: str) -> None:
    assert published_for([quantity]) == ()
