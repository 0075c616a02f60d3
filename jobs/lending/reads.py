"""What is lent, what keeps an item from being lent, and its panel."""

from collections.abc import Iterable
from datetime import date
from typing import Any

from django.db.models import QuerySet

from jobs.flow.models import Job
from jobs.flow.reads import evidence_refusals, of_item
from jobs.flow.rules import ENDED
from jobs.lending.models import Loan
from jobs.lending.rules import NEVER_BACK, Gear, Watch, gear_refusals, lent_refusal
from jobs.matches.reads import open_matches
from jobs.notices.reads import open_doubts
from shop.clocks.reads import asked_for
from shop.gear.models import Item
from shop.workshop.reads import today
from shop.workshop.rules import Refusal

MOST_SHOWN = 20


def loans() -> QuerySet[Loan]:
    """Loans with what their row on a page or in the API shows."""
    return Loan.objects.select_related(
        "item__model", "item__owner", "borrower", "borrower__merged_into", "by", "back_by"
    )


def out() -> QuerySet[Loan]:
    """What is lent and is expected back: what was sold, lost or condemned meanwhile stands on its own page only."""
    return loans().filter(back_on=None).exclude(item__standing__in=NEVER_BACK)


def lent(items: Iterable[int]) -> dict[int, Refusal]:
    """Of items by their keys, those that are lent, each with the reason why nothing else is done with it."""
    rows = loans().filter(item__in=list(items), back_on=None)
    return {row.item_id: lent_refusal(row.item.label, row.borrower.kept.label) for row in rows}


def hindrances(item: Item, until: date) -> list[Refusal]:
    """Why an item is not lent from today until a day; notices are as they were last looked through."""
    return _hindrances(item, until, last_job(item))


def _hindrances(item: Item, until: date, last: Job | None) -> list[Refusal]:
    loan = loans().filter(item=item, back_on=None).first()
    is_open = last is not None and last.leg not in ENDED
    gear = Gear(
        label=item.label,
        ours=item.owner.ours,
        standing=item.standing,
        watches=tuple(
            Watch(clock.title, clock.due, clock.unknown)
            for clock in item.clocks.order_by("key")
            if asked_for(clock)
        ),
        job=last.label if last and is_open else "",
        closed=_ended_as(last) if last and not is_open else "",
        evidence=bool(evidence_refusals([item.pk])),
        borrower=loan.borrower.kept.name if loan else "",
    )
    doubts = open_doubts(last) if last else ()
    return [*gear_refusals(gear, today(), until), *doubts, *open_matches(item)]


def last_job(item: Item) -> Job | None:
    """The newest job of an item, an open one before any other."""
    rows = of_item(item).select_related("item__merged_into").order_by("-pk")
    return rows.exclude(leg__in=ENDED).first() or rows.first()


def _ended_as(job: Job) -> str:
    return "disposed of" if job.leg == "disposed" else job.outcome


def item_panel(item: Item) -> tuple[str, dict[str, Any]]:
    """Who has an item of ours, its loans, and what keeps it from being lent today; nothing of gear that is not ours."""
    rows = list(loans().filter(item=item).order_by("-pk")[:MOST_SHOWN])
    shown = item.merged_into_id is None and (item.owner.ours or bool(rows))
    day = today()
    open_loan = next((row for row in rows if row.back_on is None), None)
    here = shown and open_loan is None
    last = last_job(item) if here else None
    return "lending/item_panel.html", {
        "item": item,
        "shown": shown or bool(rows),
        "loan": open_loan,
        "late": open_loan is not None and open_loan.late(day),
        "past": [row for row in rows if row.back_on],
        "why_not": _hindrances(item, day, last) if here else [],
        "last_job": last if rows else None,
    }
