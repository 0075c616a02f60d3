"""Thousands of steps over the API against a small model of our own: each answer is the one that the model gives."""

import logging
import os
from contextlib import ExitStack

import pytest
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, rule, run_state_machine_as_test

from shop.catalogue.actions import issue_plan
from shop.journal.reads import faults
from tests.conftest import Api, House
from tests.passage import ENDED, LEGS, VERDICTS
from tests.side_by_side import SMALL, Bench, Seen, undone

ASKED = os.environ.get("EBBWRIGHT_STEPS", "")  # more steps by hand, other ones each time
LEAST = int(ASKED or 5000)
RULES_AN_EXAMPLE, STEPS_AN_EXAMPLE = 20, 34

ALLOWED = {
    ("checked_in", "cleared"), ("cleared", "stripping"), ("stripping", "cleaning"), ("cleaning", "rebuilding"),
    ("rebuilding", "testing"), ("testing", "signed_off"), ("signed_off", "handed_back"), ("signed_off", "disposed"),
    ("checked_in", "signed_off"), ("cleared", "signed_off"), ("stripping", "signed_off"), ("cleaning", "signed_off"),
    ("rebuilding", "signed_off"), ("cleaning", "stripping"), ("rebuilding", "stripping"), ("rebuilding", "cleaning"),
    ("testing", "stripping"), ("testing", "cleaning"), ("testing", "rebuilding"), ("signed_off", "stripping"),
    ("signed_off", "cleaning"), ("signed_off", "rebuilding"), ("signed_off", "testing"),
}  # fmt: skip


HANDS = st.sampled_from(
    ["technician"] * 4 + ["inspector"] * 3 + ["lead", "lead", "counter", "counter", "storekeeper", "stranger"]
)
DESK = st.sampled_from(["counter"] * 4 + ["lead"] * 3 + ["technician", "storekeeper", "stranger"])
REOPENERS = st.sampled_from(["inspector"] * 5 + ["lead", "technician", "counter"])
HEAD = st.sampled_from(["lead"] * 5 + ["inspector", "counter", "stranger"])
SECOND = st.sampled_from(["inspector", "technician", "inspector", "technician", "", "lead"])
CONTENTS = st.sampled_from(["no gas", "under pressure", "not looked at"])
LOOKED = st.sampled_from(["no gas", "under pressure"])
OFTEN = st.sampled_from([True] * 7 + [False])
PLACES = st.sampled_from([*LEGS, *ENDED, "cleared", "stripping", "cleaning", "rebuilding", "testing"])
ENDINGS = st.sampled_from(["reused", "renewed", "scrapped", "missing on arrival", "lost"])
ORIGINS = st.sampled_from(["", "", "", "customer's own", "maker's programme"])
OUTCOMES = st.sampled_from(["serviced", "serviced", "failed", "beyond repair", "condemned", "declined"])
KINDS = st.sampled_from(["parts", "customer", "evidence", "thread", "other", "notice", "doubt"])


