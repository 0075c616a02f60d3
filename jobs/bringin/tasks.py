"""Going on with what is brought in; beat asks often, the rows in the database are the queue."""

from jobs.batches.reads import working
from jobs.bringin.actions import go_on
from shop.celery import app

SLICE_S = 20.0  # letters and other work of the same worker wait for no longer


@app.task(name="jobs.bringin.tasks.sweep")  # type: ignore[untyped-decorator]  # celery has no type information
def sweep() -> None:
    """The oldest batch for a while: also one that was cut off in the middle."""
    if batch := working().first():
        go_on(batch, seconds=SLICE_S)
