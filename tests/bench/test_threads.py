"""Threads that are not the same hold the job, through the doors, until somebody says what was done."""

from typing import Any

from jobs.flow.models import Hold
from tests.bench.test_figures import brought
from tests.conftest import Api, House
from tests.rows import codes, nothing_changes, said
from tests.walk import Walk, ok

EQUAL = {"neck": "M25x2", "valve": "M25x2"}
FATAL = {"neck": "3/4-14 NPSM", "valve": "M25x2"}


def compared(walk: Walk, figures: dict[str, str]) -> Any:
    given = {"phase": "final", "figures": figures, "why_again": "Gauged anew."}
    return walk.api["technician"].post(f"jobs/{walk.job}/tests/threads", given)


def test_it_works(house: House, api: dict[str, Api], pages: dict[str, Any]) -> None:
    walk = brought(house, api, "cylinder", "cylinder_visual", "master gauge", "bar", "1")
    for key in ("outside", "inside", "neck", "valve"):
        given = {"phase": "final", "finding": "pass"}
        ok(walk.api["technician"].post(f"jobs/{walk.job}/tests/{key}", given), 201)

    found = ok(compared(walk, FATAL), 201)
    assert found["verdict"] == "outside"
    hold = Hold.objects.get(job=walk.row)
    assert (hold.kind, hold.lifted_at) == ("thread", None)
    assert hold.why.startswith("The neck is 3/4-14 NPSM and the valve is M25x2")
    ok(compared(walk, FATAL), 201)
    assert Hold.objects.filter(job=walk.row).count() == 1
    page = said(pages["technician"].get(f"/attempts/{found['uid']}"), 200)
    assert "that mismatch has been fatal" in page

    ok(compared(walk, EQUAL), 201)
    with nothing_changes():
        assert codes(walk.sign()) == ["held-thread"]
    why = {"why": "Another valve was fitted, its thread gauged."}
    ok(api["technician"].post(f"holds/{hold.uid}/lift", why))
    ok(walk.sign(), 201)


def test_it_is_not_serviced_while_a_thread_is_not_told(house: House, api: dict[str, Api]) -> None:
    walk = brought(house, api, "cylinder", "cylinder_visual", "master gauge", "bar", "1")
    unknown = {"neck": "M25x2", "valve": "none of these, or not told"}
    assert ok(compared(walk, unknown), 201)["verdict"] == "inconclusive"
    assert not Hold.objects.exists()
    assert "not-within" in codes(walk.sign())
