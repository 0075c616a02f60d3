"""The daily letters; beat asks often, the database lets each be written once."""

from jobs.reminders.actions import remind
from shop.celery import app
from shop.post.actions import send_waiting
from shop.workshop.reads import now, today, zone

EARLIEST_HOUR = 8


@app.task(name="jobs.reminders.tasks.daily")  # type: ignore[untyped-decorator]  # celery has no type information
def daily() -> None:
    """From eight in the morning in the workshop's zone, write and send what is due today."""
    if now().astimezone(zone()).hour >= EARLIEST_HOUR:
        remind(on=today())
        send_waiting()
