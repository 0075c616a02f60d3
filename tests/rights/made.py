"""A customer of whom the workshop knows everything that it can know, and what of it must be gone after erasure."""

import json
from datetime import timedelta
from email import message_from_bytes
from email.message import EmailMessage
from email.policy import default
from pathlib import Path
from typing import Any

from django.db import connection, transaction

from jobs.batches.actions import begin, set_columns, upload
from jobs.batches.models import Batch
from jobs.bringin.actions import go_on
from jobs.condition.actions import look
from jobs.flow.models import Job
from jobs.matches.actions import answer_match as answer
from jobs.notices.models import Affected, Doubt
from jobs.notices.models import Answer as DoubtAnswer
from jobs.reminders.actions import remind
from jobs.safety.actions import go_on as look_on
from jobs.safety.actions import make_notice
from shop.backup.reads import postgresql
from shop.clocks.actions import done_elsewhere, set_going
from shop.clocks.models import Clock
from shop.customers.models import Customer
from shop.gear.actions import add_item
from shop.gear.models import Item
from shop.post.actions import send_waiting
from shop.sets.actions import make_set
from shop.workshop.reads import now, today
from tests.conftest import Api, House
from tests.photographs import PDF, encoded, form
from tests.rights.later import (
    OTHER_EMAIL,
    PHONE_BEFORE,
    answered,
    booked,
    borrowed,
    come_back,
    evidenced,
    telephoned,
)
from tests.walk import Walk, ok

NAME, EMAIL, PHONE = "Þórhildur “Tóta” Vánagandr", "thorhildur@vanagandr.example", "+441632960871"
STREET, HUSBAND, MARK, BOAT, OLD = (
    "Kvistgata 7",
    "Jökull Vánagandr",
    "ÞV-7ULF",
    "the Sæunn's regulator",
    "OLDSYS-4471",
)
# What `also` has to be told: nothing in the database says that these are hers.
ALSO = f"{BOAT}\n{HUSBAND}"
GONE = [
    NAME,
    EMAIL,
    PHONE,
    "01632 960 871",
    STREET,
    HUSBAND,
    MARK,
    BOAT,
    OLD,
    PHONE_BEFORE,
    OTHER_EMAIL,
    "960 999",
]
SHEET = f"Id,Name,E-mail,Phone,Type\n{OLD},{NAME},{EMAIL},{PHONE},person\n"


class Hers(Walk):
    """A job that names her wherever somebody can write."""

    def go_ahead(self, amount: str = "200.00") -> Any:
        given = {"amount": amount, "given_by": HUSBAND, "how": "in person"}
        return self.api["counter"].post(f"drop-offs/{self.drop_off}/go-aheads", given)

    def step(self, key: str, role: str = "technician", **data: Any) -> Any:
        return super().step(key, role, **({"noted": f"{NAME} asked for it."} if key == "wash" else {}) | data)

    def hand_back(self, **data: Any) -> Any:
        return super().hand_back(**{"collector": HUSBAND} | data)


def brought(house: House) -> Customer:
    """She was brought in from a file of another system, and wants reminders."""
    lead = house.people["lead"]
    batch = upload(by=lead, what="customers", name="old.csv", raw=SHEET.encode())
    batch = go_on(set_columns(by=lead, batch=batch, mapping=batch.mapping))
    go_on(begin(by=lead, batch=Batch.objects.get(pk=batch.pk), good_rows=False))
    row = Customer.objects.get(name=NAME)
    Customer.objects.filter(pk=row.pk).update(reminders=True, postal=f"{STREET}\nAldermouth")
    return telephoned(house, Customer.objects.get(pk=row.pk))


def everything(house: House, api: dict[str, Api]) -> Customer:
    """The customer with gear that was serviced and handed back, letters, photographs, a notice, a doubt, a set."""
    other = house.customer
    house.customer = hers = brought(house)
    counter, model = house.people["counter"], house.models["first_stage"]
    walk = Hers(house, api)
    house.customer = other
    line = {
        "words": f"{NAME}, {STREET}: it creeps",
        "condition": f"says {BOAT}",
        "accessories": "a yellow cap",
    }
    walk.row.line.__class__.objects.filter(pk=walk.row.line_id).update(**line)
    seen = {"said": "seen", "note": f"{NAME} says it fell."}
    piece = {"line": walk.row.line, "version": 0, "rest_fine": True, "answers": [seen]}
    look(by=counter, drop_off=walk.row.drop_off, pieces=[piece])
    walk.to("handed_back")
    marked = add_item(by=counter, owner=hers, model=model, serial="ZZ150", owners_mark=MARK)
    make_set(by=counter, owner=hers, name=BOAT, items=[walk.item, marked])
    _pictures(walk, api)
    _safety(house, walk.row, marked)
    with transaction.atomic():
        clock = set_going(by=counter, item=marked, key="service", title="Service", months=12)
    proof: dict[str, Any] = {"elsewhere": f"Quay Divers, for {NAME}", "photograph": None, "document": PDF}
    done_elsewhere(by=counter, clock=clock, day=today() - timedelta(days=30), **proof)
    visit = {"promised_on": "2199-01-01", "lines": [{"words": "a bag"}], "customer": str(other.uid)}
    made = ok(api["counter"].post("drop-offs", visit | {"collector": str(hers.uid)}), 201)
    given = {"amount": "9.00", "given_by": NAME, "how": "by telephone"}
    ok(api["counter"].post(f"drop-offs/{made['uid']}/go-aheads", given), 201)
    back = {"acknowledged": True, "collector": NAME, "items": [made["lines"][0]["tag"]]}
    ok(api["counter"].post(f"drop-offs/{made['uid']}/hand-backs", back, seen=1), 201)
    _letters(walk.item)
    answered(house, hers, clock, f"Quay Divers, for {NAME}")
    booked(house, hers, marked, f"{HUSBAND} brings it.")
    borrowed(house, hers, f"for {HUSBAND}", "Wet. She rings from 01632 960 999.")
    evidenced(house, marked, f"{NAME} wore it.", HUSBAND)
    come_back(house, EMAIL)
    return Customer.objects.get(pk=hers.pk)


