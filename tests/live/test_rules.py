"""What a chunk may hold, when it follows, when a logging may end, and what is judged how often."""

from datetime import UTC, datetime, timedelta

import pytest

from jobs.bench.methods.logs import UnreadableTrace
from jobs.live.rules import (
    NOTHING,
    Running,
    Sent,
    Set,
    ask_after_s,
    chunk_refusals,
    drawn,
    end_refusals,
    file_of,
    read_chunk,
    running,
    to_judge,
)
from tests.conftest import TRACES

BAR = "t_s,p_bar"
LAST = Sent(2, b"", 60, 600, 29.5)
BY = Set("intermediate pressure", BAR, (), None)


def test_it_works() -> None:
    lines, log = read_chunk(BAR, "0,9.50\r\n0.1,9.51\r\n\r\n")

    assert lines == b"0,9.50\n0.1,9.51\n"
    assert log.columns.tolist() == [[0.0, 0.1], [9.5, 9.51]]


@pytest.mark.parametrize(
    ("samples", "found"),
    [
        ("30,9.5\n30,9.5", ["Line 3: time 30 s is not after 30 s."]),
        ("31,9.5\n30.5,9.5", ["Line 3: time 30.5 s is not after 31 s."]),
        ("30,nan", ["Line 2: 'nan' is not a number."]),
        ("30,inf\nx\n31,9.5", ["Line 2: 'inf' is not a number.", "Line 3 has 1 columns, not 2: 'x'."]),
        ("1e999,9.5", ["Line 2: t inf s is beyond reason."]),
        ("30,1e999", ["Line 2: p inf bar is beyond reason."]),
        ("30,9.5\n\n31,9.5", ["Line 3 is empty."]),
        ("t_s,p_bar\n30,9.5", ["Line 2: 't_s' is not a number."]),
        ("30,9.5\ud800", ["Line 2: '9.5?' is not a number."]),
        ("30,9,5", ["Line 2 has 3 columns, not 2: '30,9,5'."]),
    ],
)
def test_it_finds_every_fault_of_a_chunk(samples: str, found: list[str]) -> None:
    with pytest.raises(UnreadableTrace) as error:
        read_chunk(BAR, samples)

    assert list(error.value.reasons) == found


@pytest.mark.parametrize(
    ("state", "chunk", "first_s", "last", "found"),
    [
        ("open", Sent(1, b"", 9, 90, 4.0), 0.0, NOTHING, []),
        ("open", Sent(1, b"", 9, 90, 4.0), -5.0, NOTHING, []),
        ("open", Sent(3, b"", 61, 606, 30.0), 30.0, LAST, []),
        ("open", Sent(3, b"", 61, 606, 29.5), 29.5, LAST, ["out-of-order"]),
        ("open", Sent(4, b"", 61, 606, 30.0), 30.0, LAST, ["chunk-missing"]),
        ("open", Sent(0, b"", 61, 606, 30.0), 30.0, NOTHING, ["chunk-missing"]),
        ("open", Sent(3, b"", 200_001, 606, 30.0), 3.0, LAST, ["out-of-order", "logging-full"]),
        ("open", Sent(3, b"", 61, 10_000_001, 30.0), 30.0, LAST, ["logging-full"]),
        ("ended", Sent(3, b"", 61, 606, 30.0), 30.0, LAST, ["logging-closed"]),
        ("thrown away", Sent(3, b"", 61, 606, 30.0), 30.0, LAST, ["logging-closed"]),
    ],
)
def test_it_takes_chunks_in_order_only(
    state: str, chunk: Sent, first_s: float, last: Sent, found: list[str]
) -> None:
    assert [each.code for each in chunk_refusals(state, chunk, first_s, last)] == found


@pytest.mark.parametrize(
    ("state", "had", "chunks", "went_back", "grew", "found"),
    [
        ("open", 5, None, False, False, []),
        ("open", 5, 5, False, False, []),
        ("open", 5, 6, True, True, ["chunk-missing", "went-back", "still-coming"]),
        ("open", 0, None, False, False, ["nothing-logged"]),
        ("ended", 5, 6, True, False, ["logging-closed"]),
    ],
)
def test_it_says_why_a_logging_cannot_end(
    state: str, had: int, chunks: int | None, went_back: bool, grew: bool, found: list[str]
) -> None:
    said = end_refusals(state, had=had, chunks=chunks, went_back=went_back, grew=grew)

    assert [each.code for each in said] == found


@pytest.mark.parametrize(
    ("ends_s", "judged"),
    [
        ([], 0),
        ([0.3], 1),
        ([0.3, 0.7], 1),
        ([0.3, 1.1, 1.9, 2.3], 4),
        ([0.3, 1.1, 1.9, 2.3, 3.1, 3.9], 4),
        ([0.3, 1.1, 1.9, 2.3, 3.1, 3.9, 4.0], 7),
        ([9.5], 1),
        ([9.5, 29.5], 2),
    ],
)
def test_it_judges_every_two_seconds(ends_s: list[float], judged: int) -> None:
    assert to_judge(ends_s) == judged


def test_it_draws_all_that_has_come_with_what_was_judged_last() -> None:
    content = (TRACES / "creep_0p02.csv").read_bytes()
    lines = content.splitlines(keepends=True)[1:]
    early = running(BY, file_of(BAR, lines[:60]))

    picture = drawn(BY, content, early)

    assert early.record is not None
    assert early.record["figures"]["creep_bar_min"] is None
    assert picture is not None
    assert picture["sentence"].startswith("Intermediate pressure over 180 s; locked up at 9.")
    assert drawn(BY, content, Running(reasons=("too short",))) is None


@pytest.mark.parametrize(
    ("came_s", "now_s", "waits_s"),
    [
        ([], 0.0, 0.5),
        ([5.0], 5.2, 0.5),
        ([5.0, 5.6], 5.7, 0.6),
        ([5.0, 5.6], 9.0, 0.1),
        ([5.0, 5.6, 35.6, 36.2], 36.2, 0.7),
        ([0.0, 60.0], 60.0, 2.0),
    ],
)
def test_it_lets_a_page_ask_shortly_after_the_next_chunk(
    came_s: list[float], now_s: float, waits_s: float
) -> None:
    began = datetime(2026, 11, 26, tzinfo=UTC)
    came = [began + timedelta(seconds=each) for each in came_s]

    assert ask_after_s(came, began + timedelta(seconds=now_s)) == pytest.approx(waits_s)
