"""What stands in the way of erasing a customer, what it would take, and who looked at their data."""

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import Q, QuerySet

from jobs.answers.rules import AT_ONCE
from jobs.batches.models import Upload
from jobs.flow.models import DropOff, Hold, Job, Line
from jobs.flow.reads import bags, newest_custody
from jobs.flow.rules import ENDED, Where
from jobs.matches.reads import matches
from jobs.notices.models import Affected
from jobs.rights.models import Erasure
from jobs.rights.rules import without
from jobs.signoff.models import SignOff
from jobs.whose.reads import keys_of, naming, naming_pictures, texts_of, theirs
from jobs.whose.rules import GIVEN_OUT, HELD, names, needles
from shop.customers.models import Customer
from shop.gear.models import Item
from shop.journal.models import Entry
from shop.journal.reads import Told, told
from shop.post.models import Letter
from shop.post.rules import State
from shop.sheets.reads import Sheet
from shop.staff.models import Person
from shop.staff.rules import Can
from shop.workshop.reads import today
from shop.workshop.rules import Refusal, merged_refusals

UNDER_WAY = (State.TAKEN, State.SENDING)


def in_the_way(customer: Customer) -> list[Refusal]:
    """Everything that keeps a customer from being erased."""
    keys = keys_of(customer)
    found = merged_refusals(customer)
    own = Q(drop_off__customer__in=keys) | Q(item__owner__in=keys)
    jobs = list(Job.objects.filter(own).exclude(leg__in=ENDED).order_by("number"))
    found += [
        Refusal("open-job", f"Tray {job.number} is not handed back yet: it stands at “{job.leg_label}”.")
        for job in jobs
    ]
    gone = newest_custody().filter(where=Where.GONE).values("line")
    here = Line.objects.filter(drop_off__customer__in=keys).exclude(pk__in=gone).exclude(job__in=jobs)
    found += [
        Refusal("gear-here", f"Bag {line.tag} has not been handed back.")
        for line in here.select_related("drop_off").order_by("pk")
    ]
    visits = Job.objects.exclude(leg__in=ENDED).values("drop_off")
    bagged = bags().values("drop_off")
    others = Q(bringer__in=keys) | Q(payer__in=keys) | Q(collector__in=keys)
    going = DropOff.objects.filter(others).filter(Q(pk__in=visits) | Q(pk__in=bagged))
    found += [
        Refusal("named-on-a-visit", f"Drop-off {row.label} of somebody else still names them.")
        for row in going.exclude(customer__in=keys).order_by("pk")
    ]
    return [*found, *_between(keys), *_safety(keys), *_passing(keys)]


def _between(keys: list[int]) -> list[Refusal]:
    """What is with them, and what they said that nobody has dealt with."""
    loans = theirs("lending.Loan", keys).filter(back_on=None).select_related("item")
    found = [Refusal("on-loan", f"{row.item.label}, which is ours, is still with them.") for row in loans]
    asked = theirs("porthole.Question", keys).filter(answered_at=None)
    found += [
        Refusal("question-waits", f"A question of {row.at:%-d %B %Y} waits for its answer.") for row in asked
    ]
    rows = theirs("answers.Answer", keys).exclude(said__in=AT_ONCE).filter(settled=None)
    return found + [
        Refusal("answer-waits", f"An answer of {row.at:%-d %B %Y} waits: confirm it or set it aside.")
        for row in rows
    ]


def gear_of(keys: list[int]) -> set[int]:
    """Every item, by key, that is theirs or came in with them, and what it was merged into."""
    came = theirs("flow.Line", keys).exclude(item=None).values_list("item_id", flat=True)
    items = {*theirs("gear.Item", keys).values_list("pk", flat=True), *came}
    items |= set(theirs("flow.Job", keys).values_list("item_id", flat=True))
    merged = Item.objects.filter(pk__in=items).exclude(merged_into=None)
    return items | set(merged.values_list("merged_into_id", flat=True))


