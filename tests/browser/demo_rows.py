"""Rows of the demo workshop for every page that names one."""

from datetime import timedelta
from decimal import Decimal
from typing import Any
from uuid import uuid4

from jobs.answers.actions import say_elsewhere, set_aside
from jobs.answers.models import Answer
from jobs.batches.actions import set_columns, upload
from jobs.batches.models import Batch
from jobs.bench.models import Attempt
from jobs.bills.actions import counter_bill, make_bill, mark_paid, take_back_payment
from jobs.bills.models import Bill, Payment
from jobs.bookings.actions import book_by_link
from jobs.bookings.models import Booking
from jobs.bookings.reads import offered
from jobs.bringin.actions import go_on
from jobs.checkin.actions import photograph_line
from jobs.condition.actions import write_list
from jobs.estimates.actions import add_charge, answer_supplement, ask_supplement, take_go_ahead
from jobs.estimates.models import Charge
from jobs.flow.models import Hold, Job, Line
from jobs.handback.actions import hand_back
from jobs.lending.models import Loan
from jobs.live.models import Chunk, Logging
from jobs.notices.models import Affected, Doubt
from jobs.porthole.actions import answer_question, ask, share
from jobs.porthole.models import Question, Shared
from jobs.quotes.actions import put_quote
from jobs.quotes.models import Quote
from jobs.rights.actions import ask_erasure
from jobs.rights.models import Erasure
from jobs.safety.models import Match, Notice
from jobs.signoff.models import SignOff
from jobs.terms.actions import accept_terms, write_terms
from shop.advice.models import Advice
from shop.alternatives.actions import approve
from shop.alternatives.models import Alternative
from shop.catalogue.models import Model, PlanVersion
from shop.clocks.models import Clock
from shop.counts.actions import begin_count
from shop.counts.models import Count
from shop.customers.models import Customer
from shop.drafts.models import Draft
from shop.files.models import Photograph
from shop.files.reads import re_encoded
from shop.gear.actions import photograph_item, point_at
from shop.gear.models import GearSet, Item
from shop.instruments.models import Calibration, Instrument
from shop.intervals.models import Interval
from shop.links.models import Link
from shop.links.rules import digest_of
from shop.orders.models import DraftLine, Order, Receipt
from shop.orders.models import Line as OrderLine
from shop.outbox.actions import suppress_address
from shop.post.models import Letter, Suppressed
from shop.sites.actions import watch
from shop.staff.actions import make_token
from shop.staff.models import Authorisation, Person, Token
from shop.stock.models import Bin, Lot, Part
from shop.suppliers.models import Offer, Supplier
from shop.workshop.reads import now, today
from tests.conftest import TRACES
from tests.guards.answer_entries import SECRET
from tests.guards.letter_entries import own_words
from tests.guards.porthole_entries import BEHIND
from tests.photographs import encoded, halves

WORDINGS = dict.fromkeys(("wording", "shipped_wording", "wording_history"), ["reminder-de"]) | {
    "ladder": ["any-clock"],
    "condition_list": ["cylinder"],
}


def first(model: Any) -> Any:
    """The oldest row of a model."""
    return model.objects.order_by("pk")[0]


def add_to_the_demo(lead: Person) -> None:
    """A token, a file with a bad row, and somebody who collects: the demo's last years are left out here."""
    make_token(by=lead, label="logger", scopes=["see"], days=30)
    job = Job.objects.filter(
        leg="signed_off", item__model__kind="first_stage", item__owner__reminders=True
    ).order_by("pk")[0]
    hand_back(
        by=lead, drop_off=job.drop_off, seen=job.drop_off.version, collector=job.item.owner.name,
        items=[job.item.label], acknowledged=True,
    )  # fmt: skip
    log_in_the_demo()
    charge_in_the_demo(lead)
    link_in_the_demo()
    porthole_in_the_demo(lead)
    own_words(lead)
    asks = Customer.objects.get(name="Tomás Brandão")
    ask_erasure(by=lead, customer=asks, reason="By post, with a copy of the passport.", asked_on=today())
    write_terms(by=lead, text="What is not collected within six months is asked for in writing.", seen=0)
    accept_terms(by=lead, drop_off=job.drop_off, terms=1, how="on screen", name=job.item.owner.name)
    write_list(by=lead, kind="cylinder", asks=["Dents", "Stamped marks that cannot be read"], seen=0)
    seen = photograph_item(
        by=lead, item=first(Item), photograph=re_encoded(halves("JPEG")), words="The yoke."
    )
    point_at(by=lead, photograph=seen, shape="circle", x=Decimal("0.7"), y=Decimal("0.4"), words="A scratch.")
    begin_count(by=lead, bin=first(Bin))
    gone = Customer.objects.get(name="Tomás Brandão").email
    suppress_address(by=lead, address=gone, why="550 5.1.1 There is no such mailbox.")
    part, other = Part.objects.order_by("pk")[:2]
    said = {"condition": "Only with the new washer.", "source": "The maker's bulletin 12."}
    approve(by=lead, part=part, other=other, supersedes=True, **said)
    watch(by=lead, part=other, seen=other.version, site="Workshop", minimum=9000, up_to=9900)
    raw = "Name,E-mail,Phone\nÍñigo Muñoz,inigo@example.org,+44 1632 960417\nנועה,,12\n".encode()
    batch = upload(by=lead, what="customers", name="customers of the old system.csv", raw=raw)
    go_on(set_columns(by=lead, batch=batch, mapping=batch.mapping))


