"""What is next about a drop-off, by tables."""

from datetime import date

import pytest

from jobs.counter.rules import next_in_work, next_to_collect

DAY = date(2026, 11, 27)


def test_it_works() -> None:
    asked = next_in_work(kept=False, late=False, bagged=False, works=True, covered=False, waits=True)

    assert (asked.says, asked.page) == ("Take the go-ahead.", "go_ahead")


@pytest.mark.parametrize(
    ("kept", "late", "bagged", "works", "covered", "waits", "says"),
    [
        (True, True, True, True, False, True, "Evidence is among it: leave that as it is, and ask the lead."),
        (False, True, True, True, False, True, "Say which item is in the bag."),
        (False, True, False, True, False, True, "Take the go-ahead."),
        (False, True, False, True, True, True, "Clear it for work."),
        (False, True, False, True, True, False, "Call, and agree another day."),
        (False, False, False, True, True, False, "Nothing: it is on the bench."),
        (False, True, False, False, False, False, "Hand it back when they come."),
    ],
)
def test_it_says_the_counters_own_part_first(
    kept: bool, late: bool, bagged: bool, works: bool, covered: bool, waits: bool, says: str
) -> None:
    facts = {"kept": kept, "late": late, "bagged": bagged, "works": works, "covered": covered, "waits": waits}
    assert next_in_work(**facts).says == says


@pytest.mark.parametrize(
    ("since", "asked", "letters", "rest", "says"),
    [
        (27, [], 0, False, "Ask them to collect."),
        (27, [], 0, True, "The rest is in work: hand back what is ready, or wait."),
        (20, [21], 1, False, "Hand it back when they come."),
        # 28 days is what hand-back waits after the last letter before gear may be disposed of.
        (-2, [24], 1, False, "Wait, or call once more."),
        (-30, [-20], 1, False, "Ask once more, in writing."),
        (-30, [-20], 2, False, "Ask the lead what becomes of it."),
        (-30, [], 0, False, "Ask them to collect."),
    ],
)
def test_it_says_what_is_next_about_what_is_ready(
    since: int, asked: list[int], letters: int, rest: bool, says: str
) -> None:
    """Days are of November 2026, counted on from it or back."""

    def day(n: int) -> date:
        return date.fromordinal(DAY.toordinal() - 27 + n)

    found = next_to_collect(
        DAY, day(since), [day(n) for n in asked], letters, rest=rest, kept=False, noticed=False
    )

    assert found.says == says


def test_it_asks_nobody_to_collect_evidence() -> None:
    found = next_to_collect(DAY, DAY, [], 0, rest=False, kept=True, noticed=True)
    assert found.says == "Evidence is among it: leave that as it is, and ask the lead."


def test_it_asks_nobody_to_collect_what_a_notice_stops() -> None:
    found = next_to_collect(DAY, DAY, [], 0, rest=False, kept=False, noticed=True)
    assert found.says == "A safety notice waits for an answer: it does not leave before."
