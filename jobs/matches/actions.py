"""Answer for what notices match, ask for answers, write to owners."""

from collections.abc import Sequence
from time import monotonic

from django.db import transaction

from jobs.flow.models import Job
from jobs.flow.reads import of_item
from jobs.flow.rules import ENDED, Leg, Outcome
from jobs.matches.models import Answer, Writing
from jobs.matches.reads import newest, open_matches, owners_waiting, waiting_of
from jobs.matches.rules import Asked, Became, answer_refusals, named
from jobs.safety.actions import look_at_items
from jobs.safety.models import Look, Match, Notice
from jobs.safety.reads import notices
from shop.customers.models import Customer
from shop.gear.models import Item
from shop.journal.actions import Deed, write, write_all
from shop.post.actions import write_letters
from shop.post.rules import Purpose
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.stock.models import Lot, Part
from shop.wording.reads import letters
from shop.wording.rules import Key
from shop.workshop.reads import now
from shop.workshop.rules import Refusal, refuse

LETTERS = 100  # letters written in one transaction


def asked_again(*, item: Item, serviced: bool) -> list[Refusal]:
    """The notices that an item must not pass, looked at anew: the search may not have come to it yet."""
    look_at_items(items=[item])
    return open_matches(item, serviced=serviced)


def write_to_owners(*, by: Person, notice: Notice) -> Notice:
    """Have one letter written to each owner of gear that waits for an answer; who had one gets no second."""
    require(by, Can.KEEP_NOTICES)
    with transaction.atomic():
        row = Look.objects.select_for_update(of=("self",)).get(notice=notice)
        notice = notices().get(pk=notice.pk)
        found = [Refusal("withdrawn", "This notice was withdrawn.")] if notice.withdrawn else []
        if row.done_at is None:
            found.append(Refusal("not-looked-through", "The items are not looked through yet."))
        refuse(found)
        Writing.objects.update_or_create(notice=notice, defaults={"wanted": True, "written": 0})
        write(subject=notice.subject, by=str(by.uid), verb="letters asked for")
    return notices().get(pk=notice.pk)


def write_on(writing: Writing, *, seconds: float = 1e9) -> None:
    """Go on with the letters of a notice for about so many seconds; the worker calls it, also twice at once."""
    until = monotonic() + seconds
    while _wrote_some(writing) and monotonic() < until:
        pass


def _wrote_some(writing: Writing) -> bool:
    """The letters to some owners; True while there may be more."""
    with transaction.atomic():
        row = Writing.objects.select_for_update(of=("self",)).get(pk=writing.pk)
        notice = notices().get(pk=row.notice_id)
        if not row.wanted:
            return False
        keys = [] if notice.withdrawn else owners_waiting(notice, row.written)[:LETTERS]
        _write(notice, list(Customer.objects.select_for_update().filter(pk__in=keys).order_by("pk")))
        row.wanted, row.written = bool(keys), keys[-1] if keys else 0
        row.save(update_fields=["wanted", "written"])
    return row.wanted


def _write(notice: Notice, owners: Sequence[Customer]) -> None:
    """One letter to each of some owners, locked, who had none about this notice."""
    told, here = dict[int, dict[str, str]](), dict[int, list[str]]()
    language = {owner.pk: owner.language for owner in owners}
    for row in waiting_of(notice, [owner.pk for owner in owners]):
        item = row.item.kept
        name = f"{item.title_in(language[item.owner_id])}, {row.item.marks} ({item.label})"
        told.setdefault(item.owner_id, {})[name] = row.how
        if row.here:
            here.setdefault(item.owner_id, []).append(name)
    reached = [owner for owner in owners if owner.pk in told]
    about = {"notice": f"{notice.title} ({notice.source})", "words": notice.words}
    drafts = letters(
        Key.NOTICE,
        Purpose.SAFETY,
        [
            (
                owner,
                notice.run,
                about
                | {
                    "items": [named(*each) for each in told[owner.pk].items()],
                    "here": here.get(owner.pk, []),
                },
            )
            for owner in reached
        ],
    )
    written = [(owner, row) for owner, row in zip(reached, write_letters(drafts=drafts), strict=True) if row]
    facts = {"notice": str(notice.uid)}
    write_all(
        deeds=[
            Deed(f"customer:{owner.uid}", "system", "safety letter written", facts | {"letter": str(row.uid)})
            for owner, row in written
        ]
    )


