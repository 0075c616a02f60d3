"""Doubts: what each kind touches, how open jobs stop and go on, and how each is answered."""

from datetime import timedelta
from typing import Any

import pytest

from jobs.bench.models import Attempt
from jobs.flow.models import Hold
from jobs.notices.models import Affected, Answer
from jobs.tray.models import TrayPart
from jobs.worksheet.models import StepDone
from shop.catalogue.actions import issue_plan
from shop.gear.models import GearSet, Member
from shop.journal.models import Entry
from shop.stock.actions import add_content, add_part, open_kit, receive
from shop.workshop.reads import today
from tests.conftest import Api, House
from tests.rows import codes, nothing_changes, pointers
from tests.walk import Walk, ok, pair

DAY = timedelta(days=1)
WHY = "The gauge stuck at 9 bar."


def doubt(walk: Walk, role: str = "technician", **subject: Any) -> Any:
    return walk.api[role].post("doubts", {"why": WHY} | subject)


def raised(walk: Walk, **subject: Any) -> dict[str, Any]:
    made: dict[str, Any] = ok(doubt(walk, **subject), 201)
    return made


def answered(
    api: dict[str, Api], affected: dict[str, Any], became: str = "stands", role: str = "inspector"
) -> Any:
    given = {"became": became, "words": "Measured with another gauge."}
    return api[role].post(f"affected/{affected['uid']}/answer", given)


def period(first: int = 0, last: int = 0) -> dict[str, str]:
    """Days counted from today."""
    return {"from_day": str(today() + first * DAY), "to_day": str(today() + last * DAY)}


def subjects(walk: Walk) -> dict[str, dict[str, Any]]:
    """One subject of each kind on which a job that was tested rests."""
    attempt, step = Attempt.objects.order_by("-pk")[0], StepDone.objects.order_by("-pk")[0]
    house = walk.house
    return {
        "verdict": {"attempt": str(attempt.uid)},
        "step": {"step": str(step.uid)},
        "gauge": {"instrument": str(house.instruments["pressure logger"].uid)} | period(),
        "wrench": {"instrument": str(house.instruments["torque wrench"].uid)} | period(-3, 3),
        "person": {"person": str(house.people["technician"].uid)} | period(),
        "lot": {"lot": str(house.lots["TH-302"].uid)},
        "plan": {"plan_version": str(house.plans["first_stage"].uid)},
    }


@pytest.fixture
def tested(house: House, api: dict[str, Api]) -> Walk:
    """A first stage on its tests, all done; another one that was only checked in."""
    walk = Walk(house, api).to("testing")
    walk.tests()
    return walk


@pytest.mark.parametrize("kind", ["verdict", "step", "gauge", "wrench", "person", "lot", "plan"])
def test_it_works(tested: Walk, kind: str) -> None:
    """The job stops, the doubt is answered, the job goes on; the rows that were doubted stay as they were."""
    other = Walk(tested.house, tested.api, "second_stage")

    made = raised(tested, **subjects(tested)[kind])

    assert [each["job"] for each in made["affected"]] == [tested.job]
    assert (made["is_open"], made["touched"], made["answered"]) == (True, 1, 0)
    with nothing_changes():
        assert codes(tested.sign()) == ["held-doubt", "doubt"]
    assert not Hold.objects.filter(job=other.row).exists()
    ok(answered(tested.api, made["affected"][0]), 201)
    ok(tested.sign(), 201)
    ok(tested.hand_back(), 201)
    assert ok(tested.api["lead"].get(f"doubts/{made['uid']}"))["is_open"] is False
    hold = Hold.objects.get()
    assert hold.lifted_by == tested.house.people["inspector"]
    assert hold.lifted_why == "The doubt was answered: stands."


@pytest.mark.parametrize(
    ("role", "first", "last", "touched"),
    [
        ("technician", -9, -1, 0),
        ("technician", 1, 9, 0),
        ("technician", -9, 9, 1),
        ("inspector", -9, 9, 0),
    ],
)
def test_it_keeps_to_the_period(tested: Walk, role: str, first: int, last: int, touched: int) -> None:
    uid = str(tested.house.people[role].uid)

    assert raised(tested, person=uid, **period(first, last))["touched"] == touched


