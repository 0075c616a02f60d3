"""The outbox: the database is the queue, a letter's rendered bytes live in its row."""

from uuid import uuid4

from django.db import models
from django.utils.crypto import salted_hmac

from shop.post.rules import Purpose, State
from shop.workshop.rules import pairs, values


class Letter(models.Model):
    """One e-mail, written once per recipient, purpose and run."""

    uid = models.UUIDField(unique=True)
    recipient = models.CharField(max_length=80)
    address = models.EmailField()
    purpose = models.CharField(max_length=20, choices=pairs(Purpose))
    run = models.CharField(max_length=40)
    subject = models.CharField(max_length=200)
    message_id = models.CharField(max_length=200, unique=True)
    body = models.BinaryField()
    state = models.CharField(max_length=12, choices=pairs(State), default=State.NEW.value)
    attempts = models.PositiveIntegerField(default=0)
    uncertain_before = models.BooleanField(default=False)
    due_at = models.DateTimeField()
    written_at = models.DateTimeField()
    sent_at = models.DateTimeField(null=True)
    error = models.CharField(max_length=300, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["recipient", "purpose", "run"], name="letter_once"),
            models.CheckConstraint(condition=models.Q(state__in=values(State)), name="letter_state"),
        ]
        indexes = [models.Index(fields=["state", "due_at"])]

    def __str__(self) -> str:
        return f"{self.purpose} to {self.recipient}"

    @property
    def envelope(self) -> str:
        """The id of its envelope (RFC 3461, 4.4). It stands in no header: whoever repeats it carried the letter."""
        return (
            f"{self.uid}.{salted_hmac('letter.envelope', str(self.uid), algorithm='sha256').hexdigest()[:32]}"
        )


class Suppressed(models.Model):
    """An address, folded, that does not exist: letters to it are written and rest. It stands until it is lifted."""

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    address = models.EmailField()
    why = models.CharField(max_length=300)
    since = models.DateTimeField()
    letter = models.ForeignKey(Letter, null=True, on_delete=models.PROTECT, related_name="suppressed")
    lifted_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["address"], condition=models.Q(lifted_at=None), name="suppressed_once"
            ),
        ]

    def __str__(self) -> str:
        return self.address
