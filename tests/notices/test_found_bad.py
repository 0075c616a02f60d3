"""An instrument found bad: what it measured since it was last good is in doubt, and what is here is tested again."""

from datetime import timedelta
from typing import Any

import pytest

from jobs.flow.models import Hold
from jobs.notices.models import Doubt
from shop.clocks.models import Restart, TakenBack
from shop.instruments.models import Instrument
from shop.post.models import Letter
from shop.workshop.reads import now, today
from tests.conftest import Api, House
from tests.rows import codes, nothing_changes
from tests.walk import Walk, ok

DAY = timedelta(days=1)


def logger(house: House) -> str:
    return f"instruments/{house.instruments['pressure logger'].uid}"


def found_bad(walk: Walk, how: str = "calibrations", role: str = "lead") -> dict[str, Any]:
    """Find the logger bad, today; the doubt that this raises."""
    day = str(today())
    given = {
        "calibrations": {"good_to": str(today() + DAY), "certificate": "C-2"},
        "checks": {"against": "MG-1 at 9.5 bar", "deviation": "0.4"},
    }[how]
    ok(walk.api[role].post(f"{logger(walk.house)}/{how}", given | {"done_on": day, "found": "bad"}), 201)
    uid = ok(walk.api["lead"].get("doubts"))["results"][0]["uid"]
    made: dict[str, Any] = ok(walk.api["lead"].get(f"doubts/{uid}"))
    return made


def answered(walk: Walk, doubt: dict[str, Any], became: str) -> Any:
    row = next(each for each in doubt["affected"] if each["job"] == walk.job)
    given = {"became": became, "words": "Measured with another one."}
    return walk.api["inspector"].post(f"affected/{row['uid']}/answer", given)


@pytest.fixture
def tested(house: House, api: dict[str, Api]) -> Walk:
    """A first stage on its tests, all done and within."""
    walk = Walk(house, api).to("testing")
    walk.steps("testing")
    walk.tests()
    return walk


@pytest.mark.parametrize("how", ["calibrations", "checks"])
def test_it_works(tested: Walk, how: str) -> None:
    """The job is held, its tests no longer count, it is tested again, the doubt is answered, and it goes on."""
    other = Walk(tested.house, tested.api, "second_stage")

    doubt = found_bad(tested, how)

    assert [each["job"] for each in doubt["affected"]] == [tested.job]
    assert doubt["from_day"] == str(today() - 400 * DAY)
    assert doubt["to_day"] == str(today())
    assert not Hold.objects.filter(job=other.row).exists()
    with nothing_changes():
        refused = codes(tested.sign())
        assert refused[0] == "held-doubt"
        assert "not-tested" in refused
        assert codes(answered(tested, doubt, "done again")) == ["rests-still"]
    if how == "checks":
        given = {"done_on": str(today()), "good_to": str(today() + DAY), "certificate": "C-3"}
        ok(tested.api["lead"].post(f"{logger(tested.house)}/calibrations", given), 201)
    tested.tests()
    ok(answered(tested, doubt, "done again"), 201)
    ok(tested.sign(), 201)
    ok(tested.hand_back(), 201)


def test_it_takes_the_credit_also_when_the_doubt_was_answered(tested: Walk) -> None:
    """That somebody looked at the gear does not make good what a bad instrument measured."""
    doubt = found_bad(tested)
    ok(answered(tested, doubt, "stands"), 201)

    with nothing_changes():
        assert set(codes(tested.sign())) == {"not-tested"}


def test_it_sends_signed_off_gear_back_to_its_tests(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("signed_off")
    closed = walk.row.rounds.get()

    doubt = found_bad(walk, role="inspector")

    assert walk.row.leg == "testing"
    assert walk.row.rounds.count() == 2
    closed.refresh_from_db()
    assert closed.outcome == "serviced"
    assert TakenBack.objects.count() == Restart.objects.filter(clock__item=walk.item).count() > 0
    with nothing_changes():
        assert "not-tested" in codes(walk.sign())
    walk.tests()
    ok(answered(walk, doubt, "done again"), 201)
    walk.steps("testing")
    ok(walk.sign(), 201)


def test_it_leaves_what_is_held_as_evidence_where_it_is(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("signed_off")
    given = {"kind": "evidence", "why": "An accident."}
    ok(api["lead"].post(f"jobs/{walk.job}/holds", given), 201)

    doubt = found_bad(walk)

    assert walk.row.leg == "signed_off"
    assert [each["job"] for each in doubt["affected"]] == [walk.job]
    kinds = Hold.objects.filter(job=walk.row, lifted_at=None).order_by("kind").values_list("kind", flat=True)
    assert list(kinds) == ["doubt", "evidence"]


def test_it_lists_gear_that_is_gone(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("handed_back")

    doubt = found_bad(walk)

    assert [(each["job"], each["here"]) for each in doubt["affected"]] == [(walk.job, False)]
    assert Letter.objects.filter(purpose="safety").count() == 1
    assert walk.row.leg == "handed_back"


def test_it_leaves_alone_what_was_measured_with_another(house: House, api: dict[str, Api]) -> None:
    """Only the logger's tests are done again; a job that was tested with another logger is not held at all."""
    walk = Walk(house, api).to("testing")
    before = house.instruments["pressure logger"]
    other = ok(
        api["lead"].post(
            "instruments",
            {
                "code": "BG-4",
                "name": "logger",
                "kind": "pressure logger",
                "unit": "bar",
                "resolution": "0.01",
            },
        ),
        201,
    )
    given = {"done_on": str(today()), "good_to": str(today() + DAY), "certificate": "C-9"}
    ok(api["lead"].post(f"instruments/{other['uid']}/calibrations", given), 201)
    house.instruments["pressure logger"] = Instrument.objects.get(code="BG-4")
    walk.tests()
    house.instruments["pressure logger"] = before

    doubt = found_bad(walk)

    assert doubt["affected"] == []
    walk.steps("testing")
    ok(walk.sign(), 201)


def test_it_doubts_nothing_of_before_it_was_last_good(tested: Walk) -> None:
    """A good check after the tests, then a bad calibration: only the days from the check on are in doubt."""
    given = {"done_on": str(today()), "against": "MG-1", "deviation": "0", "found": "good"}
    ok(tested.api["lead"].post(f"{logger(tested.house)}/checks", given), 201)

    assert found_bad(tested)["from_day"] == str(today())


def test_it_doubts_each_time_anew(tested: Walk) -> None:
    """What is measured after it was found bad and calibrated is in doubt only once it is found bad again."""
    found_bad(tested)
    tested.tests()
    before = now()
    second = found_bad(tested)

    assert Doubt.objects.count() == 2
    assert [each["job"] for each in second["affected"]] == [tested.job]
    until = Doubt.objects.latest("pk").until
    assert until
    assert until > before
    with nothing_changes():
        assert "not-tested" in codes(tested.sign())