class Walks(RuleBasedStateMachine):
    """People who do anything at all, among some who go on with the work."""

    house: House
    api: dict[str, Api]
    plan: str
    seen: Seen

    def __init__(self) -> None:
        super().__init__()
        self.rest = ExitStack()
        self.rest.enter_context(undone())
        self.bench = Bench(self.house, self.api, self.plan, self.seen)

    def teardown(self) -> None:
        with self.rest:
            assert list(faults()) == []

    @initialize(contents=CONTENTS, bagged=st.booleans(), leg=st.sampled_from(LEGS))
    def begin(self, contents: str, bagged: bool, leg: str) -> None:
        self.bench.check_in(contents, bagged=bagged)
        while self.bench.leg != leg:
            self.bench.onward()

    @rule(many=st.integers(1, 3), dispose=st.booleans())
    def go_on(self, many: int, dispose: bool) -> None:
        for _ in range(many):
            self.bench.onward(dispose=dispose)

    @rule(many=st.integers(3, 8))
    def go_far(self, many: int) -> None:
        for _ in range(many):
            self.bench.onward()

    @rule(role=HANDS, to=PLACES, reason=OFTEN, fresh=OFTEN)
    def move(self, role: str, to: str, reason: bool, fresh: bool) -> None:
        self.bench.move(role, to, reason=reason, fresh=fresh)

    @rule(
        role=REOPENERS, to=st.sampled_from(["stripping", "cleaning", "rebuilding", "testing"]), reason=OFTEN
    )
    def move_back(self, role: str, to: str, reason: bool) -> None:
        self.bench.move(role, to, reason=reason)

    @rule(role=HANDS, outcome=OUTCOMES, second=SECOND, words=OFTEN, how=st.sampled_from(range(24)))
    def sign(self, role: str, outcome: str, second: str, words: bool, how: int) -> None:
        right, second_right, fresh, alone = how != 1, how != 2, how != 3, how in (4, 5)
        self.bench.sign(
            role, outcome, second, words=words, right=right, second_right=second_right, fresh=fresh, alone=alone
        )  # fmt: skip

    @rule(role=st.sampled_from(["technician", "inspector"]), outcome=st.sampled_from(["failed", "declined"]))
    def give_up(self, role: str, outcome: str) -> None:
        self.bench.sign(role, outcome, "")

    @rule(role=HANDS, kind=KINDS, by_house=st.booleans())
    def hold(self, role: str, kind: str, by_house: bool) -> None:
        if by_house and kind == "evidence":
            self.bench.keep_evidence(role)
        elif by_house and kind in ("doubt", "notice"):
            self.bench.hold_by_house(kind)
        else:
            self.bench.hold(role, kind)

    @rule(role=HEAD, second=SECOND, which=st.integers(0, 99), right=OFTEN)
    def lift(self, role: str, second: str, which: int, right: bool) -> None:
        gear = self.bench.gear
        if known := [*gear.job.holds, *gear.evidence, *gear.lifted]:
            self.bench.lift(role, known[which % len(known)], second, right=right)

    @rule(role=HANDS, where=st.sampled_from(["here", "outside", "gone"]), why=OFTEN, corrects=st.booleans())
    def custody(self, role: str, where: str, why: bool, corrects: bool) -> None:
        self.bench.custody(role, where, why=why, corrects=corrects)

    @rule(role=DESK, way=st.sampled_from(["back", "back", "dispose"]), acknowledged=OFTEN, fresh=OFTEN)
    def let_leave(self, role: str, way: str, acknowledged: bool, fresh: bool) -> None:
        if way == "back":
            self.bench.hand_back(role, acknowledged=acknowledged, fresh=fresh)
        else:
            self.bench.dispose(role, fresh=fresh)

    @rule(role=DESK, how=st.sampled_from(["e-mail", "paper letter", "telephone"]), days=st.integers(0, 40))
    def ask(self, role: str, how: str, days: int) -> None:
        self.bench.ask(role, how)
        self.bench.days_pass(days)

    @rule(role=DESK, contents=CONTENTS, follows=OFTEN)
    def come_back(self, role: str, contents: str, follows: bool) -> None:
        self.bench.come_back(role, contents, follows=follows)

    @rule(role=HEAD, to=st.sampled_from(["technician", "inspector", "lead"]), condition=OFTEN, fresh=OFTEN)
    def assign(self, role: str, to: str, condition: bool, fresh: bool) -> None:
        self.bench.assign(role, to, condition=condition, fresh=fresh)

    @rule(role=DESK, what=st.sampled_from([60, 10, 60, 10, 60, "withdraw"]))
    def decide(self, role: str, what: int | str) -> None:
        if isinstance(what, int):
            self.bench.agree(role, what)
        else:
            self.bench.withdraw(role)

    @rule(role=HANDS, contents=LOOKED, empty=st.booleans())
    def look_inside(self, role: str, contents: str, empty: bool) -> None:
        if empty:
            self.bench.empty(role)
        else:
            self.bench.note(role, contents)

    @rule(role=HANDS, key=st.sampled_from(["stripping", "cleaning", "rebuilding"]), as_asked=OFTEN,
          counted=st.sampled_from([None, 0, 1, 2, 3]), omitted=st.sampled_from([True, False, False]))  # fmt: skip
    def step(self, role: str, key: str, as_asked: bool, counted: int | None, omitted: bool) -> None:
        if as_asked:
            counted = 2 if key == "stripping" and not omitted else None
        self.bench.step(role, key, counted, omitted=omitted)

    @rule(role=HANDS, key=st.sampled_from(["ring", "spring"]), ending=ENDINGS, lot=st.booleans(), origin=ORIGINS,
          words=OFTEN, second=SECOND, right=OFTEN)  # fmt: skip
    def part(
        self, role: str, key: str, ending: str, lot: bool, origin: str, words: bool, second: str, right: bool
    ) -> None:
        self.bench.part(role, key, ending, lot=lot, origin=origin, words=words, second=second, right=right)

    @rule(
        role=HANDS, phase=st.sampled_from(["as received", "final"]), reading=st.sampled_from(sorted(VERDICTS))
    )
    def test(self, role: str, phase: str, reading: str) -> None:
        self.bench.test(role, phase, reading)


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

    class OurWalks(Walks):
        pass

    OurWalks.house, OurWalks.api, OurWalks.plan, OurWalks.seen = house, api, plan, seen
    run_state_machine_as_test(
        OurWalks,
        settings=settings(
            max_examples=LEAST // STEPS_AN_EXAMPLE + 1,
            stateful_step_count=RULES_AN_EXAMPLE,
            derandomize=not ASKED,
            database=None,
            deadline=None,  # an example is some fifty requests; how long they take says nothing here
            phases=[Phase.generate, Phase.shrink],
            # An example takes a second or so, because every step of it asks a database.
            suppress_health_check=[HealthCheck.too_slow],
        ),
    )

    assert seen.moved <= ALLOWED
    assert {("checked_in", "cleared"), ("testing", "signed_off"), ("signed_off", "handed_back")} <= seen.moved
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
