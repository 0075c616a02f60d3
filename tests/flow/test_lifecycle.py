"""Thousands of steps over the API against a small model of our own: each answer is the one that the model gives."""

import logging
import os
from collections.abc import Callable
from random import Random
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from shop.catalogue.actions import issue_plan
from shop.journal.reads import faults
from tests.conftest import Api, House
from tests.passage import ENDED, LEGS, VERDICTS
from tests.side_by_side import SMALL, Bench, Seen, undone

ASKED = os.environ.get("EBBWRIGHT_STEPS", "")  # more steps by hand, other ones each time
LEAST = int(ASKED or 5000)
TURNS, STEPS_A_WALK = 24, 39
Some = Callable[[Any], Any]  # one of several

ALLOWED = {
    ("checked_in", "cleared"), ("cleared", "stripping"), ("stripping", "cleaning"), ("cleaning", "rebuilding"),
    ("rebuilding", "testing"), ("testing", "signed_off"), ("signed_off", "handed_back"), ("signed_off", "disposed"),
    ("checked_in", "signed_off"), ("cleared", "signed_off"), ("stripping", "signed_off"), ("cleaning", "signed_off"),
    ("rebuilding", "signed_off"), ("cleaning", "stripping"), ("rebuilding", "stripping"), ("rebuilding", "cleaning"),
    ("testing", "stripping"), ("testing", "cleaning"), ("testing", "rebuilding"), ("signed_off", "stripping"),
    ("signed_off", "cleaning"), ("signed_off", "rebuilding"), ("signed_off", "testing"),
}  # fmt: skip

# Refusals that the walks come across often (five times and more when it was counted), or they have become too tame.
REASONS = {
    "already-there", "by-itself", "done-before", "held-evidence", "held-parts", "job-ended", "letters-missing",
    "lifted-before", "must-renew", "not-a-working-leg", "not-here", "not-next", "not-signed-off", "not-tested",
    "nothing-ready", "open-job", "plan-withdrawn", "reason-missing", "second-missing", "why-again", "words-missing",
    "wrong-leg", "wrong-secret",
}  # fmt: skip

HANDS = (
    ["technician"] * 4 + ["inspector"] * 3 + ["lead", "lead", "counter", "counter", "storekeeper", "stranger"]
)
DESK = ["counter"] * 4 + ["lead"] * 3 + ["technician", "storekeeper", "stranger"]
HEAD = ["lead"] * 6 + ["inspector", "counter", "stranger"]
SECOND = ["inspector", "technician", "inspector", "technician", "", "lead"]
OFTEN = [True] * 7 + [False]
SELDOM = [False] * 7 + [True]
CONTENTS = ["no gas", "under pressure", "not looked at"]
WORKING = ["stripping", "cleaning", "rebuilding", "testing"]
KINDS = ["parts", "customer", "evidence", "thread", "other", "notice", "doubt"]
OUTCOMES = ["serviced", "serviced", "failed", "beyond repair", "condemned", "declined"]
ENDINGS = ["reused", "renewed", "scrapped", "missing on arrival", "lost"]
WORK = ["stripping", "cleaning", "rebuilding"]


def go_on(bench: Bench, some: Some) -> None:
    dispose = some([True, False])
    for _ in range(some([1, 1, 2, 3, 6])):
        bench.onward(dispose=dispose)


def move(bench: Bench, some: Some) -> None:
    bench.move(some(HANDS), some([*LEGS, *ENDED, "cleared", *WORKING]), reason=some(OFTEN), fresh=some(OFTEN))


def move_back(bench: Bench, some: Some) -> None:
    bench.move(some(["inspector"] * 5 + ["lead", "technician", "counter"]), some(WORKING), reason=some(OFTEN))


def hurry(bench: Bench, some: Some) -> None:
    """Back, through the work again, and signed at once: what was tested before no longer counts."""
    bench.move("inspector", some(WORK), reason=True)
    for _ in range(10):
        if bench.leg in WORK:
            bench.onward()
    bench.sign("technician", "serviced", "inspector")


def sign(bench: Bench, some: Some) -> None:
    bench.sign(
        some(HANDS), some(OUTCOMES), some(SECOND), words=some(OFTEN), alone=some(SELDOM), right=some(OFTEN),
        second_right=some(OFTEN), fresh=some(OFTEN),
    )  # fmt: skip


def close(bench: Bench, some: Some) -> None:
    bench.sign(some(["technician", "inspector"]), some(["serviced", "failed", "condemned", "declined"]), "")


def hold(bench: Bench, some: Some) -> None:
    kind, from_outside = some(KINDS), some([True, False])
    if from_outside and kind == "evidence":
        bench.keep_evidence(some(HANDS))
    elif from_outside and kind in ("doubt", "notice"):
        bench.hold_by_house(kind)
    else:
        bench.hold(some(HANDS), kind)


def lift(bench: Bench, some: Some) -> None:
    gear = bench.gear
    if known := [*gear.job.holds, *gear.evidence, *gear.lifted]:
        bench.lift(some(HEAD), some(known), some(SECOND), right=some(OFTEN))


