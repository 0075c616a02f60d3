"""Write down that somebody asks to be erased; erase them."""

import json
from collections.abc import Sequence
from datetime import date
from typing import Any

from django.conf import settings
from django.db import transaction
from django.db.models import F, Q
from django.utils.module_loading import import_string

from jobs.rights.models import Erasure
from jobs.rights.reads import gear_of, in_the_way, twins_of
from jobs.rights.rules import FOUND, WHY, asking_refusals, pseudonym, second_refusals
from jobs.signoff.models import SignOff, Twin
from jobs.whose.reads import (
    BLANK,
    keys_of,
    model_of,
    named,
    naming,
    naming_pictures,
    proofs_of,
    saying,
    texts_of,
    theirs,
    uids_of,
)
from jobs.whose.rules import ANYBODYS, HELD, needles
from shop.api.models import Answer
from shop.customers.models import Customer
from shop.files.actions import erase_bytes, unlink_gone
from shop.files.models import Photograph, Spot
from shop.gear.models import Item
from shop.gear.rules import mark_key
from shop.journal.actions import write
from shop.journal.models import Words
from shop.journal.rules import ERASED, sha256
from shop.links.actions import end_links
from shop.outbox.actions import forget_addresses, forget_letters, unlink_forgotten
from shop.search.actions import put_all
from shop.signing.actions import signed
from shop.signing.rules import canonical_json
from shop.staff.models import Person
from shop.staff.reads import require, secret_refusals
from shop.staff.rules import Can
from shop.workshop.reads import now, today
from shop.workshop.rules import Refusal, merged_refusals, refuse


def ask_erasure(*, by: Person, customer: Customer, reason: str, asked_on: date) -> Erasure:
    """Write down that a customer asks to be erased; they must have an answer within a month."""
    require(by, Can.ANSWER_FOR_RIGHTS)
    with transaction.atomic():
        customer = Customer.objects.select_for_update().get(pk=customer.pk)
        waiting = customer.erasures.filter(ended_at=None).exists()
        refuse([*merged_refusals(customer), *asking_refusals(asked_on, today(), waiting=waiting)])
        row = Erasure.objects.create(customer=customer, reason=reason, asked_on=asked_on, at=now(), by=by)
        facts = {"erasure": str(row.uid), "asked_on": str(asked_on), "until": str(row.deadline)}
        _journal(by, customer, "erasure asked for", facts, {"reason": reason})
    return row


def close_erasure(*, by: Person, erasure: Erasure, why: str) -> Erasure:
    """End a request without erasing, and say why: taken back, or the law asks for what is kept."""
    require(by, Can.ANSWER_FOR_RIGHTS)
    with transaction.atomic():
        erasure, customer = _locked(erasure)
        erasure.ended_at, erasure.ended_by, erasure.closed_why = now(), by, why
        erasure.save(update_fields=["ended_at", "ended_by", "closed_why"])
        _journal(by, customer, "erasure closed", {"erasure": str(erasure.uid)}, {"why": why})
    return erasure


def _journal(by: Person, customer: Customer, verb: str, facts: dict[str, Any], words: dict[str, str]) -> None:
    write(subject=f"customer:{customer.uid}", by=str(by.uid), verb=verb, facts=facts, words=words)


def _locked(erasure: Erasure) -> tuple[Erasure, Customer]:
    """An open request with its customer, and those merged into them, locked first."""
    rows = Customer.objects.select_for_update().filter(
        Q(pk=erasure.customer_id) | Q(merged_into=erasure.customer_id)
    )
    customer = {row.pk: row for row in rows.order_by("pk")}[erasure.customer_id]
    erasure = Erasure.objects.select_for_update().get(pk=erasure.pk)
    if erasure.ended_at is not None:
        refuse([Refusal("ended", f"This request is {erasure.state} already.")])
    return erasure, customer


def erase(
    *, by: Person, erasure: Erasure, second: Person | None = None, second_secret: str = "", also: str = ""
) -> Erasure:
    """Erase a customer, by two people: the safety record stays under their number, all else that is theirs goes.

    `also` has more texts that name them, one a line: kept texts in which one stands are erased whole.
    """
    require(by, Can.ANSWER_FOR_RIGHTS)
    with transaction.atomic():
        erasure, customer = _locked(erasure)
        keys = keys_of(customer)
        gear = Item.objects.filter(pk__in=gear_of(keys))
        # Nothing of it becomes evidence meanwhile.
        for rows in (theirs("flow.DropOff", keys), theirs("flow.Job", keys), gear):
            list(rows.order_by("pk").select_for_update(of=("self",)))
        # Nobody takes a letter of theirs meanwhile: whoever is about to finds it suppressed.
        list(named(keys).letters.select_for_update().values_list("pk"))
        found = [*in_the_way(customer), *second_refusals(by.pk, second.pk if second else None)]
        refuse([*found, *(secret_refusals(second, second_secret, "second_secret") if second else [])])
        texts = texts_of(keys, also)
        end_links(by=by, customer=customer)
        facts: dict[str, Any] = {"erasure": str(erasure.uid), "second": str(second.uid) if second else ""}
        facts |= _files_and_letters(keys)
        standing = theirs("bookings.Booking", keys).filter(cancelled_at=None, drop_off=None)
        facts["bookings"] = standing.update(cancelled_at=now(), version=F("version") + 1)
        facts["records"] = _records(by, keys, needles(texts))
        facts["texts"] = _columns(keys, texts)
        _words_and_answers(keys, texts)
        _pseudonyms(keys)
        erasure.ended_at, erasure.ended_by, erasure.second = now(), by, second
        erasure.save(update_fields=["ended_at", "ended_by", "second"])
        _found_again(keys)
        _journal(by, customer, "erased", facts, {})
    return Erasure.objects.get(pk=erasure.pk)


