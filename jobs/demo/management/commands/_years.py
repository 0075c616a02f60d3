"""The years before today: visits in the order in which they came, and gear that wears between them."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, timedelta

from jobs.demo import rules
from jobs.demo.management.commands import _bench as bench
from jobs.demo.management.commands._house import YEAR, House
from shop.gear.models import Item
from shop.workshop.reads import at, noon


@dataclass(frozen=True)
class Visit:
    """One customer comes with their gear."""

    day: date
    owner: int
    items: tuple[Item, ...]
    year: int


def visits(house: House, years: int) -> list[Visit]:
    """Who comes when, oldest first: each regulator once a year from the year on in which it was first brought."""
    brought: dict[int, list[tuple[rules.Gear, Item]]] = defaultdict(list)
    for gear, item in house.items:
        if gear.kind in rules.REGULATOR:
            brought[gear.owner].append((gear, item))
    found = []
    for owner, rows in brought.items():
        off = 20 + int(320 * rules.dice("day", owner))
        for year in range(years):
            items = tuple(item for gear, item in rows if gear.since <= 3 - years + year)
            if items and rules.dice("comes", owner, year) < 0.5:
                day = house.day - timedelta(days=(years - year) * YEAR - off)
                found.append(Visit(day, owner, items[:6], year))
    return sorted(found, key=lambda visit: (visit.day, visit.owner))


def lived(house: House, years: int) -> None:
    """All visits of those years: a check, an overhaul every third, and one at once for what is not within."""
    since = {item.pk: 0 for _, item in house.items}
    dives = {item.pk: gear.dives for gear, item in house.items}
    last: dict[int, int] = {}
    for visit in visits(house, years):
        for item in visit.items:
            since[item.pk] += dives[item.pk] * (visit.year - last.get(item.pk, visit.year - 1))
            last[item.pk] = visit.year
        overhauled = [item for item in visit.items if _overhauled(item, visit.year)]
        _served(house, visit.day, overhauled, "overhaul", dict.fromkeys(since, 0))
        checked = [item for item in visit.items if item not in overhauled]
        failed = _served(house, visit.day, checked, "check", since)
        later = [item for item in failed if item.model.maker == "Tarnwell"]
        _served(house, visit.day + timedelta(days=9), later, "overhaul", dict.fromkeys(since, 0))
        since |= {item.pk: 0 for item in [*overhauled, *later]}


def _overhauled(item: Item, year: int) -> bool:
    """Every third year, so that some are overdue, and of the makers whose plan the demo has parts for."""
    return (
        item.model.maker == "Tarnwell" and item.model.kind == "first_stage" and (item.number + year) % 3 == 0
    )


def _served(house: House, day: date, items: list[Item], key: str, dives: dict[int, int]) -> list[Item]:
    """One drop-off from the counter to the counter; the items that were not within."""
    if not items:
        return []
    with at(noon(day)):
        jobs = bench.dropped_off(house, items, key, bench.in_days(day, 7))
        bench.agreed(house, jobs[0].drop_off)
    with at(noon(bench.in_days(day, 4))):
        for job in jobs:
            bench.walked(house, job, "signed_off", dives[job.item_id])
    with at(noon(bench.in_days(day, 6))):
        bench.collected(house, jobs)
    return [job.item for job in jobs if job.outcome != "serviced"]
