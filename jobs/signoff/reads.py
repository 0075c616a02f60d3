"""Who may sign and who signed before; a sign-off's closed record on paper; figures over the services of an item."""

import json
from typing import Any
from urllib.parse import urlencode
from uuid import UUID

from django.conf import settings
from django.db.models import Q
from django.shortcuts import get_object_or_404
from django.urls import reverse

from jobs.bench.models import Attempt
from jobs.flow.models import Job
from jobs.flow.reads import brought_by
from jobs.flow.rules import ENDED, Leg, Outcome
from jobs.records import rules
from jobs.signoff.models import SignOff, Twin
from jobs.signoff.rules import Series, Service, proof, read_code, series_of
from shop.gear.models import Item
from shop.paper.rules import Paper
from shop.signing.rules import signed_file
from shop.staff.models import Person
from shop.staff.reads import scopes_of
from shop.staff.rules import Can, authorisation_refusals
from shop.workshop.reads import today, zone


def signers(job: Job) -> list[Person]:
    """Everybody who may sign a job off today; the day is read once, not once a person."""
    gear = job.item.model
    asked: Any = {"maker": gear.maker, "kind": gear.kind, "kind_label": gear.kind_label, "on": today()}
    asked |= {"oxygen": job.plan.oxygen, "signing": True}
    people = Person.objects.filter(is_active=True).prefetch_related("roles").order_by("name")
    able = [person for person in people if person.may(Can.SIGN)]
    scopes = scopes_of(able)
    return [person for person in able if not authorisation_refusals(person.name, scopes[person.pk], **asked)]


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
    row = get_object_or_404(SignOff.objects.select_related("key", "twin__key"), uid=uid)
    closed = row.closed
    asked = urlencode({"record": row.uid, "digest": closed.digest})
    shown = proof(
        f"{settings.BASE_URL}{reverse('check')}?{asked}",
        digest=closed.digest,
        key=closed.key.key,
        signature=closed.signature,
    )
    return rules.record_paper(json.loads(closed.record), pictures(row), proof=shown, zone=zone())


def signed_record(uid: UUID) -> str:
    """The closed record of a sign-off with its signature, as a file that anybody may check."""
    row = get_object_or_404(SignOff.objects.select_related("key", "twin__key"), uid=uid).closed
    return signed_file(row.record, key=row.key.key, public=row.key.public, signature=row.signature)


def issued(record: str, digest: str) -> SignOff | Twin | None:
    """The record that a paper names by its sign-off's uid and the SHA-256 of its text; None where the two are not one of ours.

    What was given away before somebody was erased was issued here all the same.
    """
    try:
        uid = UUID(record)
    except ValueError:
        return None
    row = SignOff.objects.select_related("key", "twin__key").filter(uid=uid).first()
    both = (row, row.closed) if row else ()
    return next((each for each in both if each.digest == digest), None)


def issued_as(code: str) -> tuple[str, SignOff | Twin | None]:
    """The SHA-256 that the code of a paper names, scanned or typed, and the record of ours that has it."""
    record, digest = read_code(code)
    if record:
        return digest, issued(record, digest)
    found = (
        rows.select_related("key").filter(digest=digest).first() for rows in (SignOff.objects, Twin.objects)
    )
    return digest, next((row for row in found if row), None)


def do_not_dive(uid: UUID) -> Paper:
    """The "do not dive" slip of a sign-off; there is none for what was serviced."""
    rows = SignOff.objects.exclude(outcome=Outcome.SERVICED.value).select_related("twin")
    return rules.do_not_dive(json.loads(get_object_or_404(rows, uid=uid).closed.record), zone=zone())


def drifting(item: Item) -> list[Series]:
    """Each figure over the services of an item: of every job the newest round, once it is closed, as its record states it."""
    closed = Q(round__job__leg__in=(Leg.SIGNED_OFF, *ENDED))
    rows = SignOff.objects.filter(closed, brought_by("round__job__item", item)).order_by("pk")
    rows = rows.select_related("round__job__plan_version", "twin").prefetch_related("round__job__more_plans")
    newest = {row.round.job_id: row for row in rows}
    records = [(row.round.job, json.loads(row.closed.record)) for row in newest.values()]
    uids = [test["uid"] for _, record in records for test in record["tests"]]
    keys = {str(uid): key for uid, key in Attempt.objects.filter(uid__in=uids).values_list("uid", "key")}
    services = [
        Service(str(job.uid), job.number, job.plan.clock_months, record, keys) for job, record in records
    ]
    return series_of(services, zone())


def item_panel(item: Item) -> tuple[str, dict[str, Any]]:
    """How many figures of the item are known, and those that drift towards their limit."""
    found = drifting(item)
    flagged = [each for each in found if each.found.flagged]
    return "signoff/drift_panel.html", {"item": item, "known": len(found), "flagged": flagged}
