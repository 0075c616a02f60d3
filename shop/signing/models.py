"""The public halves of the keys that closed records are signed with; a private half is a file of the data folder."""

from django.db import models


class SigningKey(models.Model):
    """One key; the present one signs, each earlier one still shows that what it signed was issued here."""

    number = models.PositiveIntegerField(unique=True)
    key = models.CharField(max_length=16, unique=True)
    public = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()
    retired_at = models.DateTimeField(null=True)
    present = models.BooleanField(default=True)

    class Meta:
        ordering = ["-number"]
        constraints = [
            models.UniqueConstraint(
                fields=["present"], condition=models.Q(present=True), name="signingkey_one_present"
            ),
            models.CheckConstraint(
                condition=models.Q(present=True, retired_at__isnull=True)
                | models.Q(present=False, retired_at__isnull=False),
                name="signingkey_present_or_retired",
            ),
        ]

    def __str__(self) -> str:
        return f"key {self.number}"
