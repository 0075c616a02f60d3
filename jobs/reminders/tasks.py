"""The daily letters; beat asks often, the database lets each be written once."""

from jobs.reminders.actions import remind
from jobs.reminders.reads import times
from shop.celery import app
from shop.post.actions import send_waiting
from shop.workshop.reads import now, today, zone


@app.task(name="jobs.reminders.tasks.daily")  # type: ignore[untyped-decorator]  # celery has no type information
def daily() -> None:
    """On an open day, within the hours of letters in the workshop's zone, write and send what is due."""
    if times().may_go(now().astimezone(zone())):
        remind(on=today())
        send_waiting()
