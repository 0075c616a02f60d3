"""Add parts, kits and bins; receive lots; take from them, put back, move, scrap and count; open kits.

A trigger adds each movement to what is on hand of the lot and of the lot in its bin; constraints keep both from going below zero.
"""

from collections.abc import Collection
from datetime import date
from typing import Any

from django.conf import settings
from django.db import transaction
from django.db.models import QuerySet
from django.utils.module_loading import import_string

from shop.gases.rules import Use, stated, statement_refusals
from shop.journal.actions import write
from shop.lives.rules import (
    LIFE_RULES,
    cure_refusals,
    last_good_day,
    life_refusals,
    quarter_end,
    soonest,
)
from shop.search.actions import put
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.stock.models import Bin, Content, Lot, Movement, Part, Stored
from shop.stock.reads import (
    bin_thing,
    lies_there,
    lot_thing,
    part_thing,
    why_not,
    why_not_extended,
    why_not_inside,
    why_not_moved,
    why_not_there,
    why_spoken_for,
    why_unknown_age,
)
from shop.stock.rules import (
    FIRST_BIN,
    FIRST_SITE,
    Verb,
    difference,
    effective_refusals,
    level_refusals,
    unit_refusals,
)
from shop.workshop.reads import now, today
from shop.workshop.rules import Refusal, Stale, refuse


def add_part(
    *,
    by: Person,
    number: str,
    name: str,
    unit: str,
    material: str,
    life_months: int | None,
    life_source: str,
    life_rule: str = "",
    maker: str = "",
) -> Part:
    """Add a part to the store; its life is that of a published rule, or one of the maker's or of our own with its source."""
    require(by, Can.KEEP_STOCK)
    rule = LIFE_RULES.get(life_rule)
    refuse(life_refusals(rule, material=material, life_months=life_months, life_source=life_source))
    if rule is not None:
        life_months, life_source = rule.months, rule.source
    with transaction.atomic():
        rest: dict[str, Any] = {"name": name, "unit": unit, "material": material, "life_months": life_months}
        rest |= {"life_source": life_source, "life_rule": life_rule, "maker": maker}
        row, made = Part.objects.get_or_create(number=number, defaults=rest)
        if not made:
            refuse([Refusal("number-taken", "Another part has this number.", "number")])
        put(thing=part_thing(row))
        write(subject=f"part:{row.uid}", by=str(by.uid), verb="added", facts={"number": number})
    return row


def change_part(
    *,
    by: Person,
    part: Part,
    seen: int,
    size: str,
    hardness: str,
    minimum: int | None,
    up_to: int | None,
    unit: str | None = None,
    name: str | None = None,
    maker: str | None = None,
) -> Part:
    """Say of a part, which the caller saw at version `seen`, its size, and at which level it is ordered.

    Unit, name and maker stay as they were where they are None.
    """
    require(by, Can.KEEP_STOCK)
    with transaction.atomic():
        row = Part.objects.select_for_update().get(pk=part.pk)
        if row.version != seen:
            raise Stale(row.version)
        counted = row.lots.exists() or row.in_kits.exists()
        refuse([*level_refusals(minimum, up_to), *unit_refusals(row.unit, unit, counted=counted)])
        before, row.name, row.unit = row.name, name or row.name, unit or row.unit
        row.maker = row.maker if maker is None else maker
        row.size, row.hardness, row.minimum, row.up_to = size, hardness, minimum, up_to
        row.version += 1
        row.save(update_fields=["unit", "name", "maker", "size", "hardness", "minimum", "up_to", "version"])
        put(thing=part_thing(row))
        if row.name != before:
            for lot in row.lots.select_related("part"):
                put(thing=lot_thing(lot))
        facts = {
            "name": row.name,
            "maker": row.maker,
            "unit": row.unit,
            "minimum": minimum,
            "up_to": up_to,
            "version": row.version,
        }
        write(subject=f"part:{row.uid}", by=str(by.uid), verb="changed", facts=facts)
    return row


def add_bin(*, by: Person, site: str, label: str) -> Bin:
    """Add a bin at a site; a workshop that adds none has one, in which everything lies."""
    require(by, Can.KEEP_STOCK)
    with transaction.atomic():
        _first_bin()  # what was received before this one, and will be without a word of where, lies there
        row, made = Bin.objects.get_or_create(site=site, label=label)
        if not made:
            refuse([Refusal("bin-taken", f"There is a bin {row} already.", "label")])
        put(thing=bin_thing(row))
        write(subject=f"bin:{row.uid}", by=str(by.uid), verb="added", facts={"label": label, "site": site})
    return row


