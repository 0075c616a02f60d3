"""Makers' models, their service plans as issued and withdrawn."""

from functools import cached_property
from uuid import uuid4

from django.db import models

from shop.catalogue.rules import Plan, read_plan
from shop.staff.models import Person
from shop.workshop.rules import Kind, values

MOST_READ = 1000  # plans that a process keeps read
_READ: dict[str, Plan] = {}


class Model(models.Model):
    """A maker's model and revision."""

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    maker = models.CharField(max_length=80)
    name = models.CharField(max_length=80)
    revision = models.CharField(max_length=40, blank=True)
    kind = models.CharField(max_length=20, choices=[(k.value, k.label) for k in Kind])
    design = models.CharField(max_length=80, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["maker", "name", "revision", "kind"], name="model_once"),
            models.CheckConstraint(condition=models.Q(kind__in=values(Kind)), name="model_kind_known"),
        ]

    def __str__(self) -> str:
        return f"{self.maker} {self.name} {self.revision}".strip()

    @property
    def kind_label(self) -> str:
        return Kind(self.kind).label


class PlanVersion(models.Model):
    """One issued version of a model's service plan; frozen by triggers."""

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    model = models.ForeignKey(Model, on_delete=models.PROTECT, related_name="plans")
    key = models.CharField(max_length=40)
    n = models.PositiveIntegerField()
    document = models.JSONField()
    digest = models.CharField(max_length=64)
    issued_at = models.DateTimeField()
    issued_by = models.CharField(max_length=40)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["model", "key", "n"], name="plan_version_once")]

    def __str__(self) -> str:
        return f"{self.plan.title} v{self.n}, {self.model.kind_label} {self.model}"

    @cached_property
    def plan(self) -> Plan:
        """The document, read once by each process: it is frozen, and its digest tells it from any other."""
        if (known := _READ.get(self.digest)) is None:
            if len(_READ) >= MOST_READ:
                _READ.clear()
            known = _READ[self.digest] = read_plan(self.document)
        return known

    @property
    def withdrawn(self) -> "Withdrawal | None":
        """Its withdrawal, if it was withdrawn."""
        return getattr(self, "withdrawal", None)


class Withdrawal(models.Model):
    """A plan version is bad and no longer worked by; append-only, because the frozen version needs no exception."""

    plan_version = models.OneToOneField(PlanVersion, on_delete=models.PROTECT, related_name="withdrawal")
    reason = models.CharField(max_length=300)
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return f"withdrawn: {self.reason}"
