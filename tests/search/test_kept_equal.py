"""What can be found stays equal to what stands in the rooms: at once, after a loss, and below the words in trigrams."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from django.core.management import call_command
from django.db import IntegrityError, connection, transaction

from shop.customers.actions import change_customer
from shop.customers.models import Customer
from shop.customers.reads import findable, thing
from shop.search.actions import find_again, put
from shop.search.models import Findable
from shop.search.reads import matching
from tests.conftest import Api, House
from tests.rows import fingerprint, nothing_changes
from tests.threads import together
from tests.walk import Walk

STORED = ["subject", "kind", "number", "title", "note", "address", "words"]


def rows() -> list[Any]:
    """All that can be found, without the order in which it came."""
    return sorted(Findable.objects.values_list(*STORED))


def again() -> str:
    """What the command says."""
    said: list[str] = []

    class Out:
        def write(self, text: str) -> None:
            said.append(text)

    call_command("find_again", stdout=Out())
    return "".join(said).strip()


def test_it_works(house: House, api: dict[str, Api]) -> None:
    """Every action wrote what the reads give: nothing is to be made again."""
    Walk(house, api).to("handed_back")

    with nothing_changes():
        assert again() == "0 rows were wrong and are right now."

    assert {row.kind for row in Findable.objects.all()} == {
        "customer", "item", "drop-off", "line", "job", "part", "lot", "bin", "instrument"
    }  # fmt: skip


def test_it_makes_everything_again(house: House, api: dict[str, Api]) -> None:
    Walk(house, api)
    before = rows()
    Findable.objects.filter(kind__in=["customer", "lot"]).delete()
    Findable.objects.filter(kind="item").update(words="", title="Snorkel")
    put(thing=replace(thing(house.customer), subject="customer:nobody", number="K-0009", title="Nobody"))
    assert rows() != before

    assert again() == f"{1 + 6 + 1 + 1} rows were wrong and are right now."

    assert rows() == before
    assert again() == "0 rows were wrong and are right now."
    assert [row.number for row in matching("lindqvist")] == ["K-0001"]
    assert list(matching("snorkel")) == list(matching("nobody")) == []


def test_it_writes_in_a_transaction_only(real_database: None, house: House) -> None:
    with pytest.raises(RuntimeError):
        put(thing=thing(house.customer))


def test_it_leaves_one_row_of_a_thing_put_at_once(real_database: None, house: House) -> None:
    of_maja = thing(house.customer)

    def act(i: int) -> None:
        with transaction.atomic():
            put(thing=replace(of_maja, title=f"Maja-{i}-"))

    together(8, act)

    row = Findable.objects.get(subject=f"customer:{house.customer.uid}")
    assert row.title in {f"Maja-{i}-" for i in range(8)}
    assert [found.pk for found in matching(row.title)] == [row.pk]
    others = [f"Maja-{i}-" for i in range(8) if f"Maja-{i}-" != row.title]
    assert [list(matching(name)) for name in others] == [[]] * 7


def test_it_makes_everything_again_while_people_work(real_database: None, house: House) -> None:
    """Whoever comes last, what is found is what stands in the record."""
    counter = house.people["counter"]
    Findable.objects.all().delete()

    def act(i: int) -> None:
        if i % 2:
            find_again(sources=[findable()])
            return
        for n in range(5):
            with transaction.atomic():
                row = Customer.objects.select_for_update().get(pk=house.customer.pk)
                change_customer(by=counter, customer=row, seen=row.version, name=f"Maja {i}-{n}")

    together(4, act)

    name = Customer.objects.get(pk=house.customer.pk).name
    assert Findable.objects.get(kind="customer").title == name
    assert [row.title for row in matching(name)] == [name]


def test_it_refuses_a_second_row_of_a_subject(house: House) -> None:
    row = Findable.objects.get(kind="customer")
    columns = ", ".join(STORED)
    sql = f"INSERT INTO search_findable ({columns}) SELECT {columns} FROM search_findable WHERE id = %s"

    with pytest.raises(IntegrityError), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(sql, [row.pk])

    assert Findable.objects.filter(kind="customer").count() == 1


@pytest.fixture
def trigrams(house: House) -> Callable[[], None]:
    """A check that the full-text table of SQLite holds exactly the words of every row."""
    if connection.vendor != "sqlite":
        pytest.skip("PostgreSQL keeps its index by itself")

    def agree() -> None:
        with connection.cursor() as cursor:
            cursor.execute(
                "INSERT INTO search_trigrams (search_trigrams, rank) VALUES ('integrity-check', 1)"
            )

    return agree


@pytest.mark.parametrize(
    "sql",
    [
        "UPDATE search_findable SET words = 'otherwise'",
        "UPDATE search_findable SET id = id + 1000",
        "DELETE FROM search_findable",
        "INSERT OR REPLACE INTO search_findable SELECT * FROM search_findable",
        "INSERT OR REPLACE INTO search_findable (id, subject, kind, number, title, note, address, words) "
        "SELECT id + 500, subject, kind, number, title, note, address, 'else' FROM search_findable",
        "INSERT INTO search_findable (subject, kind, number, title, note, address, words) "
        "SELECT subject, kind, number, title, note, address, 'upset' FROM search_findable WHERE true "
        "ON CONFLICT (subject) DO UPDATE SET words = excluded.words",
    ],
)
def test_it_keeps_the_trigrams_equal_whatever_is_written(trigrams: Callable[[], None], sql: str) -> None:
    before = fingerprint()["search_findable"]
    trigrams()

    with connection.cursor() as cursor:
        cursor.execute(sql)

    trigrams()
    assert ("OR REPLACE INTO search_findable SELECT" in sql) == (fingerprint()["search_findable"] == before)
