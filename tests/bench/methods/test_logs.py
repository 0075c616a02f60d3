"""A logger's file in three forms: the quick reader against the careful one, and refusals that come at once."""

import json
import struct
import time
import tracemalloc

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from jobs.bench.methods.decimals import read_decimals
from jobs.bench.methods.logs import Log, UnreadableTrace, read_lines, read_log
from jobs.bench.methods.traces import parse_csv

HEADINGS = ("t_s,p_bar", "v_l,p_mbar")
ROWS = [(index / 2, 9.5 + index % 3 / 100) for index in range(40)]
CSV = "t_s,p_bar\n" + "".join(f"{a:.2f},{b:.4f}\n" for a, b in ROWS)


def binary(rows: list[tuple[float, float]], heading: bytes = b"t_s,p_bar float32\n") -> bytes:
    return heading + b"".join(struct.pack("<ff", *row) for row in rows)


def listed(**columns: object) -> str:
    return json.dumps(columns or {"t_s": [a for a, _ in ROWS], "p_bar": [b for _, b in ROWS]})


def reasons(content: str | bytes) -> list[str]:
    with pytest.raises(UnreadableTrace) as refused:
        parse_csv(content)
    return list(refused.value.reasons)


def test_it_works() -> None:
    trace = parse_csv(CSV)
    assert parse_csv(listed()).pressures_bar.tolist() == trace.pressures_bar.tolist()
    assert parse_csv(binary(ROWS)).pressures_bar == pytest.approx(trace.pressures_bar, abs=1e-6)
    assert parse_csv(binary(ROWS)).times_s.tolist() == trace.times_s.tolist()


TOKEN = st.one_of(
    st.decimals(-2000, 2000, places=4).map(str),
    st.floats(-2000, 2000).map(repr),
    st.integers(-10, 10**17).map(str),
    st.text(alphabet="0123456789.-+eE \t_n", max_size=18),
)
BODY = st.lists(st.lists(TOKEN, min_size=1, max_size=3).map(",".join), min_size=1, max_size=8).map("\n".join)


@settings(max_examples=1000, deadline=None)
@example("1.,2\n-3,.5")
@example("-0,0000000000001")
@example("1234567890123456,1")
@example("123456789012345.,1.00000000000001")
@example("--1,1")
@example("1-1,1.1.1")
@given(st.one_of(BODY, st.lists(st.tuples(TOKEN, TOKEN).map(",".join), min_size=1).map("\n".join)))
def test_it_reads_quickly_what_it_reads_carefully(body: str) -> None:
    quick = read_decimals(body.encode() + b"\n", 2)
    careful = read_lines(["t_s,p_bar", *body.split("\n")], HEADINGS)
    if quick is not None:
        assert careful.faults == ()
        assert quick[0].tobytes() == careful.columns.tobytes()
    text = "t_s,p_bar\n" + body
    if body and body.rstrip(" \t\n") == body:
        found = read_log(text, HEADINGS)
        assert found.faults == careful.faults
        assert found.numbers.tolist() == careful.numbers.tolist()
        assert found.columns.tobytes() == careful.columns.tobytes()


@settings(max_examples=300, deadline=None)
@given(
    st.lists(
        st.tuples(st.decimals(-999, 999, places=3), st.decimals(-999, 999, places=5)), min_size=1, max_size=50
    )
)
def test_it_takes_the_quick_way_with_plain_decimals(rows: list[tuple[object, object]]) -> None:
    body = "".join(f"{a:f},{b:f}\n" for a, b in rows).encode()
    quick = read_decimals(body, 2)
    assert quick is not None
    assert quick[0].T.tolist() == [[float(str(a)), float(str(b))] for a, b in rows]
    assert quick[1] == (3, 5)


