"""What the counter does next about a drop-off, in words and by which page. Pure."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from jobs.handback.rules import DAYS_AFTER_THE_LAST, LETTERS_BEFORE_DISPOSAL

# What waits so long counts as not collected: the same days that must pass after the last letter.
UNCOLLECTED = timedelta(days=DAYS_AFTER_THE_LAST)


@dataclass(frozen=True)
class Next:
    """What to do, and the name of the drop-off's page on which it is done."""

    says: str
    page: str = "drop_off"


KEPT = Next("Evidence is among it: leave that as it is, and ask the lead.")


def next_in_work(*, kept: bool, late: bool, bagged: bool, works: bool, covered: bool, waits: bool) -> Next:
    """What is next about gear that is here: evidence first, the counter's own part, then a word to the customer.

    Nothing `works` on a bag of parts. Where something is `kept` as evidence nothing of ordinary work is advised.
    """
    if kept:
        return KEPT
    if bagged:
        return Next("Say which item is in the bag.")
    if not works:
        return Next("Hand it back when they come.", "hand_back")
    if not covered:
        return Next("Take the go-ahead.", "go_ahead")
    if waits:
        return Next("Clear it for work.")
    if late:
        return Next("Call, and agree another day.")
    return Next("Nothing: it is on the bench.")


def next_to_collect(
    on: date,
    since: date,
    asked: Sequence[date],
    letters: int,
    *,
    rest: bool,
    kept: bool,
    noticed: bool,
) -> Next:
    """What is next about gear that is ready since a day; `asked` are the days on which they were asked, `letters` how many in writing.

    Where something is `noticed` a safety notice waits for an answer about it, and it does not leave before.
    """
    if kept:
        return KEPT
    if noticed:
        return Next("A safety notice waits for an answer: it does not leave before.")
    if not asked and not rest:
        return Next("Ask them to collect.", "ask")
    if on - since < UNCOLLECTED or rest:
        said = (
            "The rest is in work: hand back what is ready, or wait."
            if rest
            else "Hand it back when they come."
        )
        return Next(said, "hand_back")
    if on - max(asked) < UNCOLLECTED:
        return Next("Wait, or call once more.", "ask")
    if letters < LETTERS_BEFORE_DISPOSAL:
        return Next("Ask once more, in writing.", "ask")
    return Next("Ask the lead what becomes of it.")
