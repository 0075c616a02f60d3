"""The questions that are put, each with the raw comparison."""

from collections.abc import Iterator
from functools import partial
from typing import Any
from uuid import uuid4

from django.db import connection
from django.test import Client

from jobs.flow.rules import ENDED, Leg
from jobs.notices.models import Doubt
from jobs.notices.reads import resting
from jobs.notices.rules import About
from jobs.speed.management.commands._side_by_side import fetched, side_by_side
from jobs.speed.management.commands._sql import FROM, Size
from jobs.speed.rules import Limit, Measured
from shop.customers.models import Customer
from shop.gear.models import Item
from shop.journal.reads import history, subjects_of, told
from shop.staff.actions import make_token
from shop.staff.models import Person
from shop.staff.rules import Can
from shop.stock.models import Lot

PAGE = 50


class Machine:
    """A client of the API with a person's token."""

    def __init__(self, person: Person):
        scopes = [str(right) for right in Can if person.may(right)]
        self.token = make_token(by=person, label="speed", scopes=scopes, days=1)[1]
        self.client = Client(SERVER_NAME="localhost", headers={"Authorization": f"Token {self.token}"})

    def get(self, address: str) -> Any:
        answer = self.client.get(address)
        if answer.status_code != 200:
            raise RuntimeError(f"{address}: {answer.status_code} {answer.content[:300]!r}")
        return answer

    def post(self, address: str, data: Any) -> Any:
        headers = {"Idempotency-Key": f'"{uuid4()}"'}
        answer = self.client.post(address, data, content_type="application/json", headers=headers)
        if answer.status_code != 201:
            raise RuntimeError(f"{address}: {answer.status_code} {answer.content[:300]!r}")
        return answer


def questions(size: Size, machine: Machine, person: Person, busy: Machine, rounds: int) -> Iterator[Measured]:
    """Those that only read."""
    for whose, who in ((f"{_open(person)} jobs", machine), ("a full page", busy)):
        ours, limit = partial(who.get, "/api/v1/queue?of=me"), Limit(times=2)
        yield side_by_side(
            f"queue of {whose}", "flow_job", ours, partial(who.get, "/raw/queue"), limit, rounds
        )
        same = partial(who.get, "/raw/facts")
        yield side_by_side(
            f"queue of {whose}, beside the same statements", "flow_job", ours, same, limit, rounds
        )
    floor = partial(machine.get, "/raw/nothing")
    yield side_by_side(
        "a door with nothing behind it",
        "staff_token",
        floor,
        partial(machine.get, "/raw/queue"),
        Limit(),
        rounds,
    )
    yield from _find(machine, size, rounds)
    yield _trace(rounds)
    yield _history(rounds)


def _open(person: Person) -> int:
    return person.jobs.exclude(leg__in=(*ENDED, Leg.SIGNED_OFF)).count()


def _find(machine: Machine, size: Size, rounds: int) -> Iterator[Measured]:
    sql = f"SELECT subject, kind, number, title, note, address FROM search_findable WHERE words LIKE %s ORDER BY id DESC LIMIT {PAGE + 1}"  # noqa: S608 - a figure of ours
    name = Customer.objects.get(pk=FROM + size.customers // 2).name.split()[0].lower()
    asked = {
        "three common letters": "lin",
        "three rare letters": "qxz",
        "a name": name,
        "a serial": f"th{FROM + 7}",
    }
    for what, text in (asked | {"nothing that is there": "zzyzx"}).items():
        ours, raw = partial(machine.get, f"/api/v1/find?q={text}"), partial(fetched, sql, [f"%{text}%"])
        yield side_by_side(f"find {what}", "search_", ours, raw, Limit(ms=10), rounds)


def _trace(rounds: int) -> Measured:
    """The jobs that rest on a lot."""
    lot = Lot.objects.select_related("part").get(pk=FROM + 1)
    raw = (
        "SELECT DISTINCT r.job_id FROM stock_movement m JOIN tray_traypart t ON t.movement_id = m.id "
        "JOIN flow_round r ON r.id = t.round_id WHERE m.lot_id = %s"
    )
    ours = partial(resting, Doubt(about=About.LOT.value, lot=lot))
    return side_by_side(
        f"trace of a lot, {len(ours())} jobs",
        "stock_movement",
        ours,
        partial(fetched, raw, [lot.pk]),
        Limit(times=1.5),
        rounds,
    )


def _history(rounds: int) -> Measured:
    """The newest page of what was journalled on an item and its jobs, told."""
    item = Item.objects.get(pk=FROM + 2)
    raw = f"""
    SELECT e.subject, e.at, p.name, e.verb, e.facts, w.text FROM journal_entry e
    LEFT JOIN journal_words w ON w.entry_id = e.id LEFT JOIN staff_person p ON {_text("p.uid")} = e.by
    WHERE e.subject IN (SELECT 'job:' || {_text("uid")} FROM flow_job WHERE item_id = %s UNION ALL
                        SELECT 'item:' || {_text("uid")} FROM gear_item WHERE id = %s)
    ORDER BY e.id DESC LIMIT {PAGE}
    """  # noqa: S608 - columns and a figure of ours

    def ours() -> Any:
        return told(history(subjects_of("item", item)).order_by("-pk")[:PAGE])

    return side_by_side(
        f"history of an item, {len(ours())} entries",
        "journal_entry",
        ours,
        partial(fetched, raw, [item.pk, item.pk]),
        Limit(times=1.5),
        rounds,
    )


def _text(column: str) -> str:
    """A uid as people write it."""
    if connection.vendor != "sqlite":
        return f"{column}::text"
    cuts = ((1, 8), (9, 4), (13, 4), (17, 4), (21, 12))
    return " || '-' || ".join(f"substr({column}, {first}, {many})" for first, many in cuts)
