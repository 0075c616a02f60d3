"""The letters that ask again; beat asks often, each supplement is asked about again once."""

from jobs.quotes.actions import ask_again
from jobs.reminders.reads import times
from shop.celery import app
from shop.post.actions import send_waiting
from shop.workshop.reads import now, zone


@app.task(name="jobs.quotes.tasks.nudge")  # type: ignore[untyped-decorator]  # celery has no type information
def nudge() -> None:
    """On an open day, within the hours of letters in the workshop's zone, ask again about supplements that wait."""
    if times().may_go(now().astimezone(zone())) and ask_again():
        send_waiting()