def link_in_the_demo() -> None:
    """A link whose secret is known, of a diver whose gear is due and who is booked; the first answer was dealt with."""
    theirs = Clock.objects.filter(item__standing="in use", item__owner__ours=False)
    clock = theirs.order_by("-unknown", "due", "pk")[0]
    owner = clock.item.owner
    ends = now() + timedelta(days=9)
    given: dict[str, Any] = {"about": uuid4(), "made_at": now(), "ends_at": ends}
    link = Link.objects.create(customer=owner, purpose="answer", digest=digest_of(SECRET), **given)
    said = {"day": today(), "elsewhere": "Skerry Divers", "photograph": None, "document": None}
    say_elsewhere(link=link, clock=clock, **said)  # type: ignore[arg-type]  # one dict of several types
    book_by_link(link=link, day=offered()[0][0], items=[clock.item], note="It hisses.")
    set_aside(by=first(Person), answer=first(Answer))


def log_in_the_demo() -> None:
    """A logging that was thrown away and one that runs."""
    job, at = hesk("stripping", "first_stage"), now()
    by = Person.objects.get(email="ines@aldermouth.example")
    given: dict[str, Any] = {"job": job, "key": "intermediate_pressure", "phase": "as received", "backs": 0}
    given |= {"round": job.rounds.all()[0], "columns": "t_s,p_bar", "at": at, "by": by}
    Logging.objects.create(
        state="thrown away", reason="The hose came off.", closed_at=at, closed_by=by, **given
    )
    row = Logging.objects.create(**given)
    lines = (TRACES / "creep_0p02.csv").read_bytes().partition(b"\n")[2]
    Chunk.objects.create(logging=row, n=1, lines=lines, samples=361, size=len(lines), last_s=180.0, at=at)


def charge_in_the_demo(lead: Person) -> None:
    """A bill and a counter-bill, a deposit, lines with long words, a supplement that waits."""
    job = Job.objects.filter(leg="checked_in").order_by("pk")[0]
    given: dict[str, Any] = {"by": lead, "drop_off": job.drop_off}
    take_go_ahead(amount=90_000, given_by="Íñigo Muñoz", how="by telephone", **given)
    long = "A hose of 210 cm, braided, with a swivel at the second stage and a longer cover over each of its ends"
    add_charge(what=long, amount=6400, rate="", discount=400, reason="A comeback.", **given)
    bill = make_bill(payer="customer", **given)
    counter_bill(by=lead, bill=bill, reason="The wrong hose.")
    make_bill(payer="customer", **given)
    mark_paid(kind="deposit", amount=2000, way="cash", **given)
    wrong = mark_paid(kind="deposit", amount=2000, way="card", **given)
    take_back_payment(by=lead, payment=wrong, reason="It was paid once.")
    add_charge(what="Mouthpiece", amount=500, likely=True, **given)
    add_charge(what="מסנן", amount=700, payer="maker's programme", **given)
    told: dict[str, Any] = {
        "given_by": "Íñigo Muñoz",
        "how": "by telephone",
        "went_back": "put back together",
    }
    worn = ask_supplement(by=lead, job=job, what="The hose is worn", amount=3000)
    answer_supplement(by=lead, charge=worn, seen=worn.version, answer="declined", **told)
    ask_supplement(by=lead, job=job, what="The yoke is cracked: a new one", amount=6000)


