"""How marks compare with ranges: by tables, and by a second reading of the rule."""

import re
import unicodedata

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from jobs.safety.rules import How, Range, how_of, read_lot, read_range, sought
from shop.gear.rules import LONGEST, MOST_DIGITS, mark_key, runs

RANGE, NAMED, UNCLEAR, NOT = "AB1200 to AB3499", How.NAMED, How.UNCLEAR, None


def how(line: str, mark: str, read: bool = True) -> How | None:
    found = read_range(line)
    assert isinstance(found, Range), found
    return how_of([(mark_key(mark), read)], sought([found]))


@pytest.mark.parametrize(
    ("line", "mark", "expected"),
    [
        (RANGE, "AB1200", NAMED),
        (RANGE, "AB3499", NAMED),
        (RANGE, "AB1199", NOT),
        (RANGE, "AB3500", NOT),
        (RANGE, "ab 1300", NAMED),
        (RANGE, "AB-001300", NAMED),
        (RANGE, "ＡＢ１３００", NAMED),
        (RANGE, "AB12000", NOT),
        (RANGE, "AB130", NOT),
        (RANGE, "AB1300X", NAMED),
        (RANGE, "AB3499X", NAMED),
        (RANGE, "AC1300", NOT),
        ("TO 12 to TO 34", "TO-20", NAMED),
        ("TO12", "TO 12", NAMED),
        (RANGE, "ABC1300", NOT),
        (RANGE, "1300", UNCLEAR),
        (RANGE, "AB", UNCLEAR),
        (RANGE, "", UNCLEAR),
        (RANGE, "???", UNCLEAR),
        (RANGE, "АВ1300", UNCLEAR),  # noqa: RUF001 - Cyrillic on purpose
        (RANGE, "AB" + "9" * 19, UNCLEAR),
        ("AB1200–AB3499", "AB1300", NAMED),
        ("AB1200,AB3499", "AB1300", NAMED),
        ("AB1200 - AB3499", "AB1300", NAMED),
        ("AB-1200 TO ab-3499", "AB1300", NAMED),
        ("100 to 2000", "0150", NAMED),
        ("100 to 2000", "99", NOT),
        ("100 to 2000", "2001", NOT),
        ("100 to 2000", "SN150", UNCLEAR),
        ("100 to 2000", "150A", NAMED),
        ("A5X to A9X", "A7X", NAMED),
        ("A5X to A9X", "A7", NAMED),
        ("A5X to A9X", "A5", UNCLEAR),
        ("A5X to A9X", "A5W", NOT),
        ("A5X to A9X", "A10X", NOT),
        ("2A100 to 2B50", "2A99", NOT),
        ("2A100 to 2B50", "2A5000", NAMED),
        ("2A100 to 2B50", "2B51", NOT),
        ("2A100 to 2B50", "2", UNCLEAR),
        ("AB12*", "AB12", NAMED),
        ("AB12*", "AB1299X", NAMED),
        ("AB12*", "AB0012", NAMED),
        ("AB12*", "AB21", NOT),
        ("AB12*", "AB112", NOT),
        ("AB12*", "AB", UNCLEAR),
        ("AB*", "ABC1", NAMED),
        ("AB*", "AC1", NOT),
        ("AB00*", "AB7", NAMED),
        ("12*", "1" + "2" * 17, NAMED),
        ("12*", "0129", NAMED),
        ("12*", "13", NOT),
        ("TH-1300", "TH 1300", NAMED),
        ("TH-1300", "TH1301", NOT),
    ],
)
def test_it_works(line: str, mark: str, expected: How | None) -> None:
    assert how(line, mark) is expected


@pytest.mark.parametrize(
    ("marks", "expected"),
    [
        ([], UNCLEAR),
        ([("AB1300", False)], NAMED),
        ([("AB99", False)], UNCLEAR),
        ([("", True), ("AB99", True)], NOT),
        ([("1300", True), ("AB99", True)], NOT),
        ([("", True), ("1300", True)], UNCLEAR),
        ([("AB99", True), ("AB1300", True)], NAMED),
    ],
)
def test_it_looks_at_all_marks_of_an_item(marks: list[tuple[str, bool]], expected: How | None) -> None:
    line = read_range(RANGE)
    assert isinstance(line, Range)

    assert how_of([(mark_key(text), read) for text, read in marks], sought([line])) is expected


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("AB3499 to AB1200", "its end comes before its beginning"),
        ("AB1 to AB2 to AB3", "it has more than two ends"),
        ("AB1200 to 3499", "its two ends are not built alike"),
        ("AB1200 to AB3499X", "its two ends are not built alike"),
        ("from,to", "its two ends hold no number"),
        ("---", "it is cut off"),
        ("AB1200,", "it is cut off"),
        ("AB12 to", "it is cut off"),
        ("bad TO ", "it is cut off"),
        ("to AB12", "it is cut off"),
        ("AB12 -", "it is cut off"),
        ("AB12-", "it is cut off"),
        ("AB12..", "it is cut off"),
        ("to", "it is cut off"),
        ("?", "it needs Latin letters and digits"),
        ("АВ1300", "it needs Latin letters and digits"),  # noqa: RUF001 - Cyrillic on purpose
        ("1" * 19, "it needs Latin letters and digits"),
        ("*", "a beginning needs a letter or a number"),
        ("00*", "a beginning needs a letter or a number"),
        ("AB1200-AB3499", "its hyphen may stand"),
        ("12-34", "its hyphen may stand"),
        ("TH-1200-TH-3499", "its hyphen may stand"),
    ],
)
def test_it_refuses_a_line(line: str, said: str) -> None:
    found = read_range(line)

    assert isinstance(found, str)
    assert found.startswith(said)


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ("TH-302: L-2231", ("TH-302", "L-2231")),
        ("TH-302,L2231 to L2240", ("TH-302", "L2231 to L2240")),
        ("TH-302;L9*", ("TH-302", "L9*")),
        ("TH-302", "write the number of the part, a colon, and the lot"),
        (": L9", "write the number of the part, a colon, and the lot"),
        ("TH-302: L9 to L1", "its end comes before its beginning"),
    ],
)
def test_it_reads_lots(line: str, expected: object) -> None:
    assert read_lot(line) == expected


