"""What estimates know of a job: price and go-ahead."""

from collections.abc import Iterable

from jobs.estimates.models import GoAhead
from jobs.estimates.rules import covering_refusals
from jobs.flow.models import DropOff, Job
from jobs.flow.rules import Outcome
from shop.workshop.reads import currency
from shop.workshop.rules import Refusal


def price(drop_off: DropOff) -> int:
    """What the plans of a drop-off come to, in the smallest unit; a job that stands declined costs nothing."""
    return sum(job.plan.price for job in _charged([drop_off.pk]))


def _charged(drop_offs: Iterable[int]) -> list[Job]:
    rows = Job.objects.filter(drop_off__in=drop_offs).select_related("plan_version")
    jobs = rows.prefetch_related("more_plans", "rounds")
    return [job for job in jobs if job.outcome != Outcome.DECLINED]


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
    prices = dict.fromkeys(drop_offs, 0)
    for job in _charged(drop_offs):
        prices[job.drop_off_id] += job.plan.price
    return {pk: tuple(covering_refusals(amounts.get(pk), price, code)) for pk, price in prices.items()}
