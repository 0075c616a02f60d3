"""Going on with what is brought in; beat asks often, the rows in the database are the queue."""

import logging

from jobs.batches.reads import working
from jobs.bringin.actions import go_on
from shop.celery import app

log = logging.getLogger(__name__)
SLICE_S = 20.0  # letters and other work of the same worker wait for no longer


@app.task(name="jobs.bringin.tasks.sweep")  # type: ignore[untyped-decorator]  # celery has no type information
def sweep() -> None:
    """The oldest batch for a while: also one that was cut off in the middle. A fault in it does not hold up the next."""
    for batch in working():
        try:
            go_on(batch, seconds=SLICE_S)
        except Exception:  # noqa: BLE001 - whatever it is, the other batches must come in
            log.exception("No going on with batch %s.", batch.uid)
        else:
            return
