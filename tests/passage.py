"""A small model of gear and its passages, written from what a workshop expects; it shares no table with the rooms.

Each verb gives the answer that must come, as status and sorted codes of the refusals, and takes the change over when
there is none.
"""

from collections import Counter
from dataclasses import dataclass, field

LEGS = ("checked_in", "cleared", "stripping", "cleaning", "rebuilding", "testing", "signed_off")
ENDED = ("handed_back", "disposed")
NAMED = ("cleared", "stripping", "cleaning", "rebuilding", "testing")  # what a request for a move can name
BENCH = {"technician", "inspector"}
COUNTER = {"counter", "lead"}
ALL_HANDS = BENCH | COUNTER
STOPS = {
    "parts": {"rebuilding", "testing", "signed_off"},
    "customer": set(LEGS) - {"checked_in"},
    "notice": set(LEGS) - {"checked_in"} | {"handed_back"},
    "doubt": set(LEGS) - {"checked_in"} | {"handed_back"},
    "thread": {"testing", "signed_off"},
    "other": set(LEGS) - {"checked_in"},
    "evidence": {*LEGS, *ENDED},
}
PRICE = 50
MOST_TRIES = 10
VERDICTS = {"9.50": "within", "12.00": "outside", "10.00": "inconclusive"}
STEPS = ("stripping", "cleaning", "rebuilding")  # each has one step of its name
RENEWED = {"ring"}  # of the two parts, ring is renewed at each service and spring is looked at

Said = tuple[int, list[str]]


def answer(role: str, may: set[str], found: list[str], good: int, *, fresh: bool = True) -> Said:
    """Not signed in, no right, stale, refused with all reasons, or well: in this order."""
    if role == "stranger":
        return 401, []
    if role not in may:
        return 403, []
    if not fresh:
        return 412, []
    return (409, sorted(found)) if found else (good, [])


@dataclass
class Passage:
    """One job."""

    contents: str
    visit: int = 1  # the version of its drop-off
    follows: str = ""  # who signed the job that it follows; "-" when nobody did
    leg: str = "checked_in"
    version: int = 1
    emptied: bool = False
    go_ahead: int | None = None
    technician: str = ""
    where: str = "here"
    steps: dict[str, str] = field(default_factory=dict)
    parts: dict[str, tuple[str, bool]] = field(
        default_factory=dict
    )  # ending, and whether its place is filled
    verdicts: list[str] = field(default_factory=list)
    received: list[str] = field(default_factory=list)  # verdicts as received
    outcomes: list[str] = field(default_factory=lambda: [""])  # one a round
    signer: str = ""
    letters: list[int] = field(default_factory=list)
    asked: set[tuple[str, int]] = field(default_factory=set)
    holds: dict[str, str] = field(default_factory=dict)


