"""What estimates know of a job: price and go-ahead."""

from collections.abc import Collection

from jobs.estimates.models import GoAhead
from jobs.estimates.rules import covering_refusals
from jobs.flow.models import DropOff, Job
from shop.catalogue.reads import plan_of
from shop.workshop.reads import columns, currency
from shop.workshop.rules import Refusal


def price(drop_off: DropOff) -> int:
    """What the plans of a drop-off come to, in the smallest unit; a job that stands declined costs nothing."""
    return _prices([drop_off.pk])[drop_off.pk]


def _prices(drop_offs: Collection[int]) -> dict[int, int]:
    """The same of many drop-offs; their jobs may be several times as many as those asked about, so none is built."""
    sql = """
    WITH charged AS (
        SELECT j.id, j.drop_off_id, j.plan_version_id FROM flow_job j WHERE j.drop_off_id = ANY(%s) AND COALESCE(
            (SELECT r.outcome FROM flow_round r WHERE r.job_id = j.id ORDER BY r.n DESC LIMIT 1), '') <> 'declined'
    )
    SELECT c.drop_off_id, p.id, p.digest FROM charged c JOIN catalogue_planversion p ON p.id = c.plan_version_id
    UNION ALL SELECT c.drop_off_id, p.id, p.digest FROM charged c
    JOIN flow_job_more_plans more ON more.job_id = c.id JOIN catalogue_planversion p ON p.id = more.planversion_id
    """
    found = dict.fromkeys(drop_offs, 0)
    for drop_off, version, digest in columns(sql, list(drop_offs)):
        found[drop_off] += plan_of(version, digest).price
    return found


def go_ahead(drop_off: DropOff) -> GoAhead | None:
    """The go-ahead that holds: the newest."""
    return GoAhead.objects.filter(drop_off=drop_off).order_by("-pk").first()


def covered(job: Job) -> tuple[Refusal, ...]:
    """Whether the go-ahead covers the price of the whole drop-off."""
    return uncovered({job.drop_off_id})[job.drop_off_id]


def uncovered(drop_offs: Collection[int]) -> dict[int, tuple[Refusal, ...]]:
    """Of drop-offs, by their primary keys: why the go-ahead that holds, the newest, does not cover the price."""
    sql = "SELECT drop_off_id, amount FROM estimates_goahead WHERE drop_off_id = ANY(%s) ORDER BY id"
    amounts, code = dict(columns(sql, list(drop_offs))), currency()
    return {
        pk: tuple(covering_refusals(amounts.get(pk), price, code)) for pk, price in _prices(drop_offs).items()
    }
