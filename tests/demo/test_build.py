"""`manage.py demo`: what it leaves, and that two of them are alike."""

from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.db import transaction

from jobs.bench.models import Attempt
from jobs.demo.management.commands.demo import build
from jobs.flow.models import Hold, Job
from jobs.notices.models import Doubt
from shop.customers.models import Customer
from shop.gear.models import Item
from shop.journal.models import Entry
from shop.journal.reads import faults
from shop.stock.models import Lot
from shop.workshop.models import Workshop


def told() -> dict[str, list[Any]]:
    """What a demo leaves that does not come from chance."""
    return {
        "customers": list(Customer.objects.order_by("pk").values_list("name", "email", "phone")),
        "items": list(Item.objects.order_by("pk").values_list("number", "owner__name", "model__name")),
        "jobs": list(Job.objects.order_by("pk").values_list("number", "leg", "promised_on", "line__words")),
        "attempts": list(Attempt.objects.order_by("pk").values_list("key", "reading", "verdict")),
        "lots": list(Lot.objects.order_by("pk").values_list("number", "on_hand", "good_to")),
        "journal": list(Entry.objects.order_by("pk").values_list("verb", flat=True)),
    }


def test_it_works(db: None) -> None:
    with transaction.atomic():
        lines = build(years=1)
        first = told()
        assert list(faults()) == []
        assert set(Job.objects.values_list("leg", flat=True)) == {
            "checked_in", "cleared", "stripping", "cleaning", "rebuilding", "testing", "signed_off", "handed_back",
        }  # fmt: skip
        kinds = set(Hold.objects.filter(lifted_at=None).values_list("kind", flat=True))
        assert kinds == {"parts", "customer", "evidence", "doubt", "thread", "other"}
        assert Hold.objects.filter(kind="evidence").count() == 3
        assert Doubt.objects.count() == 1
        assert [line.split()[0] for line in lines] == [
            "lead",
            "counter",
            "technician",
            "inspector",
            "storekeeper",
        ]
        transaction.set_rollback(True)
    with transaction.atomic():
        build(years=1)
        assert told() == first
        transaction.set_rollback(True)

    assert (len(first["customers"]), len(first["items"])) == (61, 207)
    assert len([row for row in first["jobs"] if row[1] not in ("handed_back", "disposed")]) >= 25


def test_it_refuses_a_workshop_that_is_open(db: None) -> None:
    Workshop.objects.create(name="Ours", zone="Europe/London", currency="GBP")

    with pytest.raises(CommandError, match="open already"):
        call_command("demo")
