"""Lots that may be taken, and why one may not; parts and lots as the find box knows them."""

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, replace
from datetime import date

from django.conf import settings
from django.db.models import F, Q, QuerySet, Sum
from django.urls import reverse
from django.utils.module_loading import import_string

from shop.gases.rules import Use
from shop.search.rules import Kind, Thing
from shop.stock.models import Lot, Part
from shop.stock.rules import (
    LIFE_RULES,
    Claim,
    Level,
    Share,
    Usable,
    extension_refusals,
    shares,
    spoken_refusals,
    taking_refusals,
    to_order,
)
from shop.workshop.reads import columns, today
from shop.workshop.rules import Refusal


def in_life(part_number: str, day: date) -> QuerySet[Lot]:
    """Lots of a part with something on hand that are in life on a day, the first to expire first."""
    rows = Lot.objects.filter(
        Q(good_to__gte=day) | Q(good_to__isnull=True), part__number=part_number, on_hand__gt=0
    )
    return rows.order_by(F("good_to").asc(nulls_last=True), "pk")


def in_store(part_numbers: Collection[str], day: date) -> dict[str, Usable]:
    """Of each part what is in life on a day and not in doubt: on hand, and in kits that are not opened yet."""
    sql = """
    SELECT p.number, p.fit_for, l.part_id, l.number, l.on_hand FROM stock_part p JOIN stock_lot l ON l.part_id = p.id
    WHERE p.number = ANY(%s) AND l.on_hand > 0 AND (l.good_to IS NULL OR l.good_to >= %s)
    UNION ALL
    SELECT p.number, p.fit_for, l.part_id, l.number, l.on_hand * c.count FROM stock_part p
    JOIN stock_content c ON c.part_id = p.id JOIN stock_lot l ON l.part_id = c.kit_id
    WHERE p.number = ANY(%s) AND l.on_hand > 0 AND (l.good_to IS NULL OR l.good_to >= %s)
    """
    asked = [list(part_numbers), day.isoformat()]
    bad, found = blocks(), dict[str, Usable]()
    for number, fit_for, part, lot, pieces in columns(sql, *asked, *asked):
        before = found.get(number, Usable(0, fit_for))
        if (part, lot) not in bad:
            found[number] = replace(before, pieces=before.pieces + pieces)
    return found


def claims() -> dict[str, list[Claim]]:
    """What rooms above speak for, by number of the part."""
    found: dict[str, list[Claim]] = {}
    for name in settings.SPEAKS_FOR_PARTS:
        for claim in import_string(name)():
            found.setdefault(claim.part, []).append(claim)
    return found


def levels(numbers: Collection[str], day: date, spoken: Mapping[str, Collection[Claim]]) -> dict[str, Level]:
    """Of each part how many are on hand, may be used on a day and are spoken for."""
    held = Part.objects.filter(number__in=numbers).values_list("number").annotate(Sum("lots__on_hand"))
    on_hand, stored = dict(held), in_store(numbers, day)
    return {
        number: Level(
            on_hand.get(number) or 0,
            stored[number].pieces if number in stored else 0,
            sum(claim.pieces for claim in spoken.get(number, ())),
        )
        for number in numbers
    }


def standing(part: Part, day: date) -> tuple[Level, list[Share]]:
    """The level of a part, and what each open job that speaks for it gets."""
    spoken = claims()
    level = levels([part.number], day, spoken)[part.number]
    return level, shares(spoken.get(part.number, ()), level.in_life)


def why_spoken_for(lot: Lot, quantity: int) -> list[Refusal]:
    """Why a quantity of a lot is not taken for anything but a job without a word; a kit is taken with what is in it."""
    if (lot.part_id, lot.number) in blocks() or (lot.good_to is not None and lot.good_to < today()):
        return []  # no job takes from it either
    taken = {each.part.number: each.count * quantity for each in lot.part.contents.select_related("part")}
    taken[lot.part.number] = quantity
    found = levels(taken, today(), claims())
    return [
        refusal
        for part, count in sorted(taken.items())
        for refusal in spoken_refusals(part, found[part], count)
    ]


@dataclass(frozen=True)
class Wanted:
    """A part that is to be ordered: its level, and how many are missing to its upper one."""

    part: Part
    level: Level
    quantity: int


def wanted(day: date) -> list[Wanted]:
    """Every watched part of which no more than its minimum is free on a day, by number."""
    parts = list(Part.objects.filter(minimum__isnull=False).order_by("number"))
    known = levels([part.number for part in parts], day, claims())
    rows = [(part, known[part.number]) for part in parts]
    found = [Wanted(part, level, to_order(part.minimum, part.up_to, level.free)) for part, level in rows]
    return [each for each in found if each.quantity]


def why_not_extended(lot: Lot) -> list[Refusal]:
    """Why the life of a lot may not be extended after an inspection."""
    rule = LIFE_RULES.get(lot.part.life_rule)
    return extension_refusals(rule, good_to=lot.good_to, use_by=lot.use_by, extended=lot.extended)


def blocks() -> dict[tuple[int, str], list[Refusal]]:
    """What of the rooms above keeps lots from being taken, by part and number of the lot."""
    found: dict[tuple[int, str], list[Refusal]] = {}
    for name in settings.BLOCKS_LOTS:
        for lot, refusals in import_string(name)().items():
            found.setdefault(lot, []).extend(refusals)
    return found


def why_not(lot: Lot, quantity: int, wanted_part: str, use: Use | None = None) -> list[Refusal]:
    """Every reason why a quantity of a lot may not be taken today where the plan asks for a part, for gear's gas."""
    found = taking_refusals(
        part=lot.part.number,
        wanted_part=wanted_part,
        lot=lot.number,
        good_to=lot.good_to,
        on=today(),
        on_hand=lot.on_hand,
        quantity=quantity,
        fit_for=lot.part.fit_for,
        use=use,
    )
    return [*found, *blocks().get((lot.part_id, lot.number), [])]


def part_thing(part: Part) -> Thing:
    """A part as it is found, in its rows of the Store."""
    return Thing(
        subject=f"part:{part.uid}",
        kind=Kind.PART,
        number=part.number,
        title=part.name,
        note=" ".join(filter(None, [part.material, part.size])),
        address=_place(part),
    )


def lot_thing(lot: Lot) -> Thing:
    """A lot as it is found, among the rows of its part."""
    return Thing(
        subject=f"lot:{lot.uid}",
        kind=Kind.LOT,
        number=lot.number,
        title=str(lot.part),
        note=f"cured {lot.cured}" if lot.cured else "",
        address=reverse("lot", args=[lot.uid]),
    )


def _place(part: Part) -> str:
    return reverse("store") + f"#part-{part.uid}"


def findable_parts() -> tuple[QuerySet[Part], Callable[[Part], Thing]]:
    """Every part, for the find box."""
    return Part.objects.all(), part_thing


def findable_lots() -> tuple[QuerySet[Lot], Callable[[Lot], Thing]]:
    """Every lot, for the find box."""
    return Lot.objects.select_related("part"), lot_thing
