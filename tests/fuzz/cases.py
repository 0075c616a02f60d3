"""Cases of Schemathesis, pointed at what is there, sent as somebody, and held against the OpenAPI document."""

import random
from collections import Counter
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

import hypothesis
import requests
from hypothesis import HealthCheck, Phase, Verbosity
from schemathesis.checks import not_a_server_error
from schemathesis.core.failures import FailureGroup
from schemathesis.generation.hypothesis.builder import HypothesisTestConfig, HypothesisTestMode, create_test
from schemathesis.generation.meta import TestPhase
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from tests.fuzz.served import Served
from tests.guards.bodies import Entry
from tests.guards.entries import API, HELD, may, somebody
from tests.guards.routes import braced
from tests.guards.world import World

ROLES = ["stranger", *HELD]
TURN = 40  # cases of one operation after which the database is put back as it was
LONGEST_LINE = 4094  # bytes; to a longer request line the web server answers 414, and nothing of ours sees it
CHECKS: Any = [not_a_server_error, status_code_conformance, content_type_conformance]
CHECKS += [response_schema_conformance]
# What no document speaks of: now and then one of these goes with a case.
ROUGH_HEADERS = [
    ("Content-Type", "application/json; charset=zlib"), ("Content-Type", "x/y; charset=zlib"),
    ("Content-Type", "application/json; charset=utf-16"), ("Content-Type", "multipart/form-data"),
    ("Content-Type", "multipart/form-data; boundary=\xff"), ("Content-Type", "application/json; charset"),
    ("Content-Encoding", "gzip"), ("Accept", "text/html"), ("Accept", "x"), ("Accept", "application/pdf;q=0"),
    ("Accept-Language", "x" * 4000), ("If-None-Match", '"1"'), ("If-None-Match", "*"), ("Range", "bytes=0-1"),
    ("Cookie", "session=1; csrf=\xff"), ("Authorization", "Token"), ("Authorization", "Token \xff x"),
    ("Authorization", "Token " + "f" * 64), ("X-Forwarded-For", "::%x"), ("Origin", "null"), ("Host", "x:y"),
]  # fmt: skip
ROUGH_QUERIES = [("format", "xml"), ("after", "\0"), ("limit", "0"), ("limit", "9" * 40)]


@dataclass
class Fuzz:
    """A running server, who may ask it what, and what came of it."""

    world: World
    served: Served
    signed_in: dict[str, dict[str, str]]
    seed: int
    most: int  # boundaries of one operation; a plan has many more than anything else
    session: requests.Session = field(default_factory=requests.Session)
    sent: Counter[str] = field(default_factory=Counter)  # cases by operation
    roles: Counter[str] = field(default_factory=Counter)
    statuses: Counter[int] = field(default_factory=Counter)
    reached: set[str] = field(default_factory=set)  # operations that answered 2xx
    wrong: dict[str, str] = field(default_factory=dict)  # what is wrong with an answer, and to what

    def __post_init__(self) -> None:
        self.chance = random.Random(self.seed)
        self.entries = {
            f"{method} {braced(f'api/v1/{route}')}": entry
            for route, methods in API.items()
            for method, entry in methods.items()
            if route != "schema"
        }

    def operation(self, operation: Any, modes: list[HypothesisTestMode], cases: int) -> None:
        """The boundaries of every field of one operation, if asked for, and some cases that chance makes."""
        config = HypothesisTestConfig(
            project=operation.schema.config,
            modes=modes,
            seed=self.chance.getrandbits(32),
            settings=hypothesis.settings(
                max_examples=cases,
                database=None,
                deadline=None,
                phases=[Phase.explicit, Phase.generate],  # nothing is raised, so there is nothing to shrink
                suppress_health_check=list(HealthCheck),
                verbosity=Verbosity.quiet,
            ),
        )
        create_test(operation=operation, test_func=self.send, config=config)()

    def send(self, case: Any) -> None:
        """One case, half of the time as somebody who may, else as anybody."""
        label = case.operation.label
        entry = self.entries[label]
        if case.meta.phase.name is TestPhase.COVERAGE and self.sent[label] >= self.most:
            return
        if self.sent[label] % TURN == 0:
            self.served.put_back()
        role = somebody(entry) if self.chance.random() < 0.5 else self.chance.choice(ROLES)
        self.point(case, entry, role)
        self.roughen(case)
        answer = case.call(base_url=self.served.url, session=self.session, timeout=60)
        self.sent[label] += 1
        self.roles[role] += 1
        self.statuses[answer.status_code] += 1
        line = f"{answer.request.method} {answer.request.path_url} HTTP/1.1"
        if answer.status_code == 414 and len(line) > LONGEST_LINE:
            return
        if answer.status_code < 300 and f"{case.method.upper()} {case.operation.path}" == label:
            self.reached.add(label)
            if not may(role, entry):
                self.wrong[f"{label}: {answer.status_code} as {role}"] = case.as_curl_command()
        try:
            case.validate_response(answer, checks=CHECKS)
        except FailureGroup as failures:
            for failure in failures.exceptions:
                self.wrong.setdefault(f"{label}: {answer.status_code} {failure}", f"as {role}: {failures}")

    def point(self, case: Any, entry: Entry, role: str) -> None:
        """Sign a case with a role and mostly give it an address, a key, a version and parts of a body that are good."""
        case.headers.update(self.signed_in[role])
        if entry.row and self.often():
            uid = self.world.tokens.get(role) if entry.row == "token" else self.world.rows[entry.row].uid
            case.path_parameters["uid"] = str(uid or UUID(int=7))
        if entry.key and self.often():
            case.path_parameters["n" if "n" in case.path_parameters else "key"] = entry.key
        if self.often():
            case.headers["Idempotency-Key"] = f'"{self.chance.getrandbits(64)}"'
        if self.often():
            case.headers["If-Match"] = f'"{self.world.version(entry)}"'
        if entry.body is not None:
            case.body = self.body(case.body, self.world.body(entry.body))

    def often(self) -> bool:
        """Six times of seven."""
        return self.chance.random() < 6 / 7

    def body(self, drawn: Any, valid: dict[str, Any]) -> Any:
        """What is valid, or what was drawn, or mostly what is valid with about one field of what was drawn."""
        valid = {name: each.read() if hasattr(each, "read") else each for name, each in valid.items()}
        kept = self.chance.random()
        if kept < 0.15:
            return valid
        if kept < 0.3 or not isinstance(drawn, dict):
            return drawn
        return valid | {name: each for name, each in drawn.items() if self.chance.random() < 1 / len(drawn)}

    def roughen(self, case: Any) -> None:
        """Now and then, add what no document speaks of."""
        if self.chance.random() < 0.1:
            case.headers.update([self.chance.choice(ROUGH_HEADERS)])
        if self.chance.random() < 0.05:
            case.query.update([self.chance.choice(ROUGH_QUERIES)])
