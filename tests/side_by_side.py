"""The rooms and the model of `tests/passage.py` side by side: each verb is done by both, and must be answered alike."""

from collections.abc import Iterator
from contextlib import contextmanager
from copy import deepcopy
from datetime import timedelta
from typing import Any

from django.db import transaction

from jobs.flow.actions import let_go, locked, put_hold
from jobs.flow.models import Hold, Job
from shop.gear.actions import add_item
from shop.workshop.reads import at, now
from tests.conftest import SECRET, Api, House
from tests.passage import ENDED, LEGS, VERDICTS, Gear, Passage, Said
from tests.walk import EVIDENCE


def step(key: str, frees: list[str]) -> dict[str, Any]:
    words = dict.fromkeys(("words", "tool", "caution", "why", "source", "torque_n_m"), "")
    return {"key": key, "leg": key, "title": key, "minutes": 1, "frees": frees, **words}


SMALL = {
    "title": "Small service", "legs": ["stripping", "cleaning", "rebuilding", "testing"], "price": 5000,
    "minutes": 10, "second_person": True, "cautions": [],
    "clock": {"key": "small", "title": "Small service", "months": 12},
    "parts": [
        {"key": "ring", "name": "Ring", "count": 1, "shape": "ring", "renew": "TH-302"},
        {"key": "spring", "name": "Spring", "count": 1, "shape": "spring", "renew": ""},
    ],
    "steps": [step("stripping", ["ring", "spring"]), step("cleaning", []), step("rebuilding", [])],
    "tests": [{
        "key": "supply", "title": "Supply", "method": "typed reading", "repeat": "last", "needs": "pressure logger",
        "bounds": [{
            "quantity": "supply", "label": "supply", "unit": "bar", "low": "9.00", "high": "10.00",
            "decision": "guarded", "source": "the test's own limit",
        }],
    }],
}  # fmt: skip


class Seen:
    """What the walks came across."""

    def __init__(self) -> None:
        self.steps = 0
        self.moved: set[tuple[str, str]] = set()
        self.refused: set[str] = set()
        self.verbs: set[str] = set()


@contextmanager
def undone() -> Iterator[None]:
    """Whatever happens inside is rolled back, as each example needs the house as it was."""
    with transaction.atomic():
        yield
        transaction.set_rollback(True)


