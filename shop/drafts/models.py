"""Plans that are being written."""

from uuid import uuid4

from django.db import models

from shop.catalogue.models import Model, PlanVersion
from shop.catalogue.rules import Plan, plan_refusals, read_plan
from shop.staff.models import Person
from shop.workshop.rules import Refusal


class Draft(models.Model):
    """A plan that is being written: in the shape of a plan, but it need not hang together until it is issued."""

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    model = models.ForeignKey(Model, on_delete=models.PROTECT, related_name="drafts")
    key = models.CharField(max_length=40)
    document = models.JSONField()
    version = models.PositiveIntegerField(default=1)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    changed_at = models.DateTimeField()
    issued_as = models.OneToOneField(PlanVersion, on_delete=models.PROTECT, null=True, related_name="draft")
    set_aside_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["model", "key"],
                condition=models.Q(issued_as=None, set_aside_at=None),
                name="draft_one_open",
            ),
            models.CheckConstraint(
                condition=models.Q(issued_as=None) | models.Q(set_aside_at=None), name="draft_ends_once"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.plan.title}, draft of {self.key}, {self.model.kind_label} {self.model}"

    @property
    def plan(self) -> Plan:
        """The document, read; it may not hang together."""
        return read_plan(self.document)

    @property
    def state(self) -> str:
        """Where it stands, in a word."""
        return "issued" if self.issued_as_id else "set aside" if self.set_aside_at else "draft"

    @property
    def refusals(self) -> list[Refusal]:
        """Why it cannot be issued as it stands."""
        return plan_refusals(self.plan)
