"""A finding is one of three words and nothing else."""

import pytest

from jobs.bench.methods.finding import UnknownFinding, judge
from jobs.bench.methods.records import to_record


def test_it_works() -> None:
    assert to_record(judge("pass")) == {"method": "finding", "version": "1", "verdict": "pass"}


@pytest.mark.parametrize("word", ["pass", "reject", "condemn"])
def test_it_keeps_each_finding(word: str) -> None:
    assert judge(word).verdict == word


@pytest.mark.parametrize(
    "word", ["", "Pass", " pass", "pass\n", "ok", "within", "true", "PASS", "x" * 10_000]
)
def test_it_refuses_any_other_word(word: str) -> None:
    with pytest.raises(UnknownFinding, match="is no finding; it is one of pass, reject, condemn."):
        judge(word)


def test_it_says_a_long_word_shortly() -> None:
    with pytest.raises(UnknownFinding) as caught:
        judge("x" * 10_000)

    assert len(str(caught.value)) < 120