@pytest.mark.parametrize(
    ("content", "reason"),
    [
        (listed(t_s=[0.0] * 30), "Line 1 must be one of"),
        (listed(t_s=[0.0] * 30, p_bar=[1.0] * 29), "There must be one number in each list for each sample."),
        (listed(t_s=[0.0] * 30, p_bar="9.5"), "There must be one number in each list for each sample."),
        (listed(t_s=[0, 1], p_bar=[True, "9"]), "Sample 1: 'True' under p_bar is not a number."),
        (listed(t_s=[0, 1], p_bar=[None, [1]]), "Sample 1: 'None' under p_bar is not a number."),
        (listed(t_s=[0, 1], p_bar=[float("nan"), 1]), "This is no JSON: 'NaN is no number'."),
        (listed(t_s=[0, 1], p_bar=[1, float("-inf")]), "This is no JSON: '-Infinity is no number'."),
        ('{"t_s": [0], "t_s": [1], "p_bar": [1]}', "This is no JSON: 'a name stands twice'."),
        ('{"t_s": [0', "This is no JSON"),
        ("{" * 1000, "The JSON is to hold one list of at most 200000 numbers a column."),
        ('{"t_s": [' + "0," * 600_001, "The JSON is to hold one list of at most 200000 numbers a column."),
        (
            '{"t_s": [0, ' + "9" * 400 + '], "p_bar": [1, 2]}',
            "There are 2 readable samples; at least 30 are needed.",
        ),
        (
            listed(t_s=list(range(31)), p_bar=[9.5] * 30 + [1001]),
            "Sample 31: pressure 1001 bar is beyond reason.",
        ),
        (binary(ROWS[:29]), "There are 29 readable samples; at least 30 are needed."),
        (
            binary(ROWS) + b"x",
            "After line 1 there are 321 bytes, which is no whole number of samples of 8 bytes.",
        ),
        (binary([(float("nan"), 1.0), *ROWS[1:]]), "Sample 1: time nan s is beyond reason."),
        (binary([*ROWS[:-1], (19.5, float("inf"))]), "Sample 40: pressure inf bar is beyond reason."),
        (binary([*ROWS, (19.5, 9.5)]), "Sample 41: time 19.5 s is not after 19.5 s."),
        (binary(ROWS, b"t_s,p_pa float32\n"), "Line 1 must be one of"),
        (binary([(0.0, 0.0)] * 200_001), "There are 200001 samples; at most 200000 are accepted."),
    ],
)
def test_it_says_why_not(content: str | bytes, reason: str) -> None:
    assert reasons(content)[0].startswith(reason)


@pytest.mark.parametrize(
    "content",
    [
        "t_s,p_bar\n" + "x\n" * 200_000,
        "t_s,p_bar\n" + "5,1e9\n" * 200_000,
        "t_s,p_bar\n" + "," * 9_000_000,
        "," * 9_000_000,
        "t_s,p_bar\n" + "1" * 9_000_000,
        "t_s,p_bar\n" + "0,0\n" * 2_000_000,
        "Dear workshop,\n" * 500_000,
        binary([(9.0, 9e9)] * 200_000),
        '{"t_s": [' + "0," * 200_000 + '"x"], "p_bar": [' + "null," * 200_000 + "1]}",
        bytes(range(256)) * 39_000,
    ],
    ids=["words", "beyond", "one line", "no heading", "digits", "many", "prose", "binary", "json", "bytes"],
)
def test_it_refuses_at_once_and_in_little_memory(content: str | bytes) -> None:
    began = time.process_time()
    reasons(content)
    assert time.process_time() - began < 1.0
    tracemalloc.start()
    reasons(content)
    assert tracemalloc.get_traced_memory()[1] < 150_000_000
    tracemalloc.stop()


def test_it_gives_no_places_where_none_are_known() -> None:
    assert read_log(CSV, HEADINGS).places == (2, 4)
    assert read_log(binary(ROWS), HEADINGS).places == (0, 0, 0)
    assert isinstance(read_log(listed(), HEADINGS), Log)
    assert np.array_equal(read_log(listed(), HEADINGS).columns[0], [a for a, _ in ROWS])


@pytest.mark.parametrize("form", ["csv", "json", "binary"])
def test_it_takes_the_most_samples_and_not_one_more(form: str) -> None:
    def written(samples: int) -> str | bytes:
        if form == "csv":
            return "t_s,flow_l_s,p_mbar" + "\n0,0,0" * samples
        if form == "binary":
            return b"t_s,flow_l_s,p_mbar float32\n" + bytes(12 * samples)
        column = f"[{','.join(['0'] * samples)}]"
        return f'{{"t_s": {column}, "flow_l_s": {column}, "p_mbar": {column}}}'

    three = ("t_s,flow_l_s,p_mbar",)
    assert read_log(written(200_000), three).columns.shape == (3, 200_000)
    with pytest.raises(UnreadableTrace, match="at most 200000"):
        read_log(written(200_001), three)
