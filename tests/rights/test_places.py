"""Every place in the database that hangs on a customer is spoken for: what erasure does to it, or why it is not theirs."""

from collections.abc import Iterator
from typing import Any

from django.apps import apps
from django.db.models import BinaryField, CharField, Field, ForeignKey, JSONField, Model, TextField

from jobs.whose.rules import ANYBODYS, HELD, NAMED, NOT_THEIRS, Held
from shop.journal.rules import ERASABLE


def house() -> list[type[Model]]:
    """Every model of ours."""
    return [model for model in apps.get_models() if model.__module__.split(".")[0] in ("shop", "jobs")]


def texts(model: type[Model]) -> set[str]:
    """The columns of a model that hold text or bytes and are not one of a list that it holds itself."""
    kinds = (CharField, TextField, JSONField, BinaryField)
    return {
        field.name
        for field in model._meta.concrete_fields
        if isinstance(field, kinds) and not (isinstance(field, CharField) and field.choices)
    }


def unspoken(held: dict[str, Held]) -> list[str]:
    """Columns of text in these tables that no list names."""
    found = {label: texts(apps.get_model(label)) for label in held}
    return [f"{label}.{name}" for label in held for name in sorted(found[label] - set(held[label].columns()))]


def edges() -> Iterator[tuple[str, "Field[Any, Any]"]]:
    """Every foreign key of ours to a table that hangs on a customer."""
    for model in house():
        for field in model._meta.concrete_fields:
            if isinstance(field, ForeignKey) and field.related_model._meta.label in HELD:
                yield model._meta.label, field


def loose(held: dict[str, Held]) -> list[str]:
    """Foreign keys to such a table by which a row is neither theirs nor said not to be."""
    return [
        f"{label}.{field.name}"
        for label, field in edges()
        if (label, field.name) not in NOT_THEIRS
        and not any(
            path.split("__")[0] == field.name
            for path in (*held.get(label, Held()).paths, *held.get(label, Held()).mentions)
        )
    ]


def test_it_works() -> None:
    assert loose(dict(HELD)) == []
    assert unspoken(dict(HELD) | dict(NAMED)) == []


def test_it_tells_a_column_or_a_table_that_nobody_spoke_for() -> None:
    """The guard turns red: a column is taken out of the lists, and a table."""
    less = dict(HELD) | {"handback.HandBack": Held(("drop_off__customer",))}
    assert unspoken(less) == ["handback.HandBack.collector"]
    assert loose({label: held for label, held in HELD.items() if label != "estimates.GoAhead"}) == [
        "estimates.GoAhead.drop_off"
    ]


def test_it_names_no_column_that_is_not_there_and_no_key_that_is_theirs() -> None:
    for label, held in {**HELD, **NAMED}.items():
        assert set(held.columns()) <= texts(apps.get_model(label)), label
        assert not held.kept or held.why, label
        assert bool(held.called) == (bool(held.cleaned) and label in HELD), label
    known = {(label, field.name) for label, field in edges()}
    assert set(NOT_THEIRS) <= known


def test_it_lets_the_database_erase_what_the_rules_erase_and_nothing_else() -> None:
    asked = {}
    for label, held in {**HELD, **NAMED}.items():
        table = apps.get_model(label)._meta.db_table
        if table in ERASABLE:
            asked[table] = set(f"{held.erased} {held.cleaned}".split())

    assert asked == {table: set(columns) for table, columns in ERASABLE.items()}
    assert {label for label, _ in ANYBODYS} - set(HELD) == {"batches.Finding"}
