"""The notes of the day before; beat asks often, the database lets each be written once."""

from jobs.bookings.actions import write_day_before
from shop.celery import app
from shop.post.actions import send_waiting
from shop.workshop.reads import now, today, zone

EARLIEST_HOUR = 8


@app.task(name="jobs.bookings.tasks.day_before")  # type: ignore[untyped-decorator]  # celery has no type information
def day_before() -> None:
    """From eight in the morning in the workshop's zone, write to whoever comes tomorrow."""
    if now().astimezone(zone()).hour >= EARLIEST_HOUR and write_day_before(on=today()):
        send_waiting()
