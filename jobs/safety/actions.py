"""Make and withdraw safety notices, and find what they match."""

from collections.abc import Collection, Mapping, Sequence
from datetime import date
from time import monotonic
from typing import Any

from django.db import connection, transaction
from django.db.models import Max, Q

from jobs.safety.models import Look, Match, Notice, Withdrawal
from jobs.safety.reads import (
    few_marks,
    items_named,
    lots_named,
    notices,
    standing,
)
from jobs.safety.rules import (
    Dates,
    How,
)
from jobs.tray.reads import fitted_from
from shop.catalogue.models import Model
from shop.gear.models import Item
from shop.journal.actions import write
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.stock.models import Lot, Part
from shop.workshop.reads import columns, now
from shop.workshop.rules import Refusal, refuse

CHUNK = 20_000  # keys of items looked through in one transaction

FEW = 50_000  # all of them at once where no more than so many can match


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


def go_on(look: Look, *, seconds: float = 1e9) -> Look:
    """Go on with looking through the items for a notice, for about so many seconds.

    The worker calls it, also twice at once: each piece is one transaction that locks the row first, and what was found
    is found once.
    """
    until = monotonic() + seconds
    while _looked_on(look) and monotonic() < until:
        pass
    return Look.objects.get(pk=look.pk)


def _looked_on(look: Look) -> bool:
    """One piece of the items; True while there are more."""
    with transaction.atomic():
        row = Look.objects.select_for_update(of=("self",)).get(pk=look.pk)
        notice = notices().get(pk=row.notice_id)
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


def withdraw_notice(*, by: Person, notice: Notice, reason: str) -> Notice:
    """Withdraw a notice: it stops nothing any more, what it matched and what was answered stays."""
    require(by, Can.KEEP_NOTICES)
    with transaction.atomic():
        Look.objects.select_for_update(of=("self",)).get(notice=notice)
        if Withdrawal.objects.filter(notice=notice).exists():
            refuse([Refusal("withdrawn", "This notice was withdrawn.")])
        Withdrawal.objects.create(notice=notice, reason=reason, at=now(), by=by)
        words = {"reason": reason}
        write(subject=notice.subject, by=str(by.uid), verb="notice withdrawn", words=words)
    return notices().get(pk=notice.pk)