def answer_match(
    *,
    by: Person,
    match: Match,
    became: str,
    words: str,
    job: Job | None = None,
    corrects: Answer | None = None,
) -> Answer:
    """Say what became of a match; a later answer names the one that it corrects, and both are kept."""
    require(by, Can.ANSWER_NOTICE)
    with transaction.atomic():
        chain = _lock_thing(match)
        match = Match.objects.select_related("item__merged_into", "lot__part", "notice").get(pk=match.pk)
        refuse(answer_refusals(became, _asked(by, match, job, corrects)))
        row = Answer.objects.create(
            match=match, became=became, job=job, words=words, corrects=corrects, at=now(), by=by
        )
        facts = {"notice": str(match.notice.uid), "became": became, "job": str(job.uid) if job else ""}
        facts |= {"answer": str(row.uid), "corrects": str(corrects.uid) if corrects else ""}
        write(subject=chain, by=str(by.uid), verb="notice answered", facts=facts, words={"words": words})
    return row


def _lock_thing(match: Match) -> str:
    """Lock what a match is of, in everybody's order; the chain that is written."""
    if match.item_id is not None:
        item = Item.objects.select_for_update(of=("self",)).get(notices=match)
        return f"item:{item.uid}"
    part = Part.objects.select_for_update().get(lots__notices=match)
    Lot.objects.select_for_update(of=("self",)).get(notices=match)
    return f"part:{part.uid}"


def _asked(by: Person, match: Match, job: Job | None, corrects: Answer | None) -> Asked:
    stands = newest(match)
    fresh = (stands.pk if stands else None) == (corrects.pk if corrects else None)
    works = by.may(Can.WORK)
    if match.lot:
        left = match.lot.on_hand
        checks = works or by.may(Can.KEEP_STOCK)
        return Asked(
            lot=True, left=left, here=f"{left} on hand", fresh=fresh, checks=checks, job=job is not None
        )
    assert match.item is not None
    own = of_item(match.item)
    here = own.exclude(leg__in=ENDED).first()
    return Asked(
        lot=False,
        left=1 if here else 0,
        here=f"tray {here.number}" if here else "",
        fresh=fresh,
        checks=works,
        job=job is not None,
        its_own=job is not None and own.filter(pk=job.pk).exists(),
        done=job is not None and _done(job),
    )


def _done(job: Job) -> bool:
    """Whether a job has come to its tests, or was closed as serviced."""
    return job.leg == Leg.TESTING or job.outcome == Outcome.SERVICED


def told_owner(*, by: Person, notice: Notice, customer: Customer, words: str) -> list[Answer]:
    """Say that an owner was told of all of their gear that a notice matches and nobody has answered for."""
    require(by, Can.ANSWER_NOTICE)
    with transaction.atomic():
        keys = [row.item_id for row in waiting_of(notice, [customer.pk])]
        locked = Item.objects.select_for_update(of=("self",)).filter(pk__in=keys)
        items = {row.pk: row for row in locked.order_by("number")}
        rows = [row for row in waiting_of(notice, [customer.pk]) if row.item_id in items]
        if not rows:
            said = "Nothing of theirs waits for an answer; somebody may have told them just now."
            refuse([Refusal("answered-before", said)])
        made = [Answer(match=row, became=Became.TOLD, words=words, at=now(), by=by) for row in rows]
        Answer.objects.bulk_create(made)
        facts = {"notice": str(notice.uid), "became": Became.TOLD.value}
        write_all(
            deeds=[
                Deed(
                    f"item:{items[row.item_id].uid}", str(by.uid), "notice answered", facts, {"words": words}
                )
                for row in rows
            ]
        )
    return made
