"""Which rows of custody are taken."""

from datetime import UTC, datetime, timedelta

import pytest

from jobs.evidence.rules import custody_refusals, seals_of

NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)
BEFORE, HOUR = NOON - timedelta(hours=2), timedelta(hours=1)


@pytest.mark.parametrize(
    ("text", "seals"),
    [
        ("", []),
        (" A-1 , A-2;A-1\nB 7", ["A-1", "A-2", "B 7"]),
        (" , ;", []),
    ],
)
def test_it_reads_numbers_of_seals(text: str, seals: list[str]) -> None:
    assert seals_of(text) == seals


@pytest.mark.parametrize(
    ("standing", "intact", "broken", "why", "codes"),
    [
        ("A-1,A-2", "A-1,A-2", "", "", []),
        ("A-1,A-2", "A-1", "", "", ["seal-unseen"]),
        ("A-1,A-2", "A-1", "A-2", "", ["reason-missing"]),
        ("A-1,A-2", "A-1", "A-2", "Cut by the authority.", []),
        ("A-1", "A-1,A-9", "", "", ["reason-missing"]),
        ("A-1", "A-1,A-9", "", "A second seal on the gauge.", []),
        ("A-1", "A-1", "A-1", "So.", ["seal-twice"]),
        ("", "", "", "", []),
        ("", "", "A-7", "", ["reason-missing"]),
    ],
)
def test_it_wants_every_seal_looked_at(
    standing: str, intact: str, broken: str, why: str, codes: list[str]
) -> None:
    found = custody_refusals(
        seals_of(standing), seals_of(intact), seals_of(broken), why,
        lifted=False, done_at=NOON, last_at=BEFORE, now=NOON,
    )  # fmt: skip

    assert [each.code for each in found] == codes


@pytest.mark.parametrize(
    ("lifted", "done_at", "last_at", "codes"),
    [
        (False, NOON, NOON, []),
        (False, NOON + HOUR, BEFORE, ["in-the-future"]),
        (False, BEFORE - HOUR, BEFORE, ["before-the-last"]),
        (True, NOON, BEFORE, ["lifted-before"]),
    ],
)
def test_it_goes_forward_in_time_while_it_is_evidence(
    lifted: bool, done_at: datetime, last_at: datetime, codes: list[str]
) -> None:
    found = custody_refusals([], [], [], "", lifted=lifted, done_at=done_at, last_at=last_at, now=NOON)

    assert [each.code for each in found] == codes


def test_it_asks_no_reason_for_the_first_seals() -> None:
    assert custody_refusals([], ["A-1"], [], "", lifted=False, done_at=NOON, last_at=None, now=NOON) == []
