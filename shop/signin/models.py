"""The memory that the sign-in library keeps of tries and used codes, shared by every process."""

from django.db import models


class Kept(models.Model):
    """The table of Django's database cache as a model, so that migrations make it on both engines.

    A cache of each process's own would let a code be used twice and count wrong tries too low.
    """

    cache_key = models.CharField(max_length=255, primary_key=True)
    value = models.TextField()
    expires = models.DateTimeField(db_index=True)

    class Meta:
        db_table = "signin_kept"

    def __str__(self) -> str:
        return self.cache_key
