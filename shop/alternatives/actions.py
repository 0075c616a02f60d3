"""Approve another part in the place of one, and end that."""

from django.db import transaction

from shop.alternatives.models import Alternative
from shop.alternatives.reads import standing
from shop.alternatives.rules import alternative_refusals
from shop.journal.actions import write
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.stock.models import Part
from shop.workshop.reads import now
from shop.workshop.rules import Refusal, refuse


def approve(
    *, by: Person, part: Part, other: Part, condition: str, source: str, supersedes: bool = False
) -> Alternative:
    """Say that another part may go in the place of one, on a condition and by somebody's word."""
    require(by, Can.KEEP_PLANS)
    with transaction.atomic():
        # Every part: whether one supersedes another in a circle is a question about all of them.
        list(Part.objects.select_for_update().order_by("pk").values_list("pk", flat=True))
        rows = list(standing())
        refuse(
            alternative_refusals(
                part.number,
                other.number,
                superseded=supersedes,
                newer={row.part.number: row.other.number for row in rows if row.supersedes},
                stands=[row.other.number for row in rows if row.part_id == part.pk],
            )
        )
        row = Alternative.objects.create(
            part=part, other=other, condition=condition, source=source, supersedes=supersedes
        )
        facts = {"alternative": str(row.uid), "other": str(other.uid), "supersedes": supersedes}
        words = {"condition": condition, "source": source}
        write(
            subject=f"part:{part.uid}", by=str(by.uid), verb="alternative approved", facts=facts, words=words
        )
    return row


def end_alternative(*, by: Person, alternative: Alternative, why: str) -> Alternative:
    """Say that a part may no longer go in the place of another; what was taken as such keeps its words."""
    require(by, Can.KEEP_PLANS)
    with transaction.atomic():
        part = Part.objects.select_for_update().get(pk=alternative.part_id)
        row = standing().filter(pk=alternative.pk).first()
        if row is None:
            refuse([Refusal("ended-before", "It was ended already.")])
        assert row is not None
        row.ended_at = now()
        row.save(update_fields=["ended_at"])
        facts = {"alternative": str(row.uid)}
        write(
            subject=f"part:{part.uid}",
            by=str(by.uid),
            verb="alternative ended",
            facts=facts,
            words={"why": why},
        )
    return row
