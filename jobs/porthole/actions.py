"""Write and end the private link of a drop-off; share photographs; take questions and answer them."""

from datetime import datetime, time

from django.db import transaction

from jobs.flow.models import DropOff
from jobs.flow.reads import evidence_items
from jobs.porthole.models import Question, Shared
from jobs.porthole.reads import behind, drop_off_of, gone_at, links_of, places
from jobs.porthole.rules import over, question_refusals
from shop.customers.models import Customer
from shop.files.models import Photograph
from shop.journal.actions import write
from shop.links.actions import end_links, make_links
from shop.links.models import Link
from shop.links.rules import BY_LINK, LinkFor, Wanted
from shop.post.actions import write_letters
from shop.post.models import Letter
from shop.post.rules import Purpose
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.wording.reads import letters
from shop.wording.rules import Key
from shop.workshop.reads import now, today, zone
from shop.workshop.rules import Refusal, refuse

KEPT = Refusal(
    "held-evidence",
    "Something of it is kept as evidence: no private link is written to it. Ask the lead.",
    "link",
)
OVER = Refusal("drop-off-over", "All of it was handed back long ago: nothing is shown of it any more.")
NO_PICTURE = Refusal(
    "not-of-a-drop-off", "Only photographs of a drop-off, its jobs, steps and supplements are shared."
)


def write_link(*, by: Person, drop_off: DropOff) -> DropOff:
    """Write the customer a letter with a private link to a drop-off; those written before go on. It is a part of checking in."""
    require(by, Can.CHECK_IN)
    with transaction.atomic():
        row, customer = locked(drop_off)
        refuse([KEPT] if row.lines.filter(item__in=evidence_items()).exists() else [])
        n = Link.objects.filter(about=row.uid).count() + 1
        tell_customer(drop_off=row, customer=customer, note=Key.CHECKED_IN, run=f"{row.uid.hex} {n}")
        write(subject=f"drop-off:{row.uid}", by=str(by.uid), verb="private link written", facts={"n": n})
    return row


def end_link(*, by: Person, drop_off: DropOff) -> DropOff:
    """Every private link to a drop-off ends at once."""
    require(by, Can.KEEP_CUSTOMERS)
    with transaction.atomic():
        row, customer = locked(drop_off)
        refuse([] if links_of(row).exists() else [Refusal("no-links", "No private link to it is open.")])
        end_links(by=by, customer=customer, about=row.uid)
    return row


def share(*, by: Person, photograph: Photograph) -> Shared:
    """Let the customer see one photograph under the links of its drop-off, those to come too; shared twice it is shared once."""
    require(by, Can.KEEP_CUSTOMERS)
    with transaction.atomic():
        row = _drop_off_of(photograph)
        before = Shared.objects.filter(photograph=photograph, ended_at=None).first()
        if before:
            return before
        n = row.shared.count() + 1
        made = Shared.objects.create(drop_off=row, n=n, photograph=photograph, at=now(), by=by)
        _written(by, row, "photograph shared", photograph, n)
    return made


def take_back(*, by: Person, photograph: Photograph) -> Shared:
    """The customer sees a photograph no more."""
    require(by, Can.KEEP_CUSTOMERS)
    with transaction.atomic():
        row = _drop_off_of(photograph)
        shared = row.shared.filter(photograph=photograph, ended_at=None).first()
        refuse([] if shared else [Refusal("not-shared", "The customer does not see this photograph.")])
        assert shared is not None
        shared.ended_at, shared.ended_by = now(), by
        shared.save(update_fields=["ended_at", "ended_by"])
        _written(by, row, "photograph shared no more", photograph, shared.n)
    return shared


def ask(*, link: Link, text: str) -> Question:
    """A customer asks something by a link; the same again while it waits is the question before."""
    with transaction.atomic():
        row = behind(link)
        refuse([] if row else [OVER])
        assert row is not None
        row, _ = locked(row)
        waiting = row.questions.filter(answered_at=None)
        if before := waiting.filter(text=text).first():
            return before
        asked_today = row.questions.filter(at__gte=datetime.combine(today(), time.min, tzinfo=zone())).count()
        refuse(question_refusals(waiting.count(), asked_today))
        made = Question.objects.create(drop_off=row, link=link, text=text, at=now())
        facts, words = {"question": str(made.uid)}, {"text": text}
        write(subject=f"drop-off:{row.uid}", by=BY_LINK, verb="asked by link", facts=facts, words=words)
    return made


def answer_question(*, by: Person, question: Question, answer: str) -> Question:
    """Answer a question, once; a letter says that there is an answer and brings a link to it."""
    require(by, Can.KEEP_CUSTOMERS)
    with transaction.atomic():
        row, customer = locked(question.drop_off)
        made = Question.objects.get(pk=question.pk)
        refuse([] if made.answered_at is None else [Refusal("answered", "This question has its answer.")])
        made.answer, made.answered_at, made.answered_by = answer, now(), by
        made.save(update_fields=["answer", "answered_at", "answered_by"])
        told = bool(customer.email) and not over(gone_at(row), now())
        if told:
            tell_customer(drop_off=row, customer=customer, note=Key.ANSWERED, run=made.uid.hex)
        facts, words = {"question": str(made.uid), "letter": told}, {"answer": answer}
        write(
            subject=f"drop-off:{row.uid}", by=str(by.uid), verb="question answered", facts=facts, words=words
        )
    return made


def locked(drop_off: DropOff) -> tuple[DropOff, Customer]:
    """A drop-off and its customer, who may have been merged, both locked."""
    customer = Customer.objects.select_for_update().get(pk=drop_off.customer.kept.pk)
    row = DropOff.objects.select_for_update(of=("self",)).select_related("customer__merged_into")
    return row.get(pk=drop_off.pk), customer


def _drop_off_of(photograph: Photograph) -> DropOff:
    found = drop_off_of(photograph)
    refuse([] if found else [NO_PICTURE])
    assert found is not None
    return locked(found)[0]


def _written(by: Person, row: DropOff, verb: str, photograph: Photograph, n: int) -> None:
    facts = {"photograph": str(photograph.uid), "n": n}
    write(subject=f"drop-off:{row.uid}", by=str(by.uid), verb=verb, facts=facts)


def tell_customer(*, drop_off: DropOff, customer: Customer, note: Key, run: str) -> Letter | None:
    """One letter about a drop-off, once a run, with a new link to it; both rows are locked by the caller."""
    said = f"{customer.name} has no e-mail address on record."
    found = [] if customer.email else [Refusal("no-address", said)]
    refuse([*found, *([OVER] if over(gone_at(drop_off), now()) else [])])
    (address,) = make_links(wanted=[Wanted(customer, LinkFor.PORTHOLE, drop_off.uid)])
    told = [(customer, run, places(drop_off, customer, address))]
    return write_letters(drafts=letters(note, Purpose.DROP_OFF, told))[0]
