"""Write the letters of a day: one per customer, each rung of each clock once."""

import logging
from datetime import date
from itertools import groupby, islice
from typing import Any
from urllib.parse import urlsplit
from uuid import UUID, uuid4

from django.conf import settings
from django.db import connection, transaction
from django.db.models import Value

from jobs.reminders.models import Ladder, Reminder
from jobs.reminders.reads import holding, owing, times, waiting, written_on
from jobs.reminders.rules import Due, events, ladder_refusals, lines, times_refusals
from shop.customers.models import Customer
from shop.due.rules import calendar
from shop.journal.actions import Deed, write, write_all
from shop.links.actions import make_links
from shop.links.rules import LinkFor, Wanted, one_click
from shop.post.actions import Attached, Draft, write_letters
from shop.post.models import Letter
from shop.post.rules import Purpose
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.wording.reads import Told as Wording
from shop.wording.reads import rendered, wordings
from shop.wording.rules import Key
from shop.words.reads import said
from shop.workshop.actions import failpoint, set_letters
from shop.workshop.models import Workshop
from shop.workshop.reads import now, workshop
from shop.workshop.rules import Language, Stale, refuse

log = logging.getLogger(__name__)
BATCH = 100  # letters written in one transaction
CALENDAR = "text/calendar; charset=utf-8; method=PUBLISH"
CLAIM = "INSERT INTO reminders_reminder (clock_id, due, rung, run, at)"
Waits = tuple[int, list[int]]  # a customer and what was claimed of theirs, by their keys
Told = tuple[UUID, Customer, list[Due]]  # the uid of a letter, to whom, about what


def remind(*, on: date) -> int:
    """Write what is due on a day into the outbox; how many letters were new. A second run writes none.

    None on a closed day. What the cap of a day leaves waits for the next day.
    """
    when, written = times(), 0
    if not when.open_on(on):
        return 0
    claim(on=on)
    failpoint("after-claims")
    left = None if when.most is None else when.most - written_on(on)
    customers = iter(waiting(on))
    while batch := list(islice(customers, BATCH if left is None else max(0, min(BATCH, left - written)))):
        written += _tried(batch, on)
    return written


def claim(*, on: date) -> int:
    """Claim what is owed on a day, each clock at its newest rung, by one statement; how many rows were new.

    What another day claimed and nobody was told is taken back: after days without letters the one right rung is
    claimed, not those that were missed. What does not hold any more is left out when letters are written.
    """
    rows = owing(on).order_by("pk").values_list("pk", "due", "reached", Value(on), Value(now()))
    sql, params = rows.query.sql_with_params()
    with transaction.atomic(), connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute("SET LOCAL statement_timeout = 0")  # no page waits for it
        Workshop.objects.select_for_update().first()  # runs claim one after another
        Reminder.objects.filter(letter=None).exclude(run=on).delete()
        cursor.execute(f"{CLAIM} {sql} ON CONFLICT DO NOTHING", params)
        return int(cursor.rowcount)


def _tried(batch: list[Waits], on: date) -> int:
    """The letters of a batch; where it fails each is tried alone, so that a fault in one keeps nobody else from theirs."""
    try:
        return write_some(batch, on)
    except Exception:  # noqa: BLE001 - whatever it is, the other letters must go out
        if len(batch) > 1:
            return sum(_tried([each], on) for each in batch)
        log.exception("No letter could be written to %s.", Customer.objects.get(pk=batch[0][0]).label)
        return 0


def write_some(batch: list[Waits], on: date) -> int:
    """The letters of some customers about those of their claims that still hold, whole or not at all."""
    with transaction.atomic():
        asked = _without_letter([who for who, _ in batch], on)
        still = holding(asked, [pk for _, keys in batch for pk in keys], on)
        claims = list(still.select_for_update(of=("self",)))  # nobody else says them meanwhile
        groups = groupby(claims, key=lambda row: row.clock.item.owner_id)
        about = [(uuid4(), asked[owner], list(rows)) for owner, rows in groups]
        letters = write_letters(
            drafts=_drafts([(uid, who, _dues(rows, who.language)) for uid, who, rows in about], on)
        )
        went = [(letter, who, rows) for letter, (_, who, rows) in zip(letters, about, strict=True) if letter]
        for letter, _, rows in went:
            for row in rows:
                row.letter, row.at = letter.uid, now()
        Reminder.objects.bulk_update([row for _, _, rows in went for row in rows], ["letter", "at"])
        write_all(
            deeds=[
                Deed(
                    subject=f"customer:{customer.uid}",
                    by="system",
                    verb="reminder written",
                    facts={"letter": str(letter.uid), "clocks": len(rows), "on": on.isoformat()},
                )
                for letter, customer, rows in went
            ]
        )
        failpoint("letters-written")
    return len(went)