def test_it_touches_a_far_period(tested: Walk) -> None:
    given = {"from_day": "0001-01-01", "to_day": "9999-12-31"}

    assert (
        raised(tested, instrument=str(tested.house.instruments["torque wrench"].uid), **given)["touched"] == 1
    )


def test_it_leaves_out_what_is_no_longer_in_the_record(tested: Walk) -> None:
    """A part of the lot was taken, but the gear went back to stripping and that no longer counts."""
    ok(tested.move("stripping", reason="It leaks.", role="inspector"))

    for kind in ("verdict", "step", "gauge", "lot"):
        assert raised(tested, **subjects(tested)[kind])["touched"] == 0, kind


def test_it_touches_what_came_out_of_a_kit(house: House, api: dict[str, Api]) -> None:
    store = house.people["storekeeper"]
    kit = add_part(
        by=store, number="TH-KIT", name="Kit", unit="piece", material="", life_months=None, life_source=""
    )
    for number in ("TH-301", "TH-302", "TH-303"):
        add_content(by=store, kit=kit, part=house.lots[number].part, count=4)
    lot = receive(by=store, part=kit, number="K-9", cured="2Q26", quantity=1)
    open_kit(by=store, lot=lot, quantity=1)
    house.lots["TH-302"] = house.lots["TH-302"].part.lots.get(number="K-9")
    walk = Walk(house, api).to("rebuilding")
    assert TrayPart.objects.filter(movement__lot__number="K-9").count() == 1

    assert [each["job"] for each in raised(walk, lot=str(lot.uid))["affected"]] == [walk.job]


@pytest.mark.parametrize(("of_set", "touched"), [(True, 2), (False, 1)])
def test_it_touches_the_whole_set(house: House, api: dict[str, Api], of_set: bool, touched: int) -> None:
    """A verdict of a set is read by each job of the set; one with a partner only by the job that it was taken for."""
    by = house.people["lead"]
    by_eye = {
        "key": "flow",
        "title": "Flow",
        "method": "finding",
        "needs": "",
        "repeat": "last",
        "bounds": [],
        "words": "As the maker's sheet says.",
        "partner": "second_stage",
        "of_set": of_set,
    }
    for kind, plan in house.plans.items():
        partner = "first_stage" if kind == "second_stage" else "second_stage"
        document = plan.document | {"tests": [by_eye | {"partner": partner}]}
        house.plans[kind] = issue_plan(by=by, model=house.models[kind], key="overhaul", document=document)
    first, second = house.item("first_stage", "P-1"), house.item("second_stage", "P-2")
    together = GearSet.objects.create(name="Regulator", owner=house.customer)
    for item in (first, second):
        Member.objects.create(gear_set=together, item=item, from_day=today())
    one, two = pair(house, api, first, second)
    one.to("testing")
    two.assign()
    for leg in ("cleared", "stripping", "cleaning", "rebuilding", "testing"):
        if leg == "rebuilding":
            two.parts()
        ok(two.move(leg))
        two.steps(leg)
    given = {"phase": "final", "finding": "pass", "partner": str(second.uid)}
    ok(api["technician"].post(f"jobs/{one.job}/tests/flow", given), 201)
    verdict = str(Attempt.objects.get().uid)

    assert raised(one, attempt=verdict)["touched"] == touched


def test_it_takes_in_a_job_that_comes_to_rest_on_it_later(house: House, api: dict[str, Api]) -> None:
    """As its work is recorded: it is listed and on hold long before anybody would sign it."""
    walk = Walk(house, api).to("rebuilding")
    wrench = {"instrument": str(house.instruments["torque wrench"].uid)}
    made = raised(walk, **wrench, **period(-3, 3))
    assert made["affected"] == []
    walk.steps("rebuilding")

    shown = ok(api["lead"].get(f"doubts/{made['uid']}"))
    assert [each["job"] for each in shown["affected"]] == [walk.job]
    assert Hold.objects.get(lifted_at=None).job == walk.row
    with nothing_changes():
        assert codes(walk.move("testing")) == ["held-doubt"]
        whole = {"words": "The wrench is as it should be."}
        assert codes(api["inspector"].post(f"doubts/{made['uid']}/answer", whole)) == ["answer-each"]
    ok(answered(api, shown["affected"][0]), 201)
    ok(walk.move("testing"))


