"""Start, restart and reckon clocks."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from uuid import uuid4

from django.db import transaction

from shop.clocks.models import Clock, Restart, TakenBack, Tally
from shop.clocks.reads import Reckoned, all_reckoned, concerned, counts_of, reckoned, untouched
from shop.clocks.rules import Counted, Decision, elsewhere_refusals, tally_refusals
from shop.files.actions import keep_document, keep_photograph
from shop.files.reads import Picture
from shop.gear.models import Item
from shop.intervals.actions import follow, locked, put_in_force, withdraw
from shop.intervals.models import Interval
from shop.intervals.reads import in_force
from shop.journal.actions import write
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.workshop.reads import now, today
from shop.workshop.rules import Refusal, merged_refusals, refuse

RECKONED = ["due", "unknown", "grace", "interval", "moved"]


def reckon_items(*, items: list[Item], rows: list[Interval] | None = None) -> int:
    """Reckon every clock of items that the caller has locked, and set going what rules ask for; how many dates moved."""
    asked = in_force() if rows is None else rows
    found = [each for each in all_reckoned(items, asked) if each.clock.pk is None or each.differs]
    for each in found:
        _take(each)
    Clock.objects.bulk_create([each.clock for each in found if each.clock.pk is None])
    Clock.objects.bulk_update([each.clock for each in found if each.clock.pk is not None], RECKONED)
    return len(found)


def _take(found: Reckoned) -> Clock:
    """The clock with the day that was reckoned."""
    clock = found.clock
    clock.moved += found.moves
    clock.due, clock.unknown, clock.grace = found.due.day, found.due.unknown, found.due.grace
    clock.interval = found.interval
    return clock


def set_going(*, by: Person, item: Item, key: str, title: str, months: int | None) -> Clock:
    """The clock of a key of an item that the caller has locked; a new one has no history and counts as due."""
    clock, made = Clock.objects.get_or_create(item=item, key=key, defaults={"title": title, "months": months})
    if made or (months and clock.months is None):
        clock.title, clock.months = title, months
        _take(reckoned(clock, item, in_force(), counts_of([item.pk]).get(item.pk, []))).save()
        facts = {"clock": str(clock.uid), "key": key, "months": months}
        write(subject=f"item:{item.uid}", by=str(by.uid), verb="clock set going", facts=facts)
    return clock


def restart(
    *, by: Person, clock: Clock, months: int | None, day: date, cause: str, elsewhere: str = ""
) -> Clock:
    """Restart a clock from the day of the service that satisfied it, once per cause."""
    if not transaction.get_connection().in_atomic_block:
        raise RuntimeError("A clock is restarted in the transaction of the action only.")
    item = Item.objects.select_for_update(of=("self",)).select_related("model").get(pk=clock.item_id)
    clock = Clock.objects.select_for_update().get(pk=clock.pk)
    before = (clock.anchor, clock.due, clock.months)
    clock.anchor, clock.months = max(filter(None, [clock.anchor, day])), months
    _take(reckoned(clock, item, in_force(), counts_of([item.pk]).get(item.pk, [])))
    _restarted(clock, cause, day, before, by=str(by.uid), elsewhere=elsewhere).save()
    clock.save()
    facts = {"clock": str(clock.uid), "cause": cause, "anchor": str(day), "due": str(clock.due or "")}
    write(subject=f"item:{item.uid}", by=str(by.uid), verb="clock restarted", facts=facts)
    return clock


def _restarted(
    clock: Clock,
    cause: str,
    day: date,
    before: tuple[date | None, date | None, int | None],
    *,
    by: str,
    elsewhere: str = "",
) -> Restart:
    anchor, due, months = before
    return Restart(
        clock=clock, cause=cause, elsewhere=elsewhere, anchor=day, due=clock.due, before_anchor=anchor,
        before_due=due, before_months=months, at=now(), by=by,
    )  # fmt: skip


def done_elsewhere(
    *, by: Person, clock: Clock, day: date, elsewhere: str, photograph: Picture | None, document: bytes | None
) -> Clock:
    """Others did it on a day, and their proof is kept: the clock runs from then."""
    require(by, Can.KEEP_GEAR)
    with transaction.atomic():
        item = Item.objects.select_for_update().get(pk=clock.item_id)
        clock = Clock.objects.select_for_update().get(pk=clock.pk)
        found = [*merged_refusals(item), *elsewhere_refusals(day, today(), clock.anchor)]
        if photograph is None and document is None:
            found.append(Refusal("no-proof", "Attach a photograph or a PDF of the proof.", "photograph"))
        refuse(found)
        cause, chain = f"elsewhere:{uuid4()}", f"item:{item.uid}"
        clock = restart(by=by, clock=clock, months=clock.months, day=day, cause=cause, elsewhere=elsewhere)
        if photograph is not None:
            words = f"Proof: {clock.title} elsewhere"
            keep_photograph(by=str(by.uid), subject=cause, chain=chain, picture=photograph, words=words)
        if document is not None:
            keep_document(by=str(by.uid), subject=cause, chain=chain, pdf=document)
    return clock


def take_back_elsewhere(*, by: Person, clock: Clock) -> Clock:
    """The newest entry of what others did to satisfy a clock was wrong."""
    require(by, Can.KEEP_GEAR)
    with transaction.atomic():
        item = Item.objects.select_for_update().get(pk=clock.item_id)
        rows = Restart.objects.filter(clock=clock, taken_back=None).exclude(elsewhere="")
        newest = rows.order_by("-pk").first()
        if newest is None:
            refuse([Refusal("nothing-elsewhere", "Nothing is on record that others did.")])
        assert newest is not None
        take_back(by=by, item=item, cause=newest.cause)
    return Clock.objects.get(pk=clock.pk)


def tally(*, by: Person, item: Item, unit: str, day: date, total: int) -> Tally:
    """Write down how many dives or hours an item has made in all by a day."""
    require(by, Can.KEEP_GEAR)
    with transaction.atomic():
        item = Item.objects.select_for_update(of=("self",)).select_related("model").get(pk=item.pk)
        asked, known = Counted(unit, day, total), counts_of([item.pk]).get(item.pk, [])
        refuse([*merged_refusals(item), *tally_refusals(asked, today(), known)])
        row = Tally.objects.create(item=item, unit=unit, day=day, total=total, at=now(), by=str(by.uid))
        reckon_items(items=[item])
        facts = {"unit": unit, "day": str(day), "total": total}
        write(subject=f"item:{item.uid}", by=str(by.uid), verb="counted", facts=facts)
    return row


def decide(*, by: Person, interval: Interval, what: str, seen: int) -> Interval:
    """Put a rule in force, withdraw it, follow its place or no more; every date that this moves is moved with it."""
    require(by, Can.KEEP_PLANS)
    with transaction.atomic():
        row, before = locked(interval, seen), in_force()
        if what == Decision.FORCE:
            put_in_force(by=by, row=row)
        elif what == Decision.WITHDRAW:
            withdraw(by=by, row=row)
        else:
            follow(by=by, place=row.place, follows=what == Decision.FOLLOW)
        later, moved = in_force(), 0
        for items in concerned(before, later):
            list(
                Item.objects.select_for_update().filter(pk__in=[each.pk for each in items]).order_by("number")
            )
            moved += reckon_items(items=items, rows=later)
        facts = {"decided": what, "clocks": moved}
        write(subject=f"interval:{row.uid}", by=str(by.uid), verb="dates moved", facts=facts)
    return row


@dataclass(frozen=True)
class Past:
    """A service of long ago that nobody did here: the item, the clock it satisfied, its day."""

    item_id: int
    key: str
    title: str
    months: int
    day: date
    cause: str


def restart_past(*, by: str, services: list[Past]) -> list[Restart | None]:
    """Restart clocks by services of the past, in this order; None where the clock knows of a later one already.

    The caller has locked the items and writes one entry into the journal for all of them.
    """
    clocks, rows = _clocks_of(services), in_force()
    items = Item.objects.select_related("model").in_bulk({past.item_id for past in services})
    counted = counts_of(items)
    made: list[Restart | None] = []
    for past in services:
        clock = clocks[past.item_id, past.key]
        if clock.anchor is not None and clock.anchor > past.day:
            made.append(None)
            continue
        before = (clock.anchor, clock.due, clock.months)
        clock.anchor, clock.months = past.day, past.months
        _take(reckoned(clock, items[past.item_id], rows, counted.get(past.item_id, [])))
        made.append(_restarted(clock, past.cause, past.day, before, by=by))
    Restart.objects.bulk_create([row for row in made if row])
    Clock.objects.bulk_update(clocks.values(), ["anchor", "months", *RECKONED])
    return made


def _clocks_of(services: list[Past]) -> dict[tuple[int, str], Clock]:
    """The clocks of services, locked; those that there were not are set going without history."""
    wanted = {(past.item_id, past.key): past for past in services}
    items = {item for item, _ in wanted}
    there = set(Clock.objects.filter(item__in=items).values_list("item_id", "key"))
    fresh = [
        Clock(item_id=past.item_id, key=past.key, title=past.title, months=past.months)
        for pair, past in wanted.items()
        if pair not in there
    ]
    Clock.objects.bulk_create(fresh)
    rows = Clock.objects.select_for_update().filter(item__in=items).order_by("pk")
    return {(row.item_id, row.key): row for row in rows if (row.item_id, row.key) in wanted}


def take_back_fresh(*, items: list[Item]) -> None:
    """Take away the clocks that rules set going for items which are taken back, as the caller made sure they may be."""
    untouched().filter(item__in=items).delete()


def take_back_past(*, by: str, restarts: list[Restart]) -> None:
    """Take these restarts back, the newest first."""
    TakenBack.objects.bulk_create([TakenBack(restart=row, at=now(), by=by) for row in restarts])
    _put_back(sorted(restarts, key=lambda each: -each.pk))


def take_back(*, by: Person, item: Item, cause: str) -> None:
    """Take back what a cause restarted, unless a later restart stands; the caller has locked the item."""
    rows = list(Restart.objects.filter(clock__item=item, cause=cause, taken_back__isnull=True).order_by("pk"))
    for row in rows:
        TakenBack.objects.create(restart=row, at=now(), by=str(by.uid))
    for clock in _put_back(rows):
        facts = {"clock": str(clock.uid), "cause": cause, "due": str(clock.due or "")}
        write(subject=f"item:{item.uid}", by=str(by.uid), verb="clock taken back", facts=facts)


def _put_back(taken: Iterable[Restart]) -> list[Clock]:
    """The clocks of restarts that were taken back count from what still stands, or from what was before the first."""
    taken = list(taken)
    clocks = Clock.objects.select_for_update().in_bulk({row.clock_id for row in taken})
    stand: dict[int, list[Restart]] = {}
    first: dict[int, Restart] = {}
    for row in Restart.objects.filter(clock__in=clocks).select_related("taken_back").order_by("pk"):
        first.setdefault(row.clock_id, row)
        if not hasattr(row, "taken_back"):
            stand.setdefault(row.clock_id, []).append(row)
    for row in taken:
        clock, rest = clocks[row.clock_id], stand.get(row.clock_id, [])
        if all(each.pk < row.pk for each in rest):
            clock.months = row.before_months
        clock.anchor = max((each.anchor for each in rest), default=first[clock.pk].before_anchor)
    Clock.objects.bulk_update(clocks.values(), ["anchor", "months"])
    items = Item.objects.filter(pk__in={clock.item_id for clock in clocks.values()}).select_related("model")
    reckon_items(items=list(items))
    return list(Clock.objects.filter(pk__in=clocks).order_by("pk"))
