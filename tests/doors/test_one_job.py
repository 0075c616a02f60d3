"""One job over the API, from the counter to the next letter."""

from tests.conftest import Api, House
from tests.walk import Walk


def test_it_works(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("handed_back")

    clock = walk.item.clocks.get()

    assert (clock.key, clock.months) == ("overhaul", 12)
    assert clock.due is not None
