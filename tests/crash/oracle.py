"""What must be so after each kill: nothing acknowledged is lost, nothing is half done or done twice, the journal holds.

Whole is what one undisturbed check-in or sign-off leaves behind: every other one must have left the same.
"""

import json
from collections import Counter
from collections.abc import Iterable, Iterator
from typing import Any

from jobs.flow.models import Custody, DropOff, Job, Line, Move, Round
from jobs.signoff.models import SignOff
from shop.api.models import Answer
from shop.clocks.models import Clock, Restart
from shop.journal.models import Entry
from shop.journal.reads import faults
from shop.search.models import Findable
from tests.crash.people import Asked

Trace = list[Any]


def left_by_check_in(drop_off: str) -> Trace:
    """What a check-in left: rows of each table, verbs of the journal, things that can be found."""
    lines = list(Line.objects.filter(drop_off__uid=drop_off).order_by("n"))
    jobs = list(Job.objects.filter(drop_off__uid=drop_off))
    subjects = [
        f"drop-off:{drop_off}",
        *(f"line:{row.uid}" for row in lines),
        *(f"job:{row.uid}" for row in jobs),
    ]
    return [
        [(row.n, bool(row.item_id)) for row in lines],
        [row.leg for row in jobs],
        Round.objects.filter(job__in=jobs).count(),
        Custody.objects.filter(line__in=lines).count(),
        Clock.objects.filter(item__in=[row.item_id for row in jobs]).count(),
        *_verbs_and_findables(subjects),
    ]


def left_by_sign_off(job: str) -> Trace:
    """What a sign-off left."""
    row = Job.objects.get(uid=job)
    return [
        (row.leg, row.version),
        list(Round.objects.filter(job=row).values_list("n", "outcome")),
        list(Move.objects.filter(job=row).order_by("pk").values_list("to_leg", flat=True)),
        SignOff.objects.filter(round__job=row).count(),
        Restart.objects.filter(cause__startswith=f"job:{job}").count(),
        *_verbs_and_findables([f"job:{job}"]),
    ]


def _verbs_and_findables(subjects: list[str]) -> Iterator[Any]:
    verbs = Entry.objects.filter(subject__in=subjects).values_list("subject", "verb")
    yield Counter((subject.partition(":")[0], verb) for subject, verb in verbs)
    yield Counter(Findable.objects.filter(subject__in=subjects).values_list("kind", flat=True))


def wrong(asked: Iterable[Asked]) -> list[str]:
    """What is wrong with the journal or with what these people were told; empty when nothing is."""
    asked = list(asked)
    found = [f"journal: {fault}" for fault in faults()]
    found += [f"told {each.status} {each.told}" for each in asked if each.status != 201]
    kept = {row.key: row for row in Answer.objects.filter(key__in=[each.key for each in asked])}
    for each in asked:
        row = kept.get(each.key)
        if row is None or row.status != 201 or json.loads(row.body)[0] != each.told:
            found.append(f"the answer kept for {each.key} is not what was told")
    return found


def wrong_check_ins(fresh: Iterable[Asked], everything: Iterable[Asked], whole: Trace) -> list[str]:
    """Likewise of check-ins, the fresh ones looked at one by one, the rest counted."""
    fresh, told = list(fresh), {each.told.get("uid") for each in everything}
    there = {str(uid) for uid in DropOff.objects.values_list("uid", flat=True)}
    return [
        *wrong(fresh),
        *(f"lost: {uid}" for uid in told - there),
        *(f"double, or nobody was told: {uid}" for uid in there - told),
        *(
            f"half: {each.told}"
            for each in fresh
            if each.status == 201 and left_by_check_in(each.told["uid"]) != whole
        ),
        *(
            []
            if Job.objects.count() == len(told)
            else [f"{Job.objects.count()} jobs for {len(told)} check-ins"]
        ),
    ]


def wrong_sign_offs(fresh: Iterable[Asked], waiting: Iterable[str], whole: Trace, before: Trace) -> list[str]:
    """Likewise of sign-offs; `before` is what a job that waits for its own looks like."""
    fresh = list(fresh)
    return [
        *wrong(fresh),
        *(
            f"half: {each.path}"
            for each in fresh
            if each.status == 201 and left_by_sign_off(each.told["job"]) != whole
        ),
        *(f"signed, nobody was told: {job}" for job in waiting if left_by_sign_off(job) != before),
    ]
