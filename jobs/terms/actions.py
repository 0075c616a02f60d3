"""Write the workshop's terms, and write down who accepted them."""

from django.db import transaction

from jobs.flow.models import DropOff
from jobs.flow.reads import erased_refusals
from jobs.terms.models import Accepted, Terms
from jobs.terms.reads import asked, newest
from jobs.terms.rules import accept_refusals
from shop.journal.actions import write
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.workshop.models import Workshop
from shop.workshop.reads import now
from shop.workshop.rules import Stale, refuse


def write_terms(*, by: Person, text: str, seen: int) -> Terms:
    """The terms from now on; earlier versions stay for whoever accepted them."""
    require(by, Can.KEEP_PEOPLE)
    with transaction.atomic():
        list(Workshop.objects.select_for_update())
        present = newest()
        n = present.n if present else 0
        if n != seen:
            raise Stale(n)
        row = Terms.objects.create(n=n + 1, text=text, at=now(), by=by)
        write(subject="workshop", by=str(by.uid), verb="terms written", facts={"terms": row.n})
    return row


def accept_terms(*, by: Person, drop_off: DropOff, terms: int, how: str, name: str) -> Accepted:
    """Somebody accepted the terms that were shown, by their number, for a drop-off."""
    require(by, Can.CHECK_IN)
    with transaction.atomic():
        drop_off = DropOff.objects.select_for_update().get(pk=drop_off.pk)
        present = asked()
        before = Accepted.objects.filter(drop_off=drop_off, terms=present).exists()
        refuse(
            [*erased_refusals(drop_off), *accept_refusals(present.n if present else 0, terms, before=before)]
        )
        assert present is not None  # else it was refused
        row = Accepted.objects.create(drop_off=drop_off, terms=present, how=how, name=name, at=now(), by=by)
        facts = {"terms": present.n, "how": how}
        subject, words = f"drop-off:{drop_off.uid}", {"name": name}
        write(subject=subject, by=str(by.uid), verb="terms accepted", facts=facts, words=words)
    return row
