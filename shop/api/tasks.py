"""Forgetting old answers: beat calls it, so that no request has to."""

from shop.api.actions import forget_answers
from shop.celery import app


@app.task(name="shop.api.tasks.forget")  # type: ignore[untyped-decorator]  # celery has no type information
def forget() -> None:
    """Delete the answers that nobody will ask for again."""
    forget_answers()
