"""The sweep after erasures: beat calls it, so that a crash leaves no file behind."""

from jobs.rights.actions import sweep as unlink
from shop.celery import app


@app.task(name="jobs.rights.tasks.sweep")  # type: ignore[untyped-decorator]  # celery has no type information
def sweep() -> None:
    """Unlink what went with somebody erased and is still there."""
    unlink()
