"""The two stages of a due run: what is owed is claimed by one statement, then said by letters."""

from collections.abc import Callable
from datetime import timedelta
from uuid import uuid4

import pytest
from django.test import override_settings

from jobs.answers.models import Answer
from jobs.answers.rules import Said
from jobs.flow.models import Hold
from jobs.flow.rules import HoldKind
from jobs.reminders.actions import claim, remind, write_some
from jobs.reminders.models import Reminder
from jobs.reminders.reads import brought, owed, waiting
from jobs.reminders.reads import said as said_of
from shop.clocks.models import Clock
from shop.customers.models import Customer
from shop.gear.models import Item
from shop.links.models import Link
from shop.links.rules import LinkFor
from shop.post.models import Letter
from shop.staff.models import Person
from shop.workshop import actions
from shop.workshop.actions import FailPoint
from shop.workshop.models import Workshop
from shop.workshop.reads import at, noon, now
from tests.conftest import House, housed, staffed
from tests.reminders.test_when import DUE, many
from tests.rows import nothing_changes
from tests.threads import real_database as real_database
from tests.threads import together

NEXT = DUE + timedelta(days=1)
RUNS = 4


def said() -> list[tuple[int, int]]:
    """The customer and the rung of each reminder that has its letter."""
    rows = Reminder.objects.exclude(letter=None).order_by("clock__item__owner", "rung")
    return list(rows.values_list("clock__item__owner", "rung"))


def waits() -> list[tuple[int, int]]:
    """The same of what was claimed only."""
    rows = Reminder.objects.filter(letter=None).order_by("clock__item__owner", "rung")
    return list(rows.values_list("clock__item__owner", "rung"))


def test_it_works(house: House) -> None:
    people = many(house, [DUE, DUE + timedelta(days=14), DUE + timedelta(days=200)])

    assert [claim(on=DUE), claim(on=DUE)] == [2, 0]
    assert (waits(), said()) == ([(people[0].pk, 0), (people[1].pk, -14)], [])
    assert len(owed(DUE)) == 2, "nobody was told by being claimed"
    assert remind(on=DUE) == 2
    assert said() == [(people[0].pk, 0), (people[1].pk, -14)]
    with nothing_changes():
        assert (claim(on=DUE), remind(on=DUE), owed(DUE)) == (0, 0, [])


def test_it_goes_on_where_a_run_died_between_the_stages(house: House) -> None:
    many(house, [DUE] * 3)
    actions._passed.clear()

    with override_settings(FAILPOINT=("after-claims", 1, "raise")), pytest.raises(FailPoint):
        remind(on=DUE)
    assert (len(waits()), said()) == (3, [])

    assert [remind(on=DUE), remind(on=DUE)] == [3, 0]
    assert (waits(), len(said())) == ([], 3)


def test_it_claims_anew_on_the_next_day_what_a_cap_left_over(house: House) -> None:
    """The rung of the last one changes overnight: it gets the newer one and not the other."""
    first, second, last = many(house, [DUE - timedelta(days=9), DUE - timedelta(days=5), NEXT])
    Workshop.objects.update(letters_a_day=1)

    assert [remind(on=DUE), remind(on=DUE)] == [1, 0]
    assert (said(), waits()) == ([(first.pk, 0)], [(second.pk, 0), (last.pk, -14)])
    with at(noon(DUE)):
        assert list(brought()) == []
    assert [remind(on=NEXT), remind(on=NEXT)] == [1, 0]
    assert waits() == [(last.pk, 0)]
    assert remind(on=NEXT + timedelta(days=1)) == 1
    assert said() == [(first.pk, 0), (second.pk, 0), (last.pk, 0)]


def test_it_tells_the_newest_rung_once_after_days_without_letters(house: House) -> None:
    (who,) = many(house, [DUE])
    for day in (DUE - timedelta(days=56), DUE - timedelta(days=14)):
        claim(on=day)
    Workshop.objects.update(closed_weekdays=[DUE.weekday()])

    assert [remind(on=DUE), remind(on=NEXT)] == [0, 1]
    assert (said(), waits()) == ([(who.pk, 0)], [])


def test_it_writes_once_on_a_due_day_to_whom_fewer_was_promised_and_never_told(house: House) -> None:
    (who,) = many(house, [DUE])
    Customer.objects.filter(pk=who.pk).update(fewer=True)
    with at(noon(DUE)):
        claim(on=DUE)

    for day, written in (
        (NEXT, 1),
        (DUE + timedelta(days=30), 0),
    ):  # what is claimed only is not the one letter
        with at(noon(day)):
            assert remind(on=day) == written


def _answered(clock: Clock) -> None:
    given = {"customer": clock.item.owner, "made_at": now(), "ends_at": now() + timedelta(days=1)}
    link = Link.objects.create(purpose=LinkFor.ANSWER, about=uuid4(), digest="0", **given)
    told = {"said": Said.ELSEWHERE, "day": DUE, "elsewhere": "Tidewell", "at": now()}
    Answer.objects.create(customer=clock.item.owner, link=link, clock=clock, **told)


def _held(clock: Clock) -> None:
    by = Person.objects.earliest("pk")
    Hold.objects.create(item=clock.item, kind=HoldKind.EVIDENCE, why="It was asked for.", at=now(), by=by)


# What happens between the stages, and how many letters a run writes after it.
CHANGES: dict[str, tuple[Callable[[Clock], object], int]] = {
    "nothing": (lambda clock: None, 1),
    "the owner answered": (_answered, 0),
    "it became evidence": (_held, 0),
    "it was done": (lambda clock: Clock.objects.update(due=DUE + timedelta(days=365)), 0),
    "it is due on another day, at the same rung": (
        lambda clock: Clock.objects.update(due=DUE - timedelta(days=1)),
        1,
    ),
    "they want none": (lambda clock: Customer.objects.update(reminders=False), 0),
    "there is no address": (lambda clock: Customer.objects.update(email=""), 0),
    "it is ours": (lambda clock: Customer.objects.update(ours=True), 0),
    "it was condemned": (lambda clock: Item.objects.update(standing="condemned"), 0),
}


@pytest.mark.parametrize("what", CHANGES)
def test_it_tells_nobody_what_does_not_hold_any_more(house: House, what: str) -> None:
    many(house, [DUE])
    claim(on=DUE)
    change, later = CHANGES[what]
    change(Clock.objects.select_related("item__owner").get())

    assert write_some(waiting(DUE), DUE) == (what == "nothing")
    assert remind(on=DUE) == later - (what == "nothing")
    assert Letter.objects.count() == later
    assert list(said_of().values_list("due", flat=True)) == ([Clock.objects.get().due] if later else [])


def test_it_claims_and_tells_each_once_by_several_runs_at_once(real_database: None) -> None:
    people = many(housed(staffed()), [DUE + timedelta(days=n % 5) for n in range(60)])

    claimed = together(RUNS, lambda n: claim(on=DUE))
    assert sorted(claimed) == [0] * (RUNS - 1) + [len(people)]
    written = together(RUNS, lambda n: remind(on=DUE))
    assert sum(written) == len(people) == Letter.objects.count()
    assert (waits(), len(said())) == ([], len(people))
    # At midnight one run takes back what another still writes letters about.
    day = DUE + timedelta(days=30)
    written = together(2, lambda n: remind(on=day + timedelta(days=n)))
    assert sum(written) == Letter.objects.count() - len(people)
    remind(on=day + timedelta(days=1))
    assert {who for who, rung in said() if rung == 30} == {who.pk for who in people[::5] + people[1::5]}