def test_it_is_not_over_for_what_came_later_once_the_rest_is_answered(tested: Walk) -> None:
    """Two jobs measured with one gauge, the second after the gauge was doubted: each is answered for itself."""
    made = raised(tested, **subjects(tested)["gauge"])
    later = Walk(tested.house, tested.api)
    later.item = tested.house.item(serial="later")
    later.to("testing").tests()

    ok(answered(tested.api, made["affected"][0]), 201)

    with nothing_changes():
        assert codes(later.sign()) == ["held-doubt", "doubt"]
    ok(tested.sign(), 201)
    shown = ok(tested.api["lead"].get(f"doubts/{made['uid']}"))
    assert (shown["is_open"], shown["touched"], shown["answered"]) == (True, 2, 1)
    ok(answered(tested.api, shown["affected"][1]), 201)
    ok(later.sign(), 201)


def test_it_takes_in_at_the_first_answer_what_was_recorded_while_it_was_raised(
    tested: Walk, settings: Any
) -> None:
    """Two at once, neither of which sees the other: the work that was recorded, and the doubt."""
    made = raised(tested, **subjects(tested)["gauge"])
    later = Walk(tested.house, tested.api)
    settings.AFTER_RECORDING = []
    later.to("testing").tests()
    assert Affected.objects.count() == 1

    ok(answered(tested.api, made["affected"][0]), 201)

    assert [row.job for row in Affected.objects.order_by("pk")] == [tested.row, later.row]
    assert codes(later.sign()) == ["held-doubt", "doubt"]


def test_it_lets_work_be_done_again(tested: Walk) -> None:
    """Only once the record no longer rests on what is doubted: then the passage itself asks for the work anew."""
    made = raised(tested, **subjects(tested)["lot"])
    affected = made["affected"][0]
    with nothing_changes():
        assert codes(answered(tested.api, affected, "done again")) == ["rests-still"]
    ok(tested.move("stripping", reason="The ring is renewed.", role="inspector"))

    ok(answered(tested.api, affected, "done again"), 201)

    assert codes(tested.move("cleaning")) == ["step-open"] * 5
    assert Answer.objects.get().became == "done again"


def test_it_stops_work_that_comes_back_to_what_is_doubted(
    house: House, api: dict[str, Api], settings: Any
) -> None:
    """Answered as done again for one job while the doubt stands open for another: the lot is still doubted."""
    walk, other = Walk(house, api).to("rebuilding"), Walk(house, api)
    other.item = house.item(serial="another")
    made = raised(walk, lot=str(house.lots["TH-302"].uid))
    Affected.objects.create(doubt_id=Affected.objects.get().doubt_id, job=other.row)
    ok(walk.move("stripping", reason="The ring is renewed.", role="inspector"))
    ok(answered(api, made["affected"][0], "done again"), 201)
    walk.steps("stripping")
    ok(walk.move("cleaning"))
    walk.steps("cleaning")

    doubted = next(part.key for part in walk.row.plan.parts if part.renew == "TH-302")
    with nothing_changes():
        assert codes(walk.end(doubted)) == ["blocked"]
        settings.BLOCKS_LOTS = []  # as if it were raised at the same moment
        assert codes(walk.end(doubted)) == ["doubt"]


