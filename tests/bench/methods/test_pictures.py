"""The two drawings: geometry, thinning, and markup that a strict content policy allows."""

import re
from dataclasses import replace
from decimal import Decimal
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
from django.template import Context, Engine

from jobs.bench.methods.axes import min_max, pressure_ticks, time_ticks
from jobs.bench.methods.figures import Estimate
from jobs.bench.methods.intermediate_pressure import judge
from jobs.bench.methods.pictures import Band, Label, Picture, Ruler, interval_ruler, trace_picture
from jobs.bench.methods.traces import from_samples
from jobs.bench.methods.verdicts import Limit
from tests.bench.methods.purges import LIMITS, purge

TEMPLATES = Path(__file__).parents[3] / "jobs" / "bench" / "templates"


def drawn(name: str, **context: Picture | Ruler) -> ElementTree.Element:
    markup = Engine(dirs=[str(TEMPLATES)]).get_template(f"bench/{name}.svg.html").render(Context(context))
    assert "style" not in markup
    return ElementTree.fromstring(markup)


def ruler(value: str, low: str, high: str, limit_low: str | None, limit_high: str | None) -> Ruler:
    sides = [None if side is None else Decimal(side) for side in (limit_low, limit_high)]
    return interval_ruler(Decimal(value), Decimal(low), Decimal(high), *sides, unit="bar_min")


def test_it_works() -> None:
    trace = purge()
    picture = trace_picture(trace, judge(trace, LIMITS), LIMITS)
    assert (picture.width, picture.height) == ("900", "330")
    assert picture.line.startswith("M54,")
    assert picture.line.split(" ")[-1].startswith("870,")
    assert picture.line.count(",") == 361
    assert re.fullmatch(r"M137\.8,[\d.]+ 870,[\d.]+|M140\.1,[\d.]+ 870,[\d.]+", picture.fit)
    assert picture.band is not None
    assert (picture.band.x, picture.band.width) == ("54", "816")
    assert [label.text for label in picture.labels if label.anchor == "middle"] == [
        "0 s",
        "30 s",
        "60 s",
        "90 s",
        "120 s",
        "150 s",
        "180 s",
    ]
    texts = {label.text for label in picture.labels}
    assert {"6.0", "8.0", "10.0", "bar", "upper limit 10.0 bar", "lower limit 9.0 bar"} <= texts
    assert any(re.fullmatch(r"locked up [34]\.\d0 s after the purge", text) for text in texts)


def test_it_says_the_numbers_with_their_units_in_the_label() -> None:
    trace = purge()
    sentence = trace_picture(trace, judge(trace, LIMITS), LIMITS).sentence
    number = r"-?\d+\.\d+"
    assert re.fullmatch(
        rf"Intermediate pressure over 180 s; locked up at {number} bar {number} s after the purge; "
        rf"dropped {number} bar under the purge; creep {number} bar/min, 95 % interval {number} to {number} bar/min; "
        r"lock-up limit 9\.0 to 10\.0 bar; verdict within\.",
        sentence,
    )


def test_it_draws_the_trace_without_inline_style() -> None:
    trace = purge()
    root = drawn("trace", picture=trace_picture(trace, judge(trace, LIMITS), LIMITS))
    assert root.get("role") == "img"
    assert (root.get("aria-label") or "").startswith("Intermediate pressure over 180 s")
    classes = [element.get("class") for element in root]
    assert classes[:5] == ["trace-band", "trace-grid", "trace-line", "trace-fit", "trace-mark"]
    assert set(classes[5:]) == {"trace-label"}


def test_it_draws_a_trace_that_could_not_be_judged() -> None:
    flat = from_samples(np.arange(60.0), np.full(60, 9.5))
    picture = trace_picture(flat, judge(flat), ())
    assert (picture.fit, picture.mark, picture.band) == ("", "", None)
    assert picture.sentence == "Intermediate pressure over 59 s; verdict inconclusive."
    assert [element.get("class") for element in drawn("trace", picture=picture)][:2] == [
        "trace-grid",
        "trace-line",
    ]


