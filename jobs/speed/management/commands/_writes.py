"""The questions that write: check-in and what it holds apart, and the due run."""

from collections.abc import Iterator
from datetime import date
from uuid import UUID, uuid4

from django.db import connection, transaction

from jobs.reminders.actions import remind
from jobs.reminders.reads import owed
from jobs.reminders.rules import SHIPPED
from jobs.speed.management.commands._questions import Machine
from jobs.speed.management.commands._raw import OPEN
from jobs.speed.management.commands._side_by_side import fetched, side_by_side, timed, written
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
    """What is owed on a day; then the whole run, once, and once more; the raw INSERT is taken back each time."""
    on = today()
    sql = _due_sql(on)

    def raw() -> None:
        with transaction.atomic():
            fetched(sql)
            transaction.set_rollback(True)

    yield side_by_side(
        "due run: what is owed", "clocks_clock", lambda: list(owed(on)), raw, Limit(times=2), rounds
    )
    for when in ("first", "again"):
        before, letters = timed(raw), list[int]()
        took = timed(lambda: letters.append(remind(on=on)))  # noqa: B023 - called at once
        yield Measured(f"due run, {when}, {letters[0]} letters", [took], [before], Limit(times=2))


def _due_sql(on: date) -> str:
    """One INSERT for every rung that was reached and is not written yet."""
    rungs = " ".join(f"WHEN c.due <= {day(str(-days))} THEN {days}" for days in reversed(SHIPPED))
    claim = f"'{UUID(int=0)}'" if connection.vendor == "postgresql" else f"'{UUID(int=0).hex}'"
    return f"""
    INSERT INTO reminders_reminder (clock_id, due, rung, claim, at)
    SELECT c.id, c.due, CASE {rungs} END, {claim}, {instant(f"{on} 00:00:00")}
    FROM clocks_clock c JOIN gear_item i ON i.id = c.item_id JOIN customers_customer o ON o.id = i.owner_id
    WHERE c.due <= {day(str(-SHIPPED[0]))} AND i.merged_into_id IS NULL AND i.standing = 'in use' AND o.reminders AND NOT o.ours AND o.email <> ''
    AND NOT EXISTS (SELECT 1 FROM flow_job j WHERE j.item_id = i.id AND j.leg IN ({OPEN}))
    AND NOT EXISTS (SELECT 1 FROM reminders_reminder r WHERE r.clock_id = c.id AND r.due = c.due
                    AND r.rung = CASE {rungs} END)
    ON CONFLICT DO NOTHING
    """  # noqa: S608 - days and figures of ours
