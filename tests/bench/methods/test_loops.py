"""The breathing machine's file: what is accepted, and every fault by its line."""

import time

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from jobs.bench.methods.breathing_loop import judge
from jobs.bench.methods.loops import Loop, from_flows, from_volumes, parse_csv
from jobs.bench.methods.traces import Floats, UnreadableTrace
from tests.bench.methods.breathing import POLYGON_L, POLYGON_MBAR, angles, resisting, timed

POLYGON = [f"{volume},{pressure}" for volume, pressure in zip(POLYGON_L, POLYGON_MBAR, strict=True)]
ANGLE = angles(40, 2)
FLOWS = [
    f"{index * 0.05:.2f},{3.927 * flow:.4f},{pressure:.3f}"
    for index, (flow, pressure) in enumerate(zip(np.sin(ANGLE), resisting(ANGLE), strict=True))
]


def content(rows: list[str], heading: str = "v_l,p_mbar", end: str = "\n") -> str:
    return end.join([heading, *rows]) + end


def flows(rows: list[str]) -> str:
    return content(rows, "t_s,flow_l_s,p_mbar")


def reasons(text: str | bytes) -> list[str]:
    with pytest.raises(UnreadableTrace) as refused:
        parse_csv(text)
    return list(refused.value.reasons)


def test_it_works() -> None:
    loop = parse_csv(content(POLYGON))
    assert (len(loop.breaths), loop.left_out) == (1, 0)
    breath = loop.breaths[0]
    assert breath.volumes_l.tolist() == POLYGON_L
    assert breath.pressures_mbar.tolist() == POLYGON_MBAR
    assert (breath.most, breath.tidal_l, breath.gap_l, breath.period_s) == (4, 2.5, 0.0, None)


def test_it_adds_flow_up_to_volume() -> None:
    loop = parse_csv(flows(FLOWS))
    assert len(loop.breaths) == 2
    for breath in loop.breaths:
        assert breath.period_s == pytest.approx(2.0, abs=1e-9)
        # 2.5 L, less what the trapezoid rule leaves out of a sine with 40 samples: x/2 / tan(x/2).
        assert breath.tidal_l == pytest.approx(2.5 * 0.99794, abs=2e-4)
        assert abs(breath.gap_l) < 1e-3


def test_it_adds_flow_up_by_trapezoids_between_any_times() -> None:
    times_s = [0, 0.5, 0.75, 1.0, 2.0, 2.5, 3.0, 3.5, 4.0]
    breath = from_flows(times_s, [0, 2, 2, 1, 0, -2, -1, -1, 0.5], [0.0] * 9).breaths[0]
    assert breath.volumes_l.tolist() == [0, 0.5, 1, 1.375, 1.875, 1.375, 0.625, 0.125, 0]
    assert (breath.tidal_l, breath.gap_l, breath.period_s) == (1.875, 0, 4)


@pytest.mark.parametrize(
    "text",
    [
        content(POLYGON, end="\r\n"),
        "\ufeff" + content(POLYGON),
        content(POLYGON) + "\n \n",
        content(POLYGON, heading=" V_L , P_mBar "),
        content([row.replace(",", " ,\t") for row in POLYGON]),
        content(POLYGON).encode(),
    ],
    ids=["crlf", "bom", "blank end", "heading", "spaces", "bytes"],
)
def test_it_accepts_what_machines_write(text: str | bytes) -> None:
    assert parse_csv(text).breaths[0].pressures_mbar.tolist() == POLYGON_MBAR


def test_it_gives_samples_that_nobody_can_alter() -> None:
    breath = parse_csv(content(POLYGON)).breaths[0]
    for array in (breath.volumes_l, breath.pressures_mbar):
        with pytest.raises(ValueError, match="read-only"):
            array[0] = 1.0


@pytest.mark.parametrize(
    ("row", "reason"),
    [
        ("1.25,nan", "Line 4: 'nan' is not a number."),
        ("inf,1", "Line 4: 'inf' is not a number."),
        ("1.25,", "Line 4: '' is not a number."),
        ("1.25,six", "Line 4: 'six' is not a number."),
        ("1.25;6", "Line 4 has 1 columns, not 2: '1.25;6'."),
        ("0,1.25,6", "Line 4 has 3 columns, not 2: '0,1.25,6'."),
        ("", "Line 4 is empty."),
        ("1.25,1000.1", "Line 4: pressure 1000.1 mbar is beyond reason."),
        ("-1250,6", "Line 4: volume -1250 L is beyond reason."),
    ],
)
def test_it_names_the_line(row: str, reason: str) -> None:
    assert reasons(content([*POLYGON[:2], row, *POLYGON[2:]])) == [reason]


