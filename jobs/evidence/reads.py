"""Evidence that is kept and was kept, its custody with the names of people, and its whole record for an export."""

import json
import zipfile
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404

from jobs.evidence.models import EvidenceCustody
from jobs.evidence.rules import SHOWS, proof_faults
from jobs.flow.models import DropOff, Hold, Line
from jobs.flow.reads import evidence_items, of_item
from jobs.flow.rules import ENDED, HoldKind
from jobs.signoff.models import SignOff
from shop.files.models import Photograph
from shop.files.reads import photographs
from shop.gear.models import Item
from shop.gear.reads import own_subjects
from shop.journal.models import Entry
from shop.journal.reads import history, subjects_of
from shop.signing.rules import canonical_json, checked
from shop.staff.models import Person
from shop.workshop.reads import now, workshop
from shop.workshop.rules import Refusal, Refused

FORMAT = 1
MOST_READ = 20_000_000  # of one file of an archive


def holds() -> QuerySet[Hold]:
    """Evidence holds with what their row shows, the oldest first."""
    rows = Hold.objects.filter(kind=HoldKind.EVIDENCE).select_related(
        "evidence", "item__model", "item__owner", "by", "lifted_by", "lifted_second"
    )
    return rows.prefetch_related("item__identifiers", "custody__by")


def one_hold(uid: UUID) -> Hold:
    """One evidence hold, by its uid; another kind of hold is not found here."""
    found: Hold = get_object_or_404(holds(), uid=uid)
    return found


def office_panel(person: Person) -> tuple[str, dict[str, Any]]:
    """How much stands as evidence."""
    rows = Hold.objects.filter(kind=HoldKind.EVIDENCE, lifted_at=None)
    return "evidence/office_panel.html", {"standing": rows.count()}


def drop_off_panel(drop_off: DropOff) -> tuple[str, dict[str, Any]]:
    """What of a drop-off that is here is kept as evidence."""
    lines = Line.objects.filter(drop_off=drop_off, item__in=evidence_items()).exclude(job__leg__in=ENDED)
    return "evidence/drop_off.html", {
        "kept": [each.item for each in lines.select_related("item__model").order_by("n")]
    }


def custody_of(hold: Hold) -> list[EvidenceCustody]:
    """The rows of a hold, oldest first, with the names of people as far as the journal still has them."""
    assert hold.item is not None
    rows = Entry.objects.filter(subject=f"item:{hold.item.uid}", verb="evidence passed on")
    said = {json.loads(row.facts)["custody"]: row.words.text for row in rows.select_related("words")}
    found = list(hold.custody.all())
    for each in found:
        each.people = json.loads(said[str(each.uid)] or "{}").get("people", "")
    return found


def evidence_of(item: Item, why: str, reference: str, found: str) -> dict[str, str]:
    """What was written down as an item was taken in, as its digest in the journal is made of."""
    return {"item": str(item.uid), "why": why, "reference": reference, "found": found}


def row_of(row: EvidenceCustody) -> dict[str, Any]:
    """A row of custody, as its digest in the journal is made of."""
    return {
        "uid": str(row.uid), "n": row.n, "where": row.where, "giver": row.giver, "holder": row.holder,
        "intact": row.intact, "broken": row.broken, "why": row.why,
        "done_at": _instant(row.done_at), "at": _instant(row.at), "by": str(row.by.uid),
    }  # fmt: skip


def _instant(value: datetime | None) -> str | None:
    return value.astimezone(UTC).isoformat() if value else None


