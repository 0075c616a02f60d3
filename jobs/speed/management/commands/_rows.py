"""A workshop of a given size: people, plans and parts by actions as in the demo, the mass by set-based SQL.

What is filled lacks steps, tests and closed records, its journal has entries but no hash chain, and of the find box it
has customers, items and jobs. Every reading door answers from it as from rows that people made.
"""

from django.apps import apps
from django.core.management.color import no_style
from django.db import connection, transaction

from jobs.demo.management.commands._house import House
from jobs.speed.management.commands._passages import TECHNICIANS, passages, work
from jobs.speed.management.commands._sql import FROM, VISIT, Size, day, found, insert, instant, key, numbers
from shop.catalogue.models import PlanVersion
from shop.staff.actions import add_person
from shop.staff.models import Person
from shop.workshop.actions import open_workshop
from shop.workshop.reads import today

SERIAL = "CASE WHEN n % 500 = 0 THEN 'QXZ' ELSE 'TH' END || n"
# What `mark_key` makes of it: a test holds the two equal.
KEY = "CASE WHEN n % 500 = 0 THEN '566365' ELSE '5947' END || '0' || length('' || n) || n"
# What an item says of itself where nothing was stated.
UNSTATED = {"specification": "''", "material": "''", "use": "''", "star": "FALSE", "standing": "'in use'"}
NAME = " || ".join(
    f"substr('{syllables}', 1 + (n / {8**k}) % 8 * {len(syllables) // 8}, {len(syllables) // 8})"
    for k, syllables in enumerate(
        ["MarLinSonTorBelDanFerVik", "row lin sel tha ked osm bry gun ", "HaLoMiSuTeWaRoKe", "mbrentssollardun",
         "bergdahlwickstenfordmerehamsgate"]
    )
)  # fmt: skip


def fill(size: Size) -> Person:
    """Open a workshop and fill it; the technician whose queue is measured."""
    words = {"password": "as long as it is not used", "signing_secret": "never used either"}
    with transaction.atomic():
        open_workshop(name="Speed", zone="Europe/London", currency="GBP")
        house = House(today())
        house.open()
        house.stock()
        people = [
            add_person(
                by=house.people["lead"], name=f"Technician {n}", email=f"t{n}@speed.example",
                roles=["technician", "counter"], **words,
            )
            for n in range(TECHNICIANS)
        ]  # fmt: skip
    plan = next(row for (_, name), row in house.plans.items() if name == "overhaul")
    with connection.cursor() as cursor:
        for statement in _statements(size, people[0], plan):
            cursor.execute(statement)
    count_on()
    return people[0]


def count_on() -> None:
    """Let the engine give keys after those that stand."""
    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), list(apps.get_models())):
            cursor.execute(statement)


def _statements(size: Size, first: Person, plan: PlanVersion) -> list[str]:
    trigrams = "search_findable_trigrams"
    before = [f"DROP INDEX {trigrams}"]
    after = [f"CREATE INDEX {trigrams} ON search_findable USING gin (words gin_trgm_ops)", "ANALYZE"]
    postgresql = connection.vendor == "postgresql"
    made = [*_gear(size, plan), *passages(size, first, plan), *work(size, first), *_found(size, plan)]
    return [*(before if postgresql else []), *numbers(size.items), *made, *(after if postgresql else [])]


def _gear(size: Size, plan: PlanVersion) -> list[str]:
    """Customers, two items a job with a serial and a clock each, and every rung that was reached before today."""
    own, due = {"id": "n", "number": "n", "version": "1"}, "n % 730 - 60"
    rung = f"CASE WHEN {due} < -30 THEN 30 WHEN {due} < 0 THEN 0 WHEN {due} < 14 THEN -14 ELSE -56 END"
    return [
        insert("customers_customer", own | {
            "uid": key("c"), "kind": "'person'", "name": NAME, "email": "'k' || n || '@speed.example'",
            "phone": "'+44' || n", "postal": "''", "language": "'en'", "reminders": "TRUE",
            "fewer": "FALSE", "ours": "FALSE"}, size.customers),
        insert("gear_item", own | UNSTATED | {
            "uid": key("e"), "model_id": f"{plan.model_id}", "owner_id": f"{FROM + 1} + n % {size.customers}"},
            size.items),
        insert("gear_identifier", {
            "uid": key("1"), "item_id": "n", "kind": "'serial'", "value": SERIAL, "key": KEY, "state": "'read'"}, size.items),
        insert("clocks_clock", {
            "id": "n", "uid": key("2"), "item_id": "n", "key": f"'{plan.plan.clock_key}'", "months": "24",
            "title": f"'{plan.plan.clock_title}'", "anchor": day(f"{due} - 730"), "due": day(due), "unknown": "FALSE",
            "moved": "0"}, size.items),
        insert("reminders_reminder", {
            "clock_id": "n", "due": day(due), "rung": rung, "run": day("0"), "letter": key("0"), "at": instant(f"{today()} 00:00:00")},
            size.items, f"{due} < 56"),
    ]  # fmt: skip


def _found(size: Size, plan: PlanVersion) -> list[str]:
    """What the find box knows of customers, items and jobs."""
    model, bag = plan.model, f"'C-' || ({VISIT}) || '-' || (1 + (n - {FROM + 1}) % 4)"
    title = f"'{model.kind_label[0].upper()}{model.kind_label[1:]}, {model}'"
    return [
        insert("search_findable", found(
            f"{FROM} + 8 * (n - {FROM})", "customer", "c", "'K-' || n", NAME,
            "'+44' || n || ' · k' || n || '@speed.example'", "", "'k' || n"), size.customers),
        insert("search_findable", found(
            f"{FROM} + 2 * (n - {FROM}) + 1", "item", "e", "'E-' || n", title, f"'serial ' || {SERIAL}", SERIAL,
            "'e' || n"), size.items),
        insert("search_findable", found(
            f"{FROM} + 4 * (n - {FROM}) + 2", "job", "b", "'' || n",
            f"'Tray ' || n || ', {model.kind_label}, {model}'", f"'bag ' || {bag}", "", "'' || n"), size.jobs),
    ]  # fmt: skip
