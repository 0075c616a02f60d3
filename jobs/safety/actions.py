"""Make and withdraw safety notices, find what they match, answer for each match, write to owners."""

from collections.abc import Collection, Mapping, Sequence
from datetime import date
from time import monotonic
from typing import Any

from django.db import connection, transaction
from django.db.models import Max, Q

from jobs.flow.models import Job
from jobs.flow.reads import of_item
from jobs.flow.rules import ENDED, Leg, Outcome
from jobs.safety.models import Answer, Look, Match, Notice, Withdrawal
from jobs.safety.reads import (
    few_marks,
    items_named,
    lots_named,
    newest,
    notices,
    open_matches,
    owners_waiting,
    standing,
    waiting_of,
)
from jobs.safety.rules import (
    SUBJECT_LINE,
    Asked,
    Became,
    Dates,
    How,
    answer_refusals,
    letter,
)
from jobs.tray.reads import fitted_from
from shop.catalogue.models import Model
from shop.customers.models import Customer
from shop.gear.models import Item
from shop.journal.actions import Deed, write, write_all
from shop.post.actions import Draft, write_letters
from shop.post.rules import Purpose
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.stock.models import Lot, Part
from shop.workshop.reads import columns, now, workshop
from shop.workshop.rules import Refusal, refuse

CHUNK = 20_000  # keys of items looked through in one transaction
FEW = 50_000  # all of them at once where no more than so many can match
LETTERS = 100  # letters written in one transaction


def make_notice(
    *,
    by: Person,
    title: str,
    source: str,
    words: str = "",
    gear_models: Sequence[Model] = (),
    ranges: Sequence[str] = (),
    lots: Sequence[dict[str, str]] = (),
    dates: str = "",
    from_day: date | None = None,
    to_day: date | None = None,
) -> Notice:
    """Make a notice: the lots that it names are blocked at once, the items are looked through by the worker."""
    require(by, Can.KEEP_NOTICES)
    given: dict[str, Any] = {"title": title, "source": source, "words": words, "ranges": list(ranges)}
    given |= {"dates": dates, "from_day": from_day, "to_day": to_day, "lots": list(lots)}
    about_items = bool(gear_models or ranges or (dates == Dates.HERE and not lots))
    return _made(by, list(gear_models), given | {"about_items": about_items})


def notice_of_lot(*, by: Person, lot: Lot, title: str, source: str, words: str = "") -> Notice:
    """Make a notice that names one lot of the store."""
    require(by, Can.KEEP_STOCK)
    given: dict[str, Any] = {"title": title, "source": source, "words": words, "ranges": []}
    given |= {"lots": [{"part": lot.part.number, "lot": lot.number}], "about_items": False}
    return _made(by, [], given, lot)


def _made(by: Person, models: list[Model], given: dict[str, Any], lot: Lot | None = None) -> Notice:
    with transaction.atomic():
        numbers = {each["part"] for each in given["lots"]}
        # Whoever receives or takes holds one of these: what they do is seen here, or they see the notice.
        named = Part.objects.filter(Q(number__in=numbers) | Q(in_kits__kit__number__in=numbers))
        parts = list(Part.objects.select_for_update().filter(pk__in=named.values("pk")).order_by("pk"))
        missing = numbers - {part.number for part in parts}
        refuse(Refusal("no-such-part", f"The store has no part {each}.", "lots") for each in sorted(missing))
        last = Item.objects.aggregate(last=Max("pk"))["last"] or 0
        notice = Notice.objects.create(**given, at=now(), by=by)
        notice.gear_models.set(models)
        Look.objects.create(notice=notice, last=last)
        rows = Lot.objects.select_for_update(of=("self",)).filter(part__in=parts).select_related("part")
        lots = list(rows.order_by("pk"))
        found = lots_named(notice, lots) | (_itself(lot, lots) if lot else {})
        _matched(notice, lot=found)
        facts = {
            "lots": len(found),
            "models": [str(model.uid) for model in models],
            "ranges": given["ranges"],
        }
        facts |= {"named lots": given["lots"], "lot": str(lot.uid) if lot else ""}
        told = {"title": given["title"], "source": given["source"]}
        write(subject=notice.subject, by=str(by.uid), verb="notice made", facts=facts, words=told)
    return notices().get(pk=notice.pk)