def _pictures(walk: Walk, api: dict[str, Api]) -> None:
    """A photograph of the line, of the item, and of the work; each in other bytes."""
    for n, (role, path) in enumerate(
        (
            ("counter", f"lines/{walk.row.line.uid}/photographs"),
            ("counter", f"items/{walk.item.uid}/photographs"),
            ("technician", f"jobs/{walk.job}/photographs"),
        )
    ):
        picture = encoded(colour=("navy", "maroon", "olive")[n])
        ok(api[role].post(path, form(picture, f"{NAME} holds it"), format="multipart"), 201)


def _safety(house: House, job: Job, item: Item) -> None:
    """A notice that matched her gear and a doubt about her job, both answered in words that name her."""
    lead, technician = house.people["lead"], house.people["technician"]
    notice = make_notice(
        by=lead, title="Cracked yokes", source="Tarnwell, bulletin 7", ranges=["ZZ100 to ZZ200"]
    )
    look_on(notice.look)
    answer(
        by=technician,
        match=notice.matches.get(item=item),
        became="checked and fine",
        words=f"{NAME} watched.",
    )
    attempt = job.rounds.get().attempts.first()
    doubt = Doubt.objects.create(about="attempt", attempt=attempt, why="The gauge stuck.", at=now(), by=lead)
    touched = Affected.objects.create(doubt=doubt, job=job)
    words = f"Told {NAME} by telephone on 01632 960 871."
    DoubtAnswer.objects.create(affected=touched, became="told", words=words, at=now(), by=lead)


def _letters(item: Item) -> None:
    """A reminder that went out, and one that waits."""
    Clock.objects.filter(item=item).update(due=today() + timedelta(days=10))
    assert remind(on=today()) == 1
    send_waiting()
    Clock.objects.filter(item=item).update(due=today() - timedelta(days=1))
    assert remind(on=today() + timedelta(days=1)) == 1


def whole_dump(folder: Path) -> str:
    """The database as the engine's own program dumps it, folded; bytes stand in it as hexadecimal digits."""
    if connection.vendor == "sqlite":
        connection.ensure_connection()
        return "\n".join(connection.connection.iterdump()).casefold()
    postgresql("pg_dump", "--inserts", f"--file={folder / 'dump.sql'}")
    return (folder / "dump.sql").read_text().casefold()


def spelled(text: str) -> set[str]:
    """A text as a dump may spell it, folded: as SQL writes it, as JSON in ASCII, as hexadecimal digits."""
    return {text.casefold().replace("'", "''"), json.dumps(text)[1:-1].casefold(), text.encode().hex()}


def dump() -> dict[str, list[str]]:
    """Every value of every table as text, read from the database itself; bytes as the text that they may be."""
    found = {}
    for table in sorted(connection.introspection.table_names()):
        with connection.cursor() as cursor:
            cursor.execute(f"SELECT * FROM {connection.ops.quote_name(table)}")
            found[table] = [_text(value) for row in cursor.fetchall() for value in row if value is not None]
    return found


def _text(value: Any) -> str:
    raw = bytes(value) if isinstance(value, bytes | memoryview) else None
    text = raw.decode("utf-8", "replace") if raw is not None else str(value)
    if raw and b"Message-ID: <" in raw:  # a letter: its text may be encoded
        body = message_from_bytes(raw, EmailMessage, policy=default).get_body(("plain",))
        text += body.get_content() if body else ""
    return text.encode().decode("unicode_escape", "replace") + text if "\\u" in text else text


def holding(texts: list[str] = GONE) -> set[tuple[str, str]]:
    """The tables in which one of the texts stands: (table, text)."""
    return {
        (table, text)
        for table, values in dump().items()
        for value in values
        for text in texts
        if text in value
    }
