"""Two people or two workers with one notice at the same instant."""

from typing import Any

from jobs.matches.actions import write_on
from jobs.matches.models import Answer, Writing
from jobs.safety.actions import go_on
from jobs.safety.models import Look, Match
from shop.journal.models import Entry
from shop.journal.reads import faults
from shop.post.models import Letter
from tests.conftest import Api, House
from tests.safety.doors import NAMED
from tests.safety.made import noted
from tests.threads import real_database as real_database
from tests.threads import statuses, together


def test_it_works(real_database: None, house: House) -> None:
    """Four answers at once, of people, and of one who tells the owner; three workers over the same items and letters; lots that
    come while a notice is made.
    """
    notice, match = noted(house)
    people = [house.people[role] for role in ("counter", "technician", "lead", "inspector")]

    def reply(i: int) -> Any:
        if i == 2:
            told = {"customer": str(house.customer.uid), "words": "By telephone."}
            return Api(people[i]).post(f"notices/{notice.uid}/told", told)
        given = {"became": "told", "words": "By telephone."}
        return Api(people[i]).post(f"matches/{match.uid}/answers", given)

    assert statuses(together(4, reply)) == {201: 1, 409: 3}
    assert Answer.objects.count() == Entry.objects.filter(verb="notice answered").count() == 1

    for serial in ("AB1", "AB2", "AB3"):
        house.item(serial=serial)
    lead = Api(house.people["lead"])
    assert lead.post("notices", NAMED | {"ranges": ["AB*"]}).status_code == 201
    look = Look.objects.get(done_at=None)
    together(3, lambda _: go_on(look))
    assert Match.objects.filter(notice=look.notice).count() == 3
    assert Entry.objects.filter(verb="notice matched", subject=look.notice.subject).count() == 1
    assert lead.post(f"notices/{look.notice.uid}/letters").status_code == 201
    writing = Writing.objects.get()
    together(3, lambda _: write_on(writing))
    assert Letter.objects.filter(purpose="safety").count() == 1
    assert Entry.objects.filter(verb="safety letter written").count() == 1

    lot, store = house.lots["TH-302"], Api(house.people["storekeeper"])

    def act(i: int) -> Any:
        if i == 0:
            return store.post(f"lots/{lot.uid}/notices", NAMED)
        return store.post(
            f"parts/{lot.part.uid}/lots", {"number": f"TH-302-A{i}", "cured": "2Q26", "quantity": 1}
        )

    assert statuses(together(4, act)) == {201: 4}
    # Lots whose number begins as the named one does are matches too, whichever of the four came first.
    assert Match.objects.exclude(lot=None).count() == 4
    assert list(faults()) == []