def test_it_names_the_lock_up_on_the_side_that_has_room() -> None:
    early, late = purge(), purge(seconds=30.0, tau_s=3.0)
    for trace, anchor, by in ((early, "start", 5), (late, "end", -5)):
        picture = trace_picture(trace, judge(trace), ())
        (label,) = [each for each in picture.labels if each.text.startswith("locked up")]
        assert label.anchor == anchor
        assert float(label.x) == pytest.approx(float(picture.mark[1:].split()[0]) + by)


def test_it_draws_a_limit_in_another_unit_with_one_side() -> None:
    trace = purge()
    limits = [Limit("lock-up", "psi", high=Decimal(150))]
    picture = trace_picture(trace, judge(trace, limits), limits)
    assert picture.band is not None
    assert float(picture.band.y) + float(picture.band.height) == pytest.approx(304)
    assert "upper limit 10.3421 bar" in {label.text for label in picture.labels}


def test_it_keeps_every_extreme_when_it_thins() -> None:
    times_s = np.linspace(0.0, 600.0, 200_000)
    pressures_bar = np.full(200_000, 9.5)
    pressures_bar[123_457], pressures_bar[150_001] = 11.0, 3.0
    x, y = min_max(times_s, pressures_bar, 800)
    assert len(x) <= 1_600
    assert (y.max(), y.min()) == (11.0, 3.0)
    assert np.all(np.diff(x) > 0)
    trace = from_samples(times_s, pressures_bar)
    assert trace_picture(trace, judge(trace), ()).line.count(",") <= 1_600


def test_it_leaves_few_samples_alone() -> None:
    x = np.arange(1_600.0)
    assert min_max(x, x, 800)[0] is x


def test_it_keeps_the_lowest_and_the_highest_of_each_column() -> None:
    x = np.arange(100.0)
    assert min_max(x, x, 4)[0].tolist() == [0, 24, 25, 49, 50, 74, 75, 99]
    assert min_max(x, -x, 4)[0].tolist() == [0, 24, 25, 49, 50, 74, 75, 99]


@pytest.mark.parametrize(
    ("step_s", "next_s"),
    list(
        pairwise((1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 14400, 43200, 86400, 172800))
    ),
)
def test_it_goes_on_to_the_next_round_step_after_seven_ticks(step_s: int, next_s: int) -> None:
    assert time_ticks(0.0, 6 * step_s) == [index * step_s for index in range(7)]
    assert time_ticks(0.0, 6 * step_s + 0.5)[1] == next_s


@pytest.mark.parametrize(
    ("low_s", "high_s", "expected"),
    [
        (0.0, 180.0, [0, 30, 60, 90, 120, 150, 180]),
        (0.0, 45.0, [0, 10, 20, 30, 40]),
        (-3.0, 4.0, [-2, 0, 2, 4]),
        (0.0, 600.0, [0, 120, 240, 360, 480, 600]),
        (0.0, 0.5, [0, 0.5]),
        (0.0, 1_000_000.0, [0, 172800, 345600, 518400, 691200, 864000]),
        (-1_000_000.0, 1_000_000.0, [-1_000_000, 1_000_000]),
    ],
)
def test_it_ticks_at_round_times(low_s: float, high_s: float, expected: list[float]) -> None:
    assert time_ticks(low_s, high_s) == expected


@pytest.mark.parametrize(
    ("low_bar", "high_bar", "expected"),
    [
        (8.3, 10.3, ["8.5", "9.0", "9.5", "10.0"]),
        (4.7, 10.3, ["6.0", "8.0", "10.0"]),
        (9.49, 9.51, ["9.490", "9.495", "9.500", "9.505", "9.510"]),
        (-1.0, 240.0, ["0.0", "50.0", "100.0", "150.0", "200.0"]),
    ],
)
def test_it_ticks_at_round_pressures(low_bar: float, high_bar: float, expected: list[str]) -> None:
    assert [text for _, text in pressure_ticks(low_bar, high_bar)] == expected