def _first_bin() -> Bin:
    if found := Bin.objects.first():
        return found
    row, _ = Bin.objects.get_or_create(site=FIRST_SITE, label=FIRST_BIN)
    put(thing=bin_thing(row))
    return row


def _bin_for(rows: QuerySet[Stored]) -> Bin:
    """The fullest of the bins where something lies, or the first of the workshop."""
    row = rows.select_related("bin").first()
    return row.bin if row else _first_bin()


def state_fitness(*, by: Person, part: Part, seen: int, fit_for: Collection[str], fit_source: str) -> Part:
    """State for which gas services a part is fit and by whose word, or that nothing is stated."""
    require(by, Can.KEEP_STOCK)
    with transaction.atomic():
        row = Part.objects.select_for_update().get(pk=part.pk)
        if row.version != seen:
            raise Stale(row.version)
        refuse(statement_refusals(stated(fit_for), fit_source))
        row.fit_for, row.fit_source, row.version = stated(fit_for), fit_source, row.version + 1
        row.save(update_fields=["fit_for", "fit_source", "version"])
        facts = {"fit for": row.fit_for, "source": fit_source, "version": row.version}
        write(subject=f"part:{row.uid}", by=str(by.uid), verb="fitness stated", facts=facts)
    return row


def receive(
    *,
    by: Person,
    part: Part,
    number: str,
    cured: str,
    quantity: int,
    use_by: date | None = None,
    bin: Bin | None = None,
    cost: int | None = None,
    effective_on: date | None = None,
    subject: str = "",
) -> Lot:
    """Receive a quantity of a lot; a lot that stands already grows, if it was cured in the same quarter.

    `use_by` is the maker's own last day, which counts where it is sooner than that of the rule. Where no bin is said, it goes
    where most of the part lies. `cost` is that of the whole quantity, None where it is not known; it counts from
    `effective_on`, which is today where no day is said.
    """
    require(by, Can.KEEP_STOCK)
    found, day = effective_refusals(effective_on, today()), quarter_end(cured)
    with transaction.atomic():
        part = Part.objects.select_for_update().get(pk=part.pk)
        good_to = last_good_day(day, part.life_months, use_by)
        inside = part.contents.select_related("part")
        unknown = [why for each in inside for why in why_unknown_age(each.part, cured, good_to)]
        refuse([*cure_refusals(cured, part.life_months, today()), *found, *unknown])
        dates = {"cured": cured, "use_by": use_by, "good_to": good_to}
        lot, _ = Lot.objects.get_or_create(part=part, number=number, defaults=dates)
        if (quarter_end(lot.cured), lot.use_by) != (day, use_by):
            refuse([Refusal("cure-differs", f"Lot {number} stands here {lot.dated}.", "cured")])
        place = bin or _bin_for(Stored.objects.filter(lot__part=part))
        given: dict[str, Any] = {"verb": Verb.RECEIVE, "quantity": quantity, "subject": subject, "cost": cost}
        row = _moved(by, lot=lot, bin=place, on=effective_on, **given)
        facts = {"lot": str(lot.uid), "number": number, "quantity": quantity, "bin": str(place.uid)}
        facts |= {"cost": cost, "from": str(row.effective_on)}
        write(subject=f"part:{part.uid}", by=str(by.uid), verb="received", facts=facts)
        lot.refresh_from_db()
        put(thing=lot_thing(lot))
        _look(lot)
    return lot


def _look(lot: Lot) -> None:
    """Let the rooms above see a lot that was received."""
    for name in settings.AFTER_RECEIVING:
        import_string(name)(lot=lot)


