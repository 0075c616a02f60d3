"""Set the oxygen threshold."""

from django.db import transaction

from shop.gases.reads import setting
from shop.gases.rules import Setting, percent
from shop.journal.actions import write
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.workshop.actions import set_oxygen_threshold


def set_threshold(*, by: Person, threshold: int, seen: int) -> Setting:
    """Say above which share of oxygen gas counts as enriched; what was taken before keeps the rule it was taken by."""
    require(by, Can.KEEP_PLANS)
    with transaction.atomic():
        set_oxygen_threshold(share=threshold, seen=seen)
        made = setting()
        facts = {"oxygen threshold": percent(made.threshold), "version": made.version}
        write(subject="workshop", by=str(by.uid), verb="settings changed", facts=facts)
    return made
