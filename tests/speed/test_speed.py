"""`manage.py speed` at a tiny size: what it fills, that every question is answered, and that it refuses a workshop."""

import re
from io import StringIO
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.db.models import QuerySet

from jobs.flow.models import Job
from jobs.flow.reads import findable_jobs
from jobs.reminders.models import Reminder
from jobs.speed.management.commands._rows import KEY, SERIAL
from jobs.speed.management.commands._sql import FROM
from shop.customers.reads import findable as findable_customers
from shop.gear.reads import findable as findable_items
from shop.gear.rules import mark_key
from shop.post.models import Letter
from shop.search.models import Findable
from shop.search.rules import words_of
from shop.workshop.reads import today

LINE = re.compile(
    r"[^:]+: ours [\d.]+ ms(, \d+ queries)?(, raw [\d.]+ ms, ratio [\d.]+( \(.+ at most\))?)?, \d+ rounds?"
)
ASKED = [
    "queue of 25 jobs", "queue of 25 jobs, beside the same statements",
    "queue of a full page", "queue of a full page, beside the same statements", "a door with nothing behind it", "find three common letters", "find three rare letters", "find a name",
    "find a serial", "find nothing that is there", "trace of a lot, 200 jobs", "history of an item, 50 entries",
    "check-in of three lines", "once() around nothing", "one entry of the journal", "one row of the find box",
]  # fmt: skip


def letters() -> QuerySet[Any]:
    return Letter.objects.filter(purpose="reminder").values("uid")


def test_it_works(db: None) -> None:
    out = StringIO()
    call_command("speed", "--jobs", "200", "--rounds", "1", stdout=out)
    lines = [line for line in out.getvalue().splitlines()[1:] if not line.startswith("    ")]

    assert Job.objects.filter(pk__gt=FROM, leg="handed_back").count() == 100
    assert [line for line in lines if not LINE.fullmatch(line.replace("run: ", "run "))] == []
    told = [line.partition(": ours")[0] for line in lines]
    count, people = Reminder.objects.filter(run=today(), letter__in=letters()).count(), letters().count()
    assert told == [
        *ASKED,
        f"due run: {count} claims",
        "due run: 0 claims more while these wait for letters",
        f"due run: {people} letters about these",
        "due run: 0 claims more once they are said",
    ]
    assert count >= people > 0
    assert not Reminder.objects.filter(letter=None).exists()
    sources: list[tuple[Any, Any]] = [findable_customers(), findable_items(), findable_jobs()]
    for rows, thing_of in sources:
        thing = thing_of(rows.get(pk=FROM + 77))
        stored = Findable.objects.get(subject=thing.subject)
        assert (stored.words, stored.address, stored.title) == (words_of(thing), thing.address, thing.title)
        assert (stored.number, stored.note) == (thing.number, thing.note)

    with pytest.raises(CommandError, match="A workshop is open here"):
        call_command("speed", "--jobs", "200")


@pytest.mark.parametrize("jobs", ["99", "1500001"])
def test_it_fills_what_it_can_be_asked_for_only(db: None, jobs: str) -> None:
    with pytest.raises(CommandError, match="Between 100 and 1500000 jobs"):
        call_command("speed", "--jobs", jobs)

    assert not Job.objects.exists()


@pytest.mark.parametrize("n", [FROM + 77, FROM + 500, 9 * FROM])
def test_it_fills_keys_as_marks_are_read(db: None, n: int) -> None:
    with connection.cursor() as cursor:  # as the command does: without values, so that a % is itself
        cursor.execute(f"SELECT {SERIAL}, {KEY} FROM (SELECT {n} AS n) numbers")  # noqa: S608 - all of it is ours
        serial, key = cursor.fetchone()

    assert key == mark_key(serial)
    assert serial.startswith("TH" if n % 500 else "QXZ")
