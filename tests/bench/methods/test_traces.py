"""The logger's file: what is accepted, and every fault by its line."""

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from jobs.bench.methods.traces import Trace, UnreadableTrace, from_samples, parse_csv

ROWS = [f"{index / 2:.2f},{9.5 + index % 3 / 100:.4f}" for index in range(40)]


def content(rows: list[str], heading: str = "t_s,p_bar", end: str = "\n") -> str:
    return end.join([heading, *rows]) + end


def reasons(text: str | bytes) -> list[str]:
    with pytest.raises(UnreadableTrace) as refused:
        parse_csv(text)
    return list(refused.value.reasons)


def test_it_works() -> None:
    trace = parse_csv(content(ROWS))
    assert len(trace.times_s) == 40
    assert trace.times_s[-1] == 19.5
    assert trace.pressures_bar[:3].tolist() == [9.5, 9.51, 9.52]
    assert trace.resolution_bar == pytest.approx(0.01, abs=1e-12)


@pytest.mark.parametrize(
    "text",
    [
        content(ROWS, end="\r\n"),
        content(ROWS, end="\r"),
        "\ufeff" + content(ROWS),
        content(ROWS) + "\n \n\n",
        content(ROWS).rstrip(),
        content(ROWS, heading=" T_S , P_BAR "),
        content([row.replace(",", " ,\t") for row in ROWS]),
        content(ROWS).encode(),
        ("\ufeff" + content(ROWS)).encode(),
    ],
    ids=["crlf", "cr", "bom", "blank end", "no end", "heading", "spaces", "bytes", "bytes bom"],
)
def test_it_accepts_what_loggers_write(text: str | bytes) -> None:
    assert parse_csv(text).pressures_bar.tolist() == parse_csv(content(ROWS)).pressures_bar.tolist()


def test_it_converts_other_pressure_units() -> None:
    assert parse_csv(content([f"{i},145" for i in range(30)], "t_s,p_psi")).pressures_bar[0] == pytest.approx(
        9.997398, abs=5e-7
    )
    assert parse_csv(content([f"{i},950" for i in range(30)], "t_s,p_kpa")).pressures_bar[0] == pytest.approx(
        9.5
    )


def test_it_gives_samples_that_nobody_can_alter() -> None:
    trace = parse_csv(content(ROWS))
    with pytest.raises(ValueError, match="read-only"):
        trace.pressures_bar[0] = 1.0


@pytest.mark.parametrize(
    ("row", "reason"),
    [
        ("9.75,nan", "Line 21: 'nan' is not a number."),
        ("9.75,inf", "Line 21: 'inf' is not a number."),
        ("9.75,", "Line 21: '' is not a number."),
        ("9.75,nine", "Line 21: 'nine' is not a number."),
        ("9.75,1_0", "Line 21: '1_0' is not a number."),
        ('9.75,"9.5"', "Line 21: '\"9.5\"' is not a number."),
        ("9.75;9.5", "Line 21 has 1 columns, not 2: '9.75;9.5'."),
        ("9,75,9,5", "Line 21 has 4 columns, not 2: '9,75,9,5'."),
        ("", "Line 21 is empty."),
        ("9.75,1e9", "Line 21: pressure 1e+09 bar is beyond reason."),
        ("9.75,-1000.1", "Line 21: pressure -1000.1 bar is beyond reason."),
        ("9.00,9.5", "Line 21: time 9 s is not after 9 s."),
        ("8.00,9.5", "Line 21: time 8 s is not after 9 s."),
        ("9.0000001,9.5", "Line 21: time 9 s is not after 9 s."),
    ],
)
def test_it_names_the_line(row: str, reason: str) -> None:
    assert reasons(content([*ROWS[:19], row, *ROWS[20:]])) == [reason]


def test_it_names_a_wild_time_and_what_follows_it() -> None:
    found = reasons(content([*ROWS[:19], "1700000000,9.5", *ROWS[20:]]))
    assert found == [
        "Line 21: time 1.7e+09 s is beyond reason.",
        "Line 22: time 10 s is not after 1.7e+09 s.",
    ]


def test_it_names_all_faults_in_the_order_of_lines() -> None:
    rows = [*ROWS[:10], "x,9.5", ROWS[11], "5.00,9.5", *ROWS[13:]]
    assert reasons(content(rows)) == [
        "Line 12: 'x' is not a number.",
        "Line 14: time 5 s is not after 5.5 s.",
    ]


