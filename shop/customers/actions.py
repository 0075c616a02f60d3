"""Add and change customers."""

from typing import Any

from django.conf import settings
from django.db import transaction
from django.db.models import Q
from django.utils.module_loading import import_string

from shop.customers.models import Customer
from shop.customers.reads import found_as, thing
from shop.journal.actions import write
from shop.search.actions import forget, forget_all, put, put_all
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.workshop.actions import next_number, next_numbers
from shop.workshop.reads import language as house_language
from shop.workshop.rules import Stale, merge_refusals, merged_refusals, refuse


def add_customer(
    *,
    by: Person,
    kind: str,
    name: str,
    email: str,
    phone: str,
    reminders: bool,
    postal: str = "",
    fewer: bool = False,
    ours: bool = False,
    language: str = "",
) -> Customer:
    """Add a customer under the next customer number; letters go out in the workshop's language where none is said."""
    require(by, Can.KEEP_CUSTOMERS)
    with transaction.atomic():
        customer = Customer.objects.create(
            number=next_number("customer"),
            kind=kind,
            name=name,
            email=email,
            phone=phone,
            postal=postal,
            language=language or house_language(),
            reminders=reminders,
            fewer=fewer,
            ours=ours,
        )
        put(thing=thing(customer))
        _journal(by, customer, "added")
    return customer


def add_customers(*, rows: list[dict[str, Any]]) -> list[Customer]:
    """Add many customers at once; whoever brings them in writes one entry into the journal for all of them."""
    numbers = next_numbers("customer", len(rows))
    spoken = house_language()
    made = [
        Customer(**row | {"number": number, "language": row["language"] or spoken})
        for number, row in zip(numbers, rows, strict=True)
    ]
    Customer.objects.bulk_create(made)
    put_all(things=[found_as(each, []) for each in made])
    return made


def take_back_customers(*, customers: list[Customer]) -> None:
    """Take away what was brought in and nothing refers to, as the caller made sure; numbers are not given again."""
    Customer.objects.filter(pk__in=[each.pk for each in customers]).delete()
    forget_all(subjects=[f"customer:{each.uid}" for each in customers])


def change_customer(*, by: Person, customer: Customer, seen: int, **changes: Any) -> Customer:
    """Change what is given of a customer whom the caller saw at version `seen`."""
    require(by, Can.KEEP_CUSTOMERS)
    with transaction.atomic():
        customer = Customer.objects.select_for_update().get(pk=customer.pk)
        if customer.version != seen:
            raise Stale(customer.version)
        refuse(merged_refusals(customer))
        before = customer.email
        for name, value in changes.items():
            setattr(customer, name, value)
        customer.version += 1
        customer.save()
        put(thing=thing(customer))
        _journal(by, customer, "changed")
        for hook in settings.AFTER_ADDRESS_CHANGED if customer.email != before else ():
            import_string(hook)(by=by, customer=customer)
    return customer


def wish(*, customer: Customer, by: str, **wishes: bool) -> None:
    """What a customer whom the caller has locked wishes about reminders, at once: `reminders` or `fewer`."""
    for name, value in wishes.items():
        setattr(customer, name, value)
    customer.version += 1
    customer.save(update_fields=["version", *wishes])
    facts = wishes | {"version": customer.version}
    write(subject=f"customer:{customer.uid}", by=by, verb="reminders wished", facts=facts)


def merge_customers(*, by: Person, keep: Customer, lose: Customer, seen: int) -> Customer:
    """Merge a customer, whom the caller saw at version `seen`, into another; what they own moves one room higher.

    The lost one stays as it is, to be read. Drop-offs keep pointing at whoever brought them.
    """
    require(by, Can.KEEP_CUSTOMERS)
    with transaction.atomic():
        asked = Q(pk__in=[keep.pk, lose.pk]) | Q(merged_into=lose.pk)
        rows = {row.pk: row for row in Customer.objects.select_for_update().filter(asked).order_by("pk")}
        keep, lose = rows[keep.pk], rows[lose.pk]
        if lose.version != seen:
            raise Stale(lose.version)
        refuse(merge_refusals(keep, lose))
        # Whoever asked for fewer letters or none under either name gets no more than that.
        keep.reminders, keep.fewer = keep.reminders and lose.reminders, keep.fewer or lose.fewer
        for row in rows.values():
            if row.pk != keep.pk:
                row.merged_into = keep
            if row.pk in (keep.pk, lose.pk):
                row.version += 1
            row.save(update_fields=["merged_into", "reminders", "fewer", "version"])
        forget(subject=f"customer:{lose.uid}")
        put(thing=thing(keep))
        who = str(by.uid)
        facts: dict[str, Any] = {"kept": str(keep.uid), "lost": str(lose.uid)}
        write(subject=f"customer:{lose.uid}", by=who, verb="merged into another", facts=facts)
        facts |= {"reminders": keep.reminders, "fewer": keep.fewer}
        write(subject=f"customer:{keep.uid}", by=who, verb="took another in", facts=facts)
    return keep


def _journal(by: Person, customer: Customer, verb: str) -> None:
    write(
        subject=f"customer:{customer.uid}",
        by=str(by.uid),
        verb=verb,
        facts={
            "kind": customer.kind,
            "language": customer.language,
            "reminders": customer.reminders,
            "fewer": customer.fewer,
            "ours": customer.ours,
            "version": customer.version,
        },
        words={name: getattr(customer, name) for name in Customer.TOLD},
    )