def _itself(lot: Lot, lots: Sequence[Lot]) -> dict[int, How]:
    """A lot, whatever its number reads as, and what came out of its kits under that number."""
    return {each.pk: How.NAMED for each in lots if each.number == lot.number}


def _matched(notice: Notice, **found: Mapping[int, How]) -> None:
    """Keep lots or items, by key, that match; what is known already stays as it was found first."""
    rows = [
        Match(notice=notice, how=how, at=now(), **{f"{name}_id": pk})
        for name, each in found.items()
        for pk, how in each.items()
    ]
    Match.objects.bulk_create(rows, ignore_conflicts=True)


def _look(notice: Notice, which: str, *given: Any) -> None:
    """Keep what a notice matches of the items that a condition names; the database writes what it finds, maybe all of them."""
    at = connection.ops.adapt_datetimefield_value(now())
    uid = "lower(hex(randomblob(16)))" if connection.vendor == "sqlite" else "gen_random_uuid()"
    for found in items_named(notice, which, *given):
        sql = f"""
        INSERT INTO safety_match (uid, notice_id, item_id, how, at)
        SELECT {uid}, %s, found.id, %s, %s FROM ({found.sql}) found WHERE TRUE ON CONFLICT DO NOTHING RETURNING id
        """  # noqa: S608 - all of it is written here
        columns(sql, notice.pk, found.how.value, at, *found.given)


def look_at_items(*, items: Collection[Item]) -> None:
    """Hold items that were added, changed or brought in against every notice that stands, in the caller's transaction."""
    keys = [item.pk for item in items]
    for notice in standing().filter(about_items=True).prefetch_related("gear_models") if keys else ():
        _look(notice, "{key} = ANY(%s)", keys)


def look_at_lot(*, lot: Lot) -> None:
    """Hold a lot that was received against every notice that stands, in the caller's transaction."""
    for notice in standing().exclude(lots=[]):
        _matched(notice, lot=lots_named(notice, [lot]))


def asked_again(*, job: Job, serviced: bool) -> list[Refusal]:
    """The notices that the gear of a locked job must not pass, looked at anew: the search may not have come to it yet."""
    look_at_items(items=[job.item.kept])
    return open_matches(job, serviced=serviced)


def go_on(look: Look, *, seconds: float = 1e9) -> Look:
    """Go on with looking through the items for a notice, and with its letters, for about so many seconds.

    The worker calls it, also twice at once: each piece is one transaction that locks the row first, and what was found
    is found once.
    """
    until = monotonic() + seconds
    while _looked_on(look) and monotonic() < until:
        pass
    while _wrote_on(look) and monotonic() < until:
        pass
    return Look.objects.get(pk=look.pk)


def _locked(look: Look) -> tuple[Look, Notice]:
    row = Look.objects.select_for_update(of=("self",)).get(pk=look.pk)
    return row, notices().get(pk=row.notice_id)


def _looked_on(look: Look) -> bool:
    """One piece of the items; True while there are more."""
    with transaction.atomic():
        row, notice = _locked(look)
        if row.done_at or notice.withdrawn:
            return False
        end = row.last if few_marks(notice, FEW) else min(row.passed + CHUNK, row.last)
        _look(notice, "{key} > %s AND {key} <= %s", row.passed, end)
        row.passed = end
        if end == row.last:
            _matched(notice, item=_fitted(notice))
            row.done_at = now()
            facts = {"items": notice.matches.exclude(item=None).count()}
            write(subject=notice.subject, by="system", verb="notice matched", facts=facts)
        row.save(update_fields=["passed", "done_at"])
    return row.done_at is None