def extend(*, by: Person, lot: Lot, subject: str) -> Lot:
    """Extend the life of a lot once after an inspection, by what its published rule allows; `subject` says what was seen."""
    require(by, Can.KEEP_STOCK)
    with transaction.atomic():
        part = Part.objects.select_for_update().get(pk=lot.part_id)
        lot = locked_lot(lot)
        refuse(why_not_extended(lot))
        rule = LIFE_RULES[part.life_rule]
        months = (rule.months or 0) + rule.extension_months
        lot.good_to, lot.extended = last_good_day(quarter_end(lot.cured), months, lot.use_by), True
        lot.save(update_fields=["good_to", "extended"])
        told = {"lot": str(lot.uid), "good_to": str(lot.good_to), "rule": rule.document}
        words = {"for": subject}
        write(subject=f"part:{part.uid}", by=str(by.uid), verb="life extended", facts=told, words=words)
    return lot


def locked_lot(lot: Lot) -> Lot:
    """A lot, fresh, which nobody else takes from until the transaction ends."""
    return Lot.objects.select_for_update(of=("self",)).select_related("part").get(pk=lot.pk)


def take(
    *,
    by: Person,
    lot: Lot,
    quantity: int,
    wanted_part: str,
    subject: str,
    use: Use | None = None,
    overridden: Collection[str] = (),
    bin: Bin | None = None,
) -> Movement:
    """Take a quantity of a lot for a subject, in the caller's transaction; the caller has required the right to work.

    `wanted_part` is the part number the plan asks for, or empty when any will do; `use` the gas of the gear, if it is for
    gear. The caller has made sure that the refusals with the codes `overridden` may be. Where no bin is said, the pieces come
    from the one with most of the lot.
    """
    if not transaction.get_connection().in_atomic_block:
        raise RuntimeError("Stock is taken in the transaction of the action only.")
    lot = locked_lot(lot)
    refused = [*why_not(lot, quantity, wanted_part, use), *why_not_there(lot, quantity, bin)]
    refuse(each for each in refused if each.code not in overridden)
    place = bin or _bin_for(Stored.objects.filter(lot=lot))
    return _moved(by, lot=lot, bin=place, verb=Verb.TAKE, quantity=-quantity, subject=subject)


def put_back(*, by: Person, taken: Movement, then: Lot | None) -> Lot | None:
    """Put what was taken by mistake back into its lot and bin, in the caller's transaction.

    `then` is the lot that is taken from next, given back fresh: both are locked here, in everybody's order.
    """
    if not transaction.get_connection().in_atomic_block:
        raise RuntimeError("Stock is put back in the transaction of the action only.")
    lots = {taken.lot_id, then.pk if then else taken.lot_id}
    list(Lot.objects.select_for_update(of=("self",)).filter(pk__in=lots).order_by("pk"))
    given: dict[str, Any] = {"bin": taken.bin, "lot": taken.lot, "subject": taken.subject}
    _moved(by, **given, verb=Verb.RETURN, quantity=-taken.quantity)
    return Lot.objects.select_related("part").get(pk=then.pk) if then else None


def move_by_hand(
    *,
    by: Person,
    lot: Lot,
    verb: str,
    quantity: int,
    subject: str,
    bin: Bin | None = None,
    to: Bin | None = None,
    in_spite: bool = False,
) -> Lot:
    """Take, put back, scrap, count or move pieces of a lot outside a job; `subject` says what for, or why.

    Where no bin is said, it is the one with most of the lot. A move is two movements, so that each bin has its own. What open
    jobs still need is taken only `in_spite` of that.
    """
    require(by, Can.KEEP_STOCK)
    with transaction.atomic():
        Part.objects.select_for_update().get(pk=lot.part_id)
        lot = locked_lot(lot)
        what, place = Verb(verb), bin or _bin_for(Stored.objects.filter(lot=lot))
        there = lies_there(lot, place)
        spoken = why_spoken_for(lot, quantity) if what == Verb.TAKE else []
        refuse([*why_not_moved(lot, what, quantity, place, there, to), *([] if in_spite else spoken)])
        added = difference(what, quantity, there)
        row: dict[str, Any] = {"lot": lot, "verb": what, "subject": f"{what}:{subject}"}
        _moved(by, **row, bin=place, quantity=added)
        told = {"lot": str(lot.uid), "verb": what.value, "quantity": added, "bin": str(place.uid)}
        if to is not None:
            _moved(by, **row, bin=to, quantity=-added)
            told["to"] = str(to.uid)
        if spoken:
            told["in spite"] = "open jobs still need it"
        words = {"for": subject}
        write(subject=f"part:{lot.part.uid}", by=str(by.uid), verb="moved by hand", facts=told, words=words)
    return Lot.objects.select_related("part").get(pk=lot.pk)


