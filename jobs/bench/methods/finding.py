"""A finding that an inspector chooses by eye: no instrument, no figure, no limit to hold it against."""

from dataclasses import dataclass
from enum import StrEnum

from jobs.bench.methods.units import quoted

METHOD_NAME = "finding"
METHOD_VERSION = "1"


class Finding(StrEnum):
    """What an inspector can find: reject may be put right, condemn never."""

    PASS = "pass"  # noqa: S105 - the word of a finding, no password
    REJECT = "reject"
    CONDEMN = "condemn"


class UnknownFinding(ValueError):
    """A word that is no finding."""


@dataclass(frozen=True)
class Result:
    """The finding, as other methods give their verdict."""

    method: str
    version: str
    verdict: Finding


def judge(word: str) -> Result:
    """The finding that a word names, exactly as written; UnknownFinding on any other word."""
    if word not in set(Finding):
        raise UnknownFinding(f"{quoted(word)} is no finding; it is one of {', '.join(Finding)}.")
    return Result(method=METHOD_NAME, version=METHOD_VERSION, verdict=Finding(word))
