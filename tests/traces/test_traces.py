"""A trace looked at closely: in a window, with another of the same test laid over it, and as a file."""

import numpy as np
import pytest
from django.test import Client

from jobs.bench.methods.traces import parse_csv
from jobs.bench.models import Attempt
from tests.conftest import TRACES, Api, House
from tests.walk import Walk, ok

SLOW, FINAL = "slow_tail", "creep_0p02"


@pytest.fixture
def two(house: House, api: dict[str, Api]) -> tuple[Attempt, Attempt]:
    """A first stage with a trace as received and a final one."""
    walk = Walk(house, api).to("cleared")
    ok(walk.trace(SLOW, phase="as received"), 201)
    ok(walk.move("stripping"))
    walk.steps("stripping")
    ok(walk.move("cleaning"))
    walk.steps("cleaning")
    walk.parts()
    ok(walk.move("rebuilding"))
    walk.steps("rebuilding")
    ok(walk.move("testing"))
    ok(walk.trace(FINAL), 201)
    received, final = Attempt.objects.order_by("pk")
    return received, final


def test_the_page_shows_all_of_a_trace_from_the_end_of_its_purge(
    two: tuple[Attempt, Attempt], pages: dict[str, Client]
) -> None:
    page = pages["technician"].get(f"/attempts/{two[1].uid}/trace")

    times = parse_csv((TRACES / f"{FINAL}.csv").read_bytes()).times_s
    released = float(two[1].result["figures"]["released_s"])
    assert page.context["look"].window == (times[0] - released, times[-1] - released)
    assert "the end of the purge" in page.content.decode()
    assert page.context["picture"].fit == ""


def test_a_window_draws_only_what_is_in_it(two: tuple[Attempt, Attempt], pages: dict[str, Client]) -> None:
    page = pages["technician"].get(f"/attempts/{two[1].uid}/trace?start=30&end=60")

    trace = parse_csv((TRACES / f"{FINAL}.csv").read_bytes())
    since = trace.times_s - float(two[1].result["figures"]["released_s"])
    assert page.context["picture"].line.count(",") == int(np.sum((since >= 30) & (since <= 60)))


def test_as_received_is_laid_over_final(two: tuple[Attempt, Attempt], pages: dict[str, Client]) -> None:
    received, final = two
    page = pages["technician"].get(f"/attempts/{final.uid}/trace?over={received.uid}")

    assert page.status_code == 200
    assert page.context["picture"].fit.startswith("M")
    assert f"as received, {received.done_at:%-d %b %Y}" in page.context["picture"].sentence


@pytest.mark.parametrize(
    ("asked", "name", "says"),
    [
        ("start=60&end=30", "end", "It must come after the start."),
        ("start=99999&end=100000", "end", "There is no sample from 99999 to 100000."),
        ("start=nan", "start", "A valid number is required."),
        ("end=Infinity", "end", "A valid number is required."),
        ("over=11111111-1111-1111-1111-111111111111", "over", "There is no attempt 11111111-"),
        ("over=x", "over", "There is no attempt x."),
    ],
)
def test_what_shows_nothing_is_refused_beside_the_whole_trace(
    two: tuple[Attempt, Attempt], pages: dict[str, Client], asked: str, name: str, says: str
) -> None:
    page = pages["technician"].get(f"/attempts/{two[1].uid}/trace?{asked}")

    wrong = {control.name: " ".join(control.errors) for control in page.context["form"].wrong}
    assert (page.status_code, list(wrong)) == (400, [name])
    assert says.lower() in wrong[name].lower()
    assert page.context["picture"].line


def test_a_trace_of_other_gear_is_not_laid_over(
    two: tuple[Attempt, Attempt], house: House, api: dict[str, Api], pages: dict[str, Client]
) -> None:
    other = Walk(house, api).to("cleared")
    ok(other.trace(phase="as received"), 201)
    stranger = Attempt.objects.get(round__job=other.row)

    page = pages["technician"].get(f"/attempts/{two[1].uid}/trace?over={stranger.uid}")

    wrong = {control.name: control.errors for control in page.context["form"].wrong}
    assert (page.status_code, wrong) == (
        400,
        {"over": ["It is not a trace of the same test of the same gear."]},
    )


def test_the_file_holds_the_numbers_that_were_judged(
    two: tuple[Attempt, Attempt], api: dict[str, Api], pages: dict[str, Client]
) -> None:
    sent = (TRACES / f"{FINAL}.csv").read_text()

    by_page = pages["technician"].get(f"/attempts/{two[1].uid}/trace.csv")
    by_api = api["technician"].get(f"attempts/{two[1].uid}/trace", Accept="text/csv")

    assert by_page.content.decode() == by_api.content.decode() == sent
    assert by_api.headers["Content-Type"] == "text/csv"
    assert by_page.headers["Content-Disposition"].startswith('attachment; filename="tray-')


def test_an_attempt_without_a_trace_has_no_such_page(
    house: House, api: dict[str, Api], pages: dict[str, Client]
) -> None:
    walk = Walk(house, api).to("testing")
    ok(walk.reading("low_supply", "9.42"), 201)
    row = Attempt.objects.get()

    assert pages["technician"].get(f"/attempts/{row.uid}/trace").status_code == 404
    assert pages["technician"].get(f"/attempts/{row.uid}/trace.csv").status_code == 404
    assert api["technician"].get(f"attempts/{row.uid}/trace").status_code == 404
