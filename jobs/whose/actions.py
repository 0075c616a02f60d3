"""Give a customer's data out."""

import zipfile
from typing import IO

from django.db import connection, transaction

from jobs.whose.reads import put_data
from jobs.whose.rules import GIVEN_OUT
from shop.customers.models import Customer
from shop.journal.actions import write
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.workshop.rules import merged_refusals, refuse


def give_out(*, by: Person, customer: Customer, file: IO[bytes]) -> None:
    """Write everything that is the customer's into an archive, as it stood at one instant."""
    require(by, Can.ANSWER_FOR_RIGHTS)
    alone = not connection.in_atomic_block
    with transaction.atomic():
        if alone and connection.vendor == "postgresql":
            connection.cursor().execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ")
        customer = Customer.objects.select_for_update().get(pk=customer.pk)
        refuse(merged_refusals(customer))
        with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
            facts = put_data(archive, customer)
        write(subject=f"customer:{customer.uid}", by=str(by.uid), verb=GIVEN_OUT, facts=facts)