def test_it_puts_the_interval_on_a_ruler() -> None:
    found = ruler("0.018", "0.016", "0.021", None, "0.05")
    assert found.sentence == (
        "0.018 bar/min, 95 % interval 0.016 to 0.021 bar/min; upper limit 0.05 bar/min."
    )
    assert found.line == "M6 15H164"
    assert found.bar == "M64.7 15H76"
    assert found.value == "M69.2 8v14"
    assert found.limits == "M141.4 6v18"


def test_it_draws_the_ruler_without_inline_style() -> None:
    root = drawn("ruler", ruler=ruler("0.018", "0.016", "0.021", "-0.05", "0.05"))
    assert [element.get("class") for element in root] == [
        "ruler-line",
        "ruler-limit",
        "ruler-bar",
        "ruler-value",
    ]
    assert root.get("aria-label") == (
        "0.018 bar/min, 95 % interval 0.016 to 0.021 bar/min; lower limit -0.05 bar/min; upper limit 0.05 bar/min."
    )


@pytest.mark.parametrize(
    "numbers",
    [("0", "0", "0", None, None), ("5", "-900", "900", "1", "2"), ("0.05", "0.05", "0.05", "0.05", "0.05")],
)
def test_it_keeps_everything_on_the_ruler(numbers: tuple[str, str, str, str | None, str | None]) -> None:
    found = ruler(*numbers)
    places = [float(text) for text in re.findall(r"[MH](-?[\d.]+)", found.bar + found.value + found.limits)]
    assert all(6 <= at <= 164 for at in places)


def test_every_coordinate_of_a_trace_is_where_it_belongs() -> None:
    """One pixel a second from 54 on; drawn from 0.88 to 3.12 bar, so y is 304 - 270 * (bar - 0.88) / 2.24. By hand."""
    times_s = np.arange(817.0)
    trace = from_samples(times_s, np.where(times_s < 400, 1.0, np.where(times_s < 600, 3.0, 2.0)))
    bar = {key: Estimate(Decimal(key), Decimal(key), Decimal(key)) for key in ("1", "2", "50")}
    result = judge(trace)
    figures = replace(
        result.figures,
        released_s=Decimal(150),
        locked_up_s=Decimal(200),
        lock_up_bar=bar["2"],
        time_to_lock_up_s=bar["50"],
        flowing_bar=Decimal(1),
        drop_under_purge_bar=bar["1"],
        window_start_s=Decimal(300),
        window_end_s=Decimal(700),
        fit_start_bar=Decimal(2),
        fit_end_bar=Decimal(3),
    )
    limit = Limit("lock-up", "bar", Decimal("1.5"), Decimal("2.5"))
    picture = trace_picture(trace, replace(result, figures=figures), [limit])

    assert picture.line.split(" ")[0] == "M54,289.5"
    assert picture.line.split(" ")[-1] == "870,169"
    assert picture.fit == "M354,169 754,48.5"
    assert picture.mark == "M254 4V304M204 169V289.5"
    assert picture.grid == (
        "M54 289.5H870M54 229.3H870M54 169H870M54 108.7H870M54 48.5H870M54 304v5M354 304v5M654 304v5"
    )
    assert picture.band == Band("54", "108.7", "816", "120.5")
    assert picture.labels == (
        Label("54", "326", "middle", "0 s"),
        Label("354", "326", "middle", "300 s"),
        Label("654", "326", "middle", "600 s"),
        Label("46", "293.5", "end", "1.0"),
        Label("46", "233.3", "end", "1.5"),
        Label("46", "173", "end", "2.0"),
        Label("46", "112.7", "end", "2.5"),
        Label("46", "52.5", "end", "3.0"),
        Label("46", "14", "end", "bar"),
        Label("870", "102.7", "end", "upper limit 2.5 bar"),
        Label("870", "245.3", "end", "lower limit 1.5 bar"),
        Label("259", "14", "start", "locked up 50 s after the purge"),
        Label("259", "293.5", "start", "dropped 1 bar"),
    )
    assert picture.sentence == (
        "Intermediate pressure over 816 s; locked up at 2 bar 50 s after the purge; dropped 1 bar under the purge; "
        "lock-up limit 1.5 to 2.5 bar; verdict inconclusive."
    )