def porthole_in_the_demo(lead: Person) -> None:
    """A link whose secret is known to the drop-off with the supplement: a quote, photographs, questions."""
    drop_off = Charge.objects.filter(state="asked").latest("pk").drop_off
    given: dict[str, Any] = {"about": drop_off.uid, "made_at": now(), "ends_at": now() + timedelta(days=9)}
    given["customer"] = drop_off.customer
    link = Link.objects.create(purpose="porthole", digest=digest_of(BEHIND), **given)
    put_quote(by=lead, drop_off=drop_off, amount=95_000)
    line, picture = drop_off.lines.order_by("n")[0], re_encoded(encoded(size=(640, 480)))
    for words in ("The yoke as it came, with a crack at the upper end", "המסנן"):
        photograph = photograph_line(by=lead, line=line, photograph=picture, words=words)
        share(by=lead, photograph=photograph)
    photograph_line(by=lead, line=line, photograph=picture, words="Not for the customer")
    told = ask(link=link, text="متى يكون جاهزا؟")
    answer_question(by=lead, question=told, answer="On Friday, if the part comes.")
    ask(link=link, text="Could you send it to Llanfairpwllgwyngyllgogerychwyrndrobwllllantysiliogogogoch?")


def hesk(leg: str, kind: str) -> Job:
    """The demo's job on a leg of the model whose plan has every kind of row."""
    return Job.objects.get(leg=leg, item__model__name="Hesk", item__model__kind=kind)


def _rules_of_the_demo() -> dict[Any, str]:
    """A clock, and rules that are followed, not followed and proposed."""
    followed, other = (Interval.objects.filter(place=each)[0].uid for each in ("United Kingdom", "USA"))
    return {
        first(Clock).uid: "clock elsewhere take_back_elsewhere",
        followed: "leave_place withdraw_interval replace_interval",
        other: "follow_place",
        Interval.objects.filter(in_force_at=None)[0].uid: "force_interval set_aside_interval",
    }


def _notices_of_the_demo() -> dict[Any, str]:
    """A safety notice and a doubt, each with something to answer, and what is kept as evidence."""
    return {
        Hold.objects.filter(kind="evidence")[
            0
        ].uid: "one_evidence evidence_custody photograph_evidence take_evidence_out",
        Notice.objects.get().uid: "notice withdraw_notice write_to_owners notice_csv notice_json",
        first(Match).uid: "answer_match told_owner",
        Doubt.objects.get().uid: "doubt close_doubt",
        first(Affected).uid: "answer_doubt",
    }


def _money_of_the_demo() -> dict[Any, str]:
    """A drop-off with everything about money, and the rows that are answered or taken back."""
    likely, asked = (Charge.objects.filter(state=state).order_by("-pk")[0] for state in ("likely", "asked"))
    assert asked.job is not None
    return {
        asked.drop_off.uid: "money new_charge make_bill mark_paid porthole_of write_link end_link put_quote",
        asked.job.uid: "price_plan ask_supplement",
        asked.uid: "charge answer_supplement photograph_charge",
        likely.uid: "need_charge take_off_charge",
        Bill.objects.exclude(countered_by=None)[0].uid: "bill counter_bill",
        first(Payment).uid: "take_back_payment",
    }


def _portholes_of_the_demo() -> dict[Any, str]:
    """A drop-off with a link, what was asked under it, and photographs of it."""
    shared = first(Shared)
    pictures = Photograph.objects.filter(subject=shared.photograph.subject)
    return {
        BEHIND: "porthole ask_workshop agree_by_link",
        shared.photograph.uid: "take_back_photograph spots",
        pictures.order_by("-pk")[0].uid: "share_photograph",
        Question.objects.get(answered_at=None).uid: "answer_question",
        first(Quote).uid: "withdraw_quote",
    }


def _asked_of_the_demo() -> list[Any]:
    """A link and the number of a supplement behind it."""
    asked = Charge.objects.filter(state="asked").latest("pk")
    return [BEHIND, Charge.objects.filter(drop_off=asked.drop_off, pk__lte=asked.pk).count()]


def _answers_of_the_demo() -> dict[Any, str]:
    """An answer that waits, a booking, a customer with links, and a link."""
    return {
        Answer.objects.filter(settled=None).order_by("pk")[0].uid: "confirm_answer set_answer_aside",
        first(Booking).uid: "move_booking cancel_booking",
        first(Link).customer.uid: "revoke_links book",
        first(Advice).uid: "change_advice withdraw_advice",
        **_portholes_of_the_demo(),
        SECRET: "answer say_elsewhere say_gone say_address book_by_link move_by_link cancel_by_link ask_fewer one_click",
    }


