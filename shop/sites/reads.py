"""What lies at each site, and what a site lacks."""

from collections.abc import Collection
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from shop.sites.models import SiteLevel
from shop.sites.rules import AtSite, Shortfall, shortfalls
from shop.stock.models import Bin, Part
from shop.stock.reads import Wanted, blocks, claims, levels
from shop.stock.rules import Level
from shop.workshop.reads import columns, today


def sites() -> list[str]:
    """The sites that have a bin, by name."""
    return sorted(set(Bin.objects.values_list("site", flat=True)))


def at_sites(parts: Collection[Part], day: date) -> dict[int, list[AtSite]]:
    """Of each part, by its key, how many may be used at each site on a day, kits that are not opened yet included."""
    sql = """
    SELECT l.part_id, b.site, s.on_hand, l.part_id, l.number FROM stock_stored s JOIN stock_lot l ON l.id = s.lot_id
    JOIN stock_bin b ON b.id = s.bin_id
    WHERE l.part_id = ANY(%s) AND s.on_hand > 0 AND (l.good_to IS NULL OR l.good_to >= %s)
    UNION ALL
    SELECT c.part_id, b.site, s.on_hand * c.count, l.part_id, l.number FROM stock_content c
    JOIN stock_lot l ON l.part_id = c.kit_id JOIN stock_stored s ON s.lot_id = l.id JOIN stock_bin b ON b.id = s.bin_id
    WHERE c.part_id = ANY(%s) AND s.on_hand > 0 AND (l.good_to IS NULL OR l.good_to >= %s)
    """
    keys, places, bad = [part.pk for part in parts], sites(), blocks()
    there = {(key, site): 0 for key in keys for site in places}
    asked = [keys, day.isoformat()]
    for key, site, pieces, kit, lot in columns(sql, *asked, *asked):
        if (kit, lot) not in bad:
            there[key, site] += pieces
    watched = SiteLevel.objects.filter(part__in=keys).values_list("part", "site", "minimum", "up_to")
    known = {(key, site): (minimum, up_to) for key, site, minimum, up_to in watched}
    found: dict[int, list[AtSite]] = {key: [] for key in keys}
    for (key, site), pieces in there.items():
        found[key].append(AtSite(site, pieces, *known.get((key, site), (None, None))))
    return found


@dataclass(frozen=True)
class Lacking:
    """A part of which a site has no more than its minimum there."""

    part: Part
    level: Level
    shortfall: Shortfall


def lacking(day: date) -> list[Lacking]:
    """What every site lacks on a day, by the number of the part."""
    watched = SiteLevel.objects.exclude(minimum=None).values("part")
    parts = list(Part.objects.filter(pk__in=watched).order_by("number"))
    if not parts:
        return []
    rows, known = at_sites(parts, day), levels([part.number for part in parts], day, claims())
    return [
        Lacking(part, known[part.number], each)
        for part in parts
        for each in shortfalls(rows[part.pk], known[part.number].free)
    ]


def wanted_at_sites(day: date) -> list[Wanted]:
    """Every part of which a site lacks some that no other site can give: it is to be ordered."""
    found: dict[str, Wanted] = {}
    for each in lacking(day):
        before = found.get(each.part.number, Wanted(each.part, each.level, 0))
        found[each.part.number] = replace(before, quantity=before.quantity + each.shortfall.missing)
    return [each for each in found.values() if each.quantity]


def part_panel(part: Part) -> tuple[str, dict[str, Any]]:
    """How many of a part lie at each site, on its page."""
    return "sites/part_panel.html", {"part": part, "rows": at_sites([part], today())[part.pk]}
