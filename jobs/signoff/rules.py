"""Who may sign, and with whom; figures over the services of an item. Pure."""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, tzinfo
from decimal import Decimal
from typing import Any

from jobs.bench.methods import METHODS
from jobs.bench.methods.drift import Drift, Point, drift
from jobs.bench.methods.drift_pictures import drift_picture
from jobs.bench.methods.intermediate_pressure import CREEP
from jobs.bench.methods.pictures import Picture
from jobs.bench.methods.records import estimate_from, limit_from
from jobs.bench.methods.units import convert, symbol
from jobs.bench.methods.verdicts import Limit
from jobs.flow.rules import Outcome
from shop.paper.rules import Bold, Code
from shop.workshop.rules import Refusal, add_months


def proof(address: str, *, digest: str, key: str, signature: str) -> Code:
    """What the printed record says of its signature, with a code that leads to the page where it is checked."""
    return Code(
        address,
        (
            Bold("Signed with the workshop's key. Scan the code to ask whether this record was issued here,"),
            Bold(f"or type the SHA-256 at {address.partition('?')[0]}"),
            f"SHA-256 of the closed record: {digest}",
            f"Ed25519 key {key}, signature {signature}",
        ),
    )


def read_code(code: str) -> tuple[str, str]:
    """What a printed code says: the record, empty where the SHA-256 alone was typed, and the SHA-256."""
    if scanned := re.search(r"[?&]record=([^&]*)&digest=([^&]*)", code):
        return scanned[1].strip(), scanned[2].strip()
    return "", "".join(code.split()).lower()


@dataclass(frozen=True)
class Second:
    """The second person as the rules look at them."""

    is_signer: bool
    may_sign: bool


def second_refusals(
    *, asked: bool, outcome: str, second: Second | None, single_handed: str, others: Sequence[str]
) -> list[Refusal]:
    """A plan may ask for a second person when gear goes back as serviced; whoever is named must be another signer.

    Working single-handed is recorded in words, and only where nobody else may sign: `others` names whoever may.
    """
    if second is None:
        if not (asked and outcome == Outcome.SERVICED):
            return []
        if not single_handed:
            return [Refusal("second-missing", "The plan asks for a second person.", "second")]
        if others:
            said = f"You are not alone: {', '.join(others)} may sign as the second person."
            return [Refusal("not-alone", said, "single_handed")]
        return []
    if single_handed:
        return [Refusal("not-alone", "Either a second person or single-handed.", "single_handed")]
    if second.is_signer:
        return [Refusal("second-is-signer", "The second person must be somebody else.", "second")]
    if not second.may_sign:
        return [Refusal("second-may-not", "The second person does not have the right to sign off.", "second")]
    return []


def comeback_refusals(
    earlier: str, signer: str, *, single_handed: str, others: Sequence[str]
) -> list[Refusal]:
    """Gear that comes back is signed by another than who signed the job that it follows, if there is one.

    `earlier` is the name of who signed that job, empty when there is none.
    """
    if not earlier or earlier != signer or (single_handed and not others):
        return []
    return [
        Refusal("same-signer", f"{signer} signed the job that this one follows: somebody else signs now.")
    ]


def outcome_refusals(outcome: str, words: str) -> list[Refusal]:
    """Any outcome other than serviced says why."""
    if outcome != Outcome.SERVICED and not words:
        return [Refusal("words-missing", "Say what was found.", "words")]
    return []


@dataclass(frozen=True)
class Service:
    """A closed round as the figures over the services look at it; `keys` are the tests of attempts, by uid."""

    job: str
    number: int
    months: int
    record: Mapping[str, Any]
    keys: Mapping[str, str]


@dataclass(frozen=True)
class Row:
    """One figure of one service as its record states it."""

    service: Service
    test: Mapping[str, Any]
    limit: Limit
    on: date
    value: str
    low: str
    high: str
    unit: str

    @property
    def verdict(self) -> str:
        """What was decided on this figure, which is not always what was decided on the whole test."""
        decision = self.test["result"]["decisions"].get(self.limit.quantity, self.test)
        return str(decision["verdict"])

    @property
    def renewed(self) -> int:
        """How many kinds of parts were renewed at that service."""
        return sum(part["ending"] == "renewed" for part in self.service.record["parts"])

    def point(self, unit: str) -> Point:
        """The same in a unit of its kind."""
        value, low, high = (
            float(convert(Decimal(text), self.unit, unit)) if text else None
            for text in (self.value, self.low, self.high)
        )
        assert value is not None
        return Point(self.on, value, low, high)


@dataclass(frozen=True)
class Series:
    """One figure over the services of an item, oldest first; judged by its newest limit, in that one's unit."""

    title: str
    quantity: str
    unit: str
    limit: Limit
    rows: tuple[Row, ...]
    next_due: date
    found: Drift
    picture: Picture

    @property
    def heading(self) -> str:
        """The title of the test, and what of it, where that is not said already."""
        return (
            self.title
            if self.quantity.lower() in self.title.lower()
            else f"{self.title}: {self.quantity.lower()}"
        )


def series_of(services: Sequence[Service], zone: tzinfo) -> list[Series]:
    """Each figure of final tests that counted, one a service, found again by the key of its test and its quantity."""
    rows: dict[tuple[str, str], dict[str, Row]] = {}
    for service in services:
        for key, row in _rows(service, zone):
            rows.setdefault((key, row.limit.quantity), {})[service.job] = row
    return [_series(sorted(each.values(), key=lambda row: row.on)) for each in rows.values()]


def _rows(service: Service, zone: tzinfo) -> Iterator[tuple[str, Row]]:
    for test in service.record["tests"]:
        if test["phase"] != "final" or not test["counts"] or test.get("replaced"):
            continue
        done_on = datetime.fromisoformat(test["done_at"]).astimezone(zone).date()
        for limit in (limit_from(each) for each in test["result"]["limits"]):
            estimate = estimate_from(test["result"], limit.quantity)
            if estimate is not None:
                unit = test["unit"] or METHODS[test["result"]["method"]].quantities[limit.quantity]
                yield service.keys[test["uid"]], Row(service, test, limit, done_on, *estimate, unit)


def _series(rows: list[Row]) -> Series:
    newest = rows[-1]
    limit, unit = newest.limit, newest.limit.unit
    low, high = (None if side is None else float(side) for side in (limit.low, limit.high))
    if limit.quantity == CREEP and low is None and high is not None:
        low = -high  # as the method judges it: falling pressure is held against the same figure
    points, due = [row.point(unit) for row in rows], add_months(newest.on, newest.service.months)
    found, name = drift(points, low, high, due), limit.quantity.capitalize()
    return Series(
        title=newest.test["title"],
        quantity=name,
        unit=unit,
        limit=limit,
        rows=tuple(rows),
        next_due=due,
        found=found,
        picture=drift_picture(points, found, low, high, due, name=name, unit=symbol(unit)),
    )