def _without_letter(keys: list[int], on: date) -> dict[int, Customer]:
    """Of customers, locked in one order, those who have not had the letter of a day.

    What fell due since that letter waits for the next one.
    """
    rows = list(Customer.objects.select_for_update().filter(pk__in=keys).order_by("pk"))
    letters = Letter.objects.filter(purpose=Purpose.REMINDER, run=on.isoformat())
    had = set(
        letters.filter(recipient__in=[str(row.uid) for row in rows]).values_list("recipient", flat=True)
    )
    return {row.pk: row for row in rows if str(row.uid) not in had}


def _dues(claims: list[Reminder], language: str) -> list[Due]:
    clocks = [(row.due, row.clock) for row in claims]
    return [
        Due(
            f"{clock.item.title_in(language)} ({clock.item.label})",
            said(language, clock.title),
            due,
            clock.uid,
            clock.moved,
        )
        for due, clock in clocks
    ]


def _drafts(told: list[Told], on: date) -> list[Draft]:
    """The letters, each in its reader's language, with a private link to answer by and the days as a calendar."""
    house = workshop()
    words = {each.language: each for each in wordings([Key.REMINDER])}
    links = make_links(wanted=[Wanted(customer, LinkFor.ANSWER, claim) for claim, customer, _ in told])
    return [
        _draft(each, words[Language(each[1].language)], link, on, house)
        for each, link in zip(told, links, strict=True)
    ]


def _draft(told: Told, words: Wording, link: str, on: date, house: Workshop | None) -> Draft:
    uid, customer, dues = told
    values: dict[str, str | list[str]] = {
        "customer": customer.name,
        "items": lines(dues, on, customer.language),
        "answer": link,
        "workshop": house.foot if house else "",
    }
    made = rendered(words, values)
    host = urlsplit(settings.BASE_URL).hostname or ""
    days = calendar(house.name if house else "", events(dues, host, customer.language), now(), "PUBLISH")
    return Draft(
        uid=uid,
        recipient=str(customer.uid),
        address=customer.email,
        purpose=Purpose.REMINDER,
        run=on.isoformat(),
        subject=made.subject,
        text=made.text,
        html=made.html,
        unsubscribe=one_click(link),
        files=[Attached("due.ics", CALENDAR, days.encode())],
    )


def set_ladder(*, by: Person, clock: str, rungs: list[int], seen: int) -> Ladder:
    """Say on which days letters about a kind of clock go, or about all others; none means as all others, or as shipped."""
    require(by, Can.KEEP_PLANS)
    refuse(ladder_refusals(rungs) if rungs else [])
    with transaction.atomic():
        Ladder.objects.get_or_create(clock=clock)
        row = Ladder.objects.select_for_update().get(clock=clock)
        if row.version != seen:
            raise Stale(row.version)
        row.rungs, row.version = rungs, row.version + 1
        row.save()
        facts = {"clock": clock, "rungs": rungs, "version": row.version}
        write(subject=f"ladder:{clock}", by=str(by.uid), verb="ladder changed", facts=facts)
    return row


def set_times(*, by: Person, seen: int, **told: Any) -> Workshop:
    """Say when letters go out, to how many a day at most, and in which language to whoever said none."""
    require(by, Can.KEEP_PEOPLE)
    refuse(times_refusals(told["letters_from"], told["letters_until"], told["closed_weekdays"]))
    with transaction.atomic():
        set_letters(seen=seen, **told)
        write(subject="workshop", by=str(by.uid), verb="settings changed", facts=told)
    return Workshop.objects.get()