@pytest.mark.parametrize(
    ("row", "found"),
    [
        ("0.50,1,nan", ["Line 12: 'nan' is not a number."]),
        ("0.50,1", ["Line 12 has 2 columns, not 3: '0.50,1'."]),
        ("0.45,1,1", ["Line 12: time 0.45 s is not after 0.45 s."]),
        ("0.40,1,1", ["Line 12: time 0.4 s is not after 0.45 s."]),
        ("0.50,1e3,1", ["Line 12: flow 1000 L/s is beyond reason."]),
        ("0.50,1,-2e3", ["Line 12: pressure -2000 mbar is beyond reason."]),
        (
            "1e9,1,1",
            ["Line 12: time 1e+09 s is beyond reason.", "Line 13: time 0.55 s is not after 1e+09 s."],
        ),
        (
            "0.50,-900,-9000",
            ["Line 12: flow -900 L/s is beyond reason.", "Line 12: pressure -9000 mbar is beyond reason."],
        ),
    ],
)
def test_it_names_the_line_of_a_flow(row: str, found: list[str]) -> None:
    assert reasons(flows([*FLOWS[:10], row, *FLOWS[11:]])) == found


def test_it_names_all_faults_in_the_order_of_lines_and_caps_them() -> None:
    found = reasons(content([*POLYGON[:3], "x,1", "1,9999", *["y,1"] * 30]))
    assert found[:3] == [
        "There are 4 readable samples; at least 9 are needed.",
        "Line 5: 'x' is not a number.",
        "Line 6: pressure 9999 mbar is beyond reason.",
    ]
    assert (len(found), found[-1]) == (20, "And 14 more faults.")


KNOWN = "Line 1 must be one of v_l,p_mbar; t_s,flow_l_s,p_mbar; it is"


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("", "The file is empty."),
        (content(POLYGON, "t_s,p_bar"), f"{KNOWN} 't_s,p_bar'."),
        (content(POLYGON, "p_mbar,v_l"), f"{KNOWN} 'p_mbar,v_l'."),
        ("Breathing machine, run 3\n", f"{KNOWN} 'Breathing machine, run 3'."),
        (content(POLYGON[:8]), "There are 8 readable samples; at least 9 are needed."),
        (content([]), "There are 0 readable samples; at least 9 are needed."),
        (flows([]), "There are 0 readable samples; at least 9 are needed."),
        (content(POLYGON).encode() + b"\xff", "Line 11 is not text in UTF-8."),
        (b"x" * 10_000_001, "The file is larger than 10 MB."),
        (
            content(["0,0"] * 200_001),
            "There are 200001 samples; at most 200000 are accepted. Log more slowly or in parts.",
        ),
        (content(["0,0"] * 200), "The volume never moves by more than 0.1 L."),
    ],
    ids=["empty", "trace", "swapped", "prose", "few", "none", "no flows", "byte", "big", "many", "still"],
)
def test_it_refuses_a_file_as_a_whole(text: str | bytes, reason: str) -> None:
    assert reasons(text) == [reason]


def test_it_refuses_the_largest_nonsense_in_a_second() -> None:
    for rows in (["1,x"] * 200_000, ["9999,9999"] * 200_000):
        begun = time.perf_counter()
        assert len(reasons(content(rows))) == 20
        assert time.perf_counter() - begun < 5.0  # A second on an idle machine.


def test_it_checks_samples_that_come_as_numbers() -> None:
    pressures: Floats = np.array(POLYGON_MBAR, dtype=float)
    pressures[3] = np.nan
    with pytest.raises(UnreadableTrace) as refused:
        from_volumes([*POLYGON_L[:-1], np.inf], pressures)
    assert refused.value.reasons == (
        "Sample 4: pressure nan mbar is beyond reason.",
        "Sample 9: volume inf L is beyond reason.",
    )
    with pytest.raises(UnreadableTrace) as refused:
        from_flows(np.arange(9.0), [np.nan] * 9, [0.0] * 9)
    assert refused.value.reasons[0] == "Sample 1: flow nan L/s is beyond reason."
    assert len(refused.value.reasons) == 9


def test_it_takes_numbers_only_in_equal_columns_and_not_too_many() -> None:
    with pytest.raises(UnreadableTrace, match="There must be one pressure for each sample."):
        from_volumes([1.0, 2.0], [1.0])
    with pytest.raises(UnreadableTrace, match="There must be one pressure for each sample."):
        from_flows([1.0, 2.0], [1.0], [1.0, 2.0])
    with pytest.raises(UnreadableTrace, match="There must be one pressure for each sample."):
        from_volumes(np.zeros((3, 3)), np.zeros((3, 3)))
    with pytest.raises(UnreadableTrace, match="There are 200001 samples; at most 200000 are accepted."):
        from_volumes(np.zeros(200_001), np.zeros(200_001))
    with pytest.raises(UnreadableTrace, match="There are 0 readable samples"):
        from_flows([], [], [])


def test_it_does_not_alter_what_it_was_given() -> None:
    volumes, pressures = np.array(POLYGON_L, dtype=float), np.array(POLYGON_MBAR, dtype=float)
    from_volumes(volumes, pressures)
    volumes[0] = pressures[0] = 1.0


