"""P1: each `require` is taken out in turn, and the permission matrix must show it in at least one cell."""

import sys
from collections.abc import Callable
from typing import Any

import pytest
from django.db import transaction
from django.urls import resolve

from shop.staff import reads
from shop.staff.rules import Actor, Can
from tests.guards.bodies import Entry
from tests.guards.conftest import stage as stage
from tests.guards.conftest import world as world
from tests.guards.conftest import world_of_the_file as world_of_the_file
from tests.guards.entries import ENTRIES, HELD, may, somebody
from tests.guards.world import World

REAL = reads.require
Cell = tuple[str, str, Entry]


def put(monkeypatch: pytest.MonkeyPatch, require: Callable[[Actor, Can], None]) -> None:
    """Another `require` in every module that has it."""
    for module in list(sys.modules.values()):
        if vars(module).get("require") is not None and module.__name__.startswith(("shop.", "jobs.")):
            monkeypatch.setattr(module, "require", require)


def caller() -> str:
    """The function that asks for a right."""
    frame: Any = sys._getframe(2)
    return f"{frame.f_globals['__name__']}.{frame.f_code.co_qualname}"


def asked(world: World, role: str, cell: Cell) -> int:
    """The status of one request, which is taken back."""
    route, method, entry = cell
    with transaction.atomic():
        status: int = world.send(role, method, route, entry).status_code
        transaction.set_rollback(True)
    return status


def kept_out(entry: Entry) -> list[str]:
    """Roles without the right of an entry: one that may see, so that nothing else stops it, and one that may nothing."""
    some = [role for role in HELD if role != "token" and not may(role, entry)]
    return [
        *[role for role in some if Can.SEE in HELD[role]][:1],
        *[role for role in some if role == "nobody"],
    ]


def at_the_door(world: World, cell: Cell) -> str:
    """The right that a page asks for before anything else, or nothing."""
    route, _, entry = cell
    view = resolve(world.path(route, entry, somebody(entry)).partition("?")[0]).func
    return str(getattr(getattr(view, "view_class", None), "needs", ""))


def lack(right: str) -> set[str]:
    """The roles without a right."""
    return {role for role, held in HELD.items() if right and role != "token" and right not in held}


def test_it_works(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    """A place may go unseen only where the same request is asked a second time for a right that the same people lack."""
    asks: dict[int, list[tuple[str, str]]] = {}
    cells: list[Cell] = [(r, m, e) for r, methods in ENTRIES.items() for m, e in methods.items()]
    present: list[tuple[str, str]] = []

    def noting(by: Actor, right: Can) -> None:
        present.append((caller(), right))
        REAL(by, right)

    put(monkeypatch, noting)
    for n, cell in enumerate(cells):
        present[:] = []
        asked(world, somebody(cell[2]), cell)
        asks[n] = [*dict.fromkeys(present), ("the door", at_the_door(world, cell))]

    places = sorted({place for found in asks.values() for place, _ in found} - {"the door"})
    seen, twice = [], []
    for place in places:
        mine = {n: right for n, found in asks.items() for at, right in found if at == place}
        if shows(world, monkeypatch, place, [cells[n] for n in mine]):
            seen.append(place)
        elif all(sum(lack(right) <= lack(each) for _, each in asks[n]) > 1 for n, right in mine.items()):
            twice.append(place)

    assert sorted([*seen, *twice]) == places
    assert len(seen) >= 100


def shows(world: World, monkeypatch: pytest.MonkeyPatch, place: str, cells: list[Cell]) -> bool:
    """Whether somebody gets in, in any cell that this place guards, once it asks for nothing."""

    def gone(by: Actor, right: Can) -> None:
        if caller() != place:
            REAL(by, right)

    put(monkeypatch, gone)
    return any(asked(world, role, cell) != 403 for cell in cells for role in kept_out(cell[2]))
