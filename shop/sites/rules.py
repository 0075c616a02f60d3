"""What a site lacks of a part, which other site can give it, and what is missing then. Pure."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from shop.stock.rules import to_order
from shop.workshop.rules import Refusal


@dataclass(frozen=True)
class AtSite:
    """How many pieces of a part may be used at a site, and its levels there; None where nobody watches it there."""

    site: str
    there: int
    minimum: int | None = None
    up_to: int | None = None

    @property
    def lacks(self) -> int:
        """How many are missing to its upper level, once no more than its minimum is there."""
        return to_order(self.minimum, self.up_to, self.there)

    @property
    def spare(self) -> int:
        """How many it can give away without coming to its own minimum."""
        return self.there if self.minimum is None else max(0, self.there - self.minimum - 1)


@dataclass(frozen=True)
class Brought:
    """So many pieces to bring from another site."""

    site: str
    pieces: int


@dataclass(frozen=True)
class Shortfall:
    """What a site lacks of a part: what other sites give, and how many are missing then."""

    at: AtSite
    brought: tuple[Brought, ...]

    @property
    def missing(self) -> int:
        """How many no site can give: they are to be ordered."""
        return self.at.lacks - sum(each.pieces for each in self.brought)


def shortfalls(rows: Sequence[AtSite], free: int) -> list[Shortfall]:
    """What each site lacks of a part, by site, and who gives it: the site with the most to spare first.

    No more is given than is `free` in the whole workshop: jobs have no site, so what they speak for stays where it lies.
    """
    spare = {row.site: row.spare for row in rows if not row.lacks}
    found = []
    for row in sorted(rows, key=lambda each: each.site):
        if not row.lacks:
            continue
        left, brought = row.lacks, []
        for site in sorted(spare, key=lambda each: (-spare[each], each)):
            if (pieces := min(left, spare[site], free)) > 0:
                brought.append(Brought(site, pieces))
                spare[site] -= pieces
                left -= pieces
                free -= pieces
        found.append(Shortfall(row, tuple(brought)))
    return found


def site_refusals(site: str, sites: Iterable[str]) -> list[Refusal]:
    """Why a part cannot be watched at a site: no bin is there."""
    if site in sites:
        return []
    return [Refusal("no-such-site", f"There is no bin at {site or 'a site without a name'}.", "site")]
