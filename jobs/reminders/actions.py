"""Write the letters of a day: one per customer, each rung of each clock once."""

import logging
from datetime import date
from itertools import islice
from typing import Any
from urllib.parse import urlsplit
from uuid import UUID, uuid4

from django.conf import settings
from django.db import transaction
from django.db.models import F

from jobs.reminders.models import Ladder, Reminder
from jobs.reminders.reads import Owed, ladders, owed, times, wanted, written_on
from jobs.reminders.rules import Due, events, ladder_refusals, lines, rung, times_refusals
from shop.clocks.models import Clock
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
from shop.workshop.actions import set_letters
from shop.workshop.models import Workshop
from shop.workshop.reads import now, workshop
from shop.workshop.rules import Language, Stale, refuse

log = logging.getLogger(__name__)
BATCH = 100  # letters written in one transaction
CALENDAR = "text/calendar; charset=utf-8; method=PUBLISH"
Told = tuple[UUID, Customer, list[Due]]  # the uid of a letter, to whom, about what


def remind(*, on: date) -> int:
    """Write what is due on a day into the outbox; how many letters were new. A second run writes none.

    None on a closed day. What the cap of a day leaves waits for the next day.
    """
    when, written = times(), 0
    if not when.open_on(on):
        return 0
    left = None if when.most is None else when.most - written_on(on)
    waiting = owed(on)
    while batch := list(islice(waiting, BATCH if left is None else max(0, min(BATCH, left - written)))):
        written += _tried(batch, on)
    return written


def _tried(batch: list[Owed], on: date) -> int:
    """The letters of a batch; where it fails each is tried alone, so that a fault in one keeps nobody else from theirs."""
    try:
        return write_some(batch, on)
    except Exception:  # noqa: BLE001 - whatever it is, the other letters must go out
        if len(batch) > 1:
            return sum(_tried([each], on) for each in batch)
        log.exception("No letter could be written to %s.", batch[0][0].label)
        return 0


def write_some(owing: list[Owed], on: date) -> int:
    """The letters of some customers with their reminders, whole or not at all; those that another run wrote are left out."""
    known = ladders()
    with transaction.atomic():
        asked = _still_asked([customer.pk for customer, _ in owing], on)
        owing = _not_answered(owing, on)
        # The uid of each customer's letter claims their reminders: what another run was faster to write is not in it.
        claims = [(uuid4(), asked[customer.pk], clocks) for customer, clocks in owing if customer.pk in asked]
        Reminder.objects.bulk_create(
            [
                Reminder(clock=clock, due=clock.due, rung=reached, claim=claim, at=now())
                for claim, _, clocks in claims
                for clock in clocks
                if clock.due and (reached := rung(clock.due, on, known.of(clock.key))) is not None
            ],
            ignore_conflicts=True,
        )
        mine = Reminder.objects.filter(claim__in=[claim for claim, _, _ in claims])
        won = set(mine.values_list("claim", "clock_id"))
        told = [
            (claim, customer, _dues(claim, clocks, won, customer.language))
            for claim, customer, clocks in claims
        ]
        told = [each for each in told if each[2]]
        letters = write_letters(drafts=_drafts(told, on))
        mine.filter(claim__in=[row.uid for row in letters if row]).update(letter=F("claim"))
        write_all(
            deeds=[
                Deed(
                    subject=f"customer:{customer.uid}",
                    by="system",
                    verb="reminder written",
                    facts={"letter": str(row.uid) if row else "", "clocks": len(dues), "on": on.isoformat()},
                )
                for (_, customer, dues), row in zip(told, letters, strict=True)
            ]
        )
    return len(told)


def _still_asked(keys: list[int], on: date) -> dict[int, Customer]:
    """Of customers, locked in one order, those who still want reminders and have not had the letter of a day.

    What fell due since that letter waits for the next one.
    """
    rows = list(Customer.objects.select_for_update().filter(pk__in=keys).order_by("pk"))
    letters = Letter.objects.filter(purpose=Purpose.REMINDER, run=on.isoformat())
    had = set(
        letters.filter(recipient__in=[str(row.uid) for row in rows]).values_list("recipient", flat=True)
    )
    return {
        row.pk: row
        for row in rows
        if not row.merged_into_id and row.reminders and not row.ours and row.email and str(row.uid) not in had
    }


def _not_answered(owing: list[Owed], on: date) -> list[Owed]:
    """Without clocks about which something was answered since they were read; their owners are locked."""
    keys = [clock.pk for _, clocks in owing for clock in clocks]
    still = set(wanted(Clock.objects.filter(pk__in=keys), on).values_list("pk", flat=True))
    return [(customer, [each for each in clocks if each.pk in still]) for customer, clocks in owing]


def _dues(claim: UUID, clocks: list[Clock], won: set[tuple[UUID, int]], language: str) -> list[Due]:
    return [
        Due(
            f"{clock.item.title_in(language)} ({clock.item.label})",
            said(language, clock.title),
            clock.due,
            clock.uid,
            clock.moved,
        )
        for clock in clocks
        if (claim, clock.pk) in won and clock.due
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
