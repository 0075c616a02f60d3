"""What estimates know of a drop-off: its lines, its price, its go-ahead."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import QuerySet

from jobs.estimates.models import Charge, GoAhead
from jobs.estimates.rules import (
    HOPED,
    STANDING,
    Entry,
    State,
    agreed_in_all,
    covering_refusals,
    included,
    total,
)
from jobs.flow.models import DropOff, Job
from shop.catalogue.reads import plan_of
from shop.money.reads import rates, terms
from shop.money.rules import Rate, Terms, Totals, by_payer
from shop.workshop.reads import columns, now, today, uid, zone
from shop.workshop.rules import Refusal

_PLANS = """
    WITH charged AS (
        SELECT j.id, j.number, j.drop_off_id, j.plan_version_id FROM flow_job j WHERE j.drop_off_id = ANY(%s) AND COALESCE(
            (SELECT r.outcome FROM flow_round r WHERE r.job_id = j.id ORDER BY r.n DESC LIMIT 1), '') <> 'declined'
    )
    SELECT c.drop_off_id, c.id, c.number, p.id, p.digest, p.uid FROM charged c JOIN catalogue_planversion p ON p.id = c.plan_version_id
    UNION ALL SELECT c.drop_off_id, c.id, c.number, p.id, p.digest, p.uid FROM charged c
    JOIN flow_job_more_plans more ON more.job_id = c.id JOIN catalogue_planversion p ON p.id = more.planversion_id
    ORDER BY 2, 4
"""
_CHARGES = """
    SELECT c.drop_off_id, c.job_id, j.number, c.plan_version_id, c.uid, c.what, c.amount, c.state, c.discount, c.reason,
    c.payer, c.rate, c.version FROM estimates_charge c LEFT JOIN flow_job j ON j.id = c.job_id
    WHERE c.drop_off_id = ANY(%s) AND c.state <> 'taken off' ORDER BY c.id
