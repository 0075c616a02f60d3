"""The board of the day: sums and lists for whoever gives the jobs out."""

from datetime import timedelta
from typing import Any

from jobs.flow.models import Job
from shop.workshop.reads import at, now, today
from tests.conftest import Api, House
from tests.rows import codes, said
from tests.walk import EVIDENCE, Walk, ok


def promise(walk: Walk, days: int) -> None:
    """Another day, which may have passed since."""
    Job.objects.filter(uid=walk.job).update(promised_on=today() + timedelta(days=days))


def uids(rows: Any) -> list[str]:
    return [row["uid"] for row in rows]


def test_it_works(house: House, api: dict[str, Api]) -> None:
    late, due, later, far = (Walk(house, api) for _ in range(4))
    for walk, days in ((late, -1), (due, 0), (later, 6), (far, 7)):
        promise(walk, days)

    body = ok(api["lead"].get("board"))

    assert uids(body["late"]) == [late.job]
    assert [uids(day["jobs"]) for day in body["days"]] == [[due.job], [], [], [], [], [], [later.job]]
    assert body["days"][6]["day"] == (today() + timedelta(days=6)).isoformat()
    assert uids(body["nobody"]) == [late.job, due.job, later.job, far.job]
    assert len(body["go_aheads"]) == 4
    assert body["more"] is False


def test_it_adds_up_what_each_technician_has(house: House, api: dict[str, Api]) -> None:
    Walk(house, api).to("cleaning")
    ok(Walk(house, api, "second_stage").assign())
    Walk(house, api, "second_stage").to("signed_off")

    (row,) = ok(api["lead"].get("board"))["technicians"]

    # Plans of 75 and 45 min; of the first stage's steps those of cleaning and rebuilding are open.
    first, second = house.plans["first_stage"].plan, house.plans["second_stage"].plan
    still_open = [step.minutes for step in first.steps if step.leg in ("cleaning", "rebuilding")]
    assert row == {
        "technician": str(house.people["technician"].uid),
        "jobs": 2,
        "plan_minutes": 120,
        "open_step_minutes": sum(still_open) + sum(step.minutes for step in second.steps),
    }


def test_it_tells_what_waits_and_since_when(house: House, api: dict[str, Api]) -> None:
    held, away = Walk(house, api).to("cleared"), Walk(house, api).to("cleared")
    unasked = Walk(house, api)
    given = {"kind": "parts", "why": "a seat on order"}
    spare = house.item(serial="TH-9")
    with at(now() + timedelta(days=1)):
        ok(api["technician"].post(f"jobs/{held.job}/holds", given), 201)
        ok(api["lead"].post(f"items/{spare.uid}/evidence", EVIDENCE), 201)
        station = {"where": "outside", "holder": "Aldermouth Hydro", "seal": "S-1"}
        ok(api["technician"].post(f"lines/{away.row.line.uid}/custody", station), 201)

        body = ok(api["lead"].get("board"))
        tomorrow = today().isoformat()

    assert [(row["kind"], row["job"], row["item"]) for row in body["holds"]] == [
        ("evidence", None, str(spare.uid)), ("parts", held.job, None),
    ]  # fmt: skip
    assert body["holds"][0]["at"][:10] == tomorrow
    assert [row["drop_off"] for row in body["go_aheads"]] == [unasked.drop_off]
    (row,) = body["outside"]
    assert (row["line"], row["holder"], row["seal"]) == (str(away.row.line.uid), "Aldermouth Hydro", "S-1")
    assert row["since"][:10] == tomorrow


def test_it_forgets_what_came_back_and_was_lifted(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("cleared")
    line = walk.row.line.uid
    hold = ok(api["technician"].post(f"jobs/{walk.job}/holds", {"kind": "other", "why": "a look"}), 201)
    ok(api["technician"].post(f"lines/{line}/custody", {"where": "outside", "holder": "Hydro"}), 201)
    ok(api["technician"].post(f"lines/{line}/custody", {"where": "here", "holder": "shelf 1"}), 201)
    ok(api["technician"].post(f"holds/{hold['uid']}/lift", {"why": "it was nothing"}))

    body = ok(api["lead"].get("board"))

    assert body["holds"] == body["outside"] == []


def test_it_tells_what_is_ready_since_when_and_what_came_back(house: House, api: dict[str, Api]) -> None:
    gone = Walk(house, api).to("signed_off")
    ok(gone.hand_back(), 201)
    line = {"item": str(gone.item.uid), "plan": str(house.plans["first_stage"].uid), "contents": "no gas"}
    line["follows"] = gone.job
    data = {"customer": str(house.customer.uid), "promised_on": "2199-01-01", "lines": [line]}
    again = ok(api["counter"].post("drop-offs", data), 201)["lines"][0]["job"]
    ready = Walk(house, api, "second_stage").to("signed_off")

    body = ok(api["lead"].get("board"))

    assert [(row["job"]["uid"], row["since"][:10]) for row in body["ready"]] == [
        (ready.job, now().date().isoformat())
    ]
    assert [(row["uid"], row["follows"]) for row in body["comebacks"]] == [(again, gone.job)]


def test_it_is_for_whoever_gives_jobs_out(house: House, api: dict[str, Api], pages: dict[str, Any]) -> None:
    for role in ("technician", "inspector", "counter", "storekeeper"):
        assert codes(api[role].get("board"), 403) == []
        assert pages[role].get("/office/board").status_code == 403
        assert "/office/board" not in said(pages[role].get("/office"), 200)
    assert "/office/board" in said(pages["lead"].get("/office"), 200)


def test_it_links_each_line_to_its_page(house: House, api: dict[str, Api], pages: dict[str, Any]) -> None:
    walk, ready = Walk(house, api).to("cleared"), Walk(house, api, "second_stage").to("signed_off")
    ok(api["technician"].post(f"jobs/{walk.job}/holds", {"kind": "parts", "why": "a seat on order"}), 201)
    promise(walk, -2)

    page = said(pages["lead"].get("/office/board"), 200)

    for wanted in (
        f"/jobs/{walk.job}",
        f"/drop-offs/{ready.drop_off}",
        "a seat on order",
        "75 min",
        "Late, 1",
    ):
        assert wanted in page


def test_it_says_so_when_there_is_nothing(pages: dict[str, Any]) -> None:
    page = said(pages["lead"].get("/office/board"), 200)

    for wanted in (
        "No promise is broken.",
        "Nobody has a job.",
        "Nothing is on hold.",
        "All gear is in the house.",
    ):
        assert wanted in page
