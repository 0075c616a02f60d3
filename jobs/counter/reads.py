"""The day at the counter: who is booked, what is promised, what is ready and what nobody collects."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.db.models import Count, Exists, F, OuterRef, Q, QuerySet, Subquery
from django.db.models.functions import Coalesce

from jobs.bookings.models import Booking
from jobs.bookings.reads import standing, waiting
from jobs.counter.rules import UNCOLLECTED, Next, next_in_work, next_to_collect
from jobs.estimates.reads import uncovered
from jobs.flow.models import DropOff, Job, Move
from jobs.flow.reads import bags, evidence_items
from jobs.flow.rules import OPEN, Leg
from jobs.handback.models import Asked
from jobs.matches.reads import is_noticed
from shop.customers.models import Customer
from shop.workshop.reads import now, today, zone

MOST = 50  # drop-offs of a group that are shown; all of them are counted


@dataclass(frozen=True)
class Row:
    """A drop-off with who is called and what is next; `promised_on` while it is in work, `since` once it is ready."""

    drop_off: DropOff
    next: Next
    promised_on: date | None = None
    since: date | None = None
    ready: int = 0
    asked_on: date | None = None
    bag: bool = False  # whether something of it is in a bag without a job
    kept: bool = False  # as evidence

    @property
    def customer(self) -> Customer:
        kept: Customer = self.drop_off.customer.kept
        return kept


@dataclass(frozen=True)
class Group:
    """How many there are, and the first of them."""

    count: int
    rows: list[Row]


@dataclass(frozen=True)
class Booked:
    """Who is booked for today and has not come, and how many came."""

    count: int
    came: int
    rows: list[Booking]


def counter_day() -> dict[str, Any]:
    """Everything of the day in as many statements for many drop-offs as for one."""
    day = today()
    work, ready = _in_work(), _ready()
    before = now() - UNCOLLECTED
    left = Q(since__lte=before, rest=False)
    groups = {
        "late": (work, Q(first__lt=day)),
        "promised": (work, Q(first=day)),
        "later": (work, Q(first__gt=day)),
    }
    counts = work.aggregate(**{name: Count("pk", filter=which) for name, (_, which) in groups.items()})
    counts |= ready.aggregate(all=Count("pk"), uncollected=Count("pk", filter=left))
    shown = {
        name: list(rows.filter(which).order_by("first", "pk")[:MOST])
        for name, (rows, which) in groups.items()
    }
    covered = uncovered({row.pk for rows in shown.values() for row in rows})
    found: dict[str, Any] = {
        name: Group(counts[name], [_working_row(row, day, not covered[row.pk]) for row in rows])
        for name, rows in shown.items()
    }
    left_here, waiting_long = ready.exclude(left), ready.filter(left)
    found["ready"] = Group(counts["all"] - counts["uncollected"], _to_collect(left_here, day))
    found["uncollected"] = Group(counts["uncollected"], _to_collect(waiting_long, day))
    return found | {"day": day, "booked": _booked(day), "uncollected_after_days": UNCOLLECTED.days}


def _booked(day: date) -> Booked:
    of_today = standing().filter(day=day)
    counts = of_today.aggregate(count=Count("pk", filter=Q(drop_off=None)), came=Count("drop_off"))
    return Booked(counts["count"], counts["came"], list(waiting().filter(day=day).order_by("pk")[:MOST]))


def _unsigned() -> QuerySet[Job]:
    return Job.objects.filter(leg__in=OPEN).exclude(leg=Leg.SIGNED_OFF)


def _in_work() -> Any:
    """Drop-offs with gear that is worked on or waits in a bag; `first` is the first day that something of it is promised for."""
    mine = _unsigned().filter(drop_off=OuterRef("pk"))
    rows = DropOff.objects.filter(
        Q(pk__in=_unsigned().values("drop_off")) | Q(pk__in=bags().values("drop_off"))
    )
    promised = Subquery(mine.order_by("promised_on").values("promised_on")[:1])
    return rows.select_related("customer__merged_into").annotate(
        first=Coalesce(promised, F("promised_on")),
        works=Exists(mine),
        waits=Exists(mine.filter(leg=Leg.CHECKED_IN)),
        bag=Exists(bags().filter(drop_off=OuterRef("pk"))),
        kept=_kept(),
        unknown=Exists(bags().filter(drop_off=OuterRef("pk"), item=None)),
    )


def _kept() -> Any:
    """Whether something of a drop-off that is here is kept as evidence."""
    jobs = Job.objects.filter(drop_off=OuterRef("pk"), leg__in=OPEN, item__in=evidence_items())
    return Exists(jobs) | Exists(bags().filter(drop_off=OuterRef("pk"), item__in=evidence_items()))


def _working_row(row: Any, day: date, covered: bool) -> Row:
    facts = {"works": row.works, "covered": covered, "waits": row.waits}
    said = next_in_work(late=row.first < day, bagged=row.unknown, kept=row.kept, **facts)
    return Row(row, said, row.first, bag=row.bag, kept=row.kept)


def _ready() -> Any:
    """Drop-offs with gear that is signed off, since when the last of it is, and whether the rest is in work."""
    signed = Job.objects.filter(leg__in=OPEN).filter(leg=Leg.SIGNED_OFF)
    moves = Move.objects.filter(job__drop_off=OuterRef("pk"), job__leg=Leg.SIGNED_OFF, to_leg=Leg.SIGNED_OFF)
    jobs = (
        signed.filter(drop_off=OuterRef("pk"))
        .order_by()
        .values("drop_off")
        .annotate(n=Count("pk"))
        .values("n")
    )
    rows = DropOff.objects.filter(pk__in=signed.values("drop_off")).select_related("customer__merged_into")
    return rows.prefetch_related("asked").annotate(
        since=Subquery(moves.order_by("-at").values("at")[:1]),
        ready=Subquery(jobs),
        kept=_kept(),
        noticed=Exists(signed.filter(is_noticed(), drop_off=OuterRef("pk"))),
        rest=Exists(_unsigned().filter(drop_off=OuterRef("pk"))),
    )


def _to_collect(rows: Any, day: date) -> list[Row]:
    return [_ready_row(row, day) for row in rows.order_by("since", "pk")[:MOST]]


def _ready_row(row: Any, day: date) -> Row:
    since: datetime = row.since
    asked = [each.on for each in row.asked.all()]
    letters = sum(each.how in Asked.RECORDED for each in row.asked.all())
    on = since.astimezone(zone()).date()
    said = next_to_collect(day, on, asked, letters, rest=row.rest, kept=row.kept, noticed=row.noticed)
    asked_on = max(asked, default=None)
    return Row(row, said, since=on, ready=row.ready, asked_on=asked_on, kept=row.kept)
