"""Sign-offs: the attested statement that a round is complete. It closes the record."""

from uuid import uuid4

from django.db import models

from jobs.flow.models import Round
from jobs.flow.rules import Outcome
from shop.signing.models import SigningKey
from shop.staff.models import Person
from shop.workshop.rules import pairs, values


class SignOff(models.Model):
    """One sign-off of one round with the closed record as canonical JSON and its signature; append-only.

    Where its record named somebody who was erased, `closed` is the twin that stands in its place.
    """

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    round = models.OneToOneField(Round, on_delete=models.PROTECT, related_name="sign_off")
    outcome = models.CharField(max_length=14, choices=pairs(Outcome))
    words = models.TextField(blank=True)
    signer = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    second = models.ForeignKey(Person, null=True, on_delete=models.PROTECT, related_name="+")
    single_handed = models.CharField(max_length=300, blank=True)
    authorisation = models.CharField(max_length=200)
    second_authorisation = models.CharField(max_length=200, blank=True)
    at = models.DateTimeField()
    record = models.TextField()
    digest = models.CharField(max_length=64, db_index=True)
    key = models.ForeignKey(SigningKey, on_delete=models.PROTECT, related_name="+")
    signature = models.CharField(max_length=128)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(second__isnull=True) | ~models.Q(second=models.F("signer")),
                name="signoff_two_people",
            ),
            models.CheckConstraint(
                condition=models.Q(second__isnull=True) | models.Q(single_handed=""),
                name="signoff_alone_or_not",
            ),
            models.CheckConstraint(condition=~models.Q(signature=""), name="signoff_signed"),
            models.CheckConstraint(
                condition=models.Q(outcome__in=values(Outcome)), name="signoff_outcome_known"
            ),
        ]

    def __str__(self) -> str:
        return self.outcome

    @property
    def closed(self) -> "SignOff | Twin":
        """The record that is shown: as it was signed, or what erasure left of it."""
        return getattr(self, "twin", self)


class Twin(models.Model):
    """What erasure left of a closed record, with a digest and a signature of its own; append-only.

    It says of itself what it is a twin of: the sign-off keeps the digest and the signature of the record that was given away.
    """

    sign_off = models.OneToOneField(SignOff, on_delete=models.PROTECT, related_name="twin")
    record = models.TextField()
    digest = models.CharField(max_length=64, db_index=True)
    key = models.ForeignKey(SigningKey, on_delete=models.PROTECT, related_name="+")
    signature = models.CharField(max_length=128)
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"twin of {self.sign_off_id}"