def _fitted(notice: Notice) -> dict[int, How]:
    """The items into which pieces of its lots went."""
    rows = Lot.objects.filter(notices__notice=notice).order_by("pk")
    fitted = [
        part for lot in rows for part in fitted_from(lot).select_related("round__job__item__merged_into")
    ]
    items = {part.round.job.item.kept.pk for part in fitted}
    return dict.fromkeys(sorted(items), How.FITTED)


def write_to_owners(*, by: Person, notice: Notice) -> Notice:
    """Have one letter written to each owner of gear that waits for an answer; who had one gets no second."""
    require(by, Can.KEEP_NOTICES)
    with transaction.atomic():
        row = Look.objects.select_for_update(of=("self",)).get(notice=notice)
        found = [Refusal("withdrawn", "This notice was withdrawn.")] if _withdrawn(notice) else []
        if row.done_at is None:
            found.append(Refusal("not-looked-through", "The items are not looked through yet."))
        refuse(found)
        row.writing, row.written = True, 0
        row.save(update_fields=["writing", "written"])
        write(subject=notice.subject, by=str(by.uid), verb="letters asked for")
    return notices().get(pk=notice.pk)


def _withdrawn(notice: Notice) -> bool:
    return Withdrawal.objects.filter(notice=notice).exists()


def _wrote_on(look: Look) -> bool:
    """The letters to some owners; True while there may be more."""
    with transaction.atomic():
        row, notice = _locked(look)
        if not row.writing:
            return False
        keys = [] if notice.withdrawn else owners_waiting(notice, row.written)[:LETTERS]
        _write(notice, list(Customer.objects.select_for_update().filter(pk__in=keys).order_by("pk")))
        row.writing, row.written = bool(keys), keys[-1] if keys else 0
        row.save(update_fields=["writing", "written"])
    return row.writing


def _write(notice: Notice, owners: Sequence[Customer]) -> None:
    """One letter to each of some owners, locked, who had none about this notice."""
    house, told = workshop(), dict[int, dict[str, str]]()
    for row in waiting_of(notice, [owner.pk for owner in owners]):
        item = row.item.kept
        told.setdefault(item.owner_id, {})[f"{item.title}, {row.item.marks} ({item.label})"] = row.how
    text: dict[str, Any] = {"title": notice.title, "source": notice.source, "words": notice.words}
    reached = [owner for owner in owners if owner.pk in told]
    drafts = [
        Draft(
            recipient=str(owner.uid),
            address=owner.email,
            purpose=Purpose.SAFETY,
            run=notice.run,
            subject=SUBJECT_LINE,
            text=letter(owner.name, house.foot if house else "", items=told[owner.pk].items(), **text),
        )
        for owner in reached
    ]
    letters = [(owner, row) for owner, row in zip(reached, write_letters(drafts=drafts), strict=True) if row]
    facts = {"notice": str(notice.uid)}
    write_all(
        deeds=[
            Deed(f"customer:{owner.uid}", "system", "safety letter written", facts | {"letter": str(row.uid)})
            for owner, row in letters
        ]
    )


def withdraw_notice(*, by: Person, notice: Notice, reason: str) -> Notice:
    """Withdraw a notice: it stops nothing any more, what it matched and what was answered stays."""
    require(by, Can.KEEP_NOTICES)
    with transaction.atomic():
        Look.objects.select_for_update(of=("self",)).get(notice=notice)
        if _withdrawn(notice):
            refuse([Refusal("withdrawn", "This notice was withdrawn.")])
        Withdrawal.objects.create(notice=notice, reason=reason, at=now(), by=by)
        words = {"reason": reason}
        write(subject=notice.subject, by=str(by.uid), verb="notice withdrawn", words=words)
    return notices().get(pk=notice.pk)


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