class Bench:
    """One item of a small workshop and its model; each verb is done by both, and their answers are compared."""

    def __init__(self, house: House, api: dict[str, Api], plan: str, seen: Seen):
        self.house, self.api, self.plan, self.seen = house, api, plan, seen
        self.gear, self.start = Gear(), now()
        counter = house.people["counter"]
        self.item = add_item(
            by=counter, owner=house.customer, model=house.models["first_stage"], serial="L-1", owners_mark=""
        )
        self.job = self.line = self.drop_off = self.leg = ""
        self.last: Said = (0, [])
        self.trail: list[str] = []

    @contextmanager
    def as_it_is(self) -> Iterator[None]:
        """What the model learns inside is forgotten, as the database forgets it."""
        kept = deepcopy(self.gear), self.leg
        yield
        self.gear, self.leg = kept

    def person(self, role: str) -> str | None:
        return str(self.house.people[role].uid) if role else None

    def send(
        self, said: Said, role: str, path: str, data: dict[str, Any] | None = None, *,
        seen: int | None = None, look: bool = True,
    ) -> Any:  # fmt: skip
        """One step: the answer is the one that the model gave, and the job is as the model has it."""
        with at(self.start + timedelta(days=self.gear.day)):
            answer = self.api[role].post(path, data, seen=seen)
        self.seen.steps += 1
        body = answer.json()
        found = sorted(error["code"] for error in body.get("errors", []))
        self.last = answer.status_code, found
        self.trail.append(f"{role} {path} {data or ''} -> {self.last}")
        assert self.last == said, "\n".join([f"the model says {said}", *self.trail])
        self.seen.refused |= set(found)
        self.seen.verbs |= {path.rpartition("/")[2]} if answer.status_code < 300 else set()
        if look and answer.status_code >= 400:
            self.unchanged()
        elif look:
            self.look(body if "legs" in body else None)
        return body

    def unchanged(self) -> None:
        """After a refusal the row is as the model has it; read without the API, as most steps are refused."""
        found = Job.objects.values_list("leg", "version").get(uid=self.job)
        assert found == (self.gear.job.leg, self.gear.job.version)

    def look(self, job: dict[str, Any] | None = None) -> None:
        """The job as the API shows it, or as it was just answered, against the model."""
        job = job or self.api["storekeeper"].get(f"jobs/{self.job}").json()
        model = self.gear.job
        kinds = sorted([*model.holds.values(), *self.gear.evidence.values()])
        assert (job["leg"], job["version"]) == (model.leg, model.version)
        assert sorted(hold["kind"] for hold in job["holds"]) == kinds
        assert job["technician"] == self.person(model.technician)
        assert job["legs"] == [*LEGS, "disposed" if model.leg == "disposed" else "handed_back"]
        if self.leg and job["leg"] != self.leg:
            self.seen.moved.add((self.leg, job["leg"]))
        self.leg = job["leg"]

    def version(self, fresh: bool = True) -> int:
        return self.gear.job.version - (not fresh)

    def check_in(self, contents: str, *, bagged: bool) -> None:
        """The first passage: the item is known at once, or bagged and itemised later."""
        line: dict[str, Any] = {"words": "It creeps.", "contents": contents}
        known = {"item": str(self.item.uid), "plan": self.plan}
        self.gear.passages.append(Passage(contents))
        data: dict[str, Any] = {"customer": str(self.house.customer.uid), "promised_on": "2199-01-01"}
        data["lines"] = [line if bagged else line | known]
        made = self.send((201, []), "counter", "drop-offs", data, look=False)
        self.opened(made)
        if bagged:
            found = self.send((200, []), "counter", f"lines/{self.line}/item", known, look=False)
            self.job, self.gear.job.visit = found["job"], 2
            self.send((409, ["itemised", "open-job"]), "lead", f"lines/{self.line}/item", known)
        self.look()

    def opened(self, made: dict[str, Any]) -> None:
        line = made["lines"][0]
        self.drop_off, self.line, self.job, self.leg = made["uid"], line["uid"], line["job"], ""

    def come_back(self, role: str, contents: str, *, follows: bool) -> None:
        said, before = self.gear.come_back(role, follows=follows), self.gear.job
        line = {"item": str(self.item.uid), "plan": self.plan, "contents": contents}
        line |= {"follows": self.job} if follows else {}
        data = {"customer": str(self.house.customer.uid), "promised_on": "2199-01-01", "lines": [line]}
        made = self.send(said, role, "drop-offs", data)
        if said[0] == 201:
            self.gear.passages.append(Passage(contents, follows=before.signer if follows else ""))
            self.opened(made)
            self.look()

    def move(self, role: str, to: str, *, reason: bool = False, fresh: bool = True) -> None:
        seen, said = self.version(fresh), self.gear.move(role, to, reason, fresh=fresh)
        data = {"to": to, "reason": "It leaks." if reason else ""}
        self.send(said, role, f"jobs/{self.job}/moves", data, seen=seen)

    def sign(self, role: str, outcome: str, second: str, *, fresh: bool = True, **how: bool) -> None:
        seen, said = self.version(fresh), self.gear.sign(role, outcome, second, fresh=fresh, **how)
        data = {
            "outcome": outcome, "words": "Worn out." if how.get("words", True) else "",
            "secret": SECRET if how.get("right", True) else "no", "second": self.person(second),
            "second_secret": SECRET if how.get("second_right", True) else "no",
            "single_handed": "Nobody else is in." if how.get("alone") else "",
        }  # fmt: skip
        self.send(said, role, f"jobs/{self.job}/sign-offs", data, seen=seen)

    def hold(self, role: str, kind: str) -> None:
        said = self.gear.hold(role, kind)
        made = self.send(said, role, f"jobs/{self.job}/holds", {"kind": kind, "why": "So."}, look=False)
        if said[0] == 201:
            self.gear.job.holds[made["uid"]] = kind
            self.look()
        else:
            self.unchanged()

    def hold_by_house(self, kind: str) -> None:
        """Doubts and notices put their own holds; their rooms do so by this action."""
        if self.gear.job.leg not in ENDED:
            with transaction.atomic():
                job = locked(Job.objects.get(uid=self.job))
                row = put_hold(by=self.house.people["lead"], job=job, kind=kind, why="So.")
            self.gear.job.holds[str(row.uid)] = kind
            self.gear.job.version += 1
        self.look()

    def keep_evidence(self, role: str) -> None:
        said = self.gear.keep_evidence(role)
        made = self.send(said, role, f"items/{self.item.uid}/evidence", EVIDENCE, look=False)
        if said[0] == 201:
            self.gear.evidence[made["uid"]] = "evidence"
            self.look()
        else:
            self.unchanged()

    def lift(self, role: str, uid: str, second: str, *, right: bool = True) -> None:
        said = self.gear.lift(role, uid, second, right=right)
        data = {"why": "Settled.", "second": self.person(second), "second_secret": SECRET if right else "no"}
        self.send(said, role, f"holds/{uid}/lift", data)

    def settle_by_house(self, uid: str) -> None:
        """A doubt or a notice is answered, and its hold goes with it."""
        with transaction.atomic():
            row = Hold.objects.select_related("job", "item").get(uid=uid)
            let_go(by=self.house.people["lead"], hold=row, why="Answered.")
        self.gear.let_go(uid)
        self.gear.job.version += 1
        self.look()

    def custody(self, role: str, where: str, *, why: bool = False, corrects: bool = False) -> None:
        said = self.gear.custody(role, where, why=why, corrects=corrects)
        data = {"where": where, "holder": "shelf 3", "why": "Wrong bag." if why else "", "corrects": corrects}
        self.send(said, role, f"lines/{self.line}/custody", data)

    def hand_back(self, role: str, *, acknowledged: bool, fresh: bool = True) -> None:
        seen = self.gear.job.visit - (not fresh)
        said = self.gear.hand_back(role, acknowledged=acknowledged, fresh=fresh)
        data = {"collector": "Maja Lindqvist", "items": [self.item.label], "acknowledged": acknowledged}
        self.send(said, role, f"drop-offs/{self.drop_off}/hand-backs", data, seen=seen)

    def ask(self, role: str, how: str) -> None:
        self.send(self.gear.ask(role, how), role, f"drop-offs/{self.drop_off}/asked", {"how": how})

    def dispose(self, role: str, *, fresh: bool = True) -> None:
        seen, said = self.version(fresh), self.gear.dispose(role, fresh=fresh)
        self.send(said, role, f"jobs/{self.job}/dispose", {"how": "Crushed."}, seen=seen)

    def assign(self, role: str, to: str, *, condition: bool = False, fresh: bool = True) -> None:
        seen, said = self.version(fresh), self.gear.assign(role, to, condition=condition, fresh=fresh)
        data = {"technician": self.person(to), "condition": "Ports open." if condition else ""}
        self.send(said, role, f"jobs/{self.job}/assign", data, seen=seen)

    def note(self, role: str, contents: str) -> None:
        self.send(self.gear.note(role, contents), role, f"jobs/{self.job}/contents", {"contents": contents})

    def empty(self, role: str) -> None:
        self.send(self.gear.empty(role), role, f"jobs/{self.job}/empty")

    def step(self, role: str, key: str, counted: int | None, *, omitted: bool = False) -> None:
        said = self.gear.step(role, key, counted, omitted=omitted)
        data = {"counted": counted, "omitted": "Not this time." if omitted else ""}
        self.send(said, role, f"jobs/{self.job}/steps/{key}", data)

    def part(
        self, role: str, key: str, ending: str, *, lot: bool = False, origin: str = "", words: bool = True,
        second: str = "", right: bool = True,
    ) -> None:  # fmt: skip
        said = self.gear.part(
            role, key, ending, lot=lot, origin=origin, words=words, second=second, right=right
        )
        data = {
            "ending": ending, "lot": str(self.house.lots["TH-302"].uid) if lot else None, "origin": origin,
            "words": "Looked under the bench." if words else "", "second": self.person(second),
            "second_secret": SECRET if right else "no",
        }  # fmt: skip
        self.send(said, role, f"jobs/{self.job}/parts/{key}", data)

    def test(self, role: str, phase: str, reading: str, *, why: bool = False) -> None:
        said = self.gear.test(role, phase, reading, why=why)
        instrument = str(self.house.instruments["pressure logger"].uid)
        data = {"phase": phase, "reading": reading, "unit": "bar", "instrument": instrument}
        data["why_again"] = "It was set anew." if why else ""
        made = self.send(said, role, f"jobs/{self.job}/tests/supply", data)
        if said[0] == 201:
            assert made["verdict"] == VERDICTS[reading]

    def agree(self, role: str, amount: int) -> None:
        data = {"amount": f"{amount}.00", "given_by": "Maja Lindqvist", "how": "in person"}
        self.send(self.gear.agree(role, amount), role, f"drop-offs/{self.drop_off}/go-aheads", data)

    def withdraw(self, role: str) -> None:
        data = {"reason": "The limit is wrong."}
        self.send(self.gear.withdraw(role), role, f"plans/{self.plan}/withdrawals", data)

    def days_pass(self, days: int) -> None:
        self.gear.day += days
        self.gear.tries.clear()

    def onward(self, *, dispose: bool = False) -> None:
        """Whatever is next on a passage where nobody makes a mistake."""
        job, gear = self.gear.job, self.gear
        held = {**job.holds, **gear.evidence}
        if job.leg in ENDED:
            self.come_back("counter", "no gas", follows=True)
        elif held:
            uid, kind = next(iter(held.items()))
            if kind in ("doubt", "notice"):
                self.settle_by_house(uid)
            else:
                self.lift("lead", uid, "counter")
        elif job.where != "here":
            self.custody("counter", "here", corrects=job.where == "gone", why=True)
        elif job.leg == "signed_off":
            self._leave(dispose)
        elif gear.withdrawn or self._stuck():
            self.sign("inspector", "failed", "")
        else:
            self._work()

    def _stuck(self) -> bool:
        """Whether something was left out that can no longer be made good."""
        job = self.gear.job
        if job.leg in ("checked_in", "cleared"):
            return job.leg == "cleared" and job.contents == "not looked at"
        unsafe = job.contents != "no gas" and not job.emptied
        return unsafe or (bool(job.follows) and not job.received)

    def _leave(self, dispose: bool) -> None:
        job, day = self.gear.job, self.gear.day
        if not dispose:
            self.hand_back("counter", acknowledged=True)
        elif len(job.letters) < 2:
            self.days_pass(1)
            self.ask("counter", "paper letter")
        else:
            self.days_pass(max(0, 28 - (day - max(job.letters))))
            self.dispose("lead")

    def _work(self) -> None:
        job = self.gear.job
        undone = [leg for leg in ("stripping", "cleaning", "rebuilding") if leg not in job.steps]
        unfilled = [part for part in ("ring", "spring") if not job.parts.get(part, ("", False))[1]]
        if job.contents == "not looked at":
            self.note("technician", "under pressure")
        elif (job.go_ahead or 0) < 50:
            self.agree("counter", 60)
        elif job.leg == "checked_in":
            self.move("counter", "cleared")
        elif not job.technician:
            self.assign("lead", "technician")
        elif job.contents == "under pressure" and not job.emptied:
            self.empty("technician")
        elif job.follows and not job.received:
            self.test("technician", "as received", "9.50")
        elif job.leg in undone:
            self.step("technician", job.leg, 2 if job.leg == "stripping" else None)
        elif unfilled and job.leg in ("stripping", "cleaning") and job.steps.get("stripping") != "omitted":
            ending = job.parts.get(unfilled[0], ("renewed", False))[0]
            self.part("technician", unfilled[0], ending, lot=True, second="inspector")
        elif undone and LEGS.index(undone[0]) < LEGS.index(job.leg):
            self.move("technician", undone[0], reason=True)
        elif unfilled and job.leg in ("rebuilding", "testing") and job.steps.get("stripping") != "omitted":
            self.move("technician", "cleaning", reason=True)
        elif job.leg != "testing":
            self.move("technician", LEGS[LEGS.index(job.leg) + 1])
        elif job.verdicts[-1:] != ["within"]:
            self.test("technician", "final", "9.50")
        else:
            other = job.follows == "technician"
            self.sign(
                *(
                    ("inspector", "serviced", "technician")
                    if other
                    else ("technician", "serviced", "inspector")
                )
            )
