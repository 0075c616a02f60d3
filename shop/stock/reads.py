"""Lots that may be taken, and why one may not; parts and lots as the find box knows them."""

from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Any
from uuid import UUID

from django.conf import settings
from django.db.models import F, Q, QuerySet, Sum
from django.shortcuts import get_list_or_404, get_object_or_404
from django.urls import reverse
from django.utils.module_loading import import_string

from shop.gases.rules import Use
from shop.lives.rules import LIFE_RULES, extension_refusals, kit_age_refusals
from shop.paper.rules import Bold, Tag, Tags
from shop.paper.rules import day as in_words
from shop.search.rules import Kind, Thing
from shop.staff.models import Person
from shop.stock.models import Bin, Lot, Part, Stored
from shop.stock.rules import (
    Claim,
    Level,
    Share,
    Usable,
    Verb,
    by_hand_refusals,
    lot_key,
    lot_signs,
    move_refusals,
    past_life,
    place_refusals,
    return_refusals,
    shares,
    spoken_refusals,
    taking_refusals,
    to_order,
)
from shop.workshop.reads import columns, today
from shop.workshop.rules import Refusal


def names_of(uids: Collection[str]) -> dict[str, str]:
    """The names of the people who moved something, by their keys as movements keep them."""
    rows = Person.objects.filter(uid__in=uids)
    return {str(uid): name for uid, name in rows.values_list("uid", "name")}


def parts_like(text: str) -> QuerySet[Part]:
    """Parts by number: every one, or those with a text in their number or name, or in the number of one of their lots."""
    of_lots = Lot.objects.filter(number__icontains=text).values("part")
    asked = Q(number__icontains=text) | Q(name__icontains=text) | Q(pk__in=of_lots)
    return Part.objects.filter(asked if text else Q()).order_by("number")


def in_life(part_number: str, day: date) -> QuerySet[Lot]:
    """Lots of a part with something on hand that are in life on a day, the first to expire first."""
    rows = Lot.objects.filter(
        Q(good_to__gte=day) | Q(good_to__isnull=True), part__number=part_number, on_hand__gt=0
    )
    return rows.order_by(F("good_to").asc(nulls_last=True), "pk")


def in_store(part_numbers: Collection[str], day: date) -> dict[str, Usable]:
    """Of each part how many may be used on a day, and for which gas services it is fit."""
    found = dict[str, Usable]()
    for number, fit_for, _, pieces in usable(part_numbers, day):
        before = found.get(number, Usable(0, fit_for))
        found[number] = replace(before, pieces=before.pieces + pieces)
    return found