def test_it_asks_again_at_hand_back(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("signed_off")
    made = raised(walk, lot=str(house.lots["TH-302"].uid))

    with nothing_changes():
        answer = walk.hand_back()
    assert codes(answer) == ["doubt"]
    assert answer.json()["errors"][0]["pointer"] == "/items"
    ok(answered(api, made["affected"][0]), 201)
    ok(walk.hand_back(), 201)


def test_it_tells_the_owner_of_what_is_here_and_not_serviced(house: House, api: dict[str, Api]) -> None:
    """A bad plan: the job is closed as declined, its owner is told, and it leaves as "do not dive"."""
    walk = Walk(house, api)
    made = raised(walk, plan_version=str(house.plans["first_stage"].uid))
    affected = made["affected"][0]
    with nothing_changes():
        assert codes(answered(api, affected, "told")) == ["wrong-answer"]
    ok(walk.sign(outcome="declined", words="It goes back as it is."), 201)

    ok(answered(api, affected, "told"), 201)

    ok(walk.hand_back(acknowledged=True), 201)


def test_it_holds_each_doubt_for_itself(tested: Walk) -> None:
    first = raised(tested, **subjects(tested)["lot"])
    second = raised(tested, **subjects(tested)["step"])

    ok(answered(tested.api, first["affected"][0]), 201)

    assert codes(tested.sign()) == ["held-doubt", "doubt"]
    ok(answered(tested.api, second["affected"][0]), 201)
    ok(tested.sign(), 201)


def test_it_is_answered_once(tested: Walk) -> None:
    made = raised(tested, **subjects(tested)["lot"])
    ok(answered(tested.api, made["affected"][0]), 201)

    with nothing_changes():
        assert codes(answered(tested.api, made["affected"][0])) == ["answered-before"]
        loose = {"words": "All is well."}
        assert codes(tested.api["lead"].post(f"doubts/{made['uid']}/answer", loose)) == ["answer-each"]


def test_it_is_closed_once_where_it_touched_nothing(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api)
    made = raised(walk, lot=str(house.lots["TH-302"].uid))
    ok(api["lead"].post(f"doubts/{made['uid']}/answer", {"words": "Nothing was used."}), 201)

    with nothing_changes():
        again = api["lead"].post(f"doubts/{made['uid']}/answer", {"words": "Nothing was used."})
    assert codes(again) == ["answered-before"]
    shown = ok(api["counter"].get(f"doubts/{made['uid']}"))
    assert (shown["is_open"], shown["answer"]["words"]) == (False, "Nothing was used.")


def test_it_is_raised_once_while_it_stands_open(tested: Walk) -> None:
    lot = subjects(tested)["lot"]
    made = raised(tested, **lot)

    with nothing_changes():
        assert codes(doubt(tested, **lot)) == ["doubted-already"]
    ok(answered(tested.api, made["affected"][0]), 201)
    assert raised(tested, **lot)["touched"] == 1


def test_it_needs_the_right(tested: Walk) -> None:
    lot = subjects(tested)["lot"]
    made = raised(tested, **lot)

    with nothing_changes():
        assert [doubt(tested, role, **lot).status_code for role in ("counter", "storekeeper")] == [403, 403]
        assert doubt(tested, "stranger", **lot).status_code == 401
        for role, status in (("technician", 403), ("counter", 403), ("stranger", 401)):
            assert answered(tested.api, made["affected"][0], role=role).status_code == status


@pytest.mark.parametrize(
    ("given", "wrong"),
    [
        ({}, [""]),
        ({"lot": "@lot", "person": "@person"}, [""]),
        ({"person": "@person"}, ["/from_day", "/to_day"]),
        ({"person": "@person", "from_day": "2026-02-02", "to_day": "2026-02-01"}, ["/to_day"]),
        ({"lot": "@lot", "from_day": "2026-02-02"}, ["/from_day"]),
        ({"lot": "not a uid"}, ["/lot"]),
        ({"lot": "@person"}, ["/lot"]),
        ({"lot": ["@lot"]}, ["/lot"]),
        ({"lot": "@lot", "why": ""}, ["/why"]),
        ({"lot": "@lot", "why": "a\0b"}, ["/why"]),
        ({"lot": "@lot", "why": "x" * 301}, ["/why"]),
        ({"lot": "@lot", "colour": "red"}, ["/colour"]),
    ],
)
def test_it_refuses_nonsense(
    house: House, api: dict[str, Api], given: dict[str, Any], wrong: list[str]
) -> None:
    known = {"@lot": str(house.lots["TH-302"].uid), "@person": str(house.people["technician"].uid)}
    sent = {
        name: [known[each] for each in value] if isinstance(value, list) else known.get(value, value)
        for name, value in given.items()
    }

    with nothing_changes():
        answer = api["lead"].post("doubts", {"why": WHY} | sent)

    assert pointers(answer) == wrong


def test_it_writes_the_journal(tested: Walk) -> None:
    made = raised(tested, **subjects(tested)["lot"])
    ok(answered(tested.api, made["affected"][0]), 201)

    assert list(Entry.objects.filter(subject=f"doubt:{made['uid']}").values_list("verb", flat=True)) == [
        "doubt raised"
    ]
    verbs = list(
        Entry.objects.filter(subject=f"job:{tested.job}").order_by("n").values_list("verb", flat=True)
    )
    assert [verb for verb in verbs if verb in ("held", "hold lifted", "doubt answered")] == [
        "held",
        "hold lifted",
        "doubt answered",
    ]
