"""Going on with the letters of notices; the rows in the database are the queue."""

import logging

from jobs.matches.actions import write_on
from jobs.matches.models import Writing
from shop.celery import app

log = logging.getLogger(__name__)
SLICE_S = 20.0  # other work of the same worker waits for no longer


@app.task(name="jobs.matches.tasks.sweep")  # type: ignore[untyped-decorator]  # celery has no type information
def sweep() -> None:
    """The letters of the oldest notice that wants some, for a while. A fault in it does not hold up the next."""
    for writing in Writing.objects.filter(wanted=True).order_by("pk"):
        try:
            write_on(writing, seconds=SLICE_S)
        except Exception:  # noqa: BLE001 - whatever it is, the other letters must be written
            log.exception("No going on with the letters of notice %s.", writing.notice_id)
        else:
            return
