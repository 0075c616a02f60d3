"""Whose gear is due and not told yet; what goes next; what letters brought."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from itertools import groupby
from typing import Any

from django.db.models import (
    Case,
    Count,
    Exists,
    ExpressionWrapper,
    F,
    IntegerField,
    OuterRef,
    Q,
    QuerySet,
    Value,
    When,
)
from django.db.models import DateTimeField as Instant
from django.db.models.functions import TruncDate
from django.http import Http404

from jobs.answers.reads import quiet
from jobs.flow.models import Job, Line
from jobs.flow.reads import held_owners
from jobs.flow.rules import OPEN
from jobs.reminders.models import Ladder, Reminder
from jobs.reminders.rules import ANY_CLOCK, CAME_WITHIN, SHIPPED, Ladders, Rungs, Times, rung
from shop.clocks.models import Clock
from shop.clocks.reads import dated_by
from shop.customers.models import Customer
from shop.due.reads import obligations
from shop.post.models import Letter
from shop.post.rules import Purpose, State
from shop.workshop.reads import now, today, workshop, zone
from shop.workshop.rules import Language

Owed = tuple[Customer, list[Clock]]
MOST_SHOWN = 200
YEAR = timedelta(days=365)


def times() -> Times:
    """When letters go out."""
    row = workshop()
    if row is None:
        return Times()
    return Times(row.closed_weekdays, row.closed_days, row.letters_from, row.letters_until, row.letters_a_day)


def ladders() -> Ladders:
    """The ladders that hold now."""
    rows: dict[str, Rungs] = {row.clock: row.rungs for row in Ladder.objects.exclude(rungs=[])}
    return Ladders(rows.pop(ANY_CLOCK, SHIPPED), rows)


def owed(on: date) -> Iterator[Owed]:
    """Customers who asked for reminders, with those of their clocks whose newest rung was not written yet; none of whose gear is evidence.

    What was due longest comes first. A customer keeps that place until they are written to, and what comes before
    them has few rungs left: so nobody waits for ever behind a cap.
    """
    known = ladders()
    here = Job.objects.filter(item=OuterRef("item"), leg__in=OPEN)
    # A later rung that was written stands for those before it, also where the ladder was changed since.
    written = Reminder.objects.filter(
        clock=OuterRef("pk"), due=OuterRef("due"), rung__gte=OuterRef("reached")
    )
    clocks = dated_by(on - timedelta(days=known.first)).filter(
        item__owner__reminders=True, item__owner__ours=False
    )
    clocks = clocks.exclude(item__owner__email="").exclude(item__owner__in=held_owners())
    clocks = clocks.annotate(reached=_reached(known, on))
    if known.own:
        clocks = clocks.filter(reached__isnull=False)
    fresh = wanted(clocks, on).exclude(Exists(here)).exclude(Exists(written))
    rows: list[Clock] = list(fresh)
    groups = [(who, list(own)) for who, own in groupby(rows, key=lambda clock: clock.item.owner)]
    yield from sorted(groups, key=lambda each: min(clock.due for clock in each[1] if clock.due))


def wanted(clocks: QuerySet[Clock], on: date) -> QuerySet[Clock]:
    """Those about which their owners want a letter now. Who asked for fewer gets one for each due date: the first that
    is written on the day or later, whatever the ladder, closed days or a cap make of it."""
    written = Reminder.objects.annotate(day=TruncDate("at", tzinfo=zone()))
    had = written.filter(clock=OuterRef("pk"), due=OuterRef("due"), day__gte=OuterRef("due"))
    not_now = Q(due__gt=on) | Q(due=None) | Exists(had)
    return quiet(clocks, on).exclude(not_now, item__owner__fewer=True)


def _reached(known: Ladders, on: date) -> Case:
    """The newest rung that a clock has reached on a day, in the database."""

    def climbed(rungs: Rungs) -> Case:
        steps = [
            When(due__lte=on - timedelta(days=days), then=Value(days)) for days in sorted(rungs, reverse=True)
        ]
        return Case(*steps, output_field=IntegerField())

    own = known.own or {}
    kinds = [When(key=key, then=climbed(rungs)) for key, rungs in own.items()]
    return (
        Case(*kinds, default=climbed(known.others), output_field=IntegerField())
        if kinds
        else climbed(known.others)
    )


def written_on(day: date) -> int:
    """How many reminders were written for a day."""
    return Letter.objects.filter(purpose=Purpose.REMINDER, run=day.isoformat()).count()


@dataclass
class Ahead:
    """What the next letter day would write, if nothing changes until then: a dry run of the same rules."""

    day: date | None
    shown: list[tuple[Customer, list[Clock]]] = field(default_factory=list)
    letters: int = 0
    left: int = 0
    languages: dict[str, int] = field(default_factory=dict)
    rungs: dict[int, int] = field(default_factory=dict)


def ahead() -> Ahead:
    """What goes on the next letter day after today; what today still writes stands in it too."""
    known, when = ladders(), times()
    found = Ahead(when.next_day(today()))
    if found.day is None:
        return found
    for n, (customer, clocks) in enumerate(owed(found.day)):
        if when.most is not None and n >= when.most:
            found.left += 1
            continue
        found.letters += 1
        spoken = Language(customer.language).label
        found.languages[spoken] = found.languages.get(spoken, 0) + 1
        for clock in clocks:
            step = rung(clock.due, found.day, known.of(clock.key)) if clock.due else None
            if step is not None:
                found.rungs[step] = found.rungs.get(step, 0) + 1
        if n < MOST_SHOWN:
            found.shown.append((customer, clocks))
    return found


def brought() -> list[Mapping[str, Any]]:
    """What the letters of a year brought, by rung: how many went out, and after how many that gear came within 60 days.

    A letter with several rungs counts with each. Whether a letter was opened is not asked.
    """
    sent = Letter.objects.filter(uid=OuterRef("letter"), state=State.SENT)
    until = ExpressionWrapper(OuterRef("at") + Value(CAME_WITHIN), output_field=Instant())
    came = Line.objects.filter(
        item=OuterRef("clock__item"), drop_off__at__gte=OuterRef("at"), drop_off__at__lte=until
    )
    rows = Reminder.objects.filter(Exists(sent), at__gte=now() - YEAR)
    counted = rows.values("rung").annotate(
        letters=Count("letter", distinct=True),
        came=Count(Case(When(Exists(came), then=F("letter"))), distinct=True),
    )
    return list(counted.order_by("rung"))


@dataclass(frozen=True)
class LadderTold:
    """The ladder of one kind of clock: `own` where the workshop chose its days."""

    clock: str
    title: str
    rungs: Rungs
    own: bool
    version: int


def every_ladder() -> list[LadderTold]:
    """That of all others first, then that of each kind of clock there is."""
    known, rows = ladders(), {row.clock: row for row in Ladder.objects.all()}
    titles = dict(obligations())
    names = [
        (ANY_CLOCK, "All others"),
        *((key, titles.get(key, key)) for key in dict.fromkeys([*titles, *rows]) if key != ANY_CLOCK),
    ]
    return [
        LadderTold(key, title, known.of(key), bool(row and row.rungs), row.version if row else 0)
        for key, title in dict(names).items()
        for row in [rows.get(key)]
    ]


def ladder_of(clock: str) -> LadderTold:
    """One of them."""
    for each in every_ladder():
        if each.clock == clock:
            return each
    raise Http404
