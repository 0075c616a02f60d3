"""The task that reads the folder for what came back; beat calls it."""

from shop.celery import app
from shop.outbox.actions import read_mailbox


@app.task(name="shop.outbox.tasks.sweep")  # type: ignore[untyped-decorator]  # celery has no type information
def sweep() -> None:
    """Take in what came back since the last time."""
    read_mailbox()
