"""One job walked over the API as far as a test wants it; every call is asserted."""

from copy import copy
from typing import Any

from jobs.flow.models import Job
from shop.catalogue.rules import BenchTest
from shop.gear.models import Item
from tests.conftest import SECRET, TRACES, Api, House

# What is written down as gear is taken in as evidence.
EVIDENCE: dict[str, Any] = {
    "why": "It was worn in an accident.", "giver": "harbour police, an officer", "where": "here", "holder": "evidence cupboard",
}  # fmt: skip


def ok(answer: Any, status: int = 200) -> Any:
    """The answer's JSON, when it has the expected status."""
    assert answer.status_code == status, answer.content
    return answer.json()


def pair(house: House, api: dict[str, Api], first: Item, second: Item) -> tuple["Walk", "Walk"]:
    """A first and a second stage brought together, checked in."""
    lines = [
        {"item": str(item.uid), "plan": str(house.plans[item.model.kind].uid), "contents": "no gas"}
        for item in (first, second)
    ]
    data = {"customer": str(house.customer.uid), "promised_on": "2199-01-01", "lines": lines}
    made = ok(api["counter"].post("drop-offs", data), 201)
    walk = Walk.__new__(Walk)
    walk.house, walk.api, walk.drop_off = house, api, made["uid"]
    one, two = made["lines"]
    return walk.other(one["job"], first), walk.other(two["job"], second)


def as_typed(asked: BenchTest, reading: str, unit: str) -> dict[str, Any]:
    """One reading as the test's method takes it."""
    if asked.method == "breathing effort":
        return {"figures": {"first": f"{reading} {unit}"}}
    return {"reading": reading, "unit": unit}


class Walk:
    """A first and a second stage of one drop-off, walked leg by leg."""

    def __init__(
        self, house: House, api: dict[str, Api], kind: str = "first_stage", contents: str = "no gas"
    ):
        self.house, self.api = house, api
        self.item = house.item(kind, serial=f"S-{kind}")
        line = {"item": str(self.item.uid), "plan": str(house.plans[kind].uid), "contents": contents}
        made = ok(
            api["counter"].post(
                "drop-offs",
                {"customer": str(house.customer.uid), "promised_on": "2199-01-01", "lines": [line]},
            ),
            201,
        )
        self.drop_off, self.job = made["uid"], made["lines"][0]["job"]

    def other(self, job: str, item: Item) -> "Walk":
        """Another job of the same drop-off."""
        found = copy(self)
        found.job, found.item = job, item
        return found

    @property
    def row(self) -> Job:
        return Job.objects.get(uid=self.job)

    def go_ahead(self, amount: str = "200.00") -> Any:
        given = {"amount": amount, "given_by": "Maja Lindqvist", "how": "in person"}
        return self.api["counter"].post(f"drop-offs/{self.drop_off}/go-aheads", given)

    def assign(self, role: str = "technician") -> Any:
        data = {"technician": str(self.house.people[role].uid)}
        return self.api["lead"].post(f"jobs/{self.job}/assign", data, seen=self.row.version)

    def move(self, to: str, reason: str = "", role: str = "technician") -> Any:
        data = {"to": to, "reason": reason}
        return self.api[role].post(f"jobs/{self.job}/moves", data, seen=self.row.version)

    def step(self, key: str, role: str = "technician", **data: Any) -> Any:
        step = self.row.plan.step(key)
        assert step is not None
        given: dict[str, Any] = {"counted": sum(p.pieces for p in self.row.plan.freed(step)) or None}
        if step.torque_n_m:
            given |= {
                "torque_n_m": step.torque_n_m,
                "wrench": str(self.house.instruments["torque wrench"].uid),
            }
        return self.api[role].post(f"jobs/{self.job}/steps/{key}", given | data)

    def steps(self, leg: str) -> None:
        for step in self.row.plan.steps:
            if step.leg == leg:
                ok(self.step(step.key), 201)

    def end(self, key: str, lot: str = "", ending: str = "", role: str = "technician") -> Any:
        part = self.row.plan.part(key)
        assert part is not None
        number = lot or part.renew
        data: dict[str, Any] = {"ending": ending or ("renewed" if part.renew else "reused")}
        if number:
            data["lot"] = str(self.house.lots[number].uid)
        return self.api[role].post(f"jobs/{self.job}/parts/{key}", data)

    def parts(self, but: str = "") -> None:
        for part in self.row.plan.parts:
            if part.key != but:
                ok(self.end(part.key), 201)

    def trace(
        self,
        name: str = "creep_0p02",
        key: str = "intermediate_pressure",
        role: str = "technician",
        phase: str = "final",
        why: str = "",
    ) -> Any:
        with (TRACES / f"{name}.csv").open("rb") as file:
            data = {
                "phase": phase,
                "why_again": why,
                "instrument": str(self.house.instruments["pressure logger"].uid),
                "trace": file,
            }
            return self.api[role].post(f"jobs/{self.job}/tests/{key}", data, format="multipart")

    def reading(
        self, key: str, reading: str, unit: str = "bar", role: str = "technician", *, why: str = ""
    ) -> Any:
        asked = self.row.plan.test(key)
        assert asked is not None
        instrument = self.house.instruments[asked.needs]
        data = {"phase": "final", "why_again": why, "instrument": str(instrument.uid)} | as_typed(
            asked, reading, unit
        )
        return self.api[role].post(f"jobs/{self.job}/tests/{key}", data)

    def tests(self, but: str = "") -> None:
        for asked in self.row.plan.tests:
            if asked.key == but:
                continue
            if asked.method == "intermediate pressure":
                ok(self.trace(), 201)
            else:
                reading, unit = {
                    "low_supply": ("9.42", "bar"),
                    "supply_drop": ("0.2", "bar"),
                    "cracking": ("3.1", "mbar"),
                    "exhalation": ("4.2", "mbar"),
                }[asked.key]
                ok(self.reading(asked.key, reading, unit), 201)

    def sign(self, role: str = "technician", **data: Any) -> Any:
        given = {
            "outcome": "serviced",
            "secret": SECRET,
            "second": str(self.house.people["inspector"].uid),
            "second_secret": SECRET,
        }
        return self.api[role].post(f"jobs/{self.job}/sign-offs", given | data, seen=self.row.version)

    def hand_back(self, **data: Any) -> Any:
        given = {"collector": "Maja Lindqvist", "items": [self.item.label]}
        seen = self.row.drop_off.version
        return self.api["counter"].post(f"drop-offs/{self.drop_off}/hand-backs", given | data, seen=seen)

    def to(self, leg: str) -> "Walk":
        """Walk until the job is on a leg."""
        ways: dict[str, list[Any]] = {
            "cleared": [self.go_ahead, self.assign, lambda: self.move("cleared", role="counter")],
            "stripping": [lambda: self.move("stripping")],
            "cleaning": [lambda: self.steps("stripping"), lambda: self.move("cleaning")],
            "rebuilding": [lambda: self.steps("cleaning"), self.parts, lambda: self.move("rebuilding")],
            "testing": [lambda: self.steps("rebuilding"), lambda: self.move("testing")],
            "signed_off": [lambda: self.steps("testing"), self.tests, self.sign],
            "handed_back": [self.hand_back],
        }
        for name, calls in ways.items():
            for call in calls:
                answer = call()
                assert answer is None or answer.status_code < 300, (name, answer.content)
            if name == leg:
                break
        assert self.row.leg == leg
        return self
