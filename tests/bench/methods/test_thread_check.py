"""Threads of neck and valve: only the same two pass.

Source of the mismatch that kills, an M25x2 valve in a 3/4-14 NPSM neck: a diving safety organisation, read second-hand.
"""

import pytest

from jobs.bench.methods.asked import BadFigures
from jobs.bench.methods.thread_check import judge
from jobs.bench.methods.verdicts import Verdict


@pytest.mark.parametrize(
    ("neck", "valve", "verdict"),
    [
        ("M25x2", "M25x2", Verdict.WITHIN),
        ("3/4-14 NPSM", "3/4-14 NPSM", Verdict.WITHIN),
        ("3/4-14 NPSM", "M25x2", Verdict.OUTSIDE),
        ("M25x2", "3/4-14 NPSM", Verdict.OUTSIDE),
        ("3/4 BSP", "3/4-14 NPSM", Verdict.OUTSIDE),
        ("M18x1.5", "M25x2", Verdict.OUTSIDE),
        ("none of these, or not told", "M25x2", Verdict.INCONCLUSIVE),
        ("none of these, or not told", "none of these, or not told", Verdict.INCONCLUSIVE),
    ],
)
def test_it_works(neck: str, valve: str, verdict: Verdict) -> None:
    found = judge({"neck": neck, "valve": valve})
    assert found.verdict == verdict
    assert (found.warnings == ()) is (verdict is Verdict.WITHIN)


def test_it_names_the_mismatch_that_kills() -> None:
    (said,) = judge({"neck": "3/4-14 NPSM", "valve": "M25x2"}).warnings
    assert said.endswith("that mismatch has been fatal.")


@pytest.mark.parametrize("typed", [{}, {"neck": "M25x2"}, {"neck": "M25", "valve": "M25x2"}, {"neck": "m25x2", "valve": "M25x2"}])  # fmt: skip
def test_it_compares_exactly_what_was_typed(typed: dict[str, str]) -> None:
    with pytest.raises(BadFigures):
        judge(typed)
