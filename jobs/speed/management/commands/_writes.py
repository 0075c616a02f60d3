"""The questions that write: check-in and what it holds apart, and the due run."""

from collections.abc import Callable, Iterator
from datetime import date
from time import perf_counter
from uuid import uuid4

from django.db import transaction

from jobs.reminders.actions import claim, remind
from jobs.reminders.reads import unsaid
from jobs.reminders.rules import SHIPPED
from jobs.speed.management.commands._questions import Machine
from jobs.speed.management.commands._raw import OPEN
from jobs.speed.management.commands._side_by_side import (
    PATIENCE_S,
    changed,
    plan_of,
    recorded,
    timed,
    written,
)
from jobs.speed.management.commands._sql import FROM, Size, day, instant
from jobs.speed.rules import Limit, Measured
from shop.api.actions import once
from shop.catalogue.models import PlanVersion
from shop.customers.models import Customer
from shop.gear.models import Item
from shop.journal.actions import write
from shop.search.actions import put
from shop.search.rules import Kind, Thing
from shop.staff.models import Person
from shop.workshop.reads import today


def check_in(machine: Machine, size: Size, person: Person, rounds: int) -> Iterator[Measured]:
    """Three lines with their jobs over the API; then what it holds apart."""
    customer, last = Customer.objects.get(pk=FROM + 1), [FROM + 2 * size.jobs]
    item = Item.objects.get(pk=last[0])
    plan = PlanVersion.objects.get(model=item.model_id, key="overhaul")

    def three() -> None:
        last[0] -= 3
        items = Item.objects.filter(pk__gt=last[0], pk__lte=last[0] + 3).values_list("uid", flat=True)
        lines = [{"item": str(uid), "plan": str(plan.uid), "contents": "no gas"} for uid in items]
        machine.post(
            "/api/v1/drop-offs",
            {"customer": str(customer.uid), "promised_on": today().isoformat(), "lines": lines},
        )

    def found() -> None:
        with transaction.atomic():
            put(thing=Thing(f"speed:{uuid4()}", Kind.JOB, "1", "Tray 1, first stage", "/"))

    def entry() -> None:
        with transaction.atomic():
            write(subject=f"speed:{uuid4()}", by=str(person.uid), verb="measured", facts={"number": 1})

    yield written("check-in of three lines", three, Limit(times=3), rounds)
    yield written(
        "once() around nothing",
        lambda: once(person.uid, str(uuid4()), "", lambda: (201, "{}")),
        Limit(),
        rounds,
    )
    yield written("one entry of the journal", entry, Limit(), rounds)
    yield written("one row of the find box", found, Limit(), rounds)


def due_run(rounds: int) -> Iterator[Measured]:
    """The two stages of a due run apart: the claims of a day beside one raw INSERT of the same rows, then their letters.

    Both claim in turns and are committed, as a run is; what takes the rows away again between them is not timed.
    """
    on = today()
    yield _in_turns("due run: {} claims", on, rounds, unsaid(on).delete)
    claim(on=on)
    yield _in_turns("due run: {} claims more while these wait for letters", on, rounds, lambda: None)
    letters = list[int]()
    took = timed(lambda: letters.append(remind(on=on)))
    speed = f"{1000 * letters[0] / took:.0f} letters a second, put into the outbox and not sent"
    yield Measured(f"due run: {letters[0]} letters about these", [took], [], parts=(speed,))
    yield _in_turns("due run: {} claims more once they are said", on, rounds, lambda: None)


def _in_turns(question: str, on: date, rounds: int, undo: Callable[[], object]) -> Measured:
    """Claims, ours and raw, which must write as many rows."""
    sql, times, counts = _due_sql(on), list[tuple[float, float]](), set[int]()

    def ours() -> None:
        counts.add(claim(on=on))

    def raw() -> None:
        counts.add(changed(sql))

    def one(act: Callable[[], None]) -> float:
        took = timed(act)
        undo()
        return took

    queries = []
    for act in (ours, raw):
        queries.append(recorded(act))
        undo()
    one(ours), one(raw)
    begun = perf_counter()
    while not times or len(times) < rounds and perf_counter() - begun < PATIENCE_S:
        times.append((one(ours), one(raw)))
    (count,), columns = counts, list(zip(*times, strict=True))
    plans = (plan_of(queries[0], "clocks_clock"), plan_of(queries[1], "clocks_clock"))
    many = len(queries[0].statements)
    return Measured(question.format(count), columns[0], columns[1], Limit(times=2), many, plans)


def _due_sql(on: date) -> str:
    """One INSERT for every rung that was reached and is not written yet."""
    rungs = " ".join(f"WHEN c.due <= {day(str(-days))} THEN {days}" for days in reversed(SHIPPED))
    return f"""
    INSERT INTO reminders_reminder (clock_id, due, rung, run, at)
    SELECT c.id, c.due, CASE {rungs} END, {day("0")}, {instant(f"{on} 00:00:00")}
    FROM clocks_clock c JOIN gear_item i ON i.id = c.item_id JOIN customers_customer o ON o.id = i.owner_id
    WHERE c.due <= {day(str(-SHIPPED[0]))} AND i.merged_into_id IS NULL AND i.standing = 'in use' AND o.reminders AND NOT o.ours AND o.email <> ''
    AND NOT EXISTS (SELECT 1 FROM flow_job j WHERE j.item_id = i.id AND j.leg IN ({OPEN}))
    AND NOT EXISTS (SELECT 1 FROM reminders_reminder r WHERE r.clock_id = c.id AND r.due = c.due
                    AND r.rung = CASE {rungs} END)
    ON CONFLICT DO NOTHING
    """  # noqa: S608 - days and figures of ours