def gather(hold: Hold) -> tuple[dict[str, Any], list[Photograph], list[UUID]]:
    """The whole record of a hold: itself, its photographs, and the closed records of its item by their uids."""
    hold = holds().get(pk=hold.pk)
    item, house = hold.item, workshop()
    assert item is not None
    pictures = list(photographs([f"evidence:{hold.uid}", *own_subjects(item)]).order_by("pk"))
    sign_offs = list(
        SignOff.objects.filter(round__job__in=of_item(item)).select_related("twin").order_by("pk")
    )
    journal = [_entry(row) for row in history(subjects_of("item", item)).order_by("subject", "n")]
    record = {
        "format": FORMAT,
        "what": "evidence",
        "workshop": house.name if house else "",
        "taken_out_at": _instant(now()),
        "shows": list(SHOWS),
        "hold": _told(hold, item),
        "custody": [row_of(row) for row in hold.custody.all()],
        "photographs": [
            {"uid": str(row.uid), "of": row.subject, "words": row.words, "at": _instant(row.at), "by": row.by,
             "sha256": row.file.sha256}
            for row in pictures
        ],
        "item": _item(item),
        "records": [{"uid": str(row.uid), "outcome": row.outcome, "sha256": row.closed.digest} for row in sign_offs],
        "people": _people(journal),
        "journal": journal,
    }  # fmt: skip
    return record, pictures, [row.uid for row in sign_offs]


def _told(hold: Hold, item: Item) -> dict[str, Any]:
    taken = hold.evidence
    return {
        "uid": str(hold.uid),
        "evidence": evidence_of(item, hold.why, taken.reference, taken.found),
        "at": _instant(hold.at),
        "by": str(hold.by.uid),
        "lifted_at": _instant(hold.lifted_at),
        "lifted_by": str(hold.lifted_by.uid) if hold.lifted_by else None,
        "lifted_second": str(hold.lifted_second.uid) if hold.lifted_second else None,
        "lifted_why": hold.lifted_why,
    }


def _item(item: Item) -> dict[str, Any]:
    """What the item's record was as it is taken out; all that was ever done stands in the journal's rows."""
    jobs = of_item(item).prefetch_related("rounds").order_by("pk")
    return {
        "uid": str(item.uid),
        "number": item.label,
        "title": item.title,
        "owner": item.owner.label,
        "standing": item.standing,
        "marks": [
            {"kind": mark.kind, "value": mark.value, "state": mark.state} for mark in item.identifiers.all()
        ],
        "jobs": [
            {"uid": str(job.uid), "number": job.number, "leg": job.leg,
             "rounds": [{"n": row.n, "outcome": row.outcome} for row in job.rounds.all()]}
            for job in jobs
        ],
    }  # fmt: skip


def _entry(row: Entry) -> dict[str, Any]:
    """A row of the journal with all that its hash is over; words that were erased are left out."""
    words = getattr(row, "words", None)
    return {
        "subject": row.subject, "n": row.n, "at": row.at.astimezone(UTC).isoformat(), "by": row.by,
        "verb": row.verb, "facts": row.facts, "digest": row.digest, "previous": row.previous, "hash": row.hash,
        "words": {"salt": words.salt, "text": words.text} if words and words.text else None,
    }  # fmt: skip


def _people(journal: Sequence[dict[str, Any]]) -> dict[str, str]:
    """The names of those who acted, by their uids."""
    uids = {row["by"] for row in journal if len(row["by"]) == 36}
    return {str(row.uid): row.name for row in Person.objects.filter(uid__in=uids)}


def faults_of(file: Path, keys: Mapping[str, str]) -> list[str]:
    """Every fault of an archive, looked at with the public keys of its workshop; raises Refused where it is none of theirs."""
    try:
        with zipfile.ZipFile(file) as archive:
            held = {
                each.filename: archive.read(each)
                for each in archive.infolist()
                if each.file_size <= MOST_READ
            }
        record = checked(held.pop("evidence.json"), keys).record
        pictures = {name[12:-4]: raw for name, raw in held.items() if name.startswith("photographs/")}
        closed = {
            name[8:-5]: canonical_json(json.loads(raw)["record"])
            for name, raw in held.items()
            if name.startswith("records/")
        }
        return proof_faults(record, pictures, closed)
    except (zipfile.BadZipFile, ValueError, KeyError, TypeError, AttributeError):
        raise Refused([Refusal("no-evidence", "It is no whole archive of evidence.", "file")]) from None
