"""Gear is kept as evidence, with or without a job; while it is, nothing is done to it or to its set."""

from datetime import date
from typing import Any

from django.db import transaction

from jobs.evidence.models import EvidenceCustody
from jobs.flow.models import Custody, Hold
from jobs.flow.reads import held_owners
from jobs.live.actions import add_chunk, begin
from jobs.reminders.reads import owed
from shop.clocks.actions import restart, set_going
from shop.files.models import Photograph
from shop.sets.actions import make_set
from shop.workshop.rules import add_months
from tests.conftest import SECRET, TRACES, Api, House
from tests.photographs import encoded, form
from tests.rows import codes, nothing_changes, said, send, sentences
from tests.walk import EVIDENCE, Walk, ok

SEALED = EVIDENCE | {"seals": "A-1, A-2", "reference": "Reference 27", "people": "Sergeant Orla Finch"}


def keep(api: dict[str, Api], item: Any, **more: str) -> str:
    made = ok(api["counter"].post(f"items/{item.uid}/evidence", SEALED | more), 201)
    return str(made["uid"])


def test_it_works(house: House, api: dict[str, Api], pages: dict[str, Any]) -> None:
    item = house.item()
    answer = send(pages["counter"], f"/items/{item.uid}/evidence", SEALED | {"found": "Valve shut, 40 bar."})

    hold = Hold.objects.get()
    assert answer["Location"] == f"/evidence/{hold.uid}"
    page = said(pages["technician"].get(f"/evidence/{hold.uid}"), 200)
    for each in (
        "Do not open it, pressurise it",
        "A-1, A-2",
        "Valve shut, 40 bar.",
        "Reference 27",
        "Sergeant Orla Finch",
    ):
        assert each in page
    assert "kept as evidence" in said(pages["counter"].get(f"/items/{item.uid}"), 200)
    assert item.label in said(pages["storekeeper"].get("/evidence"), 200)
    row = EvidenceCustody.objects.get()
    assert (row.n, row.where, row.intact, row.by.name) == (1, "here", "A-1, A-2", "Bryn Castell")
    with nothing_changes():
        assert codes(api["lead"].post(f"items/{item.uid}/evidence", EVIDENCE)) == ["held-before"]
        assert api["storekeeper"].post(f"items/{item.uid}/evidence", EVIDENCE).status_code == 403


