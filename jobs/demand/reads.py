"""What the workshop knows of the weeks ahead: as many statements for many parts as for one."""

import math
from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from uuid import UUID

from django.http import Http404

from jobs.ahead.reads import Past, needs
from jobs.ahead.rules import AHEAD, WEEK, Need
from jobs.bench.methods.pictures import Picture
from jobs.demand.rules import Pieces, Proposal, Terms, Week, picture, propose, weeks_ahead
from shop.orders.reads import on_drafts, on_its_way
from shop.stock.reads import usable
from shop.suppliers.models import Offer, Supplier
from shop.workshop.reads import columns, today, uid

# With how much life lots came: the last good day of each, and the first day on which it moved.
_CAME = """
SELECT l.part_id, l.good_to, m.effective_on FROM stock_lot l JOIN stock_movement m ON m.lot_id = l.id
WHERE l.good_to IS NOT NULL AND NOT l.extended AND m.id = (SELECT MIN(n.id) FROM stock_movement n WHERE n.lot_id = l.id)
"""


@dataclass(frozen=True)
class Stocked:
    """The columns of a part."""

    pk: int
    uid: UUID
    number: str
    name: str
    unit: str
    life_months: int | None


@dataclass(frozen=True)
class Ahead:
    """A part that will be needed: what of it lies in store and is on its way, who sells it soonest, what is proposed.

    `offer` is the one with the shortest lead time that is known; without one nothing is proposed.
    """

    part: Stocked
    day: date
    need: Need
    stock: tuple[Pieces, ...]
    in_life: int
    on_way: int
    undated: int
    on_draft: int
    offers: tuple[Offer, ...]
    offer: Offer | None
    life: int | None
    proposal: Proposal | None

    @property
    def to_enter(self) -> str:
        """What is still to be entered before an order can be proposed; empty where nothing is."""
        if self.offer:
            return ""
        return "the supplier's lead time" if self.offers else "who sells it"

    @property
    def year(self) -> float:
        """Pieces expected to be needed within a year."""
        return float(self.need.expected(AHEAD).sum())

    @cached_property
    def weeks(self) -> list[Week]:
        return weeks_ahead(self.need, self.stock, self.day)

    @property
    def picture(self) -> Picture:
        return picture(self.weeks, self.proposal.weeks if self.proposal else None, self.part.unit)


@dataclass(frozen=True)
class Group:
    """What is had from one supplier."""

    supplier: Supplier
    rows: tuple[Ahead, ...]

    @property
    def proposes(self) -> bool:
        """Whether anything of them is to be ordered now."""
        return any(row.proposal and row.proposal.packs for row in self.rows)


@dataclass(frozen=True)
class Outlook:
    """The need ahead of every part, at a service level in per cent; `unknown` are parts of plans that the store has not."""

    day: date
    level: int
    past: Past
    rows: tuple[Ahead, ...]
    unknown: tuple[str, ...]

    @property
    def groups(self) -> list[Group]:
        found: dict[int, list[Ahead]] = defaultdict(list)
        for row in self.rows:
            if row.offer:
                found[row.offer.supplier_id].append(row)
        groups = [Group(rows[0].offer.supplier, tuple(rows)) for rows in found.values() if rows[0].offer]
        return sorted(groups, key=lambda group: group.supplier.name)

    def proposed(self, supplier: Supplier) -> list[tuple[Offer, int]]:
        """How many packs of each offer of a supplier are to be ordered now."""
        return [
            (row.offer, row.proposal.packs)
            for row in self.rows
            if row.offer and row.offer.supplier_id == supplier.pk and row.proposal and row.proposal.packs
        ]

    @property
    def unsold(self) -> list[Ahead]:
        """Parts for which something is to be entered first."""
        return [row for row in self.rows if not row.offer]


def outlook(level: int) -> Outlook:
    """The need ahead today."""
    day = today()
    needed, past = needs(day)
    parts = {
        row[2]: Stocked(row[0], uid(row[1]), *row[2:])
        for row in columns("SELECT id, uid, number, name, unit, life_months FROM stock_part")
    }
    known = {number: need for number, need in sorted(needed.items()) if number in parts}
    lots, came = defaultdict[str, list[tuple[date | None, int]]](list), _came()
    for number, _, good_to, pieces in usable(known, day):
        lots[number].append((good_to, pieces))
    offers, ways, drafts = _offers(known), on_its_way(known), on_drafts(known)
    rows = []
    for number, need in known.items():
        part, sold = parts[number], offers.get(number, [])
        life = came.get(part.pk, part.life_months and part.life_months * 365 // 12)
        on_way = [(each.pieces, each.expected) for each in ways.get(number, [])]
        rows.append(
            _ahead(part, day, level, need, lots[number], on_way, drafts.get(number, 0), tuple(sold), life)
        )
    return Outlook(day, level, past, tuple(rows), tuple(sorted(needed.keys() - parts.keys())))


def _offers(part_numbers: Collection[str]) -> dict[str, list[Offer]]:
    """Who sells these parts, by the supplier's name."""
    found: dict[str, list[Offer]] = defaultdict(list)
    rows = Offer.objects.filter(part__number__in=part_numbers).select_related("part", "supplier")
    for offer in rows.order_by("supplier__name"):
        found[offer.part.number].append(offer)
    return found


def one_ahead(part: UUID, level: int) -> tuple[Outlook, Ahead]:
    """The need ahead of one part, and all that it was found in."""
    found = outlook(level)
    row = next((each for each in found.rows if each.part.uid == part), None)
    if row is None:
        raise Http404
    return found, row


def _lead(offer: Offer) -> tuple[int, str]:
    assert offer.supplier.lead_days is not None
    return offer.supplier.lead_days, offer.supplier.name


def _ahead(
    part: Stocked,
    day: date,
    level: int,
    need: Need,
    lots: list[tuple[date | None, int]],
    on_way: list[tuple[int, date | None]],
    on_draft: int,
    offers: tuple[Offer, ...],
    life_days: int | None,
) -> Ahead:
    """A part as it is shown. What is late counts as coming next week; what has no day does not count."""
    life = None if life_days is None else life_days // WEEK
    there = [
        Pieces(pieces, 0, None if good_to is None else ((good_to - day).days + 1) // WEEK)
        for good_to, pieces in lots
    ]
    arriving = [
        (pieces, max(1, math.ceil((expected - day).days / WEEK))) for pieces, expected in on_way if expected
    ]
    stock = (*there, *(Pieces(n, week, life if life is None else week + life) for n, week in arriving))
    offer = min((each for each in offers if each.supplier.lead_days is not None), key=_lead, default=None)
    proposal = None
    if offer and offer.supplier.lead_days is not None:
        terms = Terms(math.ceil(offer.supplier.lead_days / WEEK), offer.pack_size, life)
        proposal = propose(need, stock, terms, level)
    return Ahead(
        part=part,
        day=day,
        need=need,
        stock=stock,
        in_life=sum(each.quantity for each in there),
        on_way=sum(pieces for pieces, _ in on_way),
        undated=sum(pieces for pieces, expected in on_way if expected is None),
        on_draft=on_draft,
        offers=offers,
        offer=offer,
        life=life,
        proposal=proposal,
    )


def _came() -> dict[int, int]:
    """Of parts, the most days of life that a lot came with."""
    found: dict[int, int] = {}
    for part, good_to, on in columns(_CAME):
        found[part] = max(found.get(part, 0), (good_to - on).days)
    return found
