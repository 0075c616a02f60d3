"""In what state an instrument was found, and since when it cannot be trusted. Pure."""

from collections.abc import Iterable
from datetime import date
from enum import StrEnum

from shop.workshop.rules import Refusal

CERTIFICATE = "certificate.pdf"  # the name under which each is given back


class Found(StrEnum):
    """In what state an instrument was found, before anybody adjusted it; a certificate may not say."""

    NOT_SAID = "not said"
    GOOD = "good"
    BAD = "bad"


TOLD = (Found.GOOD, Found.BAD)


class Of(StrEnum):
    """What an accuracy in % is a share of."""

    SCALE = "full scale"
    READING = "reading"


class Tester(StrEnum):
    """Who pressure-tests the cylinders that come to this workshop."""

    OURSELVES = "ourselves"
    STATION = "an outside station"


def last_looked(days: Iterable[date], on: date) -> date | None:
    """The last day before an instrument was found bad on which it had been looked at; None when it never was.

    After a calibration and after a good check it was good; for the time before a bad one there is a doubt already.
    """
    return max((day for day in days if day <= on), default=None)


def finding_refusals(done_on: date, today: date) -> list[Refusal]:
    """Nobody can have found an instrument good or bad on a day that is still to come."""
    if done_on <= today:
        return []
    return [Refusal("future", "That day is still to come.", "done_on")]