def test_it_says_so_where_gear_is_checked_in_and_writes_no_link(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    walk = Walk(house, api)
    keep(api, walk.item)
    page = f"/drop-offs/{walk.drop_off}"

    assert "It is kept as evidence" in said(pages["counter"].get(page), 200)
    with nothing_changes():
        assert codes(api["counter"].post(f"drop-offs/{walk.drop_off}/porthole/link")) == ["held-evidence"]
    free = house.item(serial="free")
    keep(api, free)
    form = said(pages["counter"].get(f"/customers/{house.customer.uid}/check-in"), 200)
    assert f"{free.marks}), kept as evidence" in form


def test_it_passes_on_with_every_seal_looked_at(house: House, api: dict[str, Api]) -> None:
    uid = keep(api, house.item())
    path = f"evidence/{uid}/custody"
    out = {"where": "outside", "giver": "evidence cupboard", "holder": "harbour police", "intact": "A-1"}

    with nothing_changes():
        assert codes(api["counter"].post(path, out)) == ["seal-unseen"]
        assert codes(api["counter"].post(path, out | {"broken": "A-2"})) == ["reason-missing"]
        assert api["storekeeper"].post(path, out).status_code == 403
    ok(
        api["counter"].post(path, out | {"broken": "A-2", "why": "Cut by the officer to look at the gauge."}),
        201,
    )

    body = ok(api["lead"].get(f"evidence/{uid}"))
    assert [(row["n"], row["where"], row["intact"], row["broken"]) for row in body["custody"]] == [
        (1, "here", "A-1, A-2", ""),
        (2, "outside", "A-1", "A-2"),
    ]
    assert body["custody"][0]["people"] == "Sergeant Orla Finch"
    assert Hold.objects.get().lifted_at is None


def test_it_goes_along_with_the_bag_of_its_job(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api)
    uid = keep(api, walk.item)
    out = {"where": "outside", "giver": "us", "holder": "harbour police", "intact": "A-1, A-2"}
    ok(api["lead"].post(f"evidence/{uid}/custody", out), 201)

    rows = Custody.objects.filter(line=walk.row.line).order_by("pk")
    assert [(row.where, row.seal) for row in rows] == [
        ("here", ""),
        ("here", "A-1, A-2"),
        ("outside", "A-1, A-2"),
    ]


def test_it_refuses_everything_that_opens_or_pressurises_it(house: House, api: dict[str, Api]) -> None:
    walk, mate = Walk(house, api).to("testing"), Walk(house, api, "second_stage").to("testing")
    make_set(by=house.people["lead"], owner=house.customer, name="hers", items=[walk.item, mate.item])
    looked = Walk(house, api, contents="not looked at")
    keep(api, walk.item)
    keep(api, looked.item)

    with nothing_changes():
        for each in (walk, mate):  # what belongs to its set is as little opened
            assert codes(each.step(each.row.plan.steps[0].key))[0] == "held-evidence"
            assert codes(each.end(each.row.plan.parts[0].key))[0] == "held-evidence"
            assert codes(each.move("stripping", reason="Again."))[0] == "held-evidence"
            assert "held-evidence" in codes(each.sign(outcome="declined", words="So."))
        assert codes(walk.trace())[0] == "held-evidence"
        assert codes(mate.reading("cracking", "3.1", "mbar"))[0] == "held-evidence"
        assert codes(walk.move("cleaning", reason="Again.", role="lead"))[0] == "held-evidence"
        noted = api["technician"].post(f"jobs/{looked.job}/contents", {"contents": "no gas"})
        assert codes(noted) == ["held-evidence"]
        answer = api["technician"].post(
            f"jobs/{mate.job}/moves", {"to": "stripping", "reason": "So."}, seen=mate.row.version
        )
        assert sentences(answer)[0].startswith(
            f"On hold, evidence: {walk.item.label}. It was worn in an accident."
        )


def test_it_is_no_partner_of_a_test(house: House, api: dict[str, Api]) -> None:
    walk, kept = Walk(house, api, "second_stage").to("testing"), house.item(serial="kept")
    keep(api, kept)
    data = {
        "phase": "final", "instrument": str(house.instruments["low-pressure gauge"].uid), "partner": str(kept.uid),
        "figures": {"first": "3.1 mbar"},
    }  # fmt: skip

    with nothing_changes():
        assert "held-evidence" in codes(api["technician"].post(f"jobs/{walk.job}/tests/cracking", data))


def test_it_takes_no_chunk_of_what_was_being_logged(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("cleared")
    given: dict[str, Any] = {"phase": "as received", "instrument": house.instruments["pressure logger"]}
    row = begin(by=house.people["technician"], job=walk.row, key="intermediate_pressure", **given)
    lines = (TRACES / "creep_0p02.csv").read_text().partition("\n")[2].splitlines(keepends=True)
    add_chunk(by=house.people["technician"], logging=row, n=1, samples="".join(lines[:200]))
    keep(api, walk.item)

    with nothing_changes():
        path = f"loggings/{row.uid}"
        more = {"samples": "".join(lines[200:])}
        assert codes(api["technician"].put(f"{path}/chunks/2", more)) == ["held-evidence"]
        assert "held-evidence" in codes(api["technician"].post(f"{path}/end", {"chunks": 1}))


def test_it_hands_back_nothing_of_a_bag_without_a_job(house: House, api: dict[str, Api]) -> None:
    item = house.item(serial="pieces")
    line = {"item": str(item.uid), "state": "parts only", "words": "A hose.", "contents": "no gas"}
    given = {"customer": str(house.customer.uid), "promised_on": "2199-01-01", "lines": [line]}
    made = ok(api["counter"].post("drop-offs", given), 201)
    keep(api, item)
    body = {"collector": "Maja Lindqvist", "items": [made["lines"][0]["tag"]], "acknowledged": True}
    out = {"where": "outside", "holder": "Aldermouth Test House"}

    with nothing_changes():
        answer = api["counter"].post(f"drop-offs/{made['uid']}/hand-backs", body, seen=made["version"])
        assert codes(answer) == ["held-evidence"]
        custody = api["counter"].post(f"lines/{made['lines'][0]['uid']}/custody", out)
        assert codes(custody) == ["held-evidence"]


def test_it_is_not_split(house: House, api: dict[str, Api]) -> None:
    item = house.item(serial="whole")
    keep(api, item)
    mark = {"identifiers": [str(item.identifiers.get().uid)]}

    with nothing_changes():
        item.refresh_from_db()
        assert codes(api["lead"].post(f"items/{item.uid}/split", mark, seen=item.version)) == ["held"]


def test_it_is_released_by_two_and_then_worked_on(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("stripping")
    uid = keep(api, walk.item)
    marek = {"second": str(house.people["inspector"].uid), "second_secret": SECRET}
    ok(api["lead"].post(f"holds/{uid}/lift", {"why": "The coroner has closed the case."} | marek))

    ok(walk.step("yoke"), 201)
    with nothing_changes():
        out = {"where": "outside", "giver": "us", "holder": "the police", "intact": "A-1, A-2"}
        assert codes(api["lead"].post(f"evidence/{uid}/custody", out)) == ["lifted-before"]
    keep(api, walk.item)  # a second time it is another hold


def test_it_keeps_photographs(house: House, api: dict[str, Api]) -> None:
    uid = keep(api, house.item())
    path = f"evidence/{uid}/photographs"
    ok(api["counter"].post(path, form(encoded(), "seal A-1"), format="multipart"), 201)

    assert Photograph.objects.get().subject == f"evidence:{uid}"
    assert [row["words"] for row in ok(api["storekeeper"].get(path))["results"]] == ["seal A-1"]
    assert api["storekeeper"].post(path, form(encoded()), format="multipart").status_code == 403


def test_it_writes_no_reminder_to_its_owner(house: House, api: dict[str, Api]) -> None:
    """Of none of their gear: another item of the same owner falls due."""
    day, by = date(2030, 6, 1), house.people["technician"]
    clock = set_going(by=by, item=house.item(), key="overhaul", title="Overhaul", months=12)
    with transaction.atomic():
        restart(by=by, clock=clock, months=12, day=add_months(day, -12), cause="a test")
    assert [customer for customer, _ in owed(day)] == [house.customer]
    uid = keep(api, house.item(serial="kept"))

    assert list(owed(day)) == []
    assert [row["owner"] for row in held_owners()] == [house.customer.pk]
    ada = {"second": str(house.people["inspector"].uid), "second_secret": SECRET}
    ok(api["lead"].post(f"holds/{uid}/lift", {"why": "Closed."} | ada))
    assert [customer for customer, _ in owed(day)] == [house.customer]


def test_it_has_no_page_for_another_kind_of_hold(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api)
    made = ok(api["counter"].post(f"jobs/{walk.job}/holds", {"kind": "parts", "why": "Seats."}), 201)

    for path in (f"evidence/{made['uid']}", f"evidence/{walk.item.uid}"):
        assert api["lead"].get(path).status_code == 404
    assert api["lead"].post(f"evidence/{made['uid']}/archives", {}).status_code == 404