def usable(part_numbers: Collection[str], day: date) -> list[tuple[str, str, date | None, int]]:
    """What is in life on a day and not in doubt, lot by lot: the part, its gas services, the last good day, the pieces.

    In lots of the part itself, and in kits that are not opened yet, where something says how old what is inside is.
    """
    sql = """
    SELECT p.number, p.fit_for, l.good_to, l.on_hand, l.part_id, l.number FROM stock_part p JOIN stock_lot l ON l.part_id = p.id
    WHERE p.number = ANY(%s) AND l.on_hand > 0 AND (l.good_to IS NULL OR l.good_to >= %s)
    UNION ALL
    SELECT p.number, p.fit_for, l.good_to, l.on_hand * c.count, l.part_id, l.number FROM stock_part p
    JOIN stock_content c ON c.part_id = p.id JOIN stock_lot l ON l.part_id = c.kit_id
    WHERE p.number = ANY(%s) AND l.on_hand > 0 AND (l.good_to IS NULL OR l.good_to >= %s)
    AND (p.life_months IS NULL OR l.cured <> '' OR l.good_to IS NOT NULL)
    """
    asked = [list(part_numbers), day.isoformat()]
    bad = blocks()
    return [
        (*row, pieces) for *row, pieces, part, lot in columns(sql, *asked, *asked) if (part, lot) not in bad
    ]


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
    inside = lot.part.contents.select_related("part")
    taken = [(lot.part, quantity), *((each.part, each.count * quantity) for each in inside)]
    found = levels([part.number for part, _ in taken], today(), claims())
    return [
        refusal
        for part, count in sorted(taken, key=lambda each: each[0].number)
        for refusal in spoken_refusals(part.number, found[part.number], count, part.unit)
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
    of_kit = bool(rule) and lot.movements.filter(subject__startswith="kit:").exists()
    return extension_refusals(
        rule, good_to=lot.good_to, use_by=lot.use_by, extended=lot.extended, of_kit=of_kit
    )


def blocks() -> dict[tuple[int, str], list[Refusal]]:
    """What of the rooms above keeps lots from being taken, by part and number of the lot."""
    found: dict[tuple[int, str], list[Refusal]] = {}
    for name in settings.BLOCKS_LOTS:
        for lot, refusals in import_string(name)().items():
            found.setdefault(lot, []).extend(refusals)
    return found


def signed(lots: Iterable[Lot], day: date) -> dict[Lot, list[str]]:
    """Of each lot of which nothing may be taken on a day: why, in a few words."""
    bad = blocks()
    found = {lot: bad.get((lot.part_id, lot.number), []) for lot in lots}
    signs = {lot: lot_signs(lot.good_to, day, [each.code for each in why]) for lot, why in found.items()}
    return {lot: said for lot, said in signs.items() if said}


def why_kept_back(lot: Lot) -> list[Refusal]:
    """Why nothing of a lot may be taken today for anything: its life, a doubt, a notice."""
    good_to = lot.good_to
    found = [past_life(lot.number, good_to)] if good_to is not None and good_to < today() else []
    return [*found, *blocks().get((lot.part_id, lot.number), [])]


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
        unit=lot.part.unit,
    )
    return [*found, *blocks().get((lot.part_id, lot.number), [])]


def why_not_there(lot: Lot, quantity: int, place: Bin | None) -> list[Refusal]:
    """Why a quantity of a lot cannot come from one bin; where none is said, from the one with most of the lot."""
    rows = Stored.objects.filter(lot=lot).select_related("bin")
    row = (rows.filter(bin=place) if place else rows).first()
    there, where = (row.on_hand, row.bin) if row else (0, place)
    given = {"quantity": quantity, "there": there, "on_hand": lot.on_hand}
    return place_refusals(lot.number, str(where), **given, unit=lot.part.unit)


def lies_there(lot: Lot, place: Bin) -> int:
    """How many of a lot, which the caller has locked, lie in a bin."""
    return Stored.objects.filter(lot=lot, bin=place).values_list("on_hand", flat=True).first() or 0


def why_not_moved(
    lot: Lot, verb: Verb, quantity: int, place: Bin, there: int, to: Bin | None
) -> list[Refusal]:
    """Why a quantity of a lot, of which so many lie `there` in a bin, may not be moved by hand."""
    unit = lot.part.unit
    found = why_kept_back(lot) if verb == Verb.TAKE else []
    found += by_hand_refusals(verb, quantity, lot=lot.number, on_hand=lot.on_hand, unit=unit)
    if verb in (Verb.TAKE, Verb.SCRAP, Verb.MOVE):
        where: dict[str, Any] = {"there": there, "on_hand": lot.on_hand, "unit": unit}
        found += place_refusals(lot.number, str(place), quantity=quantity, **where)
    if verb == Verb.RETURN:
        found += return_refusals(lot.number, quantity, _taken_of(lot), unit)
    return found + move_refusals(verb, place=str(place), to=str(to) if to else "")


def _taken_of(lot: Lot) -> int:
    """How much of a lot was taken or scrapped and not put back, jobs and opened kits included."""
    rows = lot.movements.filter(verb__in=(Verb.TAKE, Verb.SCRAP, Verb.RETURN))
    return -(rows.aggregate(Sum("quantity"))["quantity__sum"] or 0)


