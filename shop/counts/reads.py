"""The sheet of a count: the lots that lie in the bin, and how far each is."""

from collections.abc import Iterable
from dataclasses import dataclass

from shop.counts.models import Count, Line
from shop.counts.rules import Counted, Standing, standing
from shop.stock.models import Lot, Stored


@dataclass(frozen=True)
class Row:
    """A lot of a sheet; what was counted and what differs is told once it is settled, so that nobody counts towards it."""

    lot: Lot
    lines: tuple[Line, ...]

    @property
    def standing(self) -> Standing:
        return standing(judged(self.lines))

    @property
    def settled(self) -> bool:
        return self.standing == Standing.SETTLED

    @property
    def counted(self) -> int | None:
        return self.lines[-1].counted if self.settled else None

    @property
    def difference(self) -> int | None:
        return judged(self.lines)[-1].difference if self.settled else None

    @property
    def said_difference(self) -> str:
        """With its sign."""
        return f"{self.difference:+d}" if self.difference is not None else ""

    @property
    def alone(self) -> bool:
        return any(line.alone for line in self.lines)


def judged(lines: Iterable[Line]) -> list[Counted]:
    """Numbers as the rules read them."""
    return [Counted(line.counted, line.there, line.by_id) for line in lines]


def sheet(count: Count) -> list[Row]:
    """The lots of a count by part and number: those with a number, and while it is open those that lie there."""
    lines: dict[int, list[Line]] = {}
    for line in count.lines.select_related("lot__part"):
        lines.setdefault(line.lot_id, []).append(line)
    lots = {found[0].lot_id: found[0].lot for found in lines.values()}
    if count.closed_at is None:
        lying = Stored.objects.filter(bin=count.bin_id, on_hand__gt=0).select_related("lot__part")
        lots |= {row.lot_id: row.lot for row in lying}
    rows = [Row(lot, tuple(lines.get(pk, ()))) for pk, lot in lots.items()]
    return sorted(rows, key=lambda row: (row.lot.part.number, row.lot.number, row.lot.pk))
