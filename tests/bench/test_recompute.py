"""Every stored attempt computed again by the present methods: what would differ is listed, and nothing is touched."""

from io import StringIO
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from jobs.bench.methods import METHODS
from jobs.bench.models import Attempt
from jobs.bench.reads import BATCH, every_attempt
from shop.journal.rules import append_only_sql, drop_append_only_sql
from tests.bench.test_figures import GAUGE, brought, tried
from tests.conftest import Api, House, lift
from tests.rows import nothing_changes
from tests.walk import Walk, ok


def recompute() -> str:
    out = StringIO()
    with nothing_changes():
        call_command("bench", "recompute", stdout=out)
    return out.getvalue()


def what_differs() -> list[str]:
    """The lines of what would differ, each without its attempt and job."""
    out = StringIO()
    with nothing_changes(), pytest.raises(CommandError, match="nothing was changed") as refused:
        call_command("bench", "recompute", stdout=out)
    assert refused.value.returncode == 1
    return [line.split(", ", 2)[2] for line in out.getvalue().splitlines()]


def tampered(key: str, **values: Any) -> Attempt:
    """The newest attempt of a test with other values, as somebody with the database in hand could store them."""
    row = Attempt.objects.filter(key=key).order_by("-pk")[0]
    lift(drop_append_only_sql)
    Attempt.objects.filter(pk=row.pk).update(**values)
    lift(append_only_sql)
    return row


@pytest.fixture
def attempts(house: House, api: dict[str, Api]) -> None:
    """An attempt of everything that a method takes: a trace, readings in two units, figures, a finding."""
    walk = Walk(house, api).to("testing")
    walk.tests()
    ok(walk.reading("low_supply", "136.6", "psi", why="Read anew."), 201)
    ok(walk.trace("short_noisy", why="Logged anew."), 201)
    gauge = brought(house, api, "submersible_gauge", "submersible_gauge", "master gauge", "bar", "0.5")
    ok(tried(gauge, "accuracy", GAUGE, "master gauge"), 201)
    finding = next(test.key for test in gauge.row.plan.tests if test.method == "finding")
    ok(
        gauge.api["technician"].post(
            f"jobs/{gauge.job}/tests/{finding}", {"phase": "final", "finding": "reject"}
        ),
        201,
    )


@pytest.mark.usefixtures("attempts")
def test_it_works() -> None:
    assert {METHODS[row.result["method"]].takes for row in Attempt.objects.all()} == {
        "trace", "reading", "figures", "finding",
    }  # fmt: skip

    assert recompute() == "7 attempts computed again, none would differ.\n"


def test_it_looks_at_nothing_where_nothing_is_stored(house: House) -> None:
    assert recompute() == "0 attempts computed again, none would differ.\n"


@pytest.mark.usefixtures("attempts")
def test_it_finds_a_figure_that_was_changed() -> None:
    row = Attempt.objects.filter(key="intermediate_pressure").order_by("-pk")[0]
    figures = row.result["figures"] | {"sample_interval_s": "0.75"}
    tampered("intermediate_pressure", result=row.result | {"figures": figures})

    assert what_differs() == ['intermediate_pressure: figures.sample_interval_s was "0.75", would be "0.5"']


@pytest.mark.usefixtures("attempts")
def test_it_tells_what_an_earlier_version_of_a_method_judged() -> None:
    row = Attempt.objects.filter(key="intermediate_pressure").order_by("-pk")[0]
    present = METHODS["intermediate pressure"].version
    tampered("intermediate_pressure", result=row.result | {"version": "1"})

    assert what_differs() == [f'intermediate_pressure: version was "1", would be "{present}"']


@pytest.mark.usefixtures("attempts")
def test_it_finds_a_verdict_and_a_reading_that_were_changed() -> None:
    tampered("accuracy", verdict="outside")
    row = tampered("supply_drop", reading="0.3")

    found = what_differs()

    assert 'accuracy: recorded verdict was "outside", would be "within"' in found
    assert 'supply_drop: value was "0.2", would be "0.3"' in found
    assert {line.partition(":")[0] for line in found} == {"accuracy", "supply_drop"}
    assert row.verdict == "within"


@pytest.mark.usefixtures("attempts")
@pytest.mark.parametrize(
    ("values", "reason"),
    [
        ({"trace": b"t_s,p_bar\n0,nine\n"}, "UnreadableTrace: The stored trace is damaged."),
        ({"trace": b"\1"}, "UnreadableTrace: The stored trace is damaged."),
        ({"trace": b""}, "UnreadableTrace: The file is empty."),
        ({"result": {"method": "tea leaves", "limits": []}}, "KeyError: 'tea leaves'"),
        ({"result": {}}, "KeyError: 'method'"),
    ],
)
def test_it_lists_what_can_no_longer_be_computed_and_goes_on(values: dict[str, Any], reason: str) -> None:
    tampered("intermediate_pressure", **values)
    tampered("accuracy", verdict="outside")

    first, second = what_differs()

    assert first.startswith("intermediate_pressure: verdict was ")
    assert reason in first
    assert second.startswith("accuracy: ")


@pytest.mark.usefixtures("attempts")
def test_it_looks_at_each_once_batch_by_batch() -> None:
    row = Attempt.objects.filter(key="supply_drop").values().get()
    copies = [Attempt(**row | {"id": None, "uid": f"{n:032x}"}) for n in range(2 * BATCH)]
    Attempt.objects.bulk_create(copies)

    found = [row.pk for row in every_attempt()]

    assert found == sorted(set(found))
    assert len(found) == 7 + 2 * BATCH
