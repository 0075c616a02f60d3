"""The outbox's task, which beat calls."""

from shop.celery import app
from shop.post.actions import send_waiting


@app.task(name="shop.post.tasks.sweep")  # type: ignore[untyped-decorator]  # celery has no type information
def sweep() -> None:
    """Send what waits and free what is stuck."""
    send_waiting()
