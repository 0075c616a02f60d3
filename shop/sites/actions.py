"""Watch a part at a site."""

from django.db import transaction

from shop.journal.actions import write
from shop.sites.models import SiteLevel
from shop.sites.reads import sites
from shop.sites.rules import site_refusals
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.stock.models import Part
from shop.stock.rules import level_refusals
from shop.workshop.rules import Stale, refuse


def watch(
    *, by: Person, part: Part, seen: int, site: str, minimum: int | None, up_to: int | None
) -> SiteLevel:
    """Say at which level a part, which the caller saw at version `seen`, is brought to a site; None and None: not watched."""
    require(by, Can.KEEP_STOCK)
    with transaction.atomic():
        row = Part.objects.select_for_update().get(pk=part.pk)
        if row.version != seen:
            raise Stale(row.version)
        refuse([*site_refusals(site, sites()), *level_refusals(minimum, up_to)])
        level, _ = SiteLevel.objects.update_or_create(
            part=row, site=site, defaults={"minimum": minimum, "up_to": up_to}
        )
        row.version += 1
        row.save(update_fields=["version"])
        facts = {"site": site, "minimum": minimum, "up_to": up_to, "version": row.version}
        write(subject=f"part:{row.uid}", by=str(by.uid), verb="watched at a site", facts=facts)
    return level
