"""Who may sign and who signed before; a sign-off's closed record on paper."""

import json
from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404

from jobs.bench.models import Attempt
from jobs.flow.models import Job
from jobs.flow.rules import Outcome
from jobs.records import rules
from jobs.signoff.models import SignOff
from shop.paper.rules import Paper
from shop.staff.models import Person
from shop.staff.rules import Can, authorisation_refusals
from shop.workshop.reads import today, zone


def signers(job: Job) -> list[Person]:
    """Everybody who may sign a job off today; the day is read once, not once a person."""
    gear = job.item.model
    asked: Any = {"maker": gear.maker, "kind": gear.kind, "kind_label": gear.kind_label, "on": today()}
    asked |= {"oxygen": job.plan.oxygen, "signing": True}
    people = Person.objects.filter(is_active=True).prefetch_related("roles", "authorisations__under")
    return [
        person
        for person in people.order_by("name")
        if person.may(Can.SIGN)
        and not authorisation_refusals(person.name, person.authorised_scopes(), **asked)
    ]


def signer_of(job: Job) -> str:
    """Who signed a job's newest round; empty when nobody has."""
    row = SignOff.objects.filter(round__job=job).select_related("signer").order_by("-pk").first()
    return row.signer.name if row else ""


def pictures(row: SignOff) -> dict[str, Any]:
    """The drawings of the tests of a signed round, by uid."""
    rows = Attempt.objects.filter(round=row.round_id).values_list("uid", "picture")
    return {str(uid): drawn for uid, drawn in rows}


def record_paper(uid: UUID) -> Paper:
    """The closed record of a sign-off, to go with the gear."""
    row = get_object_or_404(SignOff, uid=uid)
    return rules.record_paper(json.loads(row.record), pictures(row), digest=row.digest, zone=zone())


def do_not_dive(uid: UUID) -> Paper:
    """The "do not dive" slip of a sign-off; there is none for what was serviced."""
    row = get_object_or_404(SignOff.objects.exclude(outcome=Outcome.SERVICED.value), uid=uid)
    return rules.do_not_dive(json.loads(row.record), zone=zone())
