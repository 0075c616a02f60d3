"""Take a go-ahead."""

from django.db import transaction

from jobs.estimates.models import GoAhead
from jobs.flow.models import DropOff
from shop.journal.actions import write
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.workshop.reads import currency, now


def take_go_ahead(*, by: Person, drop_off: DropOff, amount: int, given_by: str, how: str) -> GoAhead:
    """Write down up to which amount, in the smallest unit of the workshop's currency, somebody lets us work."""
    require(by, Can.TAKE_GO_AHEAD)
    with transaction.atomic():
        drop_off = DropOff.objects.select_for_update().get(pk=drop_off.pk)
        row = GoAhead.objects.create(
            drop_off=drop_off, amount=amount, currency=currency(), given_by=given_by, how=how, at=now(), by=by
        )
        write(
            subject=f"drop-off:{drop_off.uid}",
            by=str(by.uid),
            verb="go-ahead taken",
            facts={"amount": amount, "currency": row.currency, "how": how},
            words={"given_by": given_by},
        )
    return row