def custody(bench: Bench, some: Some) -> None:
    where = some(["here", "outside", "gone"])
    bench.custody(some(HANDS), where, why=some(OFTEN), corrects=some([True, False]))


def hand_back(bench: Bench, some: Some) -> None:
    bench.hand_back(some(DESK), acknowledged=some([True, False]), fresh=some(OFTEN))


def dispose(bench: Bench, some: Some) -> None:
    bench.dispose(some(HEAD), fresh=some(OFTEN))


def ask(bench: Bench, some: Some) -> None:
    bench.ask(some(DESK), some(["e-mail", "paper letter", "telephone"]))
    bench.days_pass(some([0, 1, 20, 30]))


def come_back(bench: Bench, some: Some) -> None:
    bench.come_back(some(DESK), some(CONTENTS), follows=some(OFTEN))


def assign(bench: Bench, some: Some) -> None:
    to = some(["technician", "inspector", "lead"])
    bench.assign(some(HEAD), to, condition=some(OFTEN), fresh=some(OFTEN))


def decide(bench: Bench, some: Some) -> None:
    bench.agree(some(DESK), some([10, 60]))


def withdraw(bench: Bench, some: Some) -> None:
    """Nothing goes on after that, so it does not happen often."""
    bench.withdraw(some(["lead", "counter", "technician", "storekeeper", "stranger", "inspector"]))


def look_inside(bench: Bench, some: Some) -> None:
    if some([True, False]):
        bench.empty(some(HANDS))
    else:
        bench.note(some(HANDS), some(["no gas", "under pressure"]))


def do_step(bench: Bench, some: Some) -> None:
    key, omitted = some(WORK), some([True, False, False])
    asked = 2 if key == "stripping" and not omitted else None
    bench.step(some(HANDS), key, some([asked, asked, asked, None, 0, 1, 2, 3]), omitted=omitted)


def end_part(bench: Bench, some: Some) -> None:
    bench.part(
        some(HANDS), some(["ring", "spring"]), some(ENDINGS), lot=some([True, False]), words=some(OFTEN),
        origin=some(["", "", "", "customer's own", "maker's programme"]), second=some(SECOND), right=some(OFTEN),
    )  # fmt: skip


def run_test(bench: Bench, some: Some) -> None:
    bench.test(some(HANDS), some(["as received", "final"]), some(sorted(VERDICTS)), why=some(OFTEN))


def twice(bench: Bench, some: Some) -> None:
    """Twice as it fits the leg, for the reason is asked of the second."""
    phase = "as received" if bench.leg == "cleared" else "final"
    for why in (True, some([True, False])):
        bench.test("technician", phase, some(sorted(VERDICTS)), why=why)


DO = [
    go_on, go_on, go_on, move, move, move_back, hurry, sign, sign, close, hold, lift, lift, custody, hand_back,
    dispose, ask, come_back, assign, decide, withdraw, look_inside, do_step, do_step, end_part, end_part, run_test, twice,
]  # fmt: skip


def walk(bench: Bench, some: Some) -> None:
    """People who do anything at all, among some who go on with the work."""
    bench.check_in(some(CONTENTS), bagged=some([True, False]))
    for _ in range(some(range(16))):
        bench.onward()
    for _ in range(TURNS):
        some(DO)(bench, some)
    assert list(faults()) == []


@pytest.fixture
def plan(house: House) -> str:
    """A small plan, so that a job costs little."""
    model = house.models["first_stage"]
    return str(issue_plan(by=house.people["lead"], model=model, key="small", document=SMALL).uid)


def test_it_works(house: House, api: dict[str, Api], plan: str, caplog: pytest.LogCaptureFixture) -> None:
    caplog.set_level(
        logging.ERROR, logger="django.request"
    )  # thousands are refused, and each would be logged
    seen = Seen()

    @settings(
        max_examples=LEAST // STEPS_A_WALK + 1,
        derandomize=not ASKED,
        database=None,
        deadline=None,  # a walk is some forty requests; how long they take says nothing here
        phases=[Phase.generate],  # a walk is one seed: there is nothing smaller to look for
        suppress_health_check=[HealthCheck.too_slow],  # likewise
    )
    @given(random=st.randoms(use_true_random=True))
    def walks(random: Random) -> None:
        with undone():
            walk(Bench(house, api, plan, seen), random.choice)

    walks()

    assert seen.moved <= ALLOWED
    assert len(seen.moved) >= 20  # all of them, one by one, are below
    assert seen.refused >= REASONS
    assert seen.steps >= LEAST