@pytest.mark.parametrize(
    ("pressures", "step"),
    [(POLYGON_MBAR, 0.0), ([0, -1, -2, -2.5, 0.5, 1, 2.75, 3, 0], 0.25), ([0.0] * 9, 0.0)],
)
def test_it_sees_the_sensor_s_step_from_eight_readings_on(pressures: list[float], step: float) -> None:
    assert from_volumes(POLYGON_L, pressures).resolution_mbar == step


def test_it_reads_a_long_record_quickly() -> None:
    angle = angles(399, 500)
    loop = timed(angle, resisting(angle))
    begun = time.perf_counter()
    assert len(timed(angle, resisting(angle)).breaths) == len(loop.breaths) == 500
    judge(loop)
    # Ten times what an idle machine needs, so that only a change of order turns it red.
    assert time.perf_counter() - begun < 5.0


NUMBERS = st.one_of(
    st.floats(allow_nan=True, allow_infinity=True).map(str),
    st.floats(-3, 3).map(lambda number: f"{number:.4f}"),
    st.text(alphabet="0123456789.eE+-_ ,;\"'٣nafi\x00\u2028", max_size=8),
)
LINES = st.lists(st.tuples(NUMBERS, NUMBERS, NUMBERS).map(",".join), max_size=40)
SOUND = st.lists(st.tuples(st.floats(-3, 3), st.floats(-30, 30)), min_size=9, max_size=60)
FILES = st.one_of(
    st.text(max_size=200),
    st.binary(max_size=200),
    LINES.map(flows),
    LINES.map(lambda rows: flows([*FLOWS, *rows])),
    SOUND.map(lambda rows: content([f"{volume:.3f},{pressure:.3f}" for volume, pressure in rows])),
    SOUND.map(
        lambda rows: flows([f"{index},{flow:.3f},{mbar:.3f}" for index, (flow, mbar) in enumerate(rows)])
    ),
)


@settings(max_examples=300, deadline=None)
@example("v_l,p_mbar\n" + "9" * 400 + ",1\n")
@example("t_s,flow_l_s,p_mbar\n1e99,1e99,1e99\n")
@given(FILES)
def test_it_either_reads_and_judges_a_file_or_says_why_not(text: str | bytes) -> None:
    found: Loop | UnreadableTrace
    try:
        found = parse_csv(text)
    except UnreadableTrace as refused:
        found = refused
    if isinstance(found, UnreadableTrace):
        assert 1 <= len(found.reasons) <= 20
        assert all(reason.endswith(".") for reason in found.reasons)
        return
    for value in judge(found).figures.values.values():
        assert value.low is None or value.high is None or value.low <= value.value <= value.high


@pytest.mark.parametrize(
    ("heading", "row"),
    [
        ("v_l,p_mbar", "{:g},0"),
        ("v_l,p_mbar", "0,{:g}"),
        ("t_s,flow_l_s,p_mbar", "1,0,{:g}"),
    ],
)
def test_volume_and_pressure_are_beyond_reason_from_a_thousand_on(heading: str, row: str) -> None:
    for sign in (1, -1):
        assert not any("beyond" in each for each in reasons(content([row.format(sign * 1000)] * 9, heading)))
        assert "beyond" in reasons(content([row.format(sign * 1000.5)] * 9, heading))[0]


def test_flow_is_beyond_reason_from_a_hundred_on() -> None:
    assert not any("beyond" in each for each in reasons(flows(["1,100,0"] * 9)))
    assert "beyond" in reasons(flows(["1,100.5,0"] * 9))[0]


@pytest.mark.parametrize(("distinct", "step"), [(7, 0.0), (8, 0.1)])
def test_eight_readings_that_differ_show_the_sensor_s_step(distinct: int, step: float) -> None:
    # Rounding of binary numbers is no step.
    pressures = np.asarray(0.1 * np.resize(np.arange(float(distinct)), 200))
    if distinct == 8:
        pressures[8::8] += 1e-12
    volumes = np.asarray(1.25 * (1 - np.cos(angles(199))))
    assert from_volumes(volumes, pressures).resolution_mbar == pytest.approx(step)


def test_it_takes_the_most_samples_and_not_one_more() -> None:
    with pytest.raises(UnreadableTrace, match="The volume never moves"):
        from_volumes(np.zeros(200_000), np.zeros(200_000))
    with pytest.raises(UnreadableTrace, match="There are 200001 samples"):
        from_volumes(np.zeros(200_001), np.zeros(200_001))


@pytest.mark.parametrize(("volumes", "pressures"), [(9, 8), (9, 10)])
def test_there_is_one_pressure_for_each_sample(volumes: int, pressures: int) -> None:
    with pytest.raises(UnreadableTrace, match="one pressure for each sample"):
        from_volumes(np.zeros(volumes), np.zeros(pressures))