def _letters_and_loans_of_the_demo() -> dict[Any, str]:
    return {
        first(Letter).uid: "letter stop_letter send_again",
        first(Suppressed).uid: "lift_address",
        Loan.objects.get(back_on=None).uid: "bring_back",
        Erasure.objects.get().uid: "erase close_erasure",
        Item.objects.get(identifiers__value="R-02").uid: "lend",
    }


def rows_of_the_demo() -> dict[str, list[Any]]:
    """What stands in the address of each page that needs something there."""
    job, testing = hesk("stripping", "first_stage"), hesk("testing", "second_stage")
    done, item = first(SignOff), first(Item)
    owner = Customer.objects.get(name="Tomás Brandão")
    named: dict[Any, str] = {
        Customer.objects.get(name="نور الحداد").uid: "customer",
        owner.uid: "change_customer new_item check_in many_at_once merge_customer customer_history new_set rights give_out ask_erasure",
        item.uid: "item drift item_gas owner merge_item split_item item_history item_facts item_standing new_tally new_identifier photograph_item evidence",
        item.identifiers.all()[0].uid: "identifier_state",
        job.line.uid: "photograph_line custody",
        job.uid: "photograph_job job_history scan_lot job advance empty assign hold promise add_plan contents",
        first(PlanVersion).uid: "plan copy_plan compare_plans withdraw_plan",
        first(Model).uid: "issue_plan new_draft",
        Draft.objects.get().uid: "draft issue_draft set_aside_draft",
        first(Person).uid: "authorise person change_roles deactivate reactivate invite_again hand_on",
        first(Authorisation).uid: "end_authorisation",
        Token.objects.get().uid: "end_token",
        first(Instrument).uid: "instrument calibrate check_instrument",
        first(Calibration).uid: "photograph_certificate keep_certificate",
        first(Part).uid: "part watch_at_site new_alternative receive new_content change_part fitness",
        first(Alternative).uid: "end_alternative",
        Offer.objects.order_by("pk")[1].uid: "change_offer order_offer",
        Part.objects.get(number="TH-402").uid: "offers new_offer",
        Part.objects.get(number="BP-101").uid: "part_ahead",
        Supplier.objects.get(name="Morrow Filters").uid: "draft_proposed",
        first(Supplier).uid: "supplier change_supplier",
        first(Order).uid: "order order_paper order_file close_order",
        first(OrderLine).uid: "receive_line",
        DraftLine.objects.get().uid: "take_off",
        Order.objects.get(state="draft").uid: "send_order",
        first(Receipt).uid: "take_back_receipt",
        first(Bin).uid: "begin_count",
        first(Count).uid: "count count_lot book_count set_count_aside",
        first(Lot).uid: "lot move_lot open_kit extend_lot lot_notice",
        testing.uid: "sign",
        Attempt.objects.filter(key="intermediate_pressure").order_by("pk")[0].uid: "attempt trace trace_file",
        done.uid: "record signed_record",
        done.round.job.uid: "dispose",
        job.drop_off.uid: "drop_off give_all go_ahead add_lines many ask accept_terms look_at",
        done.round.job.drop_off.uid: "hand_back",
        **_letters_and_loans_of_the_demo(),
        Hold.objects.filter(kind="parts").order_by("pk")[0].uid: "lift",
        Line.objects.filter(item=None).order_by("pk")[0].uid: "itemise",
        first(GearSet).uid: "set put_in take_out",
        **_notices_of_the_demo() | _money_of_the_demo(),
        Logging.objects.get(state="open").uid: "logging end_logging throw_logging_away",
        **_rules_of_the_demo(),
        **_answers_of_the_demo(),
        Batch.objects.get().uid: "batch batch_columns begin_batch undo_batch",
    }
    found = {name: [uid] for uid, names in named.items() for name in names.split()}
    return found | WORDINGS | {
        "begin_logging": [job.uid, "intermediate_pressure"],
        "answer_more": _asked_of_the_demo(),
        "step": [job.uid, "diaphragm"],
        "tray_part": [job.uid, "filter"],
        "test": [testing.uid, "cracking"],
    }  # fmt: skip
