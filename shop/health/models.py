"""The sign of life of beat, broker and worker together."""

from django.db import models


class Heartbeat(models.Model):
    """One row: when a worker last did what beat had asked for, by the database's clock."""

    at = models.DateTimeField()
    only = models.BooleanField(default=True, unique=True)

    def __str__(self) -> str:
        return f"{self.at}"
