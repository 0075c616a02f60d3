"""A letter is never lost, however often its worker is killed; of one that was going out just then there may be two copies."""

import time
from collections import Counter
from datetime import timedelta
from functools import partial
from pathlib import Path

import pytest
from django.db.models.functions import Now

from shop.post.actions import write_letter
from shop.post.models import Letter
from shop.post.rules import Purpose, State
from tests.crash.rig import KILLS, chance, tell, until, wake, worker
from tests.servers import SmtpSink

AT_RANDOM = KILLS // 6
FIRST, LATEST = 0.05, 0.35
# No more at once: a dead child is missed after ten seconds, and its letter waits a minute only.
LOTS, BEFORE = 4, 3
TURNS = range(max(1, KILLS // 60))
A_LOT = 40
EVERY = (
    2  # each second kill is of the worker with all it has started: it is ten seconds before it misses a child
)


def write(count: int) -> None:
    """More letters, each to somebody else."""
    start = Letter.objects.count()
    for n in range(start, start + count):
        given = {"recipient": f"customer:{n}", "address": f"c{n}@aldermouth.org", "text": f"Dear {n}"}
        write_letter(purpose=Purpose.READY, run="killed", subject="Ready", **given)


def left(*states: State) -> int:
    return Letter.objects.filter(state__in=states).count()


def lease_runs_out() -> None:
    """What a minute does to letters whose worker is dead."""
    stuck = Letter.objects.filter(state__in=[State.TAKEN, State.SENDING])
    stuck.update(due_at=Now() - timedelta(seconds=1))


def taken_run_out() -> bool:
    """What a minute does to those that a dead worker had taken beside the one that it was sending."""
    Letter.objects.filter(state=State.TAKEN).update(due_at=Now() - timedelta(seconds=1))
    return True


def copies(sink: SmtpSink) -> Counter[str]:
    return Counter(str(letter["Message-ID"]) for letter in sink.letters)


def wrong(sink: SmtpSink, kills: int, *rests: State) -> list[str]:
    """What is wrong with what went out; empty when nothing is. A letter may also rest in one of some states, with a copy or without."""
    went, rows = copies(sink), list(Letter.objects.all())
    same = {(str(letter["To"]), str(letter["Message-ID"]), str(letter["Date"])) for letter in sink.letters}
    doubles = sum(went.values()) - len(went)
    rest = sum(row.state in rests for row in rows)
    return [
        *(f"lost: {row.address}" for row in rows if not went[row.message_id] and row.state not in rests),
        *(f"{went[row.message_id]} copies: {row.address}" for row in rows if went[row.message_id] > 2),
        *(f"waits: {row.address}, {row.state}" for row in rows if row.state not in (State.SENT, *rests)),
        *([] if doubles <= kills else [f"{doubles} doubles of {kills} kills"]),
        *(f"rests at once: {row.address}" for row in rows if row.state in rests and row.attempts < 2),
        *([] if 2 * rest <= kills else [f"{rest} rest after {kills} kills, though each takes two"]),
        *([] if len(same) == len(went) else ["a copy is not like the other"]),
    ]


def resting(sink: SmtpSink) -> str:
    """How many letters died twice with their sender: whether they arrived nobody knows, so they rest until people look."""
    rows, went = Letter.objects.filter(state=State.UNCERTAIN), copies(sink)
    none = sum(not went[row.message_id] for row in rows)
    return (
        f"{rows.count()} were met twice while they went and rest for people, {none} of these without a copy"
    )


def go_on(folder: Path, sink: SmtpSink, broker: str, *rests: State) -> None:
    """Nobody is killed any more: a minute later a worker sends what is left."""
    lease_runs_out()
    last = worker(folder, sink.url, broker)
    try:
        until(
            "every letter has gone",
            lambda: _waking(broker) and left(State.SENT, *rests) == Letter.objects.count(),
        )
    finally:
        last.stop()


def more_than(sink: SmtpSink, seen: int) -> bool:
    return len(sink.letters) > seen


def _waking(broker: str) -> bool:
    wake(broker)
    time.sleep(0.2)  # not to fill the broker
    return True


def test_it_works(smtp_sink: SmtpSink, real_database: None, broker: str, tmp_path: Path) -> None:
    """Killed at any moment: the child that sends, and now and then the worker itself."""
    rng, seed = chance("letters")
    killed = 0
    sender = worker(tmp_path, smtp_sink.url, broker)
    try:
        while killed < AT_RANDOM:
            if left(State.NEW) < A_LOT:
                write(A_LOT)
            seen = len(smtp_sink.letters)
            wake(broker)
            until("the worker sends again", partial(more_than, smtp_sink, seen))
            time.sleep(rng.uniform(FIRST, LATEST))
            killed += sender.kill_one(rng)
            if killed % EVERY == EVERY - 1:
                sender.kill()
                killed += 1
                sender.start()
    finally:
        sender.stop()
    go_on(tmp_path, smtp_sink, broker, State.UNCERTAIN)

    went = copies(smtp_sink)
    doubles = went.total() - len(went)
    tell(f"{killed} kills, {Letter.objects.count()} letters, {doubles} doubles; {resting(smtp_sink)}")
    assert wrong(smtp_sink, killed, State.UNCERTAIN) == [], f"EBBWRIGHT_SEED={seed}"


@pytest.mark.parametrize("turn", TURNS)
def test_it_sends_a_letter_twice_at_most_when_killed_after_the_answer(
    smtp_sink: SmtpSink, real_database: None, broker: str, tmp_path: Path, turn: int
) -> None:
    """Each process dies once the server has its third letter: exactly those have two copies."""
    lots = LOTS
    write(3 * lots)
    sender = worker(tmp_path, smtp_sink.url, broker, failpoint="after-letter:3:kill")
    try:
        until(
            "each lot has its dead",
            lambda: (
                _waking(broker)
                and taken_run_out()
                and left(State.SENDING) == lots
                and not left(State.NEW, State.TAKEN)
            ),
        )
    finally:
        sender.stop()
    assert left(State.SENT) == 2 * lots
    go_on(tmp_path, smtp_sink, broker)

    assert Counter(copies(smtp_sink).values()) == {1: 2 * lots, 2: lots}
    assert wrong(smtp_sink, lots) == []
    assert Letter.objects.filter(uncertain_before=True).count() == lots


@pytest.mark.parametrize("turn", TURNS)
def test_it_sends_a_letter_once_when_killed_before_the_server_has_it(
    smtp_sink: SmtpSink, real_database: None, broker: str, tmp_path: Path, turn: int
) -> None:
    write(3 * BEFORE)
    sender = worker(tmp_path, smtp_sink.url, broker, failpoint="before-letter:3:kill")
    try:
        until(
            "three have died",
            lambda: (
                _waking(broker)
                and taken_run_out()
                and left(State.SENDING) == BEFORE
                and not left(State.NEW, State.TAKEN)
            ),
        )
    finally:
        sender.stop()
    go_on(tmp_path, smtp_sink, broker)

    assert set(copies(smtp_sink).values()) == {1}
    assert wrong(smtp_sink, 0) == []
