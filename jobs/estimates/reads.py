"""What estimates know of a job: price and go-ahead."""

from jobs.estimates.models import GoAhead
from jobs.estimates.rules import covering_refusals
from jobs.flow.models import DropOff, Job
from jobs.flow.rules import Outcome
from shop.workshop.reads import currency
from shop.workshop.rules import Refusal


def price(drop_off: DropOff) -> int:
    """What the plans of a drop-off come to, in the smallest unit; a job that stands declined costs nothing."""
    rows = Job.objects.filter(drop_off=drop_off).select_related("plan_version")
    jobs = rows.prefetch_related("more_plans", "rounds")
    return sum(job.plan.price for job in jobs if job.outcome != Outcome.DECLINED)


def go_ahead(drop_off: DropOff) -> GoAhead | None:
    """The go-ahead that holds: the newest."""
    return GoAhead.objects.filter(drop_off=drop_off).order_by("-pk").first()


def covered(job: Job) -> tuple[Refusal, ...]:
    """Whether the go-ahead covers the price of the whole drop-off."""
    given = go_ahead(job.drop_off)
    return tuple(covering_refusals(given.amount if given else None, price(job.drop_off), currency()))
