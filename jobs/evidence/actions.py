"""Keep gear as evidence, pass it on, photograph it, and take its whole record out."""

import zipfile
from datetime import datetime
from typing import IO, Any

from django.db import transaction

from jobs.evidence.models import Evidence, EvidenceCustody
from jobs.evidence.reads import evidence_of, gather, row_of
from jobs.evidence.rules import READ_ME, custody_refusals, seals_of
from jobs.flow.actions import hand_over, hold_evidence, locked_with_work
from jobs.flow.models import Hold
from jobs.flow.reads import lines_here
from jobs.flow.rules import HoldKind
from jobs.signoff.reads import signed_record
from shop.files.actions import keep_photograph
from shop.files.models import Photograph
from shop.files.reads import Picture, stored
from shop.gear.models import Item
from shop.journal.actions import write
from shop.journal.rules import canonical, sha256
from shop.signing.actions import signed
from shop.signing.rules import canonical_json, signed_file
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.workshop.reads import now
from shop.workshop.rules import Refusal, merged_refusals, refuse


def keep_as_evidence(
    *, by: Person, item: Item, why: str, giver: str, holder: str, where: str, seals: str = "",
    reference: str = "", found: str = "", people: str = "", done_at: datetime | None = None,
) -> Hold:  # fmt: skip
    """Keep an item as evidence, with or without a job: nothing is done to it until the hold is lifted."""
    require(by, Can.HOLD)
    with transaction.atomic():
        item = locked_with_work(item=item)
        refusals = merged_refusals(item)
        if Hold.objects.filter(item=item, kind=HoldKind.EVIDENCE, lifted_at=None).exists():
            refusals.append(Refusal("held-before", f"{item.label} is kept as evidence already."))
        refuse(refusals)
        told = {"digest": sha256(canonical(evidence_of(item, why, reference, found)))}
        words = {name: text for name, text in (("reference", reference), ("found", found)) if text}
        hold = hold_evidence(by=by, item=item, why=why, told=told, words=words)
        Evidence.objects.create(hold=hold, reference=reference, found=found)
        given = {"where": where, "giver": giver, "holder": holder, "why": ""}
        _passed(by, hold, given, seals_of(seals), [], people, done_at)
    return hold


def pass_evidence_on(
    *, by: Person, hold: Hold, where: str, giver: str, holder: str, intact: str = "", broken: str = "",
    why: str = "", people: str = "", done_at: datetime | None = None,
) -> EvidenceCustody:  # fmt: skip
    """Evidence passes on, here or to the authority; every seal on it is looked at. It is no hand-back: the hold stands."""
    require(by, Can.KEEP_CUSTODY)
    with transaction.atomic():
        hold = _locked(hold)
        given = {"where": where, "giver": giver, "holder": holder, "why": why}
        return _passed(by, hold, given, seals_of(intact), seals_of(broken), people, done_at)


def _locked(hold: Hold) -> Hold:
    """The hold, locked after its item and what the item stands in."""
    assert hold.item is not None
    locked_with_work(item=hold.item)
    return Hold.objects.select_for_update(of=("self",)).select_related("item").get(pk=hold.pk)


def _passed(
    by: Person, hold: Hold, given: dict[str, Any], intact: list[str], broken: list[str], people: str,
    done_at: datetime | None,
) -> EvidenceCustody:  # fmt: skip
    """One row of custody of a locked hold, with its journal entry; where a bag or job has the item, it goes along there."""
    last, instant = hold.custody.last(), now()
    when = done_at or instant
    refuse(
        custody_refusals(
            seals_of(last.intact) if last else [], intact, broken, given["why"],
            lifted=hold.lifted_at is not None, done_at=when, last_at=last.done_at if last else None, now=instant,
        )
    )  # fmt: skip
    row = EvidenceCustody.objects.create(
        hold=hold, n=last.n + 1 if last else 1, **given, intact=", ".join(intact), broken=", ".join(broken),
        done_at=when, at=instant, by=by,
    )  # fmt: skip
    item = hold.item
    assert item is not None
    told: dict[str, Any] = {
        "where": row.where,
        "holder": row.holder,
        "seal": row.intact[:60],
        "why": "kept as evidence",
    }
    for line in lines_here(item):
        hand_over(by=by, line=line, **told)
    facts: dict[str, Any] = {
        "hold": str(hold.uid),
        "custody": str(row.uid),
        "number": row.n,
        "where": row.where,
    }
    facts |= {"digest": sha256(canonical(row_of(row)))}
    words = {"handed over by": row.giver, "taken by": row.holder, "seals intact": row.intact}
    words |= {"seals broken or gone": row.broken, "why": row.why, "people": people}
    write(
        subject=f"item:{item.uid}", by=str(by.uid), verb="evidence passed on", facts=facts,
        words={name: text for name, text in words.items() if text},
    )  # fmt: skip
    return row


def photograph_evidence(*, by: Person, hold: Hold, photograph: Picture, words: str) -> Photograph:
    """Keep a photograph of evidence on the chain of its item."""
    require(by, Can.KEEP_CUSTODY)
    with transaction.atomic():
        hold = _locked(hold)
        assert hold.item is not None
        subject, chain = f"evidence:{hold.uid}", f"item:{hold.item.uid}"
        return keep_photograph(by=str(by.uid), subject=subject, chain=chain, picture=photograph, words=words)


def take_evidence_out(*, by: Person, hold: Hold, file: IO[bytes]) -> str:
    """Write the whole record of a hold into an archive, signed, with its journal's rows; its SHA-256. It is journalled."""
    require(by, Can.LIFT_EVIDENCE)
    with transaction.atomic():
        hold = _locked(hold)
        assert hold.item is not None
        record, photographs, sign_offs = gather(hold)
        text = canonical_json(record)
        key, signature = signed(by=by, text=text)
        with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
            archive.writestr("READ-ME.txt", READ_ME)
            archive.writestr(
                "evidence.json", signed_file(text, key=key.key, public=key.public, signature=signature)
            )
            for each in {row.file.sha256: row.file for row in photographs}.values():
                archive.writestr(f"photographs/{each.sha256}.jpg", stored(each))
            for uid in sign_offs:
                archive.writestr(f"records/{uid}.json", signed_record(uid))
        digest = sha256(text)
        facts = {"hold": str(hold.uid), "export": digest}
        write(subject=f"item:{hold.item.uid}", by=str(by.uid), verb="evidence taken out", facts=facts)
    return digest