def why_unknown_age(part: Part, cured: str, good_to: date | None) -> list[Refusal]:
    """Why a part may not lie in a kit with such a cure quarter and last day: its life is limited, and they do not say from when."""
    return kit_age_refusals(part.number, part.life_months, cured, good_to)


def why_not_inside(lot: Lot, part: Part) -> list[Refusal]:
    """What is inside has a known age, and a lot of the same number that stands already was cured in the same quarter."""
    if found := why_unknown_age(part, lot.cured, lot.good_to):
        return found
    row = Lot.objects.filter(part=part, number=lot.number).first()
    if row is None or (row.cured, row.use_by) == (lot.cured, lot.use_by):
        return []
    return [Refusal("cure-differs", f"Lot {lot.number} of {part.number} stands here {row.dated}.")]


def scanned_lot(code: str) -> Lot | None:
    """The lot whose label was scanned, or whose maker's number it alone carries; None where it is no lot or several."""
    asked = Q(pk=lot_key(code)) | Q(number__iexact=code.strip())
    found = list(Lot.objects.filter(asked).select_related("part")[:2])
    return found[0] if len(found) == 1 else None


def part_thing(part: Part) -> Thing:
    """A part as it is found."""
    return Thing(
        subject=f"part:{part.uid}",
        kind=Kind.PART,
        number=part.number,
        title=part.name,
        note=" ".join(filter(None, [part.maker, part.material, part.size])),
        address=reverse("part", args=[part.uid]),
    )


def lot_thing(lot: Lot) -> Thing:
    """A lot as it is found, among the rows of its part."""
    return Thing(
        subject=f"lot:{lot.uid}",
        kind=Kind.LOT,
        number=lot.number,
        title=str(lot.part),
        note=f"cured {lot.cured}" if lot.cured else "",
        codes=(lot.code,),
        address=reverse("lot", args=[lot.uid]),
    )


def bin_thing(place: Bin) -> Thing:
    """A bin as it is found, among all of them."""
    return Thing(
        subject=f"bin:{place.uid}",
        kind=Kind.BIN,
        number=place.code,
        title=str(place),
        address=reverse("bins") + f"#bin-{place.uid}",
    )


def findable_parts() -> tuple[QuerySet[Part], Callable[[Part], Thing]]:
    """Every part, for the find box."""
    return Part.objects.all(), part_thing


def findable_lots() -> tuple[QuerySet[Lot], Callable[[Lot], Thing]]:
    """Every lot, for the find box."""
    return Lot.objects.select_related("part"), lot_thing


def findable_bins() -> tuple[QuerySet[Bin], Callable[[Bin], Thing]]:
    """Every bin, for the find box."""
    return Bin.objects.all(), bin_thing


def lot_label(uid: UUID) -> Tags:
    """The label of a lot: what it is, how long it is good, and the code that a scanner reads at the bench."""
    lot = get_object_or_404(Lot.objects.select_related("part"), uid=uid)
    return Tags(f"lot-label-{lot.code}", f"Label of lot {lot.number}", [_lot_tag(lot)])


def lot_labels(uid: UUID) -> Tags:
    """A label for each lot of a part of which something is on hand."""
    lots = get_list_or_404(Lot.objects.select_related("part"), part__uid=uid, on_hand__gt=0)
    number = lots[0].part.number
    return Tags(f"lot-labels-{number}", f"Labels of the lots of {number}", [_lot_tag(lot) for lot in lots])


def _lot_tag(lot: Lot) -> Tag:
    good = f"Good to {in_words(lot.good_to)}" if lot.good_to else "No last day"
    cured = f"Cured {lot.cured}" if lot.cured else "Cure quarter not stated"
    return Tag(lot.code, (str(lot.part), f"Lot {lot.number}", cured), good)


def bin_label(uid: UUID) -> Tags:
    """The label of a bin: how it is called, and at which site."""
    place = get_object_or_404(Bin, uid=uid)
    tag = Tag(place.code, (Bold(place.label), place.site), "", words_pt=18)
    return Tags(f"bin-label-{place.code}", f"Label of {place}", [tag])
