"""Going on with what notices match; the rows in the database are the queue."""

import logging
from datetime import timedelta

from jobs.safety.actions import go_on
from jobs.safety.models import Look
from shop.celery import app
from shop.workshop.reads import now

log = logging.getLogger(__name__)
SLICE_S = 20.0  # letters and other work of the same worker wait for no longer
SETTLES = timedelta(
    seconds=15
)  # longer than any statement: what was being written as the notice was made is there


@app.task(name="jobs.safety.tasks.sweep")  # type: ignore[untyped-decorator]  # celery has no type information
def sweep() -> None:
    """The oldest notice that has something left, for a while. A fault in it does not hold up the next."""
    settled = Look.objects.filter(done_at=None, notice__withdrawal=None, notice__at__lte=now() - SETTLES)
    for look in settled.order_by("pk"):
        try:
            go_on(look, seconds=SLICE_S)
        except Exception:  # noqa: BLE001 - whatever it is, the other notices must be looked through
            log.exception("No going on with notice %s.", look.notice_id)
        else:
            return
