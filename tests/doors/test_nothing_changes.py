"""The helper that every refusal is held against does see a change, in any table."""

import pytest
from django.db import connection

from shop.customers.models import Customer
from shop.stock.models import Lot
from tests.conftest import House
from tests.rows import fingerprint, nothing_changes


def test_it_works(house: House) -> None:
    with nothing_changes():
        Customer.objects.get()


@pytest.mark.parametrize(
    ("model", "change", "table"),
    [(Customer, {"phone": ""}, "customers_customer"), (Lot, {"cured": "3Q26"}, "stock_lot")],
)
def test_it_names_the_table_that_changed(
    house: House, model: type, change: dict[str, object], table: str
) -> None:
    with pytest.raises(AssertionError, match=table), nothing_changes():
        model.objects.update(**change)  # type: ignore[attr-defined]  # each is a model


def test_it_looks_at_every_table_but_sessions(db: None) -> None:
    assert set(connection.introspection.table_names()) - set(fingerprint()) == {
        "django_session",
        "signin_kept",
        "staff_wrongtry",
    }
