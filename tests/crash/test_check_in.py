"""A check-in that was answered 201 is whole, whatever is killed; one that was not is not there at all."""

import time
from pathlib import Path

import pytest

from tests.crash.conftest import Counter
from tests.crash.oracle import Trace, left_by_check_in, wrong_check_ins
from tests.crash.people import Asked, ask, ask_and_lose_the_answer, at_work
from tests.crash.rig import KILLS, Web, chance, tell

A_ROUND = 8
AT_RANDOM, AT_A_POINT = KILLS // 3, KILLS // 12  # the second for each of three points
LONGEST_S = 0.4


def whole(web: Web, counter: Counter) -> tuple[Asked, Trace]:
    """The first check-in, which nothing disturbs, and what it left."""
    first = ask(web.port, counter.check_ins(1)[0])
    assert (first.status, first.tries) == (201, 1)
    return first, left_by_check_in(first.told["uid"])


def test_it_works(counter: Counter, tmp_path: Path) -> None:
    """The answer is lost again and again after the work was committed: it is told anew, and done once."""
    web = Web(tmp_path)
    try:
        first, trace = whole(web, counter)
        asked = counter.check_ins(max(20, KILLS * 2 // 3))
        for each in asked:
            ask_and_lose_the_answer(web.port, each)
            ask(web.port, each)
    finally:
        web.stop()

    assert all(each.replayed for each in asked)
    assert wrong_check_ins(asked, [first, *asked], trace) == []
    assert trace[:4] == [[(1, True), (2, False)], ["checked_in"], 1, 2]


def test_it_loses_and_halves_and_doubles_nothing_when_killed_at_any_moment(
    counter: Counter, tmp_path: Path
) -> None:
    rng, seed = chance("check-in")
    web = Web(tmp_path)
    try:
        first, trace = whole(web, counter)
        everything = [first]
        killed = 0
        while killed < AT_RANDOM:
            work, wait = counter.check_ins(A_ROUND), rng.uniform(0, LONGEST_S)
            everything += work

            def kill(wait: float = wait) -> None:
                time.sleep(wait)
                nonlocal killed
                killed += web.kill_one(rng)

            at_work(web.port, work, kill)
            assert wrong_check_ins(work, everything, trace) == [], f"EBBWRIGHT_SEED={seed}, kill {killed}"
    finally:
        web.stop()

    again = [each for each in everything if each.tries > 1]
    assert again, "no kill met anybody at work"
    tell(f"{killed} kills at any moment, {len(everything)} check-ins, {len(again)} asked again")


@pytest.mark.parametrize("point", ["before-answer", "before-commit", "after-commit"])
def test_it_loses_and_halves_and_doubles_nothing_when_killed_at(
    point: str, counter: Counter, tmp_path: Path
) -> None:
    rng, seed = chance(point)
    web = Web(tmp_path, failpoint=f"{point}:{rng.randint(2, 4)}:kill")
    try:
        first, trace = whole(web, counter)
        everything = [first]
        while web.deaths < AT_A_POINT:
            work = counter.check_ins(A_ROUND)
            everything += work
            at_work(web.port, work)
            assert wrong_check_ins(work, everything, trace) == [], f"EBBWRIGHT_SEED={seed}"
        deaths = web.deaths
    finally:
        web.stop()

    replayed = sum(each.replayed for each in everything)
    assert (replayed > 0) == (point == "after-commit")
    tell(f"{deaths} kills {point}, {len(everything)} check-ins, {replayed} told again")