# What is answered when a leg is asked for that cannot be entered from where the job is, by the door that enters it.
REFUSED = {
    "checked_in": {
        "checked_in": "invalid_choice", "stripping": "not-next", "cleaning": "not-next", "rebuilding": "not-next",
        "testing": "not-next", "handed_back": "not-signed-off", "disposed": "letters-missing",
    },
    "cleared": {
        "checked_in": "invalid_choice", "cleared": "already-there", "cleaning": "not-next", "rebuilding": "not-next",
        "testing": "not-next", "handed_back": "not-signed-off", "disposed": "letters-missing",
    },
    "stripping": {
        "checked_in": "invalid_choice", "cleared": "not-a-working-leg", "stripping": "already-there",
        "rebuilding": "not-next", "testing": "not-next", "handed_back": "not-signed-off", "disposed": "no-such-leg",
    },
    "cleaning": {
        "checked_in": "invalid_choice", "cleared": "not-a-working-leg", "cleaning": "already-there",
        "testing": "not-next", "handed_back": "not-signed-off", "disposed": "no-such-leg",
    },
    "rebuilding": {
        "checked_in": "invalid_choice", "cleared": "not-a-working-leg", "rebuilding": "already-there",
        "handed_back": "not-signed-off", "disposed": "no-such-leg",
    },
    "testing": {
        "checked_in": "invalid_choice", "cleared": "not-a-working-leg", "testing": "already-there",
        "handed_back": "not-signed-off", "disposed": "no-such-leg",
    },
    "signed_off": {
        "checked_in": "invalid_choice", "cleared": "not-a-working-leg", "signed_off": "already-there",
    },
    "handed_back": {
        "checked_in": "invalid_choice", "cleared": "job-ended", "stripping": "job-ended", "cleaning": "job-ended",
        "rebuilding": "job-ended", "testing": "job-ended", "signed_off": "job-ended",
        "handed_back": "handed-back-before", "disposed": "job-ended",
    },
    "disposed": {
        "checked_in": "invalid_choice", "cleared": "job-ended", "stripping": "job-ended", "cleaning": "job-ended",
        "rebuilding": "job-ended", "testing": "job-ended", "signed_off": "job-ended",
        "handed_back": "not-signed-off", "disposed": "job-ended",
    },
}  # fmt: skip


def brought_to(bench: Bench, leg: str) -> None:
    """The job on a leg, with letters written wherever it is possible, so that they are not why it is not disposed of."""
    bench.check_in("no gas", bagged=False)
    while bench.leg != leg:
        if bench.leg == "signed_off" and leg == "handed_back":
            lettered(bench)
        bench.onward(dispose=leg == "disposed")
    if leg == "signed_off":
        lettered(bench)
    if leg in ("stripping", "cleaning", "rebuilding", "testing"):
        bench.sign("inspector", "failed", "")
        lettered(bench)
        bench.move("inspector", leg, reason=True)


def lettered(bench: Bench) -> None:
    for days in (1, 30):
        bench.ask("counter", "paper letter")
        bench.days_pass(days)


NEXT = {
    "cleared": "checked_in", "stripping": "cleared", "cleaning": "stripping", "rebuilding": "cleaning",
    "testing": "rebuilding",
}  # fmt: skip


def ask_for(bench: Bench, to: str) -> tuple[int, list[str]]:
    """The answer to the door that enters a leg; all else that it asks for is well."""
    if to == "signed_off":
        bench.sign("inspector", "failed", "")
    elif to == "handed_back":
        bench.hand_back("counter", acknowledged=True)
    elif to == "disposed":
        bench.dispose("lead")
    else:
        while to in NEXT and bench.leg == NEXT[to] and bench.gear.why_not(to):
            bench.onward()
        bench.move("inspector", to, reason=True)
    return bench.last


def test_it_enters_each_leg_from_where_it_may_and_from_nowhere_else(
    house: House, api: dict[str, Api], plan: str
) -> None:
    places = (*LEGS, *ENDED)
    entered, refused = set(), dict[str, dict[str, str]]()

    for leg in places:
        with undone():
            bench = Bench(house, api, plan, Seen())
            brought_to(bench, leg)
            refused[leg] = {}
            for to in places:
                with undone(), bench.as_it_is():
                    status, codes = ask_for(bench, to)
                    if status < 300:
                        assert bench.leg == to
                        entered.add((leg, to))
                    else:
                        assert (status, bench.leg) == (400 if to == "checked_in" else 409, leg)
                        (refused[leg][to],) = codes

    assert entered == ALLOWED
    assert refused == REFUSED
    assert len(ALLOWED) + sum(len(row) for row in REFUSED.values()) == 81


def test_it_ends_nothing_by_a_mere_move_and_serves_after_the_last_leg_only(
    house: House, api: dict[str, Api], plan: str
) -> None:
    for leg in (*LEGS, *ENDED):
        with undone():
            bench = Bench(house, api, plan, Seen())
            brought_to(bench, leg)
            for to in ("signed_off", "handed_back", "disposed"):
                bench.move("lead", to, reason=True)
                assert (bench.last, bench.leg) == ((400, ["invalid_choice"]), leg)
            if leg in ("checked_in", "cleared", "stripping", "cleaning", "rebuilding"):
                bench.sign("technician", "serviced", "inspector")
                assert (bench.last, bench.leg) == ((409, ["not-next"]), leg)