def _files_and_letters(keys: Sequence[int]) -> dict[str, Any]:
    """Photographs of what was brought and of gear, proofs of others, and letters; photographs of the work stay."""
    uids, found = uids_of(keys), named(keys)
    brought = [f"{kind}:{uid}" for kind in ("item", "line", "answer") for uid in uids[kind]] + proofs_of(keys)
    shown = list(found.photographs.filter(subject__in=brought).values_list("pk", flat=True))
    gone = erase_bytes(photographs=shown, documents=list(found.documents.values_list("pk", flat=True)))
    Photograph.objects.filter(pk__in=shown).exclude(words__in=BLANK).update(words=ERASED)
    Spot.objects.filter(photograph__in=shown).exclude(words__in=BLANK).update(words=ERASED)
    addresses = forget_addresses(rows=found.suppressed, of=keys)
    letters = sum(forget_letters(recipient=uid) for uid in uids["customer"])
    return {"files": gone, "letters": letters, "addresses": addresses}


def _records(by: Person, keys: Sequence[int], looked_for: Sequence[str]) -> int:
    """Closed records that name them, or show an owner's mark, get a twin without; how many."""
    count = 0
    for row, left in list(twins_of(keys, looked_for)):
        left["erased"] = {"twin_of": row.digest, "on": str(today()), "why": WHY}
        text = canonical_json(left)
        key, signature = signed(by=by, text=text)
        twin = Twin.objects.create(
            sign_off=row, record=text, digest=sha256(text), key=key, signature=signature, at=now()
        )
        SignOff.objects.filter(pk=row.pk).update(record=ERASED)
        facts = {"sign_off": str(row.uid), "record": row.digest, "twin": twin.digest}
        write(subject=f"job:{row.round.job.uid}", by=str(by.uid), verb="record erased", facts=facts)
        count += 1
    return count


def _columns(keys: Sequence[int], texts: Sequence[str]) -> int:
    """What each table of theirs holds, as the table of rules says; how many kept texts named them."""
    count = 0
    for label, column, pks in list(naming(keys, needles(texts))):
        count += model_of(label)._default_manager.filter(pk__in=pks).update(**{column: ERASED})
    for label, held in HELD.items():
        rows = theirs(label, keys)
        for column in held.emptied.split():
            rows.exclude(**{column: ""}).update(**{column: ""})
        only = dict([held.only]) if held.only else {}
        for column in held.erased.split():
            rows.filter(**only).exclude(**{f"{column}__in": BLANK}).update(**{column: ERASED})
    theirs("gear.Identifier", keys).filter(value=ERASED).update(key=mark_key(ERASED))
    for label, column in ANYBODYS:
        pks = saying(label, column, texts)
        model_of(label)._default_manager.filter(pk__in=pks).update(**{column: ERASED})
    return count + sum(rows.update(words=ERASED) for rows in naming_pictures(keys, needles(texts)))


def _words_and_answers(keys: Sequence[int], texts: Sequence[str]) -> None:
    """Words of the journal on their chains, and on others' where they are named; kept answers to requests of the day."""
    own = Words.objects.filter(entry__in=named(keys).entries.order_by().values("pk"))
    for rows in (own, Words.objects.filter(pk__in=saying("journal.Words", "text", texts))):
        rows.update(salt="", text="")
    uids = [uid for some in uids_of(keys).values() for uid in some]
    forms = {form for text in texts for form in (text, json.dumps(text)[1:-1])}
    kept = Answer.objects.exclude(body="").values_list("pk", "body")
    pks = [pk for pk, body in kept if any(each in body for each in (*uids, *forms))]
    # Without its digest the same key is told that it was used: it is neither answered as before nor done again.
    Answer.objects.filter(pk__in=pks).update(body="", digest="")


def _pseudonyms(keys: Sequence[int]) -> None:
    """The number stands for the name; nothing reaches them any more."""
    for row in Customer.objects.filter(pk__in=keys):
        Customer.objects.filter(pk=row.pk).update(
            name=pseudonym(row.label), reminders=False, erased_at=now(), version=F("version") + 1
        )


def _found_again(keys: Sequence[int]) -> None:
    """What the find box knows of anything of theirs is made anew."""
    uids = [uid for some in uids_of(keys).values() for uid in some]
    for name in settings.FINDABLE:
        rows, thing = import_string(name)()
        if rows.model._meta.label in FOUND:
            put_all(things=[thing(row) for row in rows.filter(uid__in=uids)])


def sweep() -> int:
    """Unlink files that were to go with somebody erased and are still there, after a crash; how many."""
    return unlink_gone() + unlink_forgotten()
