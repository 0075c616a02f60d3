"""What estimates know of a job: price and go-ahead."""

from collections.abc import Collection, Iterable

from django.db.models import OuterRef, Subquery

from jobs.estimates.models import GoAhead
from jobs.estimates.rules import covering_refusals
from jobs.flow.models import DropOff, Job, Round
from jobs.flow.rules import Outcome
from shop.catalogue.models import PlanVersion
from shop.workshop.reads import currency
from shop.workshop.rules import Refusal


def price(drop_off: DropOff) -> int:
    """What the plans of a drop-off come to, in the smallest unit; a job that stands declined costs nothing."""
    return _prices([drop_off.pk])[drop_off.pk]


def _prices(drop_offs: Collection[int]) -> dict[int, int]:
    """The same of many drop-offs; their jobs may be several times as many as those asked about, so none is built."""
    newest = Round.objects.filter(job=OuterRef("pk")).order_by("-n").values("outcome")[:1]
    jobs = Job.objects.filter(drop_off__in=drop_offs).annotate(came_to=Subquery(newest))
    charged = jobs.exclude(came_to=Outcome.DECLINED)
    pinned = list(charged.values_list("drop_off", "plan_version"))
    pinned += charged.filter(more_plans__isnull=False).values_list("drop_off", "more_plans")
    versions = PlanVersion.objects.in_bulk({version for _, version in pinned})
    found = dict.fromkeys(drop_offs, 0)
    for drop_off, version in pinned:
        found[drop_off] += versions[version].plan.price
    return found


def go_ahead(drop_off: DropOff) -> GoAhead | None:
    """The go-ahead that holds: the newest."""
    return GoAhead.objects.filter(drop_off=drop_off).order_by("-pk").first()


def covered(job: Job) -> tuple[Refusal, ...]:
    """Whether the go-ahead covers the price of the whole drop-off."""
    return uncovered([job])[job.drop_off_id]


def uncovered(jobs: Iterable[Job]) -> dict[int, tuple[Refusal, ...]]:
    """Of the drop-offs of these jobs, by their primary key: why the go-ahead that holds does not cover the price."""
    drop_offs, code = {job.drop_off_id for job in jobs}, currency()
    given = GoAhead.objects.filter(drop_off__in=drop_offs).order_by("pk")
    amounts = dict(given.values_list("drop_off", "amount"))
    return {
        pk: tuple(covering_refusals(amounts.get(pk), price, code)) for pk, price in _prices(drop_offs).items()
    }