"""


def entries(drop_offs: Collection[int], usual: str, on: date) -> dict[int, list[Entry]]:
    """The lines of drop-offs by primary key, those of their plans first; a job that stands declined costs nothing.

    Their jobs may be several times as many as those asked about, so none is built.
    """
    known, asked = rates(on), list(drop_offs)
    charges, instead = columns(_CHARGES, asked), dict[tuple[int, int], Entry]()
    beside: list[tuple[int, Entry]] = []
    for (
        drop_off,
        job,
        tray,
        plan,
        key,
        what,
        amount,
        state,
        discount,
        reason,
        payer,
        rate,
        version,
    ) in charges:
        made = Entry(
            f"charge:{uid(key)}", job, tray, what, amount, state, discount, reason, payer,
            known.get(rate, Rate(rate)), str(uid(key)), None, version,
        )  # fmt: skip
        if plan is None:
            beside.append((drop_off, made))
        else:
            instead[job, plan] = made
    found: dict[int, list[Entry]] = {pk: [] for pk in drop_offs}
    charged, tax = set(), known.get(usual, Rate(usual))
    for drop_off, job, tray, plan, digest, version_uid in columns(_PLANS, asked):
        charged.add(job)
        document, key = plan_of(plan, digest), f"plan:{job}:{plan}"
        entry = instead.get((job, plan))
        given: dict[str, Any] = {
            "what": document.title,
            "amount": document.price,
            "plan": str(uid(version_uid)),
            "includes": included(document),
        }
        found[drop_off].append(
            Entry(key=key, job=job, tray=tray, rate=tax, **given)
            if entry is None
            else Entry(**(vars(entry) | given | {"key": key}))
        )
    for drop_off, each in beside:
        if each.job is None or each.job in charged:
            found[drop_off].append(each)
    return found


def price(drop_off: DropOff) -> int:
    """What the customer pays for a drop-off, tax included, in the smallest unit."""
    return _prices([drop_off.pk], terms())[drop_off.pk]


def _prices(drop_offs: Collection[int], how: Terms) -> dict[int, int]:
    found = entries(drop_offs, how.usual, today())
    return {pk: total(each, how).payable for pk, each in found.items()}


def go_ahead(drop_off: DropOff) -> GoAhead | None:
    """The go-ahead that holds: the newest."""
    return GoAhead.objects.filter(drop_off=drop_off).order_by("-pk").first()


def covered(job: Job) -> tuple[Refusal, ...]:
    """Whether the go-ahead covers the price of the whole drop-off."""
    return uncovered({job.drop_off_id})[job.drop_off_id]


def uncovered(drop_offs: Collection[int]) -> dict[int, tuple[Refusal, ...]]:
    """Of drop-offs, by their primary keys: why the go-ahead that holds, the newest, does not cover the price."""
    sql = "SELECT drop_off_id, amount FROM estimates_goahead WHERE drop_off_id = ANY(%s) ORDER BY id"
    amounts, how = dict(columns(sql, list(drop_offs))), terms()
    return {
        pk: tuple(covering_refusals(amounts.get(pk), price, how.currency))
        for pk, price in _prices(drop_offs, how).items()
    }


@dataclass(frozen=True)
class Estimate:
    """The lines of a drop-off and what they come to: by payer as they stand, and with what is likely for the customer."""

    drop_off: DropOff
    terms: Terms
    entries: tuple[Entry, ...]
    go_ahead: GoAhead | None

    @property
    def currency(self) -> str:
        return self.terms.currency

    @property
    def payers(self) -> dict[str, Totals]:
        return by_payer((each.line for each in self.entries if each.state == State.STANDS), self.terms)

    @property
    def said(self) -> list[dict[str, Any]]:
        """The same as rows, for whoever shows them."""
        return [
            {"payer": payer, "groups": each.groups}
            | {name: getattr(each, name) for name in ("net", "tax", "gross", "rounding", "payable")}
            for payer, each in self.payers.items()
        ]

    @property
    def price(self) -> int:
        return total(self.entries, self.terms).payable

    @property
    def with_likely(self) -> int:
        return total(self.entries, self.terms, HOPED).payable

    @property
    def to_ask(self) -> int:
        """What the customer is asked for: the price with what is likely, never less than was agreed before."""
        return max(self.with_likely, self.go_ahead.amount if self.go_ahead else 0)

    def with_one(self, uid: UUID, states: tuple[State, ...] = STANDING) -> int:
        """The price, or that of other states, with one supplement that waits for an answer."""
        chosen = (each for each in self.entries if each.state in states or each.uid == str(uid))
        return total(chosen, self.terms, (*states, State.ASKED)).payable

    def in_all(self, uid: UUID) -> int:
        """Up to which amount we may charge once the customer agrees to this supplement, by whichever way."""
        return agreed_in_all(
            self.go_ahead.amount if self.go_ahead else None,
            price=self.price,
            hoped=self.with_likely,
            with_it=self.with_one(uid),
            hoped_with_it=self.with_one(uid, HOPED),
        )


def estimate(drop_off: DropOff) -> Estimate:
    """The estimate of a drop-off as it is now."""
    how = terms()
    found = entries([drop_off.pk], how.usual, today())[drop_off.pk]
    return Estimate(drop_off, how, tuple(found), go_ahead(drop_off))


def declined(jobs: Collection[int]) -> dict[int, list[Charge]]:
    """The supplements that were declined, by job."""
    found: dict[int, list[Charge]] = {}
    for row in Charge.objects.filter(job__in=jobs, state=State.DECLINED):
        found.setdefault(row.job_id or 0, []).append(row)
    return found


def unanswered() -> QuerySet[Charge]:
    """The supplements that wait for a customer, the oldest first."""
    rows = Charge.objects.filter(state=State.ASKED).select_related(
        "drop_off__customer__merged_into", "job__item__model"
    )
    return rows.order_by("at", "pk")


def waiting(nudge_days: int | None) -> list[dict[str, Any]]:
    """Who was asked and has not answered, for how many days, and whether it is time to ask (once more) again."""
    found, here = [], zone()
    day = now().astimezone(here).date()
    for row in unanswered():
        first, newest = (each.astimezone(here).date() for each in (row.at, row.asked_again_at or row.at))
        again = nudge_days is not None and (day - newest).days >= nudge_days
        found.append({"charge": row, "days": (day - first).days, "again": again})
    return found


def to_ask_again(nudge_days: int | None) -> int:
    """Of how many supplements it is time to ask again."""
    return sum(row["again"] for row in waiting(nudge_days))
