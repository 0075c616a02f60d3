"""Go-aheads: up to which amount a customer lets us work. Charges: what a drop-off costs beside its plans."""

from uuid import uuid4

from django.db import models

from jobs.estimates.rules import State, WentBack
from jobs.flow.models import DropOff, Job
from shop.catalogue.models import PlanVersion
from shop.money.rules import Payer
from shop.staff.models import Person
from shop.workshop.rules import pairs, values

HOW = ("in person", "by telephone", "in writing")
LINK = "by link"  # then nobody of the house wrote it down
SAID = [(how, how) for how in (*HOW, LINK)]


class GoAhead(models.Model):
    """An amount, in the smallest unit of a currency, that somebody agreed to for a drop-off; the newest holds.

    `said_on` is the day on which it was said; `at` and `by` when and by whom it was written down; by a private link
    nobody did.
    """

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    drop_off = models.ForeignKey(DropOff, on_delete=models.PROTECT, related_name="go_aheads")
    amount = models.PositiveBigIntegerField()
    currency = models.CharField(max_length=3)
    given_by = models.CharField(max_length=160)
    how = models.CharField(max_length=12, choices=SAID)
    said_on = models.DateField()
    at = models.DateTimeField()
    by = models.ForeignKey(Person, null=True, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(by=None, how=LINK) | (models.Q(by__isnull=False) & ~models.Q(how=LINK)),
                name="goahead_by_somebody",
            )
        ]

    def __str__(self) -> str:
        return f"{self.amount} {self.currency}"


class Charge(models.Model):
    """One line of what a drop-off costs: something beside the plans, or the price of a plan with another payer or a discount.

    Amounts are in the smallest unit, as the workshop's prices are: with or without tax. What was `asked` of the customer
    while the work went on is a supplement; it has its answer: who gave it, how, on which day, and who wrote it down.
    """

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    drop_off = models.ForeignKey(DropOff, on_delete=models.PROTECT, related_name="charges")
    job = models.ForeignKey(Job, null=True, on_delete=models.PROTECT, related_name="charges")
    plan_version = models.ForeignKey(PlanVersion, null=True, on_delete=models.PROTECT, related_name="+")
    what = models.CharField(max_length=160)
    amount = models.PositiveBigIntegerField()
    discount = models.PositiveBigIntegerField(default=0)
    reason = models.CharField(max_length=200, blank=True)
    payer = models.CharField(max_length=20, choices=pairs(Payer))
    rate = models.CharField(max_length=40, blank=True)
    state = models.CharField(max_length=10, choices=pairs(State))
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    given_by = models.CharField(max_length=160, blank=True)
    how = models.CharField(max_length=12, blank=True, choices=SAID)
    said_on = models.DateField(null=True)
    answered_at = models.DateTimeField(null=True)
    answered_by = models.ForeignKey(Person, null=True, on_delete=models.PROTECT, related_name="+")
    went_back = models.CharField(max_length=20, blank=True, choices=pairs(WentBack))
    asked_again_at = models.DateTimeField(null=True)  # by letter, once
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(condition=models.Q(state__in=values(State)), name="charge_state_known"),
            models.CheckConstraint(condition=models.Q(payer__in=values(Payer)), name="charge_payer_known"),
            models.CheckConstraint(
                condition=models.Q(discount=0, reason="")
                | (models.Q(discount__gte=1, discount__lte=models.F("amount")) & ~models.Q(reason="")),
                name="charge_discount_with_reason",
            ),
            models.CheckConstraint(
                condition=models.Q(plan_version=None) | models.Q(job__isnull=False),
                name="charge_plan_of_a_job",
            ),
            models.CheckConstraint(
                condition=~models.Q(state__in=["asked", "declined"]) | models.Q(job__isnull=False),
                name="charge_asked_of_a_job",
            ),
            models.CheckConstraint(
                condition=(models.Q(state="declined", answered_at__isnull=False) & ~models.Q(went_back=""))
                | (~models.Q(state="declined") & models.Q(went_back="")),
                name="charge_declined_went_back",
            ),
            models.CheckConstraint(
                condition=models.Q(answered_at=None, answered_by=None, said_on=None, given_by="", how="")
                | (
                    models.Q(answered_at__isnull=False, said_on__isnull=False)
                    & (models.Q(answered_by=None, how=LINK) | models.Q(answered_by__isnull=False))
                    & ~models.Q(state="asked")
                ),
                name="charge_answered_by_somebody",
            ),
            models.UniqueConstraint(
                fields=["job", "plan_version"],
                condition=models.Q(plan_version__isnull=False) & ~models.Q(state="taken off"),
                name="charge_one_a_plan",
            ),
        ]

    def __str__(self) -> str:
        return self.what

    @property
    def cause(self) -> str:
        """The cause of the hold of a supplement."""
        return f"charge:{self.uid}"
