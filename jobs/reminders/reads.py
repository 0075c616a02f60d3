"""Whose gear is due and not told yet; what goes next; what letters brought."""

from collections import Counter
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from itertools import groupby
from operator import itemgetter
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

from jobs.answers.models import Answer
from jobs.answers.reads import quiet
from jobs.bookings.models import Booking
from jobs.flow.models import Job, Line
from jobs.flow.reads import held_owners
from jobs.flow.rules import OPEN
from jobs.reminders.models import Ladder, Reminder
from jobs.reminders.rules import ANY_CLOCK, CAME_WITHIN, SHIPPED, Ladders, Rungs, Times
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


def owing(on: date) -> QuerySet[Any]:
    """Clocks whose newest rung, `reached`, was not said yet, of customers who asked for reminders; none of whose gear is evidence."""
    known = ladders()
    here = Job.objects.filter(item=OuterRef("item"), leg__in=OPEN)
    # A later rung that was said stands for those before it, also where the ladder was changed since.
    later = said().filter(clock=OuterRef("pk"), due=OuterRef("due"), rung__gte=OuterRef("reached"))
    clocks = dated_by(on - timedelta(days=known.first)).filter(
        item__owner__reminders=True, item__owner__ours=False
    )
    clocks = clocks.exclude(item__owner__email="").exclude(item__owner__in=held_owners())
    clocks = clocks.annotate(reached=_reached(known, on))
    if known.own:
        clocks = clocks.filter(reached__isnull=False)
    return _wanted(clocks, on).exclude(Exists(here)).exclude(Exists(later))


def owed(on: date) -> list[Owed]:
    """The same by customer. What was due longest comes first.

    A customer keeps that place until they are written to, and what comes before them has few rungs left: so nobody
    waits for ever behind a cap.
    """
    return _by_customer(owing(on))


def _by_customer(clocks: Iterable[Clock]) -> list[Owed]:
    groups = [(who, list(own)) for who, own in groupby(clocks, key=lambda clock: clock.item.owner)]
    return sorted(groups, key=lambda each: min(clock.due for clock in each[1] if clock.due))


def said() -> QuerySet[Reminder]:
    """Reminders that a letter said."""
    return Reminder.objects.exclude(letter=None)


def unsaid(on: date) -> QuerySet[Reminder]:
    """Those that were claimed for a day and have no letter yet."""
    return Reminder.objects.filter(run=on, letter=None)


def waiting(on: date) -> list[tuple[int, list[int]]]:
    """The customers of whom something is unsaid, with it, all by their keys, in the order in which `owed` has them."""
    rows = unsaid(on).order_by("clock__item__owner").values_list("clock__item__owner", "due", "pk")
    groups = [(who, list(own)) for who, own in groupby(rows, key=itemgetter(0))]
    groups.sort(key=lambda each: min(due for _, due, _ in each[1]))
    return [(who, [pk for *_, pk in own]) for who, own in groups]


def holding(customers: Collection[int], claims: Collection[int], on: date) -> QuerySet[Reminder]:
    """Which claims are still unsaid, of these customers, and owed: at that rung and for that due day."""
    rows = unsaid(on).filter(pk__in=claims, clock__item__owner__in=customers)
    still = owing(on).filter(pk=OuterRef("clock"), due=OuterRef("due"), reached=OuterRef("rung"))
    return (
        rows.filter(Exists(still))
        .select_related("clock__item__model")
        .order_by("clock__item__owner", "clock__item__number", "clock__key")
    )


def _wanted(clocks: QuerySet[Clock], on: date) -> QuerySet[Clock]:
    """Those about which their owners want a letter now. Who asked for fewer gets one for each due date: the first that
    is written on the day or later, whatever the ladder, closed days or a cap make of it."""
    days = said().annotate(day=TruncDate("at", tzinfo=zone()))
    had = days.filter(clock=OuterRef("pk"), due=OuterRef("due"), day__gte=OuterRef("due"))
    not_now = Q(due__gt=on) | Q(due=None) | Exists(had)
    # In this order it costs others nothing.
    return quiet(clocks, on).exclude(Q(item__owner__fewer=True) & not_now)


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
    when = times()
    found = Ahead(when.next_day(today()))
    if found.day is None:
        return found
    # So many rows may be owed that none is made into a clock but those that are shown.
    clocks = owing(found.day)
    rows = clocks.values_list("item__owner", "item__owner__language", "reached", "due")
    groups = [(who, list(own)) for who, own in groupby(rows, key=itemgetter(0, 1))]
    groups.sort(key=lambda each: min(due for *_, due in each[1]))
    going = groups[: when.most]
    found.letters, found.left = len(going), len(groups) - len(going)
    found.languages = dict(Counter(Language(language).label for (_, language), _ in going))
    found.rungs = dict(Counter(reached for _, own in going for _, _, reached, _ in own))
    first = [who for (who, _), _ in going[:MOST_SHOWN]]
    found.shown = _by_customer(clocks.filter(item__owner__in=first))
    return found


def brought() -> list[Mapping[str, Any]]:
    """What the letters of a year brought, by rung: how many went out, how many were answered by their link, and after how many
    a day was booked for that gear, and it came, within 60 days.

    A letter with several rungs counts with each. Whether a letter was opened is not asked.
    """
    sent = Letter.objects.filter(uid=OuterRef("letter"), state=State.SENT)
    until = ExpressionWrapper(OuterRef("at") + Value(CAME_WITHIN), output_field=Instant())
    came = Line.objects.filter(
        item=OuterRef("clock__item"), drop_off__at__gte=OuterRef("at"), drop_off__at__lte=until
    )
    booked = Booking.objects.filter(
        items=OuterRef("clock__item"), made_at__gte=OuterRef("at"), made_at__lte=until
    )
    answered = Answer.objects.filter(link__about=OuterRef("letter"))
    told = {"answered": answered, "booked": booked, "came": came}
    rows = Reminder.objects.filter(Exists(sent), at__gte=now() - YEAR)
    counted = rows.values("rung").annotate(
        letters=Count("letter", distinct=True),
        **{
            name: Count(Case(When(Exists(found), then=F("letter"))), distinct=True)
            for name, found in told.items()
        },
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