def book_count(*, by: Person, lot: Lot, place: Bin, difference: int, reason: str) -> None:
    """Book what a count of a bin found of a lot that the caller has locked; the caller has asked and writes the journal."""
    _moved(by, lot=lot, bin=place, verb=Verb.COUNT, quantity=difference, subject=f"count:{reason}")


def take_back(*, by: Person, receipt: Movement, reason: str) -> None:
    """Take a wrong receipt back whole, out of the bin it went to; the caller has locked, asked and writes the journal."""
    given: dict[str, Any] = {"lot": receipt.lot, "bin": receipt.bin, "takes_back": receipt}
    _moved(by, **given, verb=Verb.TAKE_BACK, quantity=-receipt.quantity, subject=f"take back:{reason}")


def _moved(by: Person, *, on: date | None = None, **given: Any) -> Movement:
    """Write a movement; it counts from today where no other day is said."""
    return Movement.objects.create(**given, effective_on=on or today(), at=now(), by=str(by.uid))


def add_content(*, by: Person, kit: Part, part: Part, count: int) -> Content:
    """Say that a maker's bagged kit holds so many pieces of another part."""
    require(by, Can.KEEP_STOCK)
    with transaction.atomic():
        list(Part.objects.select_for_update().filter(pk__in=[kit.pk, part.pk]).order_by("pk"))
        found = []
        if kit.pk == part.pk or part.contents.exists() or kit.in_kits.exists():
            found.append(Refusal("kit-in-kit", "A kit holds parts, not itself or another kit.", "part"))
        if Content.objects.filter(kit=kit, part=part).exists():
            found.append(Refusal("content-taken", f"{part.number} stands in this kit already.", "part"))
        if kit.lots.exists():
            said = "Lots of it were received: what those hold stays as it was. A kit with other contents is another part."
            found.append(Refusal("kit-received", said, "part"))
        refuse(found)
        row = Content.objects.create(kit=kit, part=part, count=count)
        facts = {"part": str(part.uid), "count": count}
        write(subject=f"part:{kit.uid}", by=str(by.uid), verb="content added", facts=facts)
    return row


def open_kit(*, by: Person, lot: Lot, quantity: int) -> Lot:
    """Open kits of a lot: their pieces come into the store under the kit's own lot number and cure quarter.

    A piece is good as long as it would be alone, and never longer than the kit.
    """
    require(by, Can.OPEN_KIT)
    with transaction.atomic():
        contents = list(Content.objects.filter(kit=lot.part_id).select_related("part").order_by("part"))
        pks = [lot.part_id, *(each.part_id for each in contents)]
        list(Part.objects.select_for_update().filter(pk__in=pks).order_by("pk"))
        if not contents:
            refuse([Refusal("no-kit", f"{lot.part.number} is not a kit: nothing is listed in it.")])
        take(by=by, lot=lot, quantity=quantity, wanted_part="", subject="opened")
        refuse([refusal for each in contents for refusal in why_not_inside(lot, each.part)])
        for each in contents:
            inside = _out_of(lot, each.part)
            _look(inside)
            _moved(
                by,
                lot=inside,
                bin=_bin_for(Stored.objects.filter(lot__part=each.part)),
                verb=Verb.RECEIVE,
                quantity=each.count * quantity,
                subject=f"kit:{lot.uid}",
            )
        facts = {"lot": str(lot.uid), "quantity": quantity}
        write(subject=f"part:{lot.part.uid}", by=str(by.uid), verb="kit opened", facts=facts)
    return Lot.objects.select_related("part").get(pk=lot.pk)


def _out_of(kit: Lot, part: Part) -> Lot:
    """The lot that pieces of a part out of a kit belong to; what lies in it already cannot be told from them."""
    own = last_good_day(quarter_end(kit.cured), part.life_months, kit.use_by)
    good_to = soonest(own, kit.good_to)
    dates = {"cured": kit.cured, "use_by": kit.use_by, "good_to": good_to}
    row, _ = Lot.objects.get_or_create(part=part, number=kit.number, defaults=dates)
    if soonest(row.good_to, good_to) != row.good_to:
        row.good_to = good_to
        row.save(update_fields=["good_to"])
    put(thing=lot_thing(row))
    return row
