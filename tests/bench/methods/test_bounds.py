from decimal import Decimal

import pytest

from jobs.bench.methods.asked import Ask, BadFigures, Choice, Figure
from jobs.bench.methods.bounds import check

ASKS: tuple[Ask, ...] = (
    Figure("pressure", "Pressure", "bar"),
    Figure("count", "Count"),
    Figure("free", "Free"),
    Choice("side", "Side", ("left", "right")),
)
BOUNDS = {
    "pressure": (Decimal(1), Decimal(350)),
    "count": (Decimal(0), Decimal(9)),
    "side": (Decimal(0), Decimal(1)),
}


def test_it_works() -> None:
    check(ASKS, {"pressure": Decimal(1), "count": Decimal(9), "free": Decimal(-1000)}, BOUNDS)
    check(ASKS, {"pressure": Decimal(350), "count": Decimal(0)}, BOUNDS)
    check(ASKS, {}, BOUNDS)


@pytest.mark.parametrize(("pressure", "count"), [("0.9", "9.1"), ("350.1", "-0.1")])
def test_it_tells_every_figure_out_of_bounds(pressure: str, count: str) -> None:
    with pytest.raises(BadFigures) as caught:
        check(ASKS, {"pressure": Decimal(pressure), "count": Decimal(count)}, BOUNDS)
    assert caught.value.reasons == (
        ("pressure", "Pressure is to be 1 to 350 bar."),
        ("count", "Count is to be 0 to 9."),
    )
