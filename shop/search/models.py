"""One row per findable thing."""

from django.db import models


class Findable(models.Model):
    """A thing that can be found. Made from other rows, so it may be made again at any time (`manage.py find_again`).

    Beside the table stand a trigram index on PostgreSQL and a full-text table with its triggers on SQLite.
    """

    subject = models.CharField(max_length=80, unique=True)
    kind = models.CharField(max_length=20)
    number = models.CharField(max_length=80)
    title = models.TextField()
    note = models.TextField(blank=True)
    address = models.CharField(max_length=200)
    words = models.TextField()

    class Meta:
        indexes = [models.Index(fields=["kind", "id"], name="search_newest_of_a_kind")]

    def __str__(self) -> str:
        return self.title
