"""The sign of life that beat asks for."""

from shop.celery import app
from shop.health.actions import keep_heartbeat


@app.task(name="shop.health.tasks.heartbeat")  # type: ignore[untyped-decorator]  # celery has no type information
def heartbeat() -> None:
    """Write down that a worker works."""
    keep_heartbeat()
