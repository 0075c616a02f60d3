"""Keep the sign of life."""

from django.db.models.functions import Now

from shop.health.models import Heartbeat


def keep_heartbeat() -> None:
    """A worker has got here: what lies between beat and the database works."""
    Heartbeat.objects.update_or_create(only=True, defaults={"at": Now()})
