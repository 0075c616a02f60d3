"""Begin, change, issue and set aside drafts of plans."""

from django.db import transaction

from shop.catalogue.actions import Document, issue_plan
from shop.catalogue.models import Model, PlanVersion
from shop.drafts.models import Draft
from shop.drafts.rules import draft_refusals
from shop.journal.actions import write
from shop.journal.rules import canonical, sha256
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.workshop.reads import now
from shop.workshop.rules import Refusal, Stale, refuse


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
        row = issue_plan(by=by, model=draft.model, key=draft.key, document=draft.document)
        draft.issued_as = row
        _kept(by, draft, "draft issued")
    return row


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


def _journal(by: Person, draft: Draft, verb: str) -> None:
    facts = {"draft": str(draft.uid), "key": draft.key, "version": draft.version}
    facts |= {"digest": sha256(canonical(draft.document))}
    write(subject=f"model:{draft.model.uid}", by=str(by.uid), verb=verb, facts=facts)
