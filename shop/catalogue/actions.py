"""Add models; issue and withdraw plans."""

from typing import Any

from django.db import transaction

from shop.catalogue.models import Model, PlanVersion, Withdrawal
from shop.catalogue.rules import plan_refusals, read_plan
from shop.journal.actions import write
from shop.journal.rules import canonical, sha256
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.workshop.reads import now
from shop.workshop.rules import Refusal, refuse

Document = dict[str, Any]


def add_model(*, by: Person, maker: str, name: str, revision: str, kind: str, design: str) -> Model:
    """Add a maker's model."""
    require(by, Can.KEEP_PLANS)
    with transaction.atomic():
        row, made = Model.objects.get_or_create(
            maker=maker, name=name, revision=revision, kind=kind, defaults={"design": design}
        )
        if not made:
            refuse([Refusal("model-taken", "This model stands in the catalogue already.", "name")])
        write(subject=f"model:{row.uid}", by=str(by.uid), verb="added", facts={"maker": maker, "name": name})
    return row


def model_for(*, by: str, maker: str, name: str, revision: str, kind: str) -> Model:
    """The maker's model that a row brought in names, added unless it stands there; whoever brings in has asked."""
    row, made = Model.objects.get_or_create(maker=maker, name=name, revision=revision, kind=kind)
    if made:
        write(subject=f"model:{row.uid}", by=by, verb="added", facts={"maker": maker, "name": name})
    return row


def issue_plan(*, by: Person, model: Model, key: str, document: Document) -> PlanVersion:
    """Issue the next version of a model's plan; from then on it is frozen."""
    require(by, Can.KEEP_PLANS)
    refuse(plan_refusals(read_plan(document)))
    with transaction.atomic():
        model = _locked(model)
        last = PlanVersion.objects.filter(model=model, key=key).order_by("-n").first()
        row = PlanVersion.objects.create(
            model=model,
            key=key,
            n=last.n + 1 if last else 1,
            document=document,
            digest=sha256(canonical(document)),
            issued_at=now(),
            issued_by=str(by.uid),
        )
        facts = {"plan": str(row.uid), "key": key, "n": row.n, "digest": row.digest}
        write(subject=f"model:{model.uid}", by=str(by.uid), verb="plan issued", facts=facts)
    return row


def withdraw_plan(*, by: Person, plan: PlanVersion, reason: str) -> PlanVersion:
    """Say that an issued version is bad: no work begins on it any more."""
    require(by, Can.KEEP_PLANS)
    with transaction.atomic():
        model = _locked(plan.model)
        if Withdrawal.objects.filter(plan_version=plan).exists():
            refuse([Refusal("withdrawn", "This version has been withdrawn already.")])
        plan.withdrawal = Withdrawal.objects.create(plan_version=plan, reason=reason, at=now(), by=by)
        facts = {"plan": str(plan.uid), "key": plan.key, "n": plan.n, "reason": reason}
        write(subject=f"model:{model.uid}", by=str(by.uid), verb="plan withdrawn", facts=facts)
    return plan


def _locked(model: Model) -> Model:
    return Model.objects.select_for_update().get(pk=model.pk)