def _safety(keys: list[int]) -> list[Refusal]:
    """What of safety waits for an answer that needs its owner."""
    holds = Hold.objects.filter(item__in=gear_of(keys), lifted_at=None).select_related("item").order_by("pk")
    found = [Refusal("evidence", f"{row.item.label} is kept as evidence.") for row in holds if row.item]
    waiting = Affected.objects.filter(job__drop_off__customer__in=keys, answer=None)
    found += [
        Refusal("open-doubt", f"A doubt about tray {row.job.number} is not answered: {row.doubt.why}")
        for row in waiting.select_related("job", "doubt").order_by("pk")
    ]
    open_ones = matches().filter(item__owner__in=keys, became=None, notice__withdrawal=None).order_by("pk")
    return found + [
        Refusal(
            "open-notice",
            f"Safety notice “{row.notice.title}” matches {row.item.label}: nobody has answered.",
        )
        for row in open_ones
    ]


def _passing(keys: list[int]) -> list[Refusal]:
    """What will be over by itself, or by somebody's hand, and holds their texts until then."""
    recipients = [str(uid) for uid in Customer.objects.filter(pk__in=keys).values_list("uid", flat=True)]
    found = []
    if Letter.objects.filter(recipient__in=recipients, state__in=UNDER_WAY).exists():
        found.append(Refusal("letter-under-way", "A letter to them is being sent just now: try again soon."))
    texts = needles(texts_of(keys))
    return found + [
        Refusal("file-waits", f"The file “{row.batch.name}” names them and waits to be brought in.")
        for row in Upload.objects.select_related("batch").order_by("pk")
        if any(names(cell, texts) for line in Sheet(bytes(row.raw)).rows() for cell in line.cells)
    ]


def looks(customer: Customer) -> list[Told]:
    """Who took a customer's data out, newest first."""
    rows = Entry.objects.filter(subject=f"customer:{customer.uid}", verb=GIVEN_OUT)
    return told(rows.select_related("words").order_by("-pk"))


@dataclass(frozen=True)
class Rights:
    """Where a customer stands: requests, what is in the way, which kept texts name them, who looked."""

    customer: Customer
    erasures: list[Erasure]
    in_the_way: list[Refusal]
    naming: list[dict[str, Any]]
    looks: list[dict[str, Any]]

    @property
    def open(self) -> Erasure | None:
        return next((row for row in self.erasures if row.state == "open"), None)


def rights(customer: Customer) -> Rights:
    """Everything that the page of a customer's rights shows."""
    keys = keys_of(customer)
    return Rights(
        customer,
        list(customer.erasures.select_related("by", "ended_by", "second").order_by("-pk")),
        in_the_way(customer),
        [
            {"where": where, "what": what.replace("_", " "), "rows": rows}
            for where, what, rows in _told(keys)
            if rows
        ],
        [{"at": each.entry.at, "by": each.who} for each in looks(customer)],
    )  # fmt: skip


def waiting() -> QuerySet[Erasure]:
    """Open requests, the first deadline first."""
    return Erasure.objects.filter(ended_at=None).select_related("customer").order_by("asked_on", "pk")


def office_panel(person: Person) -> tuple[str, dict[str, Any]]:
    """Open requests with their deadlines, for whoever answers for them."""
    rows = list(waiting()) if person.may(Can.ANSWER_FOR_RIGHTS) else []
    return "rights/office_panel.html", {"rows": rows, "today": today()}


def twins_of(keys: Sequence[int], texts: Sequence[str]) -> Iterator[tuple[SignOff, dict[str, Any]]]:
    """Sign-offs whose record names them or shows an owner's mark, each with what is left of it."""
    for row in theirs("signoff.SignOff", keys).filter(twin=None).select_related("round__job"):
        record = json.loads(row.record)
        left = without(record, texts)
        if left != record:
            yield row, left


def _told(keys: Sequence[int]) -> Iterator[tuple[str, str, int]]:
    """Where what names them stands in what is kept: where, what, and in how many rows."""
    texts = needles(texts_of(keys))
    for label, column, pks in naming(keys, texts):
        yield HELD[label].called, column, len(pks)
    yield "photographs", "words", sum(rows.count() for rows in naming_pictures(keys, texts))
    yield "closed records", "a twin without", sum(1 for _ in twins_of(keys, texts))