@dataclass
class Gear:
    """One item with its passages, and what of the house they lean on."""

    passages: list[Passage] = field(default_factory=list)
    evidence: dict[str, str] = field(default_factory=dict)
    lifted: dict[str, str] = field(default_factory=dict)
    withdrawn: bool = False
    on_hand: int = 10
    day: int = 0
    tries: Counter[str] = field(default_factory=Counter)  # wrong secrets of the day
    typed_wrong: list[str] = field(default_factory=list)

    @property
    def job(self) -> Passage:
        return self.passages[-1]

    def held(self, to: str = "", *, evidence_only: bool = False) -> list[str]:
        """What keeps the job from entering a leg."""
        kinds = [*self.job.holds.values(), *self.evidence.values()]
        if evidence_only:
            return ["held-evidence"] * kinds.count("evidence")
        return [f"held-{kind}" for kind in kinds if to in STOPS[kind]]

    def untouchable(self) -> list[str]:
        """Why nobody may work on it just now."""
        return self.held(evidence_only=True) + self._away()

    def _away(self) -> list[str]:
        return [] if self.job.where == "here" else ["not-here"]

    def full(self) -> bool:
        """Whether there may be gas inside."""
        return self.job.contents != "no gas" and not self.job.emptied

    def missing(self, to: str) -> list[str]:
        """What is asked for before the next leg is entered."""
        job, at = self.job, LEGS.index(to)
        found = ["contents-unknown"] if job.contents == "not looked at" else []
        found += ["plan-withdrawn"] if self.withdrawn else []
        price = 0 if job.outcomes[-1] == "declined" else PRICE
        found += ["no-go-ahead"] if job.go_ahead is None else []
        found += ["go-ahead-too-low"] if job.go_ahead is not None and job.go_ahead < price else []
        if at >= LEGS.index("stripping"):
            found += self._away()
            found += [] if job.technician else ["no-technician"]
            found += ["under-pressure"] if self.full() else []
            found += ["not-as-received"] if job.follows and not job.received else []
        done_by = {"stripping": "cleaning", "cleaning": "rebuilding", "rebuilding": "testing"}
        found += ["step-open" for step in STEPS if at >= LEGS.index(done_by[step]) and step not in job.steps]
        if at >= LEGS.index("rebuilding") and job.steps.get("stripping") != "omitted":
            for part in ("ring", "spring"):
                found += [] if part in job.parts else ["part-open"]
                found += ["place-empty"] if part in job.parts and not job.parts[part][1] else []
        if to == "signed_off":
            last = job.verdicts[-1] if job.verdicts else ""
            found += [] if last == "within" else ["not-within" if last else "not-tested"]
        return found

    def why_not(self, to: str, reason: bool = False, *, closing: bool = False) -> list[str]:
        """Why the job may not go to a leg up to signed off."""
        job = self.job
        if job.leg in ENDED:
            return ["job-ended"]
        ahead = LEGS.index(to) - LEGS.index(job.leg)
        if ahead == 0:
            return [*self.held(evidence_only=True), "already-there"]
        if ahead < 0:
            found = ["not-a-working-leg"] if to in ("checked_in", "cleared") else []
            found += ["under-pressure"] if to not in ("checked_in", "cleared") and self.full() else []
            return self.held(evidence_only=True) + found + ([] if reason else ["reason-missing"])
        if closing:
            return self.held(evidence_only=True)
        return self.held(to) + (["not-next"] if ahead > 1 else self.missing(to))

    def go(self, to: str) -> None:
        job = self.job
        if to in LEGS and LEGS.index(to) < LEGS.index(job.leg):
            job.verdicts = []
            job.steps = {leg: how for leg, how in job.steps.items() if LEGS.index(leg) < LEGS.index(to)}
            job.parts = {} if to == "stripping" else job.parts
            job.outcomes += [""] if job.leg == "signed_off" else []
        job.leg, job.version = to, job.version + 1

    def move(self, role: str, to: str, reason: bool, *, fresh: bool = True) -> Said:
        if role != "stranger" and to not in NAMED:
            return 400, ["invalid_choice"]
        may = {"inspector", "lead"} if self.job.leg == "signed_off" else ALL_HANDS
        legs = [*LEGS, *ENDED]
        if to in NAMED[1:] and legs.index(to) - legs.index(self.job.leg) == 1:
            may = BENCH
        if role in ALL_HANDS and role not in may and not fresh:
            return 412, []  # whoever saw an old version is told so before they are told of another round
        said = answer(role, may, self.why_not(to, reason) if to in NAMED else [], 200, fresh=fresh)
        if said[0] == 200:
            self.go(to)
        return said

    def secret(self, person: str, right: bool) -> list[str]:
        """Why a typed secret does not stand; too many wrong ones stop even the right one."""
        if self.tries[person] >= MOST_TRIES:
            return ["too-many-tries"]
        self.typed_wrong += [] if right else [person]
        return [] if right else ["wrong-secret"]

    def settle(self, said: Said) -> None:
        """Wrong secrets count once they were looked at."""
        self.tries.update(self.typed_wrong if said[0] == 409 else [])
        self.typed_wrong.clear()

    def sign(
        self, role: str, outcome: str, second: str, *, words: bool = True, alone: bool = False,
        right: bool = True, second_right: bool = True, fresh: bool = True,
    ) -> Said:  # fmt: skip
        job, serviced = self.job, outcome == "serviced"
        secrets = self.secret(role, right) + (self.secret(second, second_right) if second else [])
        found = [*secrets, *([] if words or serviced else ["words-missing"])]
        if second:
            found += ["not-alone"] if alone else ["second-is-signer"] if second == role else []
            found += ["second-may-not"] if not alone and second not in {role, *BENCH} else []
            found += [] if second in BENCH else ["not-authorised"]
        elif serviced:
            found += ["not-alone"] if alone else ["second-missing"]
        found += ["same-signer"] if job.follows == role else []
        found += self.why_not("signed_off", closing=not serviced)
        said = answer(role, BENCH, found, 201, fresh=fresh)
        self.settle(said)
        if said[0] == 201:
            self.go("signed_off")
            job.outcomes[-1], job.signer = outcome, role
        return said

    def hold(self, role: str, kind: str) -> Said:
        if kind in ("doubt", "notice") and role != "stranger":
            return 400, ["invalid_choice"]
        said = answer(role, ALL_HANDS, ["job-ended"] if self.job.leg in ENDED else [], 201)
        self.job.version += said[0] == 201
        return said

    def keep_evidence(self, role: str) -> Said:
        said = answer(role, ALL_HANDS, ["held-before"] if self.evidence else [], 201)
        if said[0] == 201 and self.job.where != "gone":
            self.job.where = "here"  # what is written down with it says where it lies
        return said

    def lift(self, role: str, uid: str, second: str, *, right: bool = True) -> Said:
        on_job, kind = uid in self.job.holds, (self.job.holds | self.evidence | self.lifted)[uid]
        found = ["lifted-before"] if uid in self.lifted else []
        found += ["by-itself"] if kind in ("doubt", "notice") else []
        if kind == "evidence":
            found += ["second-missing"] if second in ("", role) else []
            found += self.secret(second, right) if second else []
        said = answer(role, {"lead"} if kind == "evidence" else ALL_HANDS, found, 200)
        self.settle(said)
        if said[0] == 200:
            self.let_go(uid)
            self.job.version += on_job
        return said

    def let_go(self, uid: str) -> None:
        self.lifted[uid] = self.job.holds.pop(uid, "") or self.evidence.pop(uid)

    def custody(self, role: str, where: str, *, why: bool, corrects: bool) -> Said:
        job = self.job
        found = self.held(evidence_only=True) if where != job.where else []
        if corrects:
            found += [] if why else ["reason-missing"]
        elif job.where == "gone":
            found += ["gone"]
        elif where == "gone":
            found += ["by-hand-back"]
        said = answer(role, ALL_HANDS, found, 201)
        job.where = where if said[0] == 201 else job.where
        return said

    def hand_back(self, role: str, *, acknowledged: bool, fresh: bool = True) -> Said:
        job = self.job
        again = self.held("handed_back") if job.leg == "handed_back" else []
        if job.leg == "handed_back" and job.where != "here":
            found = ["handed-back-before", *again]
        elif job.leg not in ("signed_off", "handed_back"):
            found = ["not-signed-off"]
        elif job.where != "here":
            found = ["not-here"]
        elif job.outcomes[-1] != "serviced" and not acknowledged:
            found = ["do-not-dive", *again]
        else:
            found = self.held("handed_back")
        said = answer(role, COUNTER, found, 201, fresh=fresh)
        if said[0] == 201:
            if job.leg == "signed_off":
                self.go("handed_back")
            job.where, job.visit = "gone", job.visit + 1
        return said

    def ask(self, role: str, how: str) -> Said:
        job = self.job
        found = [] if job.leg == "signed_off" else ["nothing-ready"]
        found += ["asked-today"] if (how, self.day) in job.asked else []
        said = answer(role, COUNTER, found, 201)
        if said[0] == 201:
            job.asked.add((how, self.day))
            job.letters += [] if how == "telephone" else [self.day]
        return said

    def dispose(self, role: str, *, fresh: bool = True) -> Said:
        job = self.job
        if len(job.letters) < 2:
            found = ["letters-missing"]
        elif self.day - max(job.letters) < 28:
            found = ["too-soon"]
        elif job.leg in ENDED:
            found = ["job-ended"]
        else:
            found = self.untouchable() if job.leg == "signed_off" else ["no-such-leg"]
        said = answer(role, {"lead"}, found, 201, fresh=fresh)
        if said[0] == 201:
            self.go("disposed")
            job.where, job.visit = "gone", job.visit + 1
        return said

    def assign(self, role: str, to: str, *, condition: bool, fresh: bool = True) -> Said:
        job = self.job
        found = ["job-closed"] if job.leg in ("signed_off", *ENDED) else []
        found += [] if to in BENCH else ["not-a-technician", "not-authorised"]
        found += ["with-them"] if to == job.technician else []
        begun = bool(job.technician) and job.leg in (*STEPS, "testing")
        found += ["condition-missing"] if begun and not condition else []
        said = answer(role, {"lead"}, found, 200, fresh=fresh)
        if said[0] == 200:
            job.technician, job.version = to, job.version + 1
        return said

    def note(self, role: str, contents: str) -> Said:
        job = self.job
        found = self.held(evidence_only=True)
        found += [] if job.contents == "not looked at" else ["noted-before"]
        found += [] if job.leg in ("checked_in", "signed_off") else ["too-late"]
        said = answer(role, ALL_HANDS, found, 200)
        job.contents = contents if said[0] == 200 else job.contents
        return said

    def empty(self, role: str) -> Said:
        job = self.job
        found = self.held(evidence_only=True)
        found += [] if job.leg in ("checked_in", "cleared", "signed_off") else ["too-late"]
        found += [] if job.contents == "under pressure" and not job.emptied else ["not-under-pressure"]
        said = answer(role, BENCH, found, 200)
        job.emptied = job.emptied or said[0] == 200
        return said

    def step(self, role: str, step: str, counted: int | None, *, omitted: bool) -> Said:
        job = self.job
        found = self.untouchable() + ([] if step == job.leg else ["wrong-leg"])
        found += ["done-before"] if step in job.steps else []
        if omitted:
            found += [] if counted is None else ["omitted"]
        elif step != "stripping":
            found += [] if counted is None else ["count-unasked"]
        else:
            found += ["not-counted"] if counted is None else [] if counted == 2 else ["wrong-count"]
        said = answer(role, BENCH, found, 201)
        if said[0] == 201:
            job.steps[step] = "omitted" if omitted else "done"
        return said

    def part(
        self, role: str, part: str, ending: str, *, lot: bool, origin: str, words: bool, second: str, right: bool
    ) -> Said:  # fmt: skip
        job, filled = self.job, lot or ending == "reused" or bool(origin)
        theirs = bool(origin) and not lot and ending != "reused"
        before, closed = job.parts.get(part, ("", False))
        found = self.untouchable() + ([] if job.leg in ("stripping", "cleaning") else ["wrong-leg"])
        found += ["ended-before"] if closed or (before and (before != ending or not filled)) else []
        found += ["must-renew"] if ending == "reused" and part in RENEWED else []
        found += ["lot-unasked"] if ending == "reused" and lot else []
        found += ["lot-missing"] if ending == "renewed" and not filled else []
        found += ["words-missing"] if (ending in ("scrapped", "lost") or theirs) and not words else []
        lone = ending == "lost" and second in ("", role)
        secrets = self.secret(second, right) if second and not lone else []
        found += ["second-missing"] if lone else secrets
        found += ["not-enough"] if lot and self.on_hand < 1 else []
        said = answer(role, BENCH, found, 201)
        self.settle(said)
        if said[0] == 201:
            job.parts[part] = (ending, filled)
            self.on_hand -= lot
        return said

    def test(self, role: str, phase: str, reading: str, *, why: bool) -> Said:
        job = self.job
        verdicts = job.verdicts if phase == "final" else job.received
        found = self.untouchable()
        found += [] if job.leg == {"as received": "cleared", "final": "testing"}[phase] else ["wrong-leg"]
        found += ["why-again"] if set(verdicts) - {"inconclusive"} and not why else []
        said = answer(role, BENCH, found, 201)
        if said[0] == 201:
            verdicts.append(VERDICTS[reading])
        return said

    def agree(self, role: str, amount: int) -> Said:
        said = answer(role, COUNTER, [], 201)
        self.job.go_ahead = amount if said[0] == 201 else self.job.go_ahead
        return said

    def withdraw(self, role: str) -> Said:
        said = answer(role, {"lead"}, ["withdrawn"] if self.withdrawn else [], 201)
        self.withdrawn = self.withdrawn or said[0] == 201
        return said

    def come_back(self, role: str, *, follows: bool) -> Said:
        """The item is put on the counter again; the caller adds the passage."""
        found = [] if self.job.leg in ENDED else ["open-job"] + ["follows-another"] * follows
        found += ["condemned"] if any(job.outcomes[-1] == "condemned" for job in self.passages) else []
        found += ["plan-withdrawn"] if self.withdrawn else []
        return answer(role, COUNTER, found, 201)
