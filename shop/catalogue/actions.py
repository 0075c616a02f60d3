"""Add models; draft, issue and withdraw plans."""

from typing import Any

from django.db import transaction

from shop.catalogue.models import Draft, Model, PlanVersion, Withdrawal
from shop.catalogue.rules import draft_refusals, plan_refusals, read_plan
from shop.journal.actions import write
from shop.journal.rules import canonical, sha256
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.workshop.reads import now
from shop.workshop.rules import Refusal, Stale, refuse

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


def issue_plan(*, by: Person, model: Model, key: str, document: Document) -> PlanVersion:
    """Issue the next version of a model's plan; from then on it is frozen."""
    require(by, Can.KEEP_PLANS)
    refuse(plan_refusals(read_plan(document)))
    with transaction.atomic():
        return _issue(by, _locked(model), key, document)


def make_draft(*, by: Person, model: Model, key: str, document: Document) -> Draft:
    """Begin a draft of a model's plan; one draft of a plan is open at a time, so that nobody's work is lost."""
    require(by, Can.KEEP_PLANS)
    with transaction.atomic():
        model, instant = _locked(model), now()
        if Draft.objects.filter(model=model, key=key, issued_as=None, set_aside_at=None).exists():
            said = f"A draft of {key} is open already: go on with it, or set it aside first."
            refuse([Refusal("draft-open", said, "key")])
        row = Draft.objects.create(
            model=model, key=key, document=document, made_at=instant, made_by=by, changed_at=instant
        )
        _journal(by, row, "plan drafted")
    return row


def copy_plan(*, by: Person, plan: PlanVersion) -> Draft:
    """Begin a draft with what an issued version says."""
    require(by, Can.KEEP_PLANS)
    return make_draft(by=by, model=plan.model, key=plan.key, document=plan.document)


def change_draft(*, by: Person, draft: Draft, seen: int, document: Document) -> Draft:
    """Put another document in a draft that the caller saw at version `seen`."""
    require(by, Can.KEEP_PLANS)
    with transaction.atomic():
        draft = _open(draft, seen)
        draft.document, draft.changed_at = document, now()
        return _kept(by, draft, "draft changed")


def set_aside_draft(*, by: Person, draft: Draft, seen: int) -> Draft:
    """Give a draft up; it stays to be read."""
    require(by, Can.KEEP_PLANS)
    with transaction.atomic():
        draft = _open(draft, seen)
        draft.set_aside_at = now()
        return _kept(by, draft, "draft set aside")


def issue_draft(*, by: Person, draft: Draft, seen: int) -> PlanVersion:
    """Freeze a draft as the next version of its plan; the draft is spent."""
    require(by, Can.KEEP_PLANS)
    with transaction.atomic():
        draft = _open(draft, seen)
        refuse(draft.refusals)
        row = _issue(by, draft.model, draft.key, draft.document)
        draft.issued_as = row
        _kept(by, draft, "draft issued")
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


def _open(draft: Draft, seen: int) -> Draft:
    """An open draft at the version that the caller saw, locked after its model."""
    model = _locked(draft.model)
    draft = Draft.objects.select_for_update().get(pk=draft.pk)
    draft.model = model
    refuse(draft_refusals(issued=draft.issued_as_id is not None, set_aside=draft.set_aside_at is not None))
    if draft.version != seen:
        raise Stale(draft.version)
    return draft


def _kept(by: Person, draft: Draft, verb: str) -> Draft:
    """A draft's change, stored and journalled."""
    draft.version += 1
    draft.save()
    _journal(by, draft, verb)
    return draft


def _issue(by: Person, model: Model, key: str, document: Document) -> PlanVersion:
    """The next version of a locked model's plan."""
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


def _journal(by: Person, draft: Draft, verb: str) -> None:
    facts = {"draft": str(draft.uid), "key": draft.key, "version": draft.version}
    facts |= {"digest": sha256(canonical(draft.document))}
    write(subject=f"model:{draft.model.uid}", by=str(by.uid), verb=verb, facts=facts)