# A second reading of the rule, run by run, that knows neither keys nor spans.
Runs = list[int | str]
LETTERS, DIGITS = st.text("ABYZ", min_size=1, max_size=3), st.text("0129", min_size=1, max_size=5)
MARKS = st.lists(st.one_of(LETTERS, DIGITS), min_size=1, max_size=4).map("".join)


def cut(text: str) -> Runs:
    plain = re.sub(r"[^A-Z0-9]", "", unicodedata.normalize("NFKD", text).upper())
    return [int(run) if run.isdigit() else run for run in re.findall(r"[A-Z]+|[0-9]+", plain)]


def side(mark: Runs, end: Runs) -> str:
    """Whether a mark stands before an end, after it, begins as it does, or ends before it is told apart."""
    for one, other in zip(mark, end, strict=False):
        if type(one) is not type(other):
            return "other kind"
        if one != other:
            if isinstance(one, str) and isinstance(other, str) and other == end[-1] and one.startswith(other):
                return "begins so" if len(mark[: len(end)]) == len(end) else "after"
            return "before" if one < other else "after"  # type: ignore[operator]  # of one kind
    return "begins so" if len(mark) >= len(end) else "too short"


def expected_of(mark: Runs, first: Runs, last: Runs) -> How | None:
    low, high = side(mark, first), side(mark, last)
    if not mark or "other kind" in (low, high):
        return UNCLEAR
    if low in ("after", "begins so") and high in ("before", "begins so"):
        return NAMED
    if low in ("after", "begins so") and high == "too short":
        return NAMED
    return UNCLEAR if "too short" in (low, high) else NOT


def two_alike(shape: list[bool]) -> st.SearchStrategy[tuple[str, str]]:
    """Two marks of the same kinds of runs."""
    mark = st.tuples(*(DIGITS if each else LETTERS for each in shape)).map("".join)
    return st.tuples(mark, mark)


@settings(max_examples=300, deadline=None)
@given(ends=st.lists(st.booleans(), min_size=1, max_size=3).flatmap(two_alike), mark=MARKS)
def test_it_agrees_with_a_reading_run_by_run(ends: tuple[str, str], mark: str) -> None:
    first, last = sorted(ends, key=mark_key)
    assume(runs(first) and runs(last) and runs(mark))
    if isinstance(read_range(f"{first} to {last}"), str):
        return  # letters alone

    assert how(f"{first} to {last}", mark) is expected_of(cut(mark), cut(first), cut(last))


@settings(max_examples=150, deadline=None)
@given(mark=st.text(max_size=80))
def test_it_takes_case_spaces_and_zeros_for_nothing(mark: str) -> None:
    key = mark_key(mark)

    assert len(key) <= LONGEST
    assert not key or key.isascii() and key.isdigit()
    assert mark_key(f" {mark}-") == key
    if mark.isascii():
        assert mark_key(mark.lower()) == mark_key(mark.upper()) == key
    spaced = re.sub(r"([a-zA-Z])(\d)", r"\1 00\2", mark)
    assert mark_key(spaced) == key


@settings(max_examples=300, deadline=None)
@given(one=MARKS, other=MARKS)
def test_it_orders_keys_as_runs_are_ordered(one: str, other: str) -> None:
    """Numbers stand before letters; a mark stands before what goes on from it; a number that is too long has no place."""
    assume(runs(one) and runs(other))
    ordered = [
        [(0, run, "") if isinstance(run, int) else (1, 0, run) for run in cut(each)] for each in (one, other)
    ]

    assert (mark_key(one) < mark_key(other)) == (ordered[0] < ordered[1])
    assert (mark_key(one) == mark_key(other)) == (runs(one) == runs(other))


@settings(max_examples=300, deadline=None)
@given(beginning=MARKS, rest=st.text("AB019", max_size=6))
def test_it_finds_whatever_begins_so(beginning: str, rest: str) -> None:
    assume(len(beginning + rest) <= MOST_DIGITS)
    found = read_range(f"{beginning}*")
    if isinstance(found, str):
        assert set(beginning) == {"0"}
        return
    assert how(f"{beginning}*", beginning + rest) is NAMED