def test_it_caps_the_reasons_at_twenty_and_counts_the_rest() -> None:
    found = reasons(content([f"{index},x" for index in range(40)]))
    assert len(found) == 20
    assert found[0] == "There are 0 readable samples; at least 30 are needed."
    assert found[-1] == "And 22 more faults."


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("", "The file is empty."),
        ("\n \n", "The file is empty."),
        (
            content(ROWS, heading="time,pressure"),
            "Line 1 must be one of t_s,p_bar; t_s,p_mbar; t_s,p_kpa; t_s,p_psi; it is 'time,pressure'.",
        ),
        (
            content(ROWS, heading="t_s;p_bar"),
            "Line 1 must be one of t_s,p_bar; t_s,p_mbar; t_s,p_kpa; t_s,p_psi; it is 't_s;p_bar'.",
        ),
        (content(ROWS[:29]), "There are 29 readable samples; at least 30 are needed."),
        (content(ROWS).encode("utf-16"), "Line 1 is not text in UTF-8."),
        (content(ROWS).encode() + b"20.00,\xff\n", "Line 42 is not text in UTF-8."),
        (b"x" * 10_000_001, "The file is larger than 10 MB."),
        ("x" * 10_000_001, "The file is larger than 10 MB."),
        (
            content(["0,0"] * 200_001),
            "There are 200001 samples; at most 200000 are accepted. Log more slowly or in parts.",
        ),
    ],
    ids=["empty", "blank", "names", "semicolon", "few", "utf16", "byte", "big bytes", "big text", "many"],
)
def test_it_refuses_a_file_as_a_whole(text: str | bytes, reason: str) -> None:
    assert reasons(text) == [reason]


def test_it_takes_no_more_numbers_than_a_file_may_hold() -> None:
    with pytest.raises(UnreadableTrace, match="There are 200001 samples; at most 200000 are accepted"):
        from_samples(np.arange(200_001.0), np.zeros(200_001))


def test_it_takes_thirty_samples() -> None:
    assert len(parse_csv(content(ROWS[:30])).times_s) == 30


def test_it_checks_samples_that_come_as_numbers() -> None:
    times_s = [index / 2 for index in range(40)]
    pressures_bar = [9.5] * 40
    assert from_samples(times_s, pressures_bar).resolution_bar == 0.0
    pressures_bar[7] = float("nan")
    times_s[9] = float("inf")
    with pytest.raises(UnreadableTrace) as refused:
        from_samples(times_s, pressures_bar)
    assert refused.value.reasons == (
        "Sample 8: pressure nan bar is beyond reason.",
        "Sample 10: time inf s is beyond reason.",
        "Sample 11: time 5 s is not after inf s.",
    )


@pytest.mark.parametrize(("times", "pressures"), [(40, 39), (0, 1)])
def test_it_refuses_times_without_pressures(times: int, pressures: int) -> None:
    with pytest.raises(UnreadableTrace, match="There must be one pressure for each time."):
        from_samples(np.arange(times, dtype=float), np.zeros(pressures))


def test_it_refuses_no_samples_at_all() -> None:
    with pytest.raises(UnreadableTrace, match="There are 0 readable samples; at least 30 are needed."):
        from_samples([], [])


NUMBERS = st.one_of(
    st.floats(allow_nan=True, allow_infinity=True).map(str),
    st.integers().map(str),
    st.text(alphabet="0123456789.eE+-_ ,;\t\"'٣nafi\x00\u2028", max_size=12),
)
LINES = st.lists(st.tuples(NUMBERS, NUMBERS).map(",".join), max_size=60)
FILES = st.one_of(
    st.text(max_size=300),
    st.binary(max_size=300),
    LINES.map(lambda rows: content(rows)),
    LINES.map(lambda rows: content([*ROWS, *rows])),
    LINES.map(lambda rows: content([*ROWS, *rows], end="\r\n").encode()),
)


@settings(max_examples=400, deadline=None)
@example("t_s,p_bar\n" + "9" * 400 + ",1\n")
@example("t_s,p_bar\n1e99,1e99\n")
@example(b"\xef\xbb\xbf")
@given(FILES)
def test_it_either_reads_a_file_or_says_why_not(text: str | bytes) -> None:
    found: Trace | UnreadableTrace
    try:
        found = parse_csv(text)
    except UnreadableTrace as refused:
        found = refused
    if isinstance(found, UnreadableTrace):
        assert 1 <= len(found.reasons) <= 20
        assert all(reason.endswith(".") for reason in found.reasons)
    else:
        assert np.all(np.diff(found.times_s) > 0)
        assert np.all(np.isfinite(found.pressures_bar))
        assert len(found.times_s) == len(found.pressures_bar) >= 30


def test_it_numbers_samples_up_to_the_last() -> None:
    times, pressures = np.arange(30.0), np.full(30, 9.5)
    pressures[29] = 1001.0
    with pytest.raises(UnreadableTrace, match="Sample 30: pressure 1001 bar is beyond reason"):
        from_samples(times, pressures)


def test_it_takes_columns_only() -> None:
    with pytest.raises(UnreadableTrace, match="one pressure for each time"):
        from_samples(np.zeros((30, 2)), np.zeros((30, 2)))


@pytest.mark.parametrize(
    ("time_s", "bar", "reads"),
    [
        (1_000_000.0, 1000.0, True),
        (1_000_000.5, 9.5, False),
        (30.0, 1000.5, False),
        (30.0, -1000.0, True),
        (30.0, -1000.5, False),
        (28.0 + 1e-6, 9.5, True),
        (28.0 + 5e-7, 9.5, False),
    ],
)
def test_it_takes_the_last_sample_up_to_what_is_reasonable(time_s: float, bar: float, reads: bool) -> None:
    times, pressures = [*np.arange(29.0), time_s], [*[9.5] * 29, bar]
    if reads:
        assert len(from_samples(times, pressures).times_s) == 30
    else:
        with pytest.raises(UnreadableTrace):
            from_samples(times, pressures)
