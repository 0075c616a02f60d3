"""Many take from one lot at once over the API of a real server, while its workers and some of the takers are killed.

Never below zero, nothing lost, nothing twice, refusals are 409, nobody is shown an error of a lock. A small load; a large one
is `python -m tests.stock.load`.
"""

import json
import multiprocessing
import sys
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from random import Random

from django.db import connection

from shop.journal.reads import faults
from shop.staff.actions import make_token
from shop.stock.actions import add_bin, move_by_hand, receive
from shop.stock.models import Lot, Movement
from tests.conftest import House
from tests.crash.conftest import house
from tests.crash.rig import Web
from tests.stock.load import Size, take
from tests.threads import real_database

__all__ = ["house", "real_database"]
REFUSED = {"not-enough", "not-enough-there"}


@dataclass
class Told:
    """What the takers of one seed were told, and what was killed meanwhile."""

    asked: dict[str, int] = field(default_factory=dict)  # pieces by mark
    taken: set[str] = field(default_factory=set)
    refused: set[str] = field(default_factory=set)
    faults: list[str] = field(default_factory=list)
    workers: int = 0
    takers: int = 0
    seconds: float = 0

    @property
    def unanswered(self) -> set[str]:
        return set(self.asked) - self.taken - self.refused


def load(web: Web, token: str, lot: Lot, bins: list[str], folder: Path, seed: int, size: Size) -> Told:
    """All takers at work, each a process; workers of the server die all the while, and a few takers."""
    rng, told, began = Random(seed), Told(), time.monotonic()
    context, path = multiprocessing.get_context("fork"), f"/api/v1/lots/{lot.uid}/movements"
    connection.close()  # what is forked would share it
    logs = [folder / f"{seed}-{n}.log" for n in range(size.takers)]
    ours = [
        context.Process(
            target=take, args=(web.port, token, path, bins, log, log.stem, size.takes), daemon=True
        )
        for log in logs
    ]
    for each in ours:
        each.start()
    while working := [each for each in ours if each.is_alive()]:
        time.sleep(rng.uniform(0.1, 0.5))
        told.workers += web.kill_one(rng)
        if told.takers < size.takers // 4 and rng.random() < 0.3:
            rng.choice(working).kill()
            told.takers += 1
        time.sleep(rng.uniform(0, 1))
    told.seconds = time.monotonic() - began
    for log in logs:
        for line in log.read_text().splitlines():
            _tell(told, line)
    return told


def _tell(told: Told, line: str) -> None:
    try:
        mark, pieces, status, text = json.loads(line)
    except ValueError:  # half a line of a taker that was killed
        return
    told.asked[mark] = pieces
    if status == 201:
        told.taken.add(mark)
    elif status == 409 and _codes(text) and _codes(text) <= REFUSED:
        told.refused.add(mark)
    elif status:
        told.faults.append(f"{mark}: {status} {text[:300]}")


def _codes(text: str) -> set[str]:
    """The codes of a problem; none where it is no problem of ours."""
    with suppress(ValueError):
        return {each["code"] for each in json.loads(text).get("errors", [])}
    return set()


def wrong(lot: Lot, told: Told) -> Iterator[str]:
    """What is not as it must be after a load."""
    yield from told.faults
    rows = list(Movement.objects.filter(lot=lot).order_by("pk").values_list("subject", "quantity", "bin"))
    sums: Counter[int] = Counter()
    for subject, quantity, place in rows:
        sums[place] += quantity
        if sums[place] < 0:
            yield f"below zero with {subject}"
    row = Lot.objects.get(pk=lot.pk)
    if row.on_hand != sum(sums.values()):
        yield f"{row.on_hand} on hand, the movements are {sum(sums.values())}"
    if {each.bin_id: each.on_hand for each in row.stored.all()} != dict(sums):
        yield f"the bins do not hold what moved: {dict(sums)}"
    went = [(subject.removeprefix("take:"), -n) for subject, n, _ in rows if subject.startswith("take:")]
    there = dict(went)
    yield from (f"twice: {mark}" for mark, n in Counter(mark for mark, _ in went).items() if n > 1)
    yield from (f"lost: {mark}" for mark in told.taken if there.get(mark) != told.asked[mark])
    yield from (f"refused, and taken: {mark}" for mark in told.refused & set(there))
    yield from (f"nobody asked: {mark}" for mark in set(there) - set(told.asked))


def figures(every: list[Told]) -> str:
    """What a run by hand tells."""
    many = {
        "asked": sum(len(each.asked) for each in every),
        "taken": sum(len(each.taken) for each in every),
        "refused": sum(len(each.refused) for each in every),
        "unanswered": sum(len(each.unanswered) for each in every),
        "workers killed": sum(each.workers for each in every),
        "takers killed": sum(each.takers for each in every),
        "faults": sum(len(each.faults) for each in every),
    }
    seconds = sum(each.seconds for each in every)
    said = ", ".join(f"{n} {what}" for what, n in many.items())
    return f"{connection.vendor}, {len(every)} seeds: {said}, {seconds:.0f} s, {many['asked'] / seconds:.0f} a second\n"


def pieces(house: House, number: str, count: int) -> tuple[Lot, list[str]]:
    """A lot with as many pieces, in two bins."""
    keeper, part = house.people["storekeeper"], house.lots["TH-301"].part
    near = add_bin(by=keeper, site="Workshop", label=number)
    lot = receive(by=keeper, part=part, number=number, cured="", quantity=count)
    move_by_hand(by=keeper, lot=lot, verb="move", quantity=count // 3, subject="nearer", to=near)
    return lot, [str(each.bin.uid) for each in Lot.objects.get(pk=lot.pk).places]


def test_it_works(house: House, tmp_path: Path) -> None:
    size, every, found = Size.asked(), list[Told](), list[str]()
    token = make_token(by=house.people["storekeeper"], label="load", scopes=["see", "keep stock"], days=1)[1]
    web = Web(tmp_path)
    try:
        for seed in range(size.seeds):
            lot, bins = pieces(house, f"LOAD-{seed}", size.pieces)
            told = load(web, token, lot, bins, tmp_path, seed, size)
            found += [f"seed {seed}: {each}" for each in wrong(lot, told)]
            every.append(told)
        said = web.said()
    finally:
        web.stop()

    sys.stdout.write(figures(every))
    assert found == []
    assert [each for each in every if not (each.taken and each.refused and each.workers)] == []
    assert not any(words in said for words in ("Internal Server Error", "deadlock", "database is locked"))
    assert list(faults()) == []
