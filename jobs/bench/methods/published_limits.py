"""Published limits on breathing loops, to be shown beside a result with what they hold for. They judge nothing.

A bench at the surface meets the conditions of none but the last. What was not found in print has no row: the limits of a
service plan are the workshop's to enter. `status` says how the words reached this table.
"""

from collections.abc import Container
from dataclasses import dataclass
from decimal import Decimal

from jobs.bench.methods.loop_values import (
    PEAK_EXHALATION,
    PEAK_INHALATION,
    POSITIVE,
    POSITIVE_PRESSURE,
    WORK,
)
from jobs.bench.methods.verdicts import Limit

READ = "read"
READ_SECOND_HAND = "read in pages about it, not in the text itself"


@dataclass(frozen=True)
class PublishedLimit:
    """One published limit, the conditions that it was written for, and how its words reached this table."""

    limit: Limit
    scope: str
    status: str

    @property
    def source(self) -> str:
        """Where it is published, with the edition where that is known."""
        return ", ".join(each for each in (self.limit.source, self.limit.edition) if each)


_EN_250 = "EN 250"
_EN_250_SCOPE = "Type approval on a breathing simulator: sinusoidal, 62.5 L/min as 25 breaths of 2.5 L a minute, at 6 bar absolute."
_NAVY_SCOPE = "A goal for unmanned tests at 198 fsw: the mean of five runs against it by a one-sample t-test at P = 0.05."
_CALIFORNIA = "California Code of Regulations, Title 8, section 6057(b)(1)"
_CALIFORNIA_SCOPE = "Functional test of scuba regulators every six months, at 15 breaths a minute."

PUBLISHED = (
    PublishedLimit(Limit(WORK, "J_l", high=Decimal("3.0"), source=_EN_250), _EN_250_SCOPE, READ_SECOND_HAND),
    PublishedLimit(
        Limit(POSITIVE, "J_l", high=Decimal("0.3"), source=_EN_250), _EN_250_SCOPE, READ_SECOND_HAND
    ),
    PublishedLimit(
        Limit(PEAK_INHALATION, "mbar", low=Decimal(-25), source=_EN_250), _EN_250_SCOPE, READ_SECOND_HAND
    ),
    PublishedLimit(
        Limit(PEAK_EXHALATION, "mbar", high=Decimal(25), source=_EN_250), _EN_250_SCOPE, READ_SECOND_HAND
    ),
    PublishedLimit(
        Limit(POSITIVE_PRESSURE, "mbar", high=Decimal(5), source=_EN_250), _EN_250_SCOPE, READ_SECOND_HAND
    ),
    PublishedLimit(
        Limit(
            WORK,
            "J_l",
            high=Decimal("1.37"),
            source="US Navy Experimental Diving Unit report, DTIC ADA272974",
            edition="1993",
        ),
        _NAVY_SCOPE,
        READ,
    ),
    PublishedLimit(
        Limit(PEAK_INHALATION, "inH2O", low=Decimal(-3), source=_CALIFORNIA), _CALIFORNIA_SCOPE, READ
    ),
    PublishedLimit(
        Limit(PEAK_EXHALATION, "inH2O", high=Decimal(3), source=_CALIFORNIA), _CALIFORNIA_SCOPE, READ
    ),
)


def published_for(quantities: Container[str]) -> tuple[PublishedLimit, ...]:
    """The published limits on some quantities."""
    return tuple(each for each in PUBLISHED if each.limit.quantity in quantities)
