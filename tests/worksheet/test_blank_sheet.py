"""The blank work sheet, read back."""

from django.test import Client

from tests.conftest import Api, House
from tests.printed import is_grey, marks_of, sizes_of, text_of, white_edges_mm
from tests.walk import Walk, ok


def test_it_works(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api)
    plan = walk.row.plan

    content = api["technician"].get(f"jobs/{walk.job}/sheet.pdf").content

    text = text_of(content)
    for expected in (
        "Work sheet, tray 1",
        "E-00001, First stage, Tarnwell Hesk serial S-first_stage",
        "plan Overhaul, version 1",
        "To be filled in by hand, and typed in later by whoever did the work.",
        "1 Take off hoses and port plugs",
        "Tool: straight hex key",
        "Caution: Only a straight key goes into a deep socket. A ball end touches the socket at a few points "
        "and rounds it off.",
        "of 5",
        "8 Torque the yoke retainer",
        "28 N·m N·m",
        "Port plug 5 pieces looked at and reused",
        "Filter 1 piece renewed with TH-301",
        "Lock-up: 9.0 to 10.0 bar, guarded",
        "Time to lock up: at most 15 s, simple",
        "Creep: at most 0.05 bar/min, guarded",
        "Source: Tarnwell Hesk workshop sheet, invented for the demo.",
        "Measured with a pressure logger.",
        "Bench tests at the surface say nothing about breathing effort at depth.",
    ):
        assert expected in text
    assert [step.title in text for step in plan.steps] == [True] * 8
    assert [part.name in text for part in plan.parts] == [True] * len(plan.parts)
    assert [test.title in text for test in plan.tests] == [True] * 3
    assert text.count("no. step parts counted torque asked torque read wrench done by, at") == 2
    assert marks_of(content) == [["C-0001-1"], [], []]
    assert sizes_of(content) == [(210, 297)] * 3
    assert white_edges_mm(content) > 12
    assert is_grey(content)


def test_it_stays_blank_whatever_is_done(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api)
    path = f"jobs/{walk.job}/sheet.pdf"
    ok(walk.go_ahead(), 201)
    ok(walk.assign())
    before = text_of(api["technician"].get(path).content)
    ok(walk.move("cleared", role="counter"))
    ok(walk.move("stripping"))
    walk.steps("stripping")

    assert text_of(api["technician"].get(path).content).split("Printed")[0] == before.split("Printed")[0]


def test_it_leaves_room_for_who_emptied_it(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api, contents="under pressure")
    path = f"jobs/{walk.job}/sheet.pdf"
    before = text_of(api["technician"].get(path).content)
    ok(api["technician"].post(f"jobs/{walk.job}/empty"))

    assert "under pressure not yet confirmed empty; emptied by:" in before
    assert "under pressure confirmed empty by Ines Okafor" in text_of(api["technician"].get(path).content)


def test_it_is_linked_from_the_job(house: House, api: dict[str, Api], pages: dict[str, Client]) -> None:
    walk = Walk(house, api)

    assert (
        f'href="/jobs/{walk.job}/sheet.pdf"' in pages["technician"].get(f"/jobs/{walk.job}").content.decode()
    )
